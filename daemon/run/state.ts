/** The whole of what a run knows about itself, as one immutable value. */

import { openLedger, type CarriedCharge, type ChargeLedger } from './charge.ts';
import type { Fault, Lifecycle, OutputBelief, Plan, RunOutcome } from './model.ts';
import { freshProbe, type ProbeProgress } from './probe-model.ts';
import type { Turning } from './turning.ts';
import { freshWatch, type WatchMemory } from './watch/watch.ts';

/** How fast this tank's loop turns; fixed at arming. */
export interface RunTiming {
  readonly cycleMs: number;
  /** The cycle that the settings ask for; shorter than `cycleMs` where the supply cannot keep up. */
  readonly askedCycleMs: number;
  /** The set-point follows the growing area no oftener than this. */
  readonly followEveryMs: number;
  /** A stretch between readings longer than this is a declared gap. */
  readonly gapBoundMs: number;
  /** An armed run that nobody starts is let go after this time. */
  readonly armedForMs: number;
  /** A lifted piece is called out for after this time, and again after each further one. */
  readonly liftReminderMs: number;
  /** A lifted run that nobody puts back ends after this time. */
  readonly liftedForMs: number;
  /** A set-point that is not confirmed within this time is asked for again. */
  readonly programWithinMs: number;
  /** Set-points that are not confirmed within this time, asked for again and again, end the run. */
  readonly setPointsWithinMs: number;
  /** ON must be confirmed within this time. */
  readonly onWithinMs: number;
  /** OFF unconfirmed for this long raises the alarm that sends a person to the bench. */
  readonly offAlarmMs: number;
}

/** A current set-point that was in force until a moment, A and monotonic ms. */
export interface PastSetPoint {
  readonly amps: number;
  readonly untilMs: number;
}

export interface RunState {
  readonly plan: Plan;
  readonly timing: RunTiming;
  readonly lifecycle: Lifecycle;
  readonly output: OutputBelief;
  /** Counts every change that a person could see: of lifecycle, plan or turns; commands name the one they saw. */
  readonly version: number;
  readonly armedAtMs: number | null;
  readonly durable: boolean;
  readonly programmed: boolean;
  readonly startedAtMs: number | null;
  readonly endedAtMs: number | null;
  readonly stageIndex: number;
  /** Time in this stage with the output on, ms. */
  readonly stageElapsedMs: number;
  /** Time with the output on in the whole run, ms. */
  readonly poweredMs: number;
  /** Monotonic time up to which stage time has been counted; null while the output is not on. */
  readonly poweredUntilMs: number | null;
  readonly onSinceMs: number | null;
  readonly charge: ChargeLedger;
  /** What the run it carries on had left in doubt upwards, A·h; no fault of this one. */
  readonly carriedDoubtAmpHours: number;
  /** Last asked of the supply, and last confirmed by it. */
  readonly commandedAmps: number;
  readonly confirmedAmps: number;
  readonly commandedAtMs: number;
  readonly jumpedAtMs: number;
  /** Set-points that were replaced no longer ago than a reading may still show them. */
  readonly setPointsLately: readonly PastSetPoint[];
  readonly programming: boolean;
  /** Since when current is wanted while the set-points for it are not confirmed; null otherwise. */
  readonly awaitingSetPointsSinceMs: number | null;
  readonly lastValidMs: number | null;
  readonly offRequestedAtMs: number | null;
  readonly offAlarmRaised: boolean;
  /** When a person was last told that the output came on by itself; null before. */
  readonly foundOnToldAtMs: number | null;
  readonly liftedAtMs: number | null;
  readonly liftReminders: number;
  /** Null while nobody wants to be reminded of turning the piece. */
  readonly turning: Turning | null;
  /** The version of the run since which the reminder and its count of turns are what they are. */
  readonly turningVersion: number;
  readonly watch: WatchMemory;
  /** Null in every run that is no probe. */
  readonly probe: ProbeProgress | null;
  readonly fault: Fault | null;
  readonly outcome: RunOutcome | null;
}

export function plannedRun(plan: Plan, timing: RunTiming, carried: CarriedCharge): RunState {
  return {
    plan,
    timing,
    lifecycle: 'planned',
    output: 'confirmedOff',
    version: 0,
    armedAtMs: null,
    durable: false,
    programmed: false,
    startedAtMs: null,
    endedAtMs: null,
    stageIndex: 0,
    stageElapsedMs: 0,
    poweredMs: 0,
    poweredUntilMs: null,
    onSinceMs: null,
    charge: openLedger(carried),
    carriedDoubtAmpHours: Math.max(0, carried.highAmpHours - carried.ampHours),
    commandedAmps: 0,
    confirmedAmps: 0,
    commandedAtMs: 0,
    jumpedAtMs: 0,
    setPointsLately: [],
    programming: false,
    awaitingSetPointsSinceMs: null,
    lastValidMs: null,
    offRequestedAtMs: null,
    offAlarmRaised: false,
    foundOnToldAtMs: null,
    liftedAtMs: null,
    liftReminders: 0,
    turning: null,
    turningVersion: 0,
    watch: freshWatch,
    probe: plan.probe == null ? null : freshProbe,
    fault: null,
    outcome: null,
  };
}

const finalLifecycles: ReadonlySet<Lifecycle> = new Set([
  'finished',
  'stopped',
  'tripped',
  'interrupted',
]);
const poweredLifecycles: ReadonlySet<Lifecycle> = new Set([
  'striking',
  'ramping',
  'holding',
  'trickling',
]);

export function isFinal(lifecycle: Lifecycle): boolean {
  return finalLifecycles.has(lifecycle);
}

/** True where current is wanted; in every other state an output that is on is a fault. */
export function isPowered(lifecycle: Lifecycle): boolean {
  return poweredLifecycles.has(lifecycle);
}

/** The highest set-point that may be in effect, A: one whose reply was lost may be already. */
export function highestSetAmps({ confirmedAmps, commandedAmps }: RunState): number {
  return Math.max(confirmedAmps, commandedAmps);
}
