/** What a reading does to a powered run: count, watch, end, advance, follow. In that order. */

import { addMeasurement } from './charge.ts';
import type { RunReading, Stage } from './model.ts';
import { end, trip } from './ending.ts';
import { currentWanted, onConfirmed, program } from './moves.ts';
import { judgeProbe } from './probing.ts';
import { enterStage, eventOf, go, stageOf, stay, type Step } from './steps.ts';
import { highestSetAmps, type RunState } from './state.ts';
import { remindToTurn } from './turning.ts';
import { watch } from './watch/watch.ts';
import { settlingMs, type WatchView } from './watch/rule.ts';

/** The current follows a ramp in strides no finer than this share of it. */
const followShare = 0.004;
/** What is left over after this time is evened out to the supply's own step, ms. */
const evenOutMs = 15_000;
/** A strike whose current has not come up is given this many times its planned time. */
const strikePatience = 2;
/** The current has come up when it reaches this share of its set-point. */
const coveredShare = 0.8;

export function judge(state: RunState, reading: RunReading): Step {
  if (state.awaitingSetPointsSinceMs !== null) return awaitSetPoints(state, reading);
  if (state.output !== 'on') return awaitOn(state, reading);
  const counted = count(state, reading);
  const { probe } = state.plan;
  if (probe != null && counted.probe !== null) {
    return judgeProbe(counted, probe, counted.probe, viewOf(counted, reading));
  }
  const verdict = watch(counted.watch, viewOf(counted, reading));
  const watched = { ...counted, watch: verdict.memory };
  if (verdict.finding !== null) {
    return trip(watched, reading.atMs, verdict.finding.code, verdict.finding.found);
  }
  return remindToTurn(endAtTarget(watched, reading) ?? advance(watched, reading), reading.atMs);
}

/** ON was not sent yet: a lost reply is asked for again, an output that is on already is a fault. */
function awaitSetPoints(state: RunState, reading: RunReading): Step {
  const heard = { ...state, lastValidMs: reading.atMs };
  if (reading.live) {
    const found = `${reading.amps.toFixed(3)} A flows, or the output says that it is on, before ON was sent.`;
    return trip(heard, reading.atMs, 'outputFoundOn', found);
  }
  const waitedMs = reading.atMs - (state.awaitingSetPointsSinceMs ?? reading.atMs);
  if (waitedMs > state.timing.setPointsWithinMs) {
    const bound = (state.timing.setPointsWithinMs / 1000).toFixed(1);
    const found = `The set-points were not confirmed within ${bound} s; the output was not switched on.`;
    return trip(heard, reading.atMs, 'programRefused', found);
  }
  const unanswered = reading.atMs - state.commandedAtMs >= state.timing.programWithinMs;
  return unanswered ? program(heard, reading.atMs, true) : stay(heard);
}

/** ON was sent and not confirmed: the supply's own word confirms it, and waiting has an end. */
function awaitOn(state: RunState, reading: RunReading): Step {
  if (state.output === 'unknown' && reading.outputOn === true) {
    const atMs = reading.atMs;
    // When the supply took ON is not known; it was asked for when the stretch of charge began.
    const sentAtMs = state.charge.lastAtMs ?? atMs;
    return onConfirmed(state, { kind: 'on-confirmed', atMs, sentAtMs });
  }
  const waitedMs = reading.atMs - state.commandedAtMs;
  const heard = { ...state, lastValidMs: reading.atMs };
  if (waitedMs <= state.timing.onWithinMs) return stay(heard);
  const bound = (state.timing.onWithinMs / 1000).toFixed(1);
  return trip(
    heard,
    reading.atMs,
    'outputRefused',
    `The output was not confirmed on within ${bound} s.`,
  );
}

function count(state: RunState, reading: RunReading): RunState {
  const sinceMs = Math.max(0, reading.atMs - (state.poweredUntilMs ?? reading.atMs));
  return {
    ...state,
    lastValidMs: reading.atMs,
    poweredUntilMs: reading.atMs,
    stageElapsedMs: state.stageElapsedMs + sinceMs,
    poweredMs: state.poweredMs + sinceMs,
    charge: addMeasurement(state.charge, {
      atMs: reading.atMs,
      amps: reading.amps,
      setAmps: highestSetAmps(state),
      gapBoundMs: state.timing.gapBoundMs,
      cut:
        (reading.outputOn === false && !reading.live) || reading.amps > state.plan.limits.maxAmps,
    }),
  };
}

function viewOf(state: RunState, reading: RunReading): WatchView {
  const { limits, tank } = state.plan;
  return {
    // Set-points read while new ones are on their way prove nothing.
    reading: state.programming ? { ...reading, setAmps: null, setVolts: null } : reading,
    limits,
    setAmps: state.confirmedAmps,
    ...setAmpsLately(state, reading.atMs),
    setVolts: limits.setVolts,
    stepAmps: tank.supply.stepAmps,
    stepVolts: tank.supply.stepVolts,
    onForMs: reading.atMs - (state.onSinceMs ?? reading.atMs),
    settledForMs: reading.atMs - Math.max(state.onSinceMs ?? 0, state.jumpedAtMs),
    striking: state.lifecycle === 'striking',
    ampHours: state.charge.ampHours,
    highAmpHours: state.charge.highAmpHours - state.carriedDoubtAmpHours,
    runForMs: state.poweredMs,
  };
}

/** The highest and the lowest set-point that this reading may show: one that has just been replaced counts. */
function setAmpsLately(
  { confirmedAmps, commandedAmps, setPointsLately }: RunState,
  atMs: number,
): Pick<WatchView, 'mostSetAmps' | 'leastSetAmps'> {
  // A set-point whose reply was lost may be in effect already.
  let mostSetAmps = Math.max(confirmedAmps, commandedAmps);
  let leastSetAmps = Math.min(confirmedAmps, commandedAmps);
  for (const { amps, untilMs } of setPointsLately) {
    if (atMs - untilMs >= settlingMs) continue;
    mostSetAmps = Math.max(mostSetAmps, amps);
    leastSetAmps = Math.min(leastSetAmps, amps);
  }
  return { mostSetAmps, leastSetAmps };
}

/** The target is met when the charge stands within half a cycle of it: the mean error is then nil. */
function endAtTarget(state: RunState, reading: RunReading): Step | null {
  if (state.lifecycle === 'trickling') return endTrickle(state, reading);
  const ahead = (Math.max(0, reading.amps) * state.timing.cycleMs) / 2 / 3_600_000;
  if (state.charge.ampHours + ahead < state.plan.targetChargeAmpHours) return null;
  const trickleIndex = state.plan.stages.findIndex((stage) => stage.kind === 'trickle');
  if (trickleIndex < 0) return finish(state, reading.atMs);
  const trickling = enterStage(state, trickleIndex);
  const programmed = program(trickling, reading.atMs, false);
  return go(
    programmed.state,
    ...programmed.effects,
    eventOf(
      reading.atMs,
      'targetReached',
      'Target reached. A small current keeps the piece until it is fetched.',
    ),
  );
}

function endTrickle(state: RunState, reading: RunReading): Step | null {
  return state.stageElapsedMs >= stageOf(state).durationMs ? finish(state, reading.atMs) : null;
}

function finish(state: RunState, atMs: number): Step {
  const reason = `Target reached at ${state.charge.ampHours.toFixed(3)} A·h.`;
  return end(state, atMs, 'finished', { end: 'reached', reason, faultCode: null });
}

function advance(state: RunState, reading: RunReading): Step {
  const stage = stageOf(state);
  const over = state.stageElapsedMs >= stage.durationMs;
  const next = state.plan.stages[state.stageIndex + 1];
  const timed = stage.kind === 'strike' || stage.kind === 'ramp';
  if (!timed || !over || next === undefined || next.kind === 'trickle')
    return follow(state, reading);
  if (stage.kind === 'strike' && reading.amps < coveredShare * state.confirmedAmps) {
    return waitForCover(state, reading, stage);
  }
  const moved = enterStage(state, state.stageIndex + 1);
  const followed = follow(moved, reading);
  return go(
    followed.state,
    eventOf(reading.atMs, moved.lifecycle, stageSentence(next)),
    ...followed.effects,
  );
}

function stageSentence(stage: Stage): string {
  return stage.kind === 'ramp'
    ? 'Ramping up to the full current.'
    : 'Holding. The current follows the growing area.';
}

function waitForCover(state: RunState, reading: RunReading, stage: Stage): Step {
  if (state.stageElapsedMs < strikePatience * stage.durationMs) return follow(state, reading);
  const minutes = Math.round(state.stageElapsedMs / 60_000);
  return trip(
    state,
    reading.atMs,
    'paintNotCovering',
    `After ${minutes} min ${reading.amps.toFixed(3)} A flows where ${state.confirmedAmps.toFixed(3)} A was asked for.`,
  );
}

/** Keeps the density where the stage wants it while the area grows under it. */
function follow(state: RunState, reading: RunReading): Step {
  const sinceMs = reading.atMs - state.commandedAtMs;
  if (state.programming) {
    return sinceMs < state.timing.programWithinMs
      ? stay(state)
      : program(state, reading.atMs, false);
  }
  if (sinceMs < state.timing.followEveryMs) return stay(state);
  const wanted = currentWanted(state);
  const step = state.plan.tank.supply.stepAmps;
  const stride = sinceMs < evenOutMs ? Math.max(step, followShare * state.confirmedAmps) : step;
  if (Math.abs(wanted - state.confirmedAmps) < stride - 1e-12) return stay(state);
  return program(state, reading.atMs, false);
}
