/** The picture of a tank that pages see. */

import { areaDm2Now, massGramsNow, thicknessNow } from '../run/forecast.ts';
import { densityAmpsPerDm2At } from '../run/stages.ts';
import { isFinal, isPowered, type RunState } from '../run/state.ts';
import { timeLeftMs } from '../run/steps.ts';
import type { Turning } from '../run/turning.ts';
import type { LiveTurning } from '../wire/run-book.ts';
import type { LiveRun, TankSnapshot } from '../wire/bench.ts';
import type { BootClocks, ChargeSeen, RunRecord } from '../wire/run.ts';
import type { GuardTaken } from './guardian.ts';
import { sentenceOf } from './sentence.ts';
import type { Tank } from './tank.ts';

/** A run on a tank: its document and where the machine stands. */
export interface ActiveRun {
  /** Its plan is the one that stands; another takes its place when target or density change. */
  record: RunRecord;
  state: RunState;
  /** Monotonic and wall time of the start, and wall time of the end; null before them. */
  startedAtMs: number | null;
  startedWallMs: number | null;
  endedWallMs: number | null;
  /**
   * The clocks of the computer just before the start, at arming until then; null where there are none.
   * What it slept since then is taken out: the charge has its bound for that already, or nothing flowed.
   */
  clocks: BootClocks | null;
  /** As the disk was last given it; null before the start. */
  chargeSeen: ChargeSeen | null;
  /** Its row is on disk: from here on it can be brought up to date. */
  recorded: boolean;
  /** What the sentinel said when it took the guard at arming; null before. */
  guard: GuardTaken | null;
  /** Its output has been read back as off after its end: what it came to is known, once for all. */
  settled: boolean;
  /** Who pressed Start; empty before. */
  startedBy: string;
  /** Called once when it is ready: the demo and the short checks start then; nothing else does. */
  onReady: (() => void) | null;
}

/** A run that has just come to a tank. */
export function activeRun(
  record: RunRecord,
  state: RunState,
  onReady: ActiveRun['onReady'],
): ActiveRun {
  const times = { startedAtMs: null, startedWallMs: null, endedWallMs: null };
  const open = { chargeSeen: null, recorded: false, guard: null, settled: false, startedBy: '' };
  return { record, state, ...times, clocks: record.clocks, ...open, onReady };
}

/** Keeps the time at which current first flows; true when that is now. */
export function noteStart(run: ActiveRun, wallMs: number): boolean {
  if (run.state.startedAtMs === null || run.startedAtMs !== null) return false;
  run.startedAtMs = run.state.startedAtMs;
  run.startedWallMs = wallMs;
  return true;
}

/** Whether the run has the word on the output: from arming until it is over and read back as off. */
export function holdsOutput({ state }: ActiveRun): boolean {
  if (state.lifecycle === 'planned') return false;
  return !(isFinal(state.lifecycle) && state.output === 'confirmedOff');
}

function liveTurning(turning: Turning, poweredMs: number): LiveTurning {
  const { everyMs, dueAtMs, isDue, done, missed } = turning;
  return { everyMinutes: everyMs / 60_000, dueInMs: dueAtMs - poweredMs, isDue, done, missed };
}

function liveRun(run: ActiveRun, tank: Tank): LiveRun {
  const { state, record } = run;
  const { plan } = state;
  const { ampHours, lowAmpHours, highAmpHours } = state.charge;
  const ended = isFinal(state.lifecycle);
  const leftMs = ended || plan.probe != null ? null : timeLeftMs(state);
  const stage = plan.stages[state.stageIndex];
  const nowMs = state.endedAtMs ?? tank.clock.nowMs();
  const density =
    stage !== undefined && isPowered(state.lifecycle)
      ? densityAmpsPerDm2At(stage, state.stageElapsedMs)
      : 0;
  return {
    id: record.id,
    kind: record.kind,
    version: state.version,
    pieceName: plan.request.piece.name,
    bathName: plan.bath.name,
    lifecycle: state.lifecycle,
    sentence: sentenceOf(state, leftMs),
    ready: state.durable && state.programmed,
    armedWallMs: record.armedWallMs,
    startedWallMs: run.startedWallMs,
    elapsedMs: run.startedAtMs === null ? 0 : nowMs - run.startedAtMs,
    poweredMs: state.poweredMs,
    remainingMs: leftMs,
    endsWallMs:
      leftMs === null || !isPowered(state.lifecycle) ? null : tank.clock.wallMs() + leftMs,
    thicknessMicrometres: thicknessNow(plan, ampHours, lowAmpHours, highAmpHours),
    targetMicrometres: plan.thicknessMicrometres.value,
    ampHours,
    lowAmpHours,
    highAmpHours,
    targetAmpHours: plan.targetChargeAmpHours,
    massGrams: massGramsNow(plan, ampHours),
    areaDm2: areaDm2Now(plan, ampHours),
    densityAmpsPerDm2: density,
    wantedAmps: isPowered(state.lifecycle) ? state.confirmedAmps : 0,
    holdAmpsPerDm2: plan.request.densityAmpsPerDm2,
    ...(state.turning === null ? {} : { turning: liveTurning(state.turning, state.poweredMs) }),
    outcome: state.outcome,
  };
}

export function snapshotOf(tank: Tank, outputSinceWallMs: number): TankSnapshot {
  const { link, lastReading, run } = tank;
  return {
    id: tank.id,
    name: tank.settings.name,
    simulated: tank.simulated,
    timeScale: tank.clock.scale,
    wallMs: tank.clock.wallMs(),
    facts: tank.facts,
    bathId: tank.bath.id,
    link: {
      state: link.state,
      message: link.message,
      sinceWallMs: link.sinceWallMs,
      description: link.description,
      cycleMs: tank.cycleMs,
      answerMs: link.answerMs,
      ...link.health,
    },
    output: tank.output,
    outputSinceWallMs,
    ...(tank.awaitsOff ? { awaitsOff: true } : {}),
    reading:
      lastReading === null
        ? null
        : {
            wallMs: lastReading.wallMs,
            volts: lastReading.reading.volts,
            amps: lastReading.reading.amps,
            setVolts: lastReading.reading.setVolts,
            setAmps: lastReading.reading.setAmps,
            outputOn: lastReading.reading.outputOn,
            regulation: lastReading.reading.regulation,
          },
    run: run === null ? null : liveRun(run, tank),
    alarms: [...tank.alarms.standing],
    ...(tank.alarms.quiet.length === 0 ? {} : { quietAlarms: [...tank.alarms.quiet] }),
    ...(tank.settings.sensors === undefined ? {} : { sensors: tank.sensors.picture() }),
  };
}
