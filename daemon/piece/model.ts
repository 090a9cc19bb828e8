/** The words in which a piece is described: parts with sizes, and the growth of their surface. */

/** Unit of a size: `share` runs from 0 to 1, and a plain `number` has none. */
export type SizeUnit = 'mm' | 'mm2' | 'mm3' | 'count' | 'degrees' | 'share' | 'number';

/** One measurable size of a part, as a form field; `name` carries its unit last. */
export interface PartField {
  readonly name: string;
  readonly label: string;
  readonly unit: SizeUnit;
  readonly min: number;
  readonly max: number;
  /** A sensible first value. */
  readonly typical: number;
  /** One sentence: how to measure it. */
  readonly help: string;
  /** The only values there are, with the words to offer them in; left out where any will do. */
  readonly choices?: readonly FieldChoice[] | undefined;
}

/** One value of a size that is a choice. */
export interface FieldChoice {
  readonly value: number;
  readonly label: string;
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

/** A point in mm; x runs to the right and y downwards, as on a screen. */
export interface Point {
  readonly xMm: number;
  readonly yMm: number;
}

/** A point of a picture in its own pixels, from its upper left corner. */
export interface PicturePoint {
  readonly x: number;
  readonly y: number;
}

/** Two points of a picture and the true length between them. */
export interface PictureScale {
  readonly first: PicturePoint;
  readonly second: PicturePoint;
  /** Above 0. */
  readonly lengthMm: number;
}

/** A closed polygon, the last point joined to the first; kept with the trace it came from. */
export interface Outline {
  readonly points: readonly Point[];
  /** The stored picture that was traced. */
  readonly pictureId?: string | undefined;
  readonly scale?: PictureScale | undefined;
  /** The clicks that became `points`, so that the trace can be edited again. */
  readonly picturePoints?: readonly PicturePoint[] | undefined;
}

/** Unit in which a mesh file counts its lengths. */
export type MeshUnit = 'micrometre' | 'millimetre' | 'centimetre' | 'inch' | 'foot' | 'metre';

/** Where the numbers of a mesh part came from; the numbers themselves are its sizes. */
export interface MeshOrigin {
  readonly fileName: string;
  /** 64 hexadecimal digits of the file as it was read. */
  readonly sha256: string;
  readonly unit: MeshUnit;
  readonly triangles: number;
}

/** What the geometry of a part is worked out from. */
export interface PartShape {
  /** Keyed by the field names of the kind. */
  readonly sizes: Readonly<Record<string, number>>;
  /** Only a traced outline has one. */
  readonly outline?: Outline | undefined;
}

/** One part of a piece as the maker enters it. */
export interface PartDescription extends PartShape {
  readonly kind: string;
  readonly label: string;
  /** How many alike, 1 to 10,000. */
  readonly count: number;
  /** Share of its surface that takes metal, 0 (exclusive) to 1. */
  readonly platedFraction: number;
  /**
   * Surface, mm2, of all its `count` together that is hidden because parts overlap or are soldered
   * together; 0 or more and below its plated area.
   */
  readonly coveredMm2?: number | undefined;
  /** Only a mesh has one. */
  readonly mesh?: MeshOrigin | undefined;
}

/** A material of a piece, by its id in the table of materials. */
export interface PieceMaterial {
  readonly id: string;
  /** Where it is on the piece, in the maker's words. */
  readonly note?: string | undefined;
}

/** A whole piece. Hangers and bare leads are parts too: they take current. */
export interface PieceDescription {
  readonly name: string;
  readonly parts: readonly PartDescription[];
  /** What it is made of, for the judgement of materials; at most 50. */
  readonly materials?: readonly PieceMaterial[] | undefined;
  /** Half width of the range in which the true area lies, as a share of it: 0.1 is plus or minus 10 %. */
  readonly areaUncertainty: number;
  /**
   * True surface over that of the parts as they are measured, 0.2 to 5, as weigh-ins found it; left
   * out, 1. The whole growth is scaled by it, hangers included, and `areaUncertainty` is then that of
   * the factor.
   */
  readonly areaFactor?: number | undefined;
}

/** One thing wrong with an input: the field by path, the value, the bound, and what to do. */
export interface Problem {
  readonly field: string;
  readonly value: string;
  readonly bound: string;
  readonly message: string;
}

/**
 * What a line of a drawing stands for: `metal` is surface that takes metal, `core` something that
 * is there and takes none, such as a stone, `hidden` an edge out of sight or left out of the area,
 * and `measure` a size between two points.
 */
export type DrawingRole = 'metal' | 'core' | 'hidden' | 'measure';

/** One line or shape of a drawing, in mm. */
export type Stroke =
  | {
      readonly shape: 'polyline' | 'polygon';
      readonly role: DrawingRole;
      readonly points: readonly Point[];
      /** For a measure: the name of the size it shows. */
      readonly measures?: string | undefined;
    }
  | {
      readonly shape: 'circle';
      readonly role: DrawingRole;
      readonly centre: Point;
      readonly radiusMm: number;
    }
  | {
      readonly shape: 'ellipse';
      readonly role: DrawingRole;
      readonly centre: Point;
      readonly radiusXMm: number;
      readonly radiusYMm: number;
    };

/** A part to scale as data, and the rectangle that holds all of it. */
export interface Drawing {
  readonly viewBox: {
    readonly xMm: number;
    readonly yMm: number;
    readonly widthMm: number;
    readonly heightMm: number;
  };
  readonly strokes: readonly Stroke[];
}

/** A size a maker cares about before and after. */
export interface Dimension {
  readonly name: string;
  readonly label: string;
  readonly valueMm: number;
  /** What one unit of thickness adds to it: an outside diameter gains 2, a gap loses 2. */
  readonly growthPerThickness: -2 | -1 | 0 | 1 | 2;
  /** True for a bore or gap that shuts at 0, after which the part's growth no longer holds. */
  readonly closes: boolean;
}

/** Where a kind of part stands in the chooser. */
export type PartGroup = 'wire' | 'sheet' | 'solid' | 'setting' | 'texture' | 'support' | 'other';

/** A kind of part: one file each under parts/. Functions expect a shape without problems. */
export interface PartDefinition {
  readonly kind: string;
  readonly title: string;
  readonly group: PartGroup;
  /** One sentence: what it is and which surface counts. */
  readonly explanation: string;
  /** Usual half width of the range of its area, as a share of it: 0.1 is plus or minus 10 %. */
  readonly areaUncertainty: number;
  readonly fields: readonly PartField[];
  /** For sizes already inside their bounds: what is impossible about them together. */
  problems(shape: PartShape): readonly Problem[];
  /** Growth of one fully plated part. */
  growth(shape: PartShape): Growth;
  crossSection(shape: PartShape): CrossSection;
  dimensions(shape: PartShape): readonly Dimension[];
  drawing(shape: PartShape): Drawing;
}
