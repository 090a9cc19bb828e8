/** Moves towards current: arm, start, lift, put back, and what the supply confirms of them. */

import { beginStretch, endStretch } from './charge.ts';
import { glimpsed, requestOff, trip } from './ending.ts';
import { areaDm2Now } from './forecast.ts';
import type { RunEffect, RunInput, RunLimits } from './model.ts';
import { withOffTime } from './probe-off.ts';
import { densityAmpsPerDm2At, mm2PerDm2, wantedAmps } from './stages.ts';
import { highestSetAmps, isPowered, type PastSetPoint, type RunState } from './state.ts';
import {
  enter,
  enterStage,
  eventOf,
  go,
  lifecycleOfStage,
  placeToGoOn,
  refuse,
  stageOf,
  stay,
  timeLeftMs,
  type Step,
} from './steps.ts';
import { settlingMs } from './watch/rule.ts';
import { freshWatch } from './watch/watch.ts';

/** Whole steps of the supply nearest to a current, A; never lifted above the bound. */
export function stepsWithin(amps: number, mostAmps: number, stepAmps: number): number {
  const inSteps = (count: number): number => Number((count * stepAmps).toFixed(9));
  const nearest = inSteps(Math.round(amps / stepAmps));
  return nearest > mostAmps ? inSteps(Math.round(amps / stepAmps) - 1) : nearest;
}

/** What the stage wants now: its density times the area that the deposit has by now, in the limits. */
export function currentWanted(state: RunState): number {
  const density = densityAmpsPerDm2At(stageOf(state), state.stageElapsedMs);
  const areaMm2 = areaDm2Now(state.plan, state.charge.ampHours) * mm2PerDm2;
  const { supply } = state.plan.tank;
  const bounded = Math.min(wantedAmps(density, areaMm2), state.plan.limits.maxAmps);
  return stepsWithin(bounded, state.plan.limits.maxAmps, supply.stepAmps);
}

/** A change of the set-point by more than this share is a jump, and so many steps of the supply. */
const jumpShare = 0.05;
const jumpSteps = 3;

/** Asks the supply for what the stage wants, with its voltage cap. */
export function program(state: RunState, atMs: number, withProtection: boolean): Step {
  const amps = currentWanted(state);
  // Small strides along a ramp need no settling before a reading can be judged; a jump does.
  // On a coarse supply a stride of a step or two is many per cent, and none of the rules minds it.
  const least = Math.max(
    jumpShare * state.confirmedAmps,
    jumpSteps * state.plan.tank.supply.stepAmps,
  );
  const jump = Math.abs(amps - state.confirmedAmps) > least;
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

/** What the supply cannot hold by itself, as a sentence to arm by; empty where it can. */
function withoutLevels({ overVoltageVolts, overCurrentAmps }: RunLimits): string {
  if (overVoltageVolts !== null && overCurrentAmps !== null) return '';
  const neither = overVoltageVolts === null && overCurrentAmps === null;
  const one = overVoltageVolts === null ? 'over-voltage' : 'over-current';
  const missing = neither ? 'over-voltage or over-current' : one;
  return ` This supply takes no ${missing} level from here: its set-points alone hold it back if this computer fails.`;
}

export function arm(state: RunState, input: RunInput): Step {
  const armed = { ...enter(state, 'armed'), armedAtMs: input.atMs };
  const asked = program(armed, input.atMs, true);
  return go(
    asked.state,
    { kind: 'make-durable' },
    ...asked.effects,
    eventOf(
      input.atMs,
      'armed',
      `Armed. Limits are being programmed and read back; no current flows.${withoutLevels(state.plan.limits)}`,
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
  const started = { ...enterStage(state, 0), startedAtMs: input.atMs };
  return wantCurrent(
    started,
    input.atMs,
    eventOf(input.atMs, 'started', 'Started. Output on at a low current.'),
  );
}

/**
 * Current is wanted from a cold output: every set-point and protection is programmed anew and read
 * back first, since what was set before may be minutes old; ON follows from `programmed`.
 */
function wantCurrent(state: RunState, atMs: number, event: RunEffect): Step {
  const asked = program(state, atMs, true);
  return go(
    { ...asked.state, programmed: false, awaitingSetPointsSinceMs: atMs, lastValidMs: atMs },
    ...asked.effects,
    event,
  );
}

export function onConfirmed(
  state: RunState,
  input: Extract<RunInput, { kind: 'on-confirmed' }>,
): Step {
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
    charge: beginStretch(state.charge, input.sentAtMs),
    watch: freshWatch,
  });
}

export function offConfirmed(
  state: RunState,
  input: Extract<RunInput, { kind: 'off-confirmed' }>,
): Step {
  if (state.output === 'confirmedOff') return stay(state);
  const charge = endStretch(glimpsed(state, input.amps).charge, {
    askedAtMs: state.offRequestedAtMs ?? input.sentAtMs,
    sentAtMs: input.sentAtMs,
    confirmedAtMs: input.atMs,
    setAmps: highestSetAmps(state),
    gapBoundMs: state.timing.gapBoundMs,
  });
  const next: RunState = {
    ...state,
    output: 'confirmedOff',
    charge,
    probe: withOffTime(state.probe, state.endedAtMs, input.atMs, state.timing.offAlarmMs),
    onSinceMs: null,
    poweredUntilMs: null,
    offRequestedAtMs: null,
    offAlarmRaised: false,
  };
  return go(next, eventOf(input.atMs, 'offConfirmed', 'Output off, read back from the supply.'));
}

export function lift(state: RunState, input: RunInput): Step {
  if (state.probe !== null) return refuse(state, 'A check takes seconds. Let it end, or stop it.');
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
  const place = placeToGoOn(state);
  const moved = { ...state, ...place };
  const resumed = enter(moved, lifecycleOfStage[stageOf(moved).kind]);
  return wantCurrent(
    { ...resumed, liftedAtMs: null },
    input.atMs,
    eventOf(
      input.atMs,
      'putBack',
      `Put back. The current rises again from low.${shortOfTime(resumed)}`,
    ),
  );
}

/** Each lift costs time: what is left of the longest time may not do any more. Empty where it does. */
function shortOfTime(state: RunState): string {
  const leftMs = timeLeftMs(state);
  const allowedMs = state.plan.limits.maxDurationMs - state.poweredMs;
  if (leftMs <= allowedMs) return '';
  const hours = (ms: number): string => `${(Math.max(0, ms) / 3_600_000).toFixed(2)} h`;
  return ` The target is ${hours(leftMs)} away, and the longest time of this run leaves ${hours(allowedMs)}: it will be switched off before. Aim nearer, or carry on in another run.`;
}

export function programmed(
  state: RunState,
  input: Extract<RunInput, { kind: 'programmed' }>,
): Step {
  const { limits, tank } = state.plan;
  const within =
    input.amps <= limits.maxAmps + tank.supply.stepAmps && input.volts <= limits.maxVolts;
  // Written so that what is no number is not within either.
  if (!within) {
    const found = `The supply confirmed ${input.amps} A and ${input.volts} V; the run allows ${limits.maxAmps} A and ${limits.maxVolts} V.`;
    return trip(state, input.atMs, 'programRefused', found);
  }
  const next: RunState = {
    ...state,
    programming: false,
    programmed: true,
    setPointsLately: replaced(state, input),
    confirmedAmps: input.amps,
    commandedAmps: input.amps,
    commandedAtMs: input.atMs,
    lastValidMs: input.atMs,
  };
  const waiting = isPowered(state.lifecycle) && state.awaitingSetPointsSinceMs !== null;
  if (!waiting) return go(next);
  // From here current may flow, whether ON is ever confirmed or not; no set-point before it can.
  const charge = beginStretch(state.charge, input.atMs);
  const awaitingOn = { output: 'unknown', awaitingSetPointsSinceMs: null } as const;
  return go({ ...next, ...awaitingOn, charge, setPointsLately: [] }, { kind: 'switch-on' });
}

/** What a reading may still show after this set-point, besides it. */
function replaced(
  { confirmedAmps, setPointsLately }: RunState,
  { amps, atMs }: Extract<RunInput, { kind: 'programmed' }>,
): readonly PastSetPoint[] {
  const stillSeen = setPointsLately.filter(({ untilMs }) => atMs - untilMs < settlingMs);
  return amps === confirmedAmps
    ? stillSeen
    : [...stillSeen, { amps: confirmedAmps, untilMs: atMs }];
}
