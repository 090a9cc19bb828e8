/** How unevenly metal is likely to lie on a piece: published ratios, chosen by the forms of its parts. */

import type { PieceDescription } from '../piece/model.ts';
import type { Band, Evenness } from './plan-findings.ts';

const minuteMs = 60_000;
const micrometresPerMm = 1000;

/** Common practice: by hand every 30 to 120 min. */
const turnEveryMinutes = 60;

/** What is taken of any piece: from memory, for one-off pieces in small tanks. */
const usualMaxToMean: Band = { low: 1.5, high: 2 };
const usualMeanToMin: Band = { low: 2, high: 3 };

/** Design of Articles to Be Electroplated on Racks: read in a reproduction, not in the original. */
const standard = 'ASTM B507, nickel, as reproduced';
const habit = 'common practice, no source';

/** A form and the ratio of average to least thickness published for it; null where there is none. */
interface Form {
  readonly words: string;
  readonly averageToLeast: number | null;
}

const forms = {
  convex: { words: 'a convex, elongated form', averageToLeast: 2 },
  blunt: { words: 'an angle of 120 degrees', averageToLeast: 1.9 },
  square: { words: 'an angle of 90 degrees', averageToLeast: 2.7 },
  sharp: { words: 'an angle of 60 degrees', averageToLeast: 3.3 },
  rounded: { words: 'a recess with rounded corners', averageToLeast: 5.6 },
  deep: { words: 'a deep concave form', averageToLeast: 6.6 },
  cornered: { words: 'a recess with sharp corners', averageToLeast: 9.2 },
  flat: { words: 'a flat form', averageToLeast: null },
  unknown: { words: 'a form that is not known', averageToLeast: null },
} as const satisfies Readonly<Record<string, Form>>;

/** Name of one of the published forms. */
export type FormName = keyof typeof forms;

/** The published ratio of a form, or null. */
export function averageToLeast(form: FormName): number | null {
  return forms[form].averageToLeast;
}

/** The form that each kind of part comes nearest to; a kind that is not here is not known. */
const formOfKind: Readonly<Record<string, FormName>> = {
  wire: 'convex',
  loop: 'convex',
  shank: 'convex',
  rod: 'convex',
  ball: 'convex',
  dome: 'convex',
  'oval-dome': 'convex',
  ellipsoid: 'convex',
  'half-round-band': 'convex',
  band: 'square',
  box: 'square',
  cone: 'sharp',
  crystal: 'sharp',
  sheet: 'flat',
  disc: 'flat',
  leaf: 'flat',
  outline: 'flat',
  chain: 'rounded',
  'bead-texture': 'rounded',
  'bezel-round': 'rounded',
  'bezel-oval': 'rounded',
  'bezel-pear': 'rounded',
  'bezel-rectangle': 'cornered',
  'twisted-pair': 'cornered',
  coil: 'deep',
  tube: 'deep',
};

function formOf(kind: string): FormName {
  return formOfKind[kind] ?? 'unknown';
}

/** The part with the worst ratio, hangers left out where there is anything else. */
function worst({ parts }: PieceDescription): { readonly partIndex: number; readonly form: Form } {
  const known = parts
    .map(({ kind }, partIndex) => ({ kind, partIndex, form: forms[formOf(kind)] as Form }))
    .filter(({ kind }) => kind !== 'hanger')
    .toSorted((a, b) => (b.form.averageToLeast ?? 0) - (a.form.averageToLeast ?? 0));
  return known[0] ?? { partIndex: 0, form: forms.unknown };
}

/** Where a mean thickness, mm, grown in a time, ms, is likely to be thinnest and thickest. */
export function evenness(
  piece: PieceDescription,
  thicknessMm: number,
  durationMs: number,
): Evenness {
  const { partIndex, form } = worst(piece);
  const published = form.averageToLeast;
  const meanToMin: Band = {
    low: usualMeanToMin.low,
    high: Math.max(usualMeanToMin.high, published ?? 0),
  };
  const mean = thicknessMm * micrometresPerMm;
  return {
    maxToMean: usualMaxToMean,
    meanToMin,
    thinnestMicrometres: mean / meanToMin.high,
    thickestMicrometres: mean * usualMaxToMean.high,
    partIndex,
    form: form.words,
    published,
    source: published === null ? habit : standard,
    turnEveryMinutes,
    turns: Math.floor(durationMs / (turnEveryMinutes * minuteMs)),
  };
}

/** RT/F at 25 C over a cathodic transfer coefficient of 0.5, V per e-fold of the density. */
const slopeVolts = 0.025_693 / 0.5;

/**
 * Wagner number, kappa b / (i L): polarisation over the bath's resistance along a length in mm. Well
 * above 1 metal lies evenly; well below it follows the bare field.
 */
export function wagnerNumber(
  siemensPerMetre: number,
  densityAmpsPerDm2: number,
  lengthMm: number,
): number {
  return (siemensPerMetre * slopeVolts) / (densityAmpsPerDm2 * 100 * (lengthMm / 1000));
}

/**
 * Depth, mm, over which the metal in a round blind hole falls by a factor of e: the fin's
 * sqrt(kappa d b / (4 i)), with b the slope of the overpotential, 51.4 mV.
 */
export function recessReachMm(
  siemensPerMetre: number,
  boreMm: number,
  densityAmpsPerDm2: number,
): number {
  const ampsPerM2 = densityAmpsPerDm2 * 100;
  return 1000 * Math.sqrt((siemensPerMetre * (boreMm / 1000) * slopeVolts) / (4 * ampsPerM2));
}
