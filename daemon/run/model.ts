/** The words of a run: its plan, its states, what can happen to it and what it may ask for. */

import type { Bath, Metal } from '../chemistry/model.ts';
import type { Material } from '../piece/material.ts';
import type { MaterialsJudgement } from '../piece/materials.ts';
import type { Growth, PieceDescription, Problem } from '../piece/model.ts';
import type { ChangeInput } from './change-model.ts';
import type { OffInput } from './off-model.ts';
import type {
  ContactPlan,
  DominantDoubt,
  DoneByPlan,
  Evenness,
  HangerLoad,
} from './plan-findings.ts';
import type { ProbePlan } from './probe-model.ts';

/** Conductive layer under the metal; decides how gently a run starts. */
export type Paint = 'silver' | 'copper' | 'graphite' | 'none';

/** A target that needs nothing but its own number. */
export type PlainTarget =
  | { readonly kind: 'thickness'; readonly micrometres: number }
  | { readonly kind: 'mass'; readonly grams: number }
  | { readonly kind: 'charge'; readonly ampHours: number }
  | { readonly kind: 'time'; readonly hours: number };

/** A size of one part that the run is to end at, by the name it has in the part's dimensions. */
export interface FinalSizeTarget {
  readonly kind: 'final-size';
  readonly partIndex: number;
  readonly dimension: string;
  /** Above 0. */
  readonly mm: number;
}

/** A goal and the local time by which it is to be reached; the density is solved for it. */
export interface DoneByTarget {
  readonly kind: 'done-by';
  readonly goal: Exclude<PlainTarget, { readonly kind: 'time' }> | FinalSizeTarget;
  /** `07:00`, the next there is, or with its day, `2026-11-26 07:00`. */
  readonly localTime: string;
  /** A zone by its IANA name, such as Europe/Berlin; left out, the place of planning gives it. */
  readonly timeZone?: string | undefined;
  /** When the run is taken to start, ms since the epoch; left out, the time of planning. */
  readonly nowWallMs?: number | undefined;
}

export type Target = PlainTarget | FinalSizeTarget | DoneByTarget;

/** Where the current enters a painted piece. */
export interface ContactRequest {
  /** 1 to 1,000. */
  readonly points: number;
  /** From the place farthest from any contact, along the paint, mm; above 0. */
  readonly farthestMm: number;
}

export interface TrickleRequest {
  readonly densityAmpsPerDm2: number;
  readonly maxHours: number;
}

export interface PlanRequest {
  readonly piece: PieceDescription;
  readonly tankId: string;
  readonly bathId: string;
  readonly paint: Paint;
  readonly densityAmpsPerDm2: number;
  readonly target: Target;
  /** Null is none: the output goes off at the target. */
  readonly trickle: TrickleRequest | null;
  /** The gentle start in the maker's own figures; left out or null, the paint decides. */
  readonly start?: StartRequest | null | undefined;
  /** The density as it was typed, unit and all, such as `0.1 A/in2`; it means the figure above. */
  readonly densityTyped?: string | undefined;
  /** Left out or null, the paint alone decides how gently a run starts. */
  readonly contact?: ContactRequest | null | undefined;
  /** Parts by label (`part 2` where there is none) whose openings may close before the target. */
  readonly acceptClosures?: readonly string[] | undefined;
  /** Materials by id that give off a poison in acid, and may all the same be on the piece. */
  readonly acceptMaterials?: readonly string[] | undefined;
  /** The version in the library that `piece` was taken from; `piece` stays what it was then. */
  readonly pieceRef?: { readonly id: string; readonly version: number } | undefined;
}

/** A request whose density may still be open: the text typed, the bath or the time then gives it. */
export type PlanQuestion = Omit<PlanRequest, 'densityAmpsPerDm2'> & {
  readonly densityAmpsPerDm2?: number | undefined;
};

/** What planning knows beside bath and tank. Only a target by the clock asks for hour and place. */
export interface PlanContext {
  /** Ms since the epoch. */
  readonly nowWallMs?: number | undefined;
  /** By its IANA name. */
  readonly timeZone?: string | undefined;
  /** Charge that the run to carry on from has left on the piece, A·h; 0 or more. */
  readonly carriedAmpHours?: number | undefined;
  /** The table that the materials of a piece are judged by; without it all of them are unknown. */
  readonly materials?: readonly Material[] | undefined;
}

/** A strike at a share of the hold's density, then a ramp up to it. */
export interface StartRequest {
  /** 0.01 to 1. */
  readonly strikeShare: number;
  /** 0 to 600 each. */
  readonly strikeMinutes: number;
  readonly rampMinutes: number;
}

/** What the plan must respect in the tank and its supply. */
export interface TankFacts {
  readonly id: string;
  readonly name: string;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
  readonly simulated: boolean;
  /** The maker's hard limits for this tank; never above the supply's own. */
  readonly maxAmps: number;
  readonly maxVolts: number;
  readonly maxHours: number;
  readonly supply: {
    readonly minAmps: number;
    readonly maxAmps: number;
    readonly stepAmps: number;
    readonly maxVolts: number;
    readonly stepVolts: number;
    /** Half width of the meter's range as a share of the reading. */
    readonly meterUncertainty: number;
    readonly overVoltageLevel: boolean;
    readonly overCurrentLevel: boolean;
  };
}

export type StageKind = 'strike' | 'ramp' | 'hold' | 'trickle';

/** One stage. Density runs in a straight line from start to end over the duration. */
export interface Stage {
  readonly kind: StageKind;
  readonly startAmpsPerDm2: number;
  readonly endAmpsPerDm2: number;
  /** Longest time in this stage, ms; the hold is ended by the target and this is its estimate. */
  readonly durationMs: number;
}

export type NoticeSeverity = 'refuse' | 'warn' | 'note';

/** One thing the plan says: the number, its bound, and what to do about it. */
export interface Notice {
  readonly severity: NoticeSeverity;
  readonly code: string;
  readonly field: string;
  readonly value: string;
  readonly bound: string;
  readonly message: string;
  readonly remedy: string;
  /** The ends of the bath's window where the words name them, with all their digits. */
  readonly windowAmpsPerDm2?: readonly [least: number, most: number] | undefined;
}

/** A value with the range in which the true one lies. */
export interface Ranged {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** A size that the run ends at, with the range that the thickness leaves it. */
export interface FinalSizePlan {
  readonly partIndex: number;
  readonly label: string;
  readonly beforeMm: number;
  readonly afterMm: Ranged;
}

/** Limits a run may not leave; frozen at arming, they may only tighten. */
export interface RunLimits {
  readonly maxAmps: number;
  readonly maxVolts: number;
  /** Voltage set-point given to the supply, so that it leaves constant current at this voltage. */
  readonly setVolts: number;
  /** Programmed into the supply where it can hold them; null where it cannot. */
  readonly overVoltageVolts: number | null;
  readonly overCurrentAmps: number | null;
  readonly maxDurationMs: number;
  readonly maxChargeAmpHours: number;
  /** Longest time without a valid reading before a trip, ms. */
  readonly maxSilenceMs: number;
}

/** A plan that can be read, argued with and started. */
export interface Plan {
  readonly request: PlanRequest;
  readonly bath: Bath;
  readonly metal: Metal;
  readonly tank: TankFacts;
  readonly growth: Growth;
  readonly areaDm2: Ranged;
  readonly stages: readonly Stage[];
  readonly targetChargeAmpHours: number;
  readonly thicknessMicrometres: Ranged;
  readonly massGrams: Ranged;
  readonly durationMs: number;
  readonly strikeAmps: number;
  readonly holdStartAmps: number;
  readonly holdEndAmps: number;
  readonly expectedVolts: Ranged;
  /** Both with the trickle, if it runs to its end. */
  readonly anodeLossGrams: number;
  readonly energyWattHours: number;
  readonly limits: RunLimits;
  /** Which part decides (closes first or is thinnest), as an index into the piece's parts. */
  readonly decidingPart: number;
  readonly notices: readonly Notice[];
  /** False when any notice refuses. */
  readonly startable: boolean;
  /** The figures below are missing from plans made before there were any. */
  readonly densityFrom?: 'typed' | 'window' | 'done-by' | undefined;
  readonly evenness?: Evenness | undefined;
  readonly dominant?: DominantDoubt | undefined;
  /** Null where no hanger was entered. */
  readonly hanger?: HangerLoad | null | undefined;
  readonly contact?: ContactPlan | null | undefined;
  readonly doneBy?: DoneByPlan | null | undefined;
  readonly finalSize?: FinalSizePlan | null | undefined;
  /** Null where the piece names no materials. */
  readonly materials?: MaterialsJudgement | null | undefined;
  /** Left out, or null, in every run that is no probe. */
  readonly probe?: ProbePlan | null | undefined;
}

export type PlanResult =
  | { readonly ok: true; readonly plan: Plan }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** Where a run stands. The last four are final. */
export const lifecycles = [
  'planned',
  'armed',
  'striking',
  'ramping',
  'holding',
  'lifted',
  'trickling',
  'finished',
  'stopped',
  'tripped',
  'interrupted',
] as const;
export type Lifecycle = (typeof lifecycles)[number];

/** What is known of the output, on an axis of its own. */
export type OutputBelief = 'confirmedOff' | 'on' | 'offRequested' | 'unknown';

/** One judged reading, with the monotonic time at which it was taken. */
export interface RunReading {
  readonly atMs: number;
  readonly volts: number;
  readonly amps: number;
  readonly outputOn: boolean | null;
  /** Whether current can be flowing: the supply says that its output is on, or current is measured. */
  readonly live: boolean;
  readonly regulation: 'constantCurrent' | 'constantVoltage' | 'unregulated' | 'off' | 'unknown';
  readonly supplyTrips: readonly string[];
  readonly setVolts: number | null;
  readonly setAmps: number | null;
  readonly restarted: boolean;
}

export const faultCodes = [
  'overCurrent',
  'overVoltage',
  'openCircuit',
  'shortCircuit',
  'notFollowing',
  'noCharge',
  'setPointChanged',
  'outputFoundOff',
  'outputFoundOn',
  'supplyRestarted',
  'supplyTripped',
  'stuckReading',
  'silence',
  'tooLong',
  'tooMuchCharge',
  'clockGap',
  'programRefused',
  'outputRefused',
  'wrongDevice',
  'controlLost',
  'databaseLost',
  'databaseDamaged',
  'sentinelLost',
  'offUnconfirmed',
  'paintNotCovering',
  'bathTooWarm',
  'bathTooCold',
  'levelTooLow',
  'levelTooHigh',
  'sensorMissing',
] as const;
export type FaultCode = (typeof faultCodes)[number];

/** A trip in words: what was found, what it means, what to do. */
export interface Fault {
  readonly code: FaultCode;
  readonly atMs: number;
  /** The number and its bound, as a sentence. */
  readonly found: string;
  readonly cause: string;
  readonly remedy: string;
}

/** Everything that can happen to a run. Times are monotonic ms; a time-out is an input like any other. */
export type RunInput =
  | { readonly kind: 'arm'; readonly atMs: number }
  | { readonly kind: 'made-durable'; readonly atMs: number }
  | {
      readonly kind: 'programmed';
      readonly atMs: number;
      readonly amps: number;
      readonly volts: number;
    }
  | { readonly kind: 'program-failed'; readonly atMs: number; readonly reason: string }
  /** `reason` where it was not a person who let go. */
  | { readonly kind: 'disarm'; readonly atMs: number; readonly reason?: string }
  | { readonly kind: 'start'; readonly atMs: number }
  /** `sentAtMs` is when the command left: the current flows from there. */
  | { readonly kind: 'on-confirmed'; readonly atMs: number; readonly sentAtMs: number }
  | { readonly kind: 'on-failed'; readonly atMs: number; readonly reason: string }
  | OffInput
  | { readonly kind: 'reading'; readonly atMs: number; readonly reading: RunReading }
  | { readonly kind: 'reading-missing'; readonly atMs: number; readonly reason: string }
  | { readonly kind: 'lift'; readonly atMs: number }
  | { readonly kind: 'put-back'; readonly atMs: number }
  | ChangeInput
  | { readonly kind: 'stop'; readonly atMs: number; readonly by: string }
  | { readonly kind: 'clock-gap'; readonly atMs: number; readonly gapMs: number }
  | {
      readonly kind: 'fault';
      readonly atMs: number;
      readonly code: FaultCode;
      readonly found: string;
    }
  | { readonly kind: 'interrupt'; readonly atMs: number; readonly reason: string };
export type RunInputKind = RunInput['kind'];

/** The only door out of the machine: what it asks the world to do. */
export type RunEffect =
  | { readonly kind: 'make-durable' }
  | {
      readonly kind: 'program';
      readonly amps: number;
      readonly volts: number;
      readonly withProtection: boolean;
    }
  | { readonly kind: 'switch-on' }
  | { readonly kind: 'switch-off'; readonly why: string }
  | { readonly kind: 'event'; readonly event: RunEvent }
  | { readonly kind: 'alarm'; readonly fault: Fault; readonly priority: AlarmPriority }
  | { readonly kind: 'end'; readonly outcome: RunOutcome };

export type AlarmPriority = 'stopped' | 'act-soon' | 'note';

/** One line of the run's record. */
export interface RunEvent {
  readonly atMs: number;
  readonly code: string;
  readonly message: string;
}

export interface RunOutcome {
  readonly end: 'reached' | 'stopped' | 'tripped' | 'interrupted';
  readonly reason: string;
  readonly faultCode: FaultCode | null;
}

/** A stretch in which the current was not measured. */
export interface ChargeGap {
  readonly fromMs: number;
  readonly toMs: number;
  readonly lowAmpHours: number;
  readonly highAmpHours: number;
}

/** Charge so far: the best count and the bounds that the declared gaps leave. */
export interface Charge {
  readonly ampHours: number;
  readonly lowAmpHours: number;
  readonly highAmpHours: number;
  readonly gaps: readonly ChargeGap[];
}
