/** The words in which a piece is described: parts with sizes, and the growth of their surface. */

/** One measurable size of a part, as a form field; `name` carries its unit last. */
export interface PartField {
  readonly name: string;
  readonly label: string;
  readonly unit: 'mm' | 'mm2' | 'count';
  readonly min: number;
  readonly max: number;
  /** A sensible first value. */
  readonly typical: number;
  /** One sentence: how to measure it. */
  readonly help: string;
}

/** Volume grown at thickness t mm: `areaMm2 t + meanCurvatureMm t^2 + gaussThird t^3`, in mm3. */
export interface Growth {
  readonly areaMm2: number;
  readonly meanCurvatureMm: number;
  readonly gaussThird: number;
}

/** What a cut through a part looks like; the picture of a run is drawn from it. Sizes in mm. */
export type CrossSection =
  | { readonly shape: 'round'; readonly diameterMm: number }
  | { readonly shape: 'tube'; readonly outsideMm: number; readonly insideMm: number }
  | { readonly shape: 'rectangle'; readonly widthMm: number; readonly heightMm: number }
  | { readonly shape: 'flat'; readonly thicknessMm: number };

/** One part of a piece as the maker enters it. `sizes` is keyed by the field names of its kind. */
export interface PartDescription {
  readonly kind: string;
  readonly label: string;
  /** How many alike, 1 to 10,000. */
  readonly count: number;
  /** Share of its surface that takes metal, 0 (exclusive) to 1. */
  readonly platedFraction: number;
  readonly sizes: Readonly<Record<string, number>>;
}

/** A whole piece. Hangers and bare leads are parts too: they take current. */
export interface PieceDescription {
  readonly name: string;
  readonly parts: readonly PartDescription[];
  /** Half width of the range in which the true area lies, as a share of it: 0.1 is plus or minus 10 %. */
  readonly areaUncertainty: number;
}

/** One thing wrong with an input: the field by path, the value, the bound, and what to do. */
export interface Problem {
  readonly field: string;
  readonly value: string;
  readonly bound: string;
  readonly message: string;
}

/** A kind of part: one file each under parts/. */
export interface PartDefinition {
  readonly kind: string;
  readonly title: string;
  /** One sentence: what it is and which surface counts. */
  readonly explanation: string;
  readonly fields: readonly PartField[];
  /** For sizes already inside their bounds: what is impossible about them together. */
  problems(sizes: Readonly<Record<string, number>>): readonly Problem[];
  /** Growth of one fully plated part. */
  growth(sizes: Readonly<Record<string, number>>): Growth;
  /** Thickness at which a bore or gap closes, mm; null where nothing closes. */
  closesAtMm(sizes: Readonly<Record<string, number>>): number | null;
  crossSection(sizes: Readonly<Record<string, number>>): CrossSection;
}
