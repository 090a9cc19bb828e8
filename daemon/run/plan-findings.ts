/** What a plan finds out beyond its own figures: evenness, doubt, hanger, contacts, the clock. */

/** Two ends between which a figure is likely to lie. */
export interface Band {
  readonly low: number;
  readonly high: number;
}

/** How unevenly the metal is likely to lie; published ratios, not a computed field. */
export interface Evenness {
  readonly maxToMean: Band;
  readonly meanToMin: Band;
  /** Mean thickness over the worst of the ratio: what the thinnest place may be left with. */
  readonly thinnestMicrometres: number;
  readonly thickestMicrometres: number;
  /** The part whose form decides, as an index into the piece's parts. */
  readonly partIndex: number;
  /** The form it is taken for, in words. */
  readonly form: string;
  /** Average to least thickness as published for that form; null where nothing is. */
  readonly published: number | null;
  readonly source: string;
  /** How often to turn the piece by hand, and how many times that is before the target. */
  readonly turnEveryMinutes: number;
  readonly turns: number;
}

export type DoubtSource = 'area' | 'efficiency' | 'meter' | 'metalDensity';

/** The largest source of doubt about the thickness. */
export interface DominantDoubt {
  readonly source: DoubtSource;
  /** Its share of all the squared doubt, 0 to 1. */
  readonly share: number;
  /** Half the width of its own range, as a share of the value. */
  readonly halfWidth: number;
  readonly remedy: string;
}

/** What the current does to the wire that holds the piece. */
export interface HangerLoad {
  readonly partIndex: number;
  readonly diameterMm: number;
  /** Through one of its wires, at the largest current, trickle included. */
  readonly amps: number;
  /** Current that warms bare copper of that diameter in still air by 30 K. */
  readonly ratingAmps: number;
  readonly riseKelvin: number;
  readonly dropVolts: number;
}

/** How far the current reaches along the paint, and the start chosen for it. */
export interface ContactPlan {
  readonly points: number;
  readonly farthestMm: number;
  /** Distance over which the current along the paint falls to a third at the strike, mm. */
  readonly reachMm: number;
  /** Farthest distance at which the paint's own start is enough, mm. */
  readonly easyMm: number;
  /** Contact points, about, that bring the farthest place within `easyMm`. */
  readonly advisedPoints: number;
  readonly strikeAmpsPerDm2: number;
  readonly strikeMs: number;
}

/** A target by the clock, solved. */
export interface DoneByPlan {
  readonly timeZone: string;
  readonly startWallMs: number;
  /** The instant that was asked for. */
  readonly dueWallMs: number;
  /** When the target is reached at the density found. */
  readonly endWallMs: number;
  /** The earliest end that bath and supply allow. */
  readonly earliestWallMs: number;
  /** `twice` and `skipped` in the nights on which the clocks change. */
  readonly clocks: 'once' | 'twice' | 'skipped';
}
