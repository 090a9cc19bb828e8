/** What readings, and their absence, do to a run that has no current flowing: armed, lifted, over, asleep. */

import { declareUnseen } from './charge.ts';
import { end, requestOff, trip } from './ending.ts';
import type { RunInput, RunReading } from './model.ts';
import { program } from './moves.ts';
import type { RunState } from './state.ts';
import { eventOf, go, stay, type Step } from './steps.ts';

export function clockGap(state: RunState, input: Extract<RunInput, { kind: 'clock-gap' }>): Step {
  const seconds = Math.round(input.gapMs / 1000);
  const found = `The computer slept for ${seconds} s; nothing was measured in that time.`;
  if (state.output !== 'on') return go(state, eventOf(input.atMs, 'clockGap', found));
  const charge = declareUnseen(state.charge, input.atMs, input.gapMs, state.confirmedAmps);
  return trip({ ...state, charge }, input.atMs, 'clockGap', found);
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
  if (reading.outputOn === true) {
    return trip(
      state,
      reading.atMs,
      'setPointChanged',
      'The output was switched on at the supply while the run was only armed.',
    );
  }
  if (reading.atMs - (state.armedAtMs ?? reading.atMs) > state.timing.armedForMs) {
    return end(state, reading.atMs, 'stopped', {
      end: 'stopped',
      reason: 'Armed but not started in time; let go.',
      faultCode: null,
    });
  }
  const step = state.plan.tank.supply.stepAmps;
  const unanswered =
    state.programming && reading.atMs - state.commandedAtMs >= state.timing.programWithinMs;
  const changed =
    !state.programming &&
    reading.setAmps !== null &&
    Math.abs(reading.setAmps - state.confirmedAmps) > 1.5 * step;
  if (!changed && !unanswered) return stay(state);
  return program({ ...state, programmed: false }, reading.atMs, true);
}

export function watchLifted(state: RunState, reading: RunReading): Step {
  if (reading.outputOn === true && state.output === 'confirmedOff') {
    const off = requestOff(state, reading.atMs, 'The output was found on while lifted.');
    return go(
      off.state,
      ...off.effects,
      eventOf(reading.atMs, 'outputFoundOn', 'The output was found on while lifted; switched off.'),
    );
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

/** A run that is over but whose output shows life: OFF again. */
export function watchEnded(state: RunState, reading: RunReading): Step {
  if (state.output === 'confirmedOff' || state.output === 'offRequested') return stay(state);
  if (reading.outputOn !== true) return stay(state);
  return requestOff(state, reading.atMs, 'The output is still on after the end of the run.');
}
