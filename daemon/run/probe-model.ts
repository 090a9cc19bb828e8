/** The words of a probe: a short run at a low current that looks at the bench and grows nothing. */

export const probeKinds = ['continuity', 'drill', 'meter'] as const;
/**
 * Continuity looks whether the circuit is closed; a drill trips on purpose and reads OFF back; a meter
 * probe lets a steady current flow for a while, for a person who reads another meter.
 */
export type ProbeKind = (typeof probeKinds)[number];

/** Probes that are checks: they find something by themselves. */
export type CheckProbe = Exclude<ProbeKind, 'meter'>;

/** What a probe asks of the supply. */
export interface ProbePlan {
  readonly kind: ProbeKind;
  readonly amps: number;
  /** Voltage cap of the supply. */
  readonly volts: number;
  /** The limit that a drill puts below the current that flows, A; null where nothing is drilled. */
  readonly drillAmps: number | null;
  /** With the output on before it answers, ms. */
  readonly lookMs: number;
}

export const probeVerdicts = ['closed', 'open', 'shorted', 'passed', 'failed'] as const;
/** The first three of a continuity check, the last two of a drill. */
export type ProbeVerdict = (typeof probeVerdicts)[number];

/** What a probe came to, with its numbers. */
export interface ProbeFinding {
  readonly verdict: ProbeVerdict;
  readonly volts: number;
  readonly amps: number;
  /** From the trip until OFF was read back, ms; null while it is not, and where nothing was drilled. */
  readonly offMs: number | null;
  readonly sentence: string;
}

/** How far a probe is. */
export interface ProbeProgress {
  /** Readings with the current settled, and their sums. */
  readonly readings: number;
  readonly sumVolts: number;
  readonly sumAmps: number;
  /** The currents of the last of them, A. */
  readonly lastAmps: readonly number[];
  /** The drill's limit applies from here on. */
  readonly lowered: boolean;
  /** Readings since then that could not trip: the current had gone below the limit by itself. */
  readonly spared: number;
  readonly finding: ProbeFinding | null;
}

export const freshProbe: ProbeProgress = {
  readings: 0,
  sumVolts: 0,
  sumAmps: 0,
  lastAmps: [],
  lowered: false,
  spared: 0,
  finding: null,
};

/** Of the most current that tank and supply bear: below it, the last digit of a meter would be its correction. */
export const leastSteadyShare = 0.1;

export const probeTitles: Readonly<Record<ProbeKind, string>> = {
  continuity: 'Continuity check',
  drill: 'Limits drill',
  meter: 'Steady current for the meter',
};
