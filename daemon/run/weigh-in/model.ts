/** The words of a weigh-in: what was weighed and measured, and what follows from it. */

import type { Ranged } from '../model.ts';

/** One place of the piece, measured before and after with the same tool. */
export interface CalliperReading {
  /** Where it is, in the maker's words; may be empty. */
  readonly label: string;
  readonly beforeMm: number;
  readonly afterMm: number;
  /**
   * What one unit of thickness adds to the reading: 2 for an outside diameter, -2 for a bore, 1
   * where only one of the two faces takes metal.
   */
  readonly growthPerThickness: -2 | -1 | 1 | 2;
}

/** What a maker enters; masses that are not known yet are null. */
export interface WeighIn {
  readonly beforeGrams: number | null;
  readonly afterGrams: number | null;
  /** One step of the balance, or what the same thing weighed twice differs by, g. */
  readonly balanceGrams: number;
  /** Whether hangers that belong to the piece were on the balance both times. */
  readonly hangersWeighed: boolean;
  /** One step of the callipers, mm. */
  readonly calliperMm: number;
  readonly callipers: readonly CalliperReading[];
  readonly note: string;
}

/** The charge of a run as it was counted, A·h; the bounds leave out the meter. */
export interface CountedCharge {
  readonly ampHours: number;
  readonly lowAmpHours: number;
  readonly highAmpHours: number;
}

/** Something to know about a weigh-in; `code` tells it apart, the words are free. */
export interface WeighInRemark {
  readonly code:
    | 'little-metal'
    | 'much-metal'
    | 'coarse-balance'
    | 'hangers-not-weighed'
    | 'few-readings'
    | 'no-growth'
    | 'outside-readings'
    | 'odd-factor'
    | 'gaps';
  readonly text: string;
}

/** What follows from a weigh-in. Null where it cannot be said; a remark then says why. */
export interface WeighInFigures {
  /** What the piece gained, g. */
  readonly gainGrams: Ranged | null;
  /** Charge that the gain is held against, A·h, with gaps and meter. */
  readonly chargeAmpHours: Ranged;
  /** Gain at the bath's efficiency as it was planned, g. */
  readonly expectedGrams: Ranged;
  /** Share of the charge that became metal, by mass; may lie above 1. */
  readonly efficiency: Ranged | null;
  /** The same by callipers alone: the doubt about the area is in it, so nothing is learned from it. */
  readonly calliperEfficiency: Ranged | null;
  /** Mean thickness by mass on the planned area, micrometres. */
  readonly massMicrometres: Ranged | null;
  /** Mean of the readings, micrometres. */
  readonly calliperMicrometres: Ranged | null;
  /** Mean thickness as the charge has it, micrometres. */
  readonly countedMicrometres: Ranged;
  /** True area over planned area, from metal and callipers together. */
  readonly areaFactor: Ranged | null;
  readonly remarks: readonly WeighInRemark[];
}
