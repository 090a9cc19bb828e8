/** The words of the checks before a start: what each knows of the bench, and what it may answer. */

import type { OutputBelief } from '../model.ts';

/** A `hard` check refuses the start while it fails; an `advice` has to be acknowledged. */
export type CheckWeight = 'hard' | 'advice';

export const checkStates = ['ok', 'failing', 'unknown', 'notNeeded'] as const;
/** `unknown` counts as failing; `notNeeded` does not apply here, and the sentence says why. */
export type CheckState = (typeof checkStates)[number];

export const checkIds = [
  'link',
  'errors',
  'output',
  'setPoints',
  'continuity',
  'log',
  'clock',
  'alerts',
  'drill',
  'protections',
  'mains',
] as const;
export type CheckId = (typeof checkIds)[number];

/** What a check found: the number and its bound as a sentence, and what to do where it is not well. */
export interface CheckFinding {
  readonly state: CheckState;
  readonly sentence: string;
  /** Empty where there is nothing to do. */
  readonly remedy: string;
  /** Where this finding weighs more than the check as a rule does. */
  readonly weight?: CheckWeight;
}

export interface Check extends CheckFinding {
  readonly id: CheckId;
  readonly title: string;
  readonly weight: CheckWeight;
}

/** What a low-current look at the circuit found. */
export type ContinuityVerdict = 'closed' | 'open' | 'shorted';

export interface ContinuityResult {
  readonly verdict: ContinuityVerdict;
  readonly wallMs: number;
  readonly sentence: string;
  /** The meter's voltage steps are too coarse to tell a short from a large bare piece. */
  readonly coarse?: boolean;
}

/** What a limits drill came to: the trip switched off and that was read back, or not. */
export interface DrillResult {
  readonly passed: boolean;
  readonly wallMs: number;
  readonly sentence: string;
}

/** What is known of channels that reach a person away from the page. */
export interface AlertFacts {
  readonly outsideChannels: number;
  /** A person has confirmed a test lately. */
  readonly confirmed: boolean;
  readonly sentence: string;
}

/** What a supply cannot do by itself, or cannot tell. */
export interface ProtectionFacts {
  readonly overVoltageLevel: boolean;
  readonly overCurrentLevel: boolean;
  /** The protection is switched on with its level, and that is read back. */
  readonly overVoltageReadsOn: boolean;
  readonly overCurrentReadsOn: boolean;
  readonly outputReadback: boolean;
  readonly setPointReadback: boolean;
}

/** What the output of a supply does when the mains returns. */
export type AfterMains = 'off' | 'on' | 'unknown';

/** Set-points of the armed run. */
export interface SetPointFacts {
  readonly readBack: boolean;
  readonly volts: number;
  readonly amps: number;
}

/** The bench at one moment, as the checks see it. Wall times are ms since the epoch. */
export interface CheckFacts {
  readonly simulated: boolean;
  readonly wallMs: number;
  readonly link: {
    readonly state: 'connecting' | 'connected' | 'lost';
    /** The identity when connected, the reason when not. */
    readonly message: string;
    /** Whether the settings say which supply is meant. */
    readonly identityExpected: boolean;
  };
  /** Errors that stood in the supply's own list when the line came up; null where it keeps none. */
  readonly standingErrors: readonly string[] | null;
  readonly output: OutputBelief;
  /** The last measured current, and the bound below which it counts as none, A. */
  readonly measuredAmps: number | null;
  readonly offAmps: number;
  /** Null while no run is armed. */
  readonly setPoints: SetPointFacts | null;
  /** The last of this tank; null where there was none. */
  readonly continuity: ContinuityResult | null;
  readonly log: {
    /** Why nothing can be written; null while all is well. */
    readonly failure: string | null;
    /** Null where the system does not tell. */
    readonly freeMegabytes: number | null;
    /** What the longest run on this tank may write. */
    readonly neededMegabytes: number;
  };
  readonly clock: {
    /** Zone of this machine by its IANA name. */
    readonly timeZone: string;
    /** The latest time in the log; null in an empty one. */
    readonly latestRecordWallMs: number | null;
    /** By how much the wall clock was moved within the last minutes, ms. */
    readonly steppedMs: number;
  };
  /** Null where no alerts are set up at all. */
  readonly alerts: AlertFacts | null;
  /** The last on this very supply; null where there was none. */
  readonly drill: DrillResult | null;
  readonly protections: ProtectionFacts;
  /** What its output does when the mains returns, as the maker saw it. */
  readonly afterMains: AfterMains;
}
