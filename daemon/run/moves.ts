/** The moves that a run can make; each takes a state and an input and says what the world must do. */

import { beginStretch, declareUnseen, endStretch } from './charge.ts';
import { faultOf } from './faults.ts';
import type {
  FaultCode,
  Lifecycle,
  RunEffect,
  RunInput,
  RunOutcome,
  RunReading,
  Stage,
} from './model.ts';
import { isFinal, isPowered, type RunState } from './state.ts';
import { densityAmpsPerDm2At, wantedAmps } from './stages.ts';
import { areaDm2Now } from './forecast.ts';
import { freshWatch } from './watch/watch.ts';

export interface Step {
  readonly state: RunState;
  readonly effects: readonly RunEffect[];
  /** Why the input was refused, as a sentence for the person who gave it; null when it was not. */
  readonly refused: string | null;
}

export function stay(state: RunState): Step {
  return { state, effects: [], refused: null };
}

export function refuse(state: RunState, why: string): Step {
  return { state, effects: [], refused: why };
}

export function go(state: RunState, ...effects: readonly RunEffect[]): Step {
  return { state, effects, refused: null };
}

export function eventOf(atMs: number, code: string, message: string): RunEffect {
  return { kind: 'event', event: { atMs, code, message } };
}

export function enter(state: RunState, lifecycle: Lifecycle): RunState {
  if (state.lifecycle === lifecycle) return state;
  return { ...state, lifecycle, version: state.version + 1 };
}

const lifecycleOfStage: Readonly<Record<Stage['kind'], Lifecycle>> = {
  strike: 'striking',
  ramp: 'ramping',
  hold: 'holding',
  trickle: 'trickling',
};

export function stageOf(state: RunState): Stage {
  const stage = state.plan.stages[state.stageIndex];
  if (stage === undefined) throw new RangeError(`The plan has no stage ${state.stageIndex}.`);
  return stage;
}

export function enterStage(state: RunState, stageIndex: number): RunState {
  const moved = { ...state, stageIndex, stageElapsedMs: 0 };
  return enter(moved, lifecycleOfStage[stageOf(moved).kind]);
}

/** What the stage wants now: its density times the area that the deposit has by now, in the limits. */
export function currentWanted(state: RunState): number {
  const density = densityAmpsPerDm2At(stageOf(state), state.stageElapsedMs);
  const areaMm2 = areaDm2Now(state.plan, state.charge.ampHours) * 1e4;
  const { supply } = state.plan.tank;
  const bounded = Math.min(wantedAmps(density, areaMm2), state.plan.limits.maxAmps);
  return Math.round(bounded / supply.stepAmps) * supply.stepAmps;
}

/** A change of the set-point by more than this share is a jump. */
const jumpShare = 0.05;

/** Asks the supply for what the stage wants, with its voltage cap. */
export function program(state: RunState, atMs: number, withProtection: boolean): Step {
  const amps = currentWanted(state);
  // Small strides along a ramp need no settling before a reading can be judged; a jump does.
  const jump = Math.abs(amps - state.confirmedAmps) > jumpShare * state.confirmedAmps;
  const jumpedAtMs = jump ? atMs : state.jumpedAtMs;
  const next = {
    ...state,
    commandedAmps: amps,
    commandedAtMs: atMs,
    jumpedAtMs,
    programming: true,
  };
  return go(next, { kind: 'program', amps, volts: state.plan.limits.setVolts, withProtection });
}

/** OFF first, always; what is known of the output changes only when it is read back. */
export function requestOff(state: RunState, atMs: number, why: string): Step {
  const next: RunState = {
    ...state,
    output: 'offRequested',
    offRequestedAtMs: state.offRequestedAtMs ?? atMs,
    programming: false,
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

export function arm(state: RunState, input: RunInput): Step {
  const armed = { ...enter(state, 'armed'), armedAtMs: input.atMs };
  const programmed = program(armed, input.atMs, true);
  return go(
    programmed.state,
    { kind: 'make-durable' },
    ...programmed.effects,
    eventOf(
      input.atMs,
      'armed',
      'Armed. Limits are being programmed and read back; no current flows.',
    ),
  );
}

export function start(state: RunState, input: RunInput): Step {
  if (!state.durable) return refuse(state, 'The run is not written to disk yet.');
  if (!state.programmed)
    return refuse(state, 'The limits have not been read back from the supply yet.');
  if (state.output !== 'confirmedOff') {
    return refuse(state, 'The output is not confirmed off; a run starts from a known state only.');
  }
  const started = {
    ...enterStage(state, 0),
    output: 'unknown' as const,
    startedAtMs: input.atMs,
    commandedAtMs: input.atMs,
    lastValidMs: input.atMs,
  };
  return go(
    started,
    { kind: 'switch-on' },
    eventOf(input.atMs, 'started', 'Started. Output on at a low current.'),
  );
}

export function onConfirmed(state: RunState, input: RunInput): Step {
  if (state.output === 'on') return stay(state);
  return go({
    ...state,
    output: 'on',
    onSinceMs: input.atMs,
    poweredUntilMs: input.atMs,
    lastValidMs: input.atMs,
    commandedAtMs: input.atMs,
    offRequestedAtMs: null,
    offAlarmRaised: false,
    charge: beginStretch(state.charge, input.atMs),
    watch: freshWatch,
  });
}

export function offConfirmed(state: RunState, input: RunInput): Step {
  if (state.output === 'confirmedOff') return stay(state);
  const charge = endStretch(state.charge, {
    atMs: input.atMs,
    amps: 0,
    setAmps: state.confirmedAmps,
    gapBoundMs: state.timing.gapBoundMs,
  });
  const next: RunState = {
    ...state,
    output: 'confirmedOff',
    charge,
    onSinceMs: null,
    poweredUntilMs: null,
    offRequestedAtMs: null,
    offAlarmRaised: false,
  };
  return go(next, eventOf(input.atMs, 'offConfirmed', 'Output off, read back from the supply.'));
}

/** OFF is asked for again until the supply confirms it; after a while a person is sent to the bench. */
export function offUnconfirmed(
  state: RunState,
  input: Extract<RunInput, { kind: 'off-unconfirmed' }>,
): Step {
  const again = requestOff(state, input.atMs, input.reason);
  const waitedMs = input.atMs - (state.offRequestedAtMs ?? input.atMs);
  if (state.offAlarmRaised || waitedMs < state.timing.offAlarmMs) {
    return go({ ...again.state, output: 'unknown' }, ...again.effects);
  }
  const fault = faultOf('offUnconfirmed', input.atMs, input.reason);
  return go({ ...again.state, output: 'unknown', offAlarmRaised: true }, ...again.effects, {
    kind: 'alarm',
    fault,
    priority: 'stopped',
  });
}

export function lift(state: RunState, input: RunInput): Step {
  const off = requestOff(state, input.atMs, 'Lifted.');
  const lifted = {
    ...enter(off.state, 'lifted'),
    liftedAtMs: input.atMs,
    liftReminders: 0,
  };
  return go(
    lifted,
    ...off.effects,
    eventOf(input.atMs, 'lifted', 'Lifted out. Output off; the charge is kept.'),
  );
}

/** Back in the bath: through the strike again if it was not over, else through the ramp. */
export function putBack(state: RunState, input: RunInput): Step {
  if (state.output !== 'confirmedOff') {
    return refuse(state, 'The output is not confirmed off yet; wait for the read-back.');
  }
  const kind = stageOf(state).kind;
  const rampIndex = state.plan.stages.findIndex((stage) => stage.kind === 'ramp');
  const resumed =
    kind === 'hold' && rampIndex >= 0 ? enterStage(state, rampIndex) : reenterStage(state);
  const programmed = program({ ...resumed, liftedAtMs: null }, input.atMs, true);
  return go(
    { ...programmed.state, programmed: false, lastValidMs: input.atMs },
    ...programmed.effects,
    eventOf(input.atMs, 'putBack', 'Put back. The current rises again from low.'),
  );
}

function reenterStage(state: RunState): RunState {
  return stageOf(state).kind === 'ramp'
    ? enterStage(state, state.stageIndex)
    : enter(state, lifecycleOfStage[stageOf(state).kind]);
}

export function programmed(
  state: RunState,
  input: Extract<RunInput, { kind: 'programmed' }>,
): Step {
  const next = {
    ...state,
    programming: false,
    programmed: true,
    confirmedAmps: input.amps,
    commandedAmps: input.amps,
    commandedAtMs: input.atMs,
  };
  // A piece that was put back waits for its set-points before the output goes on.
  const waiting = isPowered(state.lifecycle) && state.output === 'confirmedOff';
  if (!waiting) return go(next);
  return go({ ...next, output: 'unknown' }, { kind: 'switch-on' });
}

export function stop(state: RunState, input: Extract<RunInput, { kind: 'stop' }>): Step {
  if (isFinal(state.lifecycle)) return requestOff(state, input.atMs, `Stopped by ${input.by}.`);
  return end(state, input.atMs, 'stopped', {
    end: 'stopped',
    reason: `Stopped by ${input.by}.`,
    faultCode: null,
  });
}

export function disarm(state: RunState, input: RunInput): Step {
  return end(state, input.atMs, 'stopped', {
    end: 'stopped',
    reason: 'Let go before it was started.',
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
  const changed =
    !state.programming &&
    reading.setAmps !== null &&
    Math.abs(reading.setAmps - state.confirmedAmps) > 1.5 * step;
  if (!changed) return stay(state);
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
