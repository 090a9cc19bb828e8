/** Moves that end current: OFF, trips, stops, and OFF again until the supply confirms it. */

import { glimpse } from './charge.ts';
import { faultOf } from './faults.ts';
import type { FaultCode, Lifecycle, RunInput, RunOutcome } from './model.ts';
import { highestSetAmps, isFinal, type RunState } from './state.ts';
import { enter, eventOf, go, type Step } from './steps.ts';

/** OFF first, always; what is known of the output changes only when it is read back. */
export function requestOff(state: RunState, atMs: number, why: string): Step {
  const next: RunState = {
    ...state,
    output: 'offRequested',
    offRequestedAtMs: state.offRequestedAtMs ?? atMs,
    programming: false,
    awaitingSetPointsSinceMs: null,
  };
  return go(next, { kind: 'switch-off', why });
}

/** Ends the run for good. OFF is sent whatever is believed: it costs nothing and settles the matter. */
export function end(
  state: RunState,
  atMs: number,
  lifecycle: Lifecycle,
  outcome: RunOutcome,
): Step {
  const off = requestOff(state, atMs, outcome.reason);
  const closed = { ...enter(off.state, lifecycle), outcome, endedAtMs: atMs };
  return go(closed, ...off.effects, eventOf(atMs, lifecycle, outcome.reason), {
    kind: 'end',
    outcome,
  });
}

/** A trip: OFF at once, the first cause kept, a person called. Only a new run turns anything on again. */
export function trip(state: RunState, atMs: number, code: FaultCode, found: string): Step {
  const fault = state.fault ?? faultOf(code, atMs, found);
  const off = requestOff(state, atMs, found);
  const outcome: RunOutcome = { end: 'tripped', reason: found, faultCode: code };
  const closed = { ...enter(off.state, 'tripped'), fault, outcome, endedAtMs: atMs };
  return go(
    closed,
    ...off.effects,
    { kind: 'alarm', fault, priority: 'stopped' },
    { kind: 'end', outcome },
  );
}

/** Current that was found to flow after OFF was asked for, A: it bounds the charge. Null tells nothing. */
export function glimpsed(state: RunState, amps: number | null): RunState {
  const { stepAmps } = state.plan.tank.supply;
  const seen = { amps: amps ?? 0, setAmps: highestSetAmps(state), stepAmps };
  const charge = glimpse(state.charge, seen);
  return charge === state.charge ? state : { ...state, charge };
}

/**
 * OFF is asked for again until the supply confirms it, by whoever asked where that is said; after a while
 * a person is sent to the bench.
 */
export function offUnconfirmed(
  state: RunState,
  input: Extract<RunInput, { kind: 'off-unconfirmed' }>,
): Step {
  const seen = glimpsed(state, input.amps);
  if (!input.again) return go(seen);
  const again = requestOff(seen, input.atMs, input.reason);
  const overdue = offOverdue({ ...again.state, output: 'unknown' }, input);
  return go(overdue.state, ...again.effects, ...overdue.effects);
}

/** Calls a person, once, when OFF has been asked for too long ago without being confirmed. */
export function offOverdue(
  state: RunState,
  input: Extract<RunInput, { kind: 'off-unconfirmed' | 'reading-missing' }>,
): Step {
  const { offRequestedAtMs, offAlarmRaised, timing } = state;
  const waitedMs = input.atMs - (offRequestedAtMs ?? input.atMs);
  if (offAlarmRaised || waitedMs < timing.offAlarmMs) return go(state);
  const seconds = (waitedMs / 1000).toFixed(1);
  const found = `OFF was first sent ${seconds} s ago and is not confirmed: ${input.reason}`;
  const fault = faultOf('offUnconfirmed', input.atMs, found);
  return go({ ...state, offAlarmRaised: true }, { kind: 'alarm', fault, priority: 'stopped' });
}

export function stop(state: RunState, input: Extract<RunInput, { kind: 'stop' }>): Step {
  if (isFinal(state.lifecycle)) return requestOff(state, input.atMs, `Stopped by ${input.by}.`);
  return end(state, input.atMs, 'stopped', {
    end: 'stopped',
    reason: `Stopped by ${input.by}.`,
    faultCode: null,
  });
}

export function disarm(state: RunState, input: Extract<RunInput, { kind: 'disarm' }>): Step {
  return end(state, input.atMs, 'stopped', {
    end: 'stopped',
    reason: input.reason ?? 'Let go before it was started.',
    faultCode: null,
  });
}

export function interrupt(state: RunState, input: Extract<RunInput, { kind: 'interrupt' }>): Step {
  return end(state, input.atMs, 'interrupted', {
    end: 'interrupted',
    reason: input.reason,
    faultCode: null,
  });
}
