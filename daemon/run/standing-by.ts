/** What readings, and their absence, do to a run that has no current flowing: armed, lifted, over, asleep. */

import { declareUnseen } from './charge.ts';
import { end, offOverdue, requestOff, trip } from './ending.ts';
import { faultOf } from './faults.ts';
import type { AlarmPriority, RunInput, RunReading } from './model.ts';
import { program } from './moves.ts';
import { highestSetAmps, isFinal, isPowered, type RunState } from './state.ts';
import { eventOf, go, stay, type Step } from './steps.ts';
import { readsUnlike } from './watch/set-point-changed.ts';

export function clockGap(state: RunState, input: Extract<RunInput, { kind: 'clock-gap' }>): Step {
  const seconds = (input.gapMs / 1000).toFixed(input.gapMs < 10_000 ? 1 : 0);
  const found = `The computer slept for ${seconds} s; nothing was measured in that time.`;
  if (state.output === 'confirmedOff') {
    // Current is wanted and not there yet: hours later nobody stands by any more.
    if (isPowered(state.lifecycle)) return trip(state, input.atMs, 'clockGap', found);
    return isFinal(state.lifecycle)
      ? stay(state)
      : go(state, eventOf(input.atMs, 'clockGap', found));
  }
  const charge = declareUnseen(state.charge, input.atMs, input.gapMs, highestSetAmps(state));
  if (isPowered(state.lifecycle)) {
    return trip({ ...state, charge }, input.atMs, 'clockGap', found);
  }
  return go({ ...state, charge }, eventOf(input.atMs, 'clockGap', found));
}

export function silence(
  state: RunState,
  input: Extract<RunInput, { kind: 'reading-missing' }>,
): Step {
  const silentMs = input.atMs - (state.lastValidMs ?? input.atMs);
  const bound = state.plan.limits.maxSilenceMs;
  if (silentMs < bound) return stay(state);
  const seconds = (silentMs / 1000).toFixed(1);
  return trip(
    state,
    input.atMs,
    'silence',
    `No valid reading for ${seconds} s, the bound is ${(bound / 1000).toFixed(1)} s: ${input.reason}`,
  );
}

/** Nobody started it: an armed run does not stand by for ever. */
export function watchArmed(state: RunState, reading: RunReading): Step {
  if (reading.live) {
    return trip(
      state,
      reading.atMs,
      'outputFoundOn',
      `The output was found on, at ${reading.amps.toFixed(3)} A, while the run was only armed.`,
    );
  }
  // One that had latched before is reset with the limits; one that comes after is news.
  if (state.programmed && !state.programming && reading.supplyTrips.length > 0) {
    const list = reading.supplyTrips.join(', ');
    return trip(state, reading.atMs, 'supplyTripped', `The supply reports a protection: ${list}.`);
  }
  if (reading.atMs - (state.armedAtMs ?? reading.atMs) > state.timing.armedForMs) {
    return end(state, reading.atMs, 'stopped', {
      end: 'stopped',
      reason: 'Armed but not started in time; let go.',
      faultCode: null,
    });
  }
  const { stepAmps, stepVolts } = state.plan.tank.supply;
  const unanswered =
    state.programming && reading.atMs - state.commandedAtMs >= state.timing.programWithinMs;
  const moved =
    readsUnlike(reading.setAmps, state.confirmedAmps, stepAmps) ||
    readsUnlike(reading.setVolts, state.plan.limits.setVolts, stepVolts);
  // A supply that was switched on anew may have lost its protections with its set-points.
  const changed = !state.programming && (moved || reading.restarted);
  if (!changed && !unanswered) return stay(state);
  return program({ ...state, programmed: false }, reading.atMs, true);
}

export function watchLifted(state: RunState, reading: RunReading): Step {
  if (reading.live && state.output === 'confirmedOff') {
    return foundOn(state, reading, 'while the piece was lifted', 'act-soon');
  }
  const liftedMs = reading.atMs - (state.liftedAtMs ?? reading.atMs);
  if (liftedMs > state.timing.liftedForMs) {
    return end(state, reading.atMs, 'stopped', {
      end: 'stopped',
      reason: 'Lifted out and not put back.',
      faultCode: null,
    });
  }
  if (liftedMs < (state.liftReminders + 1) * state.timing.liftReminderMs) return stay(state);
  const minutes = Math.round(liftedMs / 60_000);
  return go(
    { ...state, liftReminders: state.liftReminders + 1 },
    eventOf(reading.atMs, 'liftReminder', `Still lifted after ${minutes} min.`),
  );
}

/** A person is told again of an output that comes on by itself after this time, ms. */
const foundOnTellAgainMs = 10 * 60_000;

/**
 * An output that had been read back as off shows life: OFF again, and a person is told. What flows so is no
 * charge of the run: nobody asked for it, and how long it flowed nobody saw.
 */
function foundOn(
  state: RunState,
  reading: RunReading,
  when: string,
  priority: AlarmPriority,
): Step {
  const found = `The output was found on, at ${reading.amps.toFixed(3)} A, ${when}. OFF was sent.`;
  const off = requestOff(state, reading.atMs, found);
  // A leak about the bound of the meter is found again and again: OFF each time, one alarm a while.
  const told = state.foundOnToldAtMs;
  if (told !== null && reading.atMs - told < foundOnTellAgainMs) return off;
  const fault = faultOf('outputFoundOn', reading.atMs, found);
  const next = { ...off.state, foundOnToldAtMs: reading.atMs };
  return go(next, ...off.effects, { kind: 'alarm', fault, priority });
}

/** A run that is over but whose output shows life: OFF again. */
export function watchEnded(state: RunState, reading: RunReading): Step {
  if (!reading.live) return stay(state);
  if (state.output === 'offRequested') {
    const reason = 'the supply says that its output is on.';
    return offOverdue(state, { kind: 'reading-missing', atMs: reading.atMs, reason });
  }
  if (state.output === 'confirmedOff') {
    return foundOn(state, reading, 'after the end of the run', 'stopped');
  }
  return requestOff(state, reading.atMs, 'The output is still on after the end of the run.');
}
