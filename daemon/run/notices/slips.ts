/** Recognises a density that slipped by a decimal point or a unit, and says what was meant. */

import { type TypedDensity, typedUnits } from '../../chemistry/density-text.ts';
import type { Bath } from '../../chemistry/model.ts';
import { density as shown, figure } from './words.ts';

const dm2PerIn2 = 0.064_516;
const dm2PerFt2 = 9.290_304;
const cm2PerIn2 = 6.4516;

/** One way in which a number gets out by a factor. */
interface Slip {
  /** The number entered is the one meant times this. */
  readonly factor: number;
  says: (entered: number, meant: number) => string;
  /** What to type for it where that is not the density in A/dm2. */
  readonly types?: (entered: number, meant: number) => string;
  /** True where the area was wrong and not the density: it may happen in any unit. */
  readonly ofArea?: boolean;
}

const tooHigh: readonly Slip[] = [
  {
    factor: 2,
    ofArea: true,
    says: (_entered, meant) =>
      `if the current was divided by one side only, both sides make it ${shown(meant)}`,
  },
  {
    factor: cm2PerIn2,
    ofArea: true,
    says: (_entered, meant) =>
      `if an area in square inches was read as cm2, the density is ${shown(meant)}`,
  },
  {
    factor: dm2PerFt2,
    says: (entered, meant) => `${figure(entered)} A/ft2 would be ${shown(meant)}`,
    types: (entered) => `${figure(entered)} A/ft2`,
  },
  {
    factor: 10,
    says: (entered, meant) =>
      `${figure(entered)} mA/cm2, or a decimal point one place off, would be ${shown(meant)}`,
  },
  {
    factor: 1 / dm2PerIn2,
    says: (_entered, meant) =>
      `if A/in2 was converted twice, ${figure(meant * dm2PerIn2)} A/in2 is ${shown(meant)}`,
  },
  {
    factor: 100,
    says: (entered, meant) =>
      `${figure(entered)} A/m2, or cm2 taken for dm2, would be ${shown(meant)}`,
  },
];

const tooLow: readonly Slip[] = [
  {
    factor: 1 / 2,
    ofArea: true,
    says: (_entered, meant) =>
      `if both sides were counted where one takes metal, the density is ${shown(meant)}`,
  },
  {
    factor: 1 / cm2PerIn2,
    ofArea: true,
    says: (_entered, meant) =>
      `if an area in cm2 was read as square inches, the density is ${shown(meant)}`,
  },
  {
    factor: 1 / dm2PerFt2,
    says: (_entered, meant) =>
      `if A/ft2 was converted twice, ${figure(meant * dm2PerFt2)} A/ft2 is ${shown(meant)}`,
  },
  {
    factor: 0.1,
    says: (_entered, meant) => `a decimal point one place off would be ${shown(meant)}`,
  },
  {
    factor: dm2PerIn2,
    says: (entered, meant) => `${figure(entered)} A/in2 would be ${shown(meant)}`,
    types: (entered) => `${figure(entered)} A/in2`,
  },
  {
    factor: 0.01,
    says: (entered, meant) =>
      `${figure(entered)} A/cm2, or dm2 taken for cm2, would be ${shown(meant)}`,
  },
];

const mostSlips = 2;

function isDecimal({ factor }: Slip): boolean {
  return factor === 10 || factor === 0.1;
}

function inside({ window }: Bath, ampsPerDm2: number): boolean {
  // A slip of a typical number may come back to the edge itself, a rounding error out.
  const slack = 1e-9;
  return (
    ampsPerDm2 >= window.minAmpsPerDm2 * (1 - slack) &&
    ampsPerDm2 <= window.maxAmpsPerDm2 * (1 + slack)
  );
}

/** The density as the whole number or simple fraction of A/in2 that it is, or null. */
function plainAmpsPerIn2(ampsPerDm2: number): number | null {
  const perIn2 = ampsPerDm2 * dm2PerIn2;
  const plain = Number(perIn2.toPrecision(1));
  return Math.abs(perIn2 / plain - 1) < 0.002 ? plain : null;
}

/** What a density outside the window was likely meant to be. */
export interface LikelyMeaning {
  /** Part of a sentence: "0.1 A/in2 would be 1.55 A/dm2". */
  readonly clause: string;
  readonly ampsPerDm2: number;
  /** The density as one would have typed it: "0.1 A/in2". */
  readonly text: string;
}

/** A plain number of A/in2 that is ten times out: 15.5 A/dm2 is 1 A/in2. */
function inchSlip(entered: number, bath: Bath): LikelyMeaning | null {
  const plain = plainAmpsPerIn2(entered);
  if (plain === null) {
    return null;
  }
  const meantIn2 = entered > bath.window.maxAmpsPerDm2 ? plain / 10 : plain * 10;
  const ampsPerDm2 = meantIn2 / dm2PerIn2;
  const text = `${figure(meantIn2)} A/in2`;
  const clause = `${shown(entered)} is ${figure(plain)} A/in2; ${text} would be ${shown(ampsPerDm2)}`;
  return inside(bath, ampsPerDm2) ? { clause, ampsPerDm2, text } : null;
}

function meaningOf({ factor, says, types }: Slip, entered: number): LikelyMeaning {
  const ampsPerDm2 = entered / factor;
  const text = types?.(entered, ampsPerDm2) ?? shown(ampsPerDm2);
  return { clause: says(entered, ampsPerDm2), ampsPerDm2, text };
}

/** What a number typed in a unit may have been meant as: a point out, another unit, another area. */
function typedSlips(
  { value, unitId, ampsPerDm2 }: TypedDensity,
  high: boolean,
): readonly LikelyMeaning[] {
  const points = high ? [0.1, 0.01] : [10, 100];
  const decimals = points.map((factor) => {
    const text = `${figure(value * factor)} ${unitId}`;
    const meant = ampsPerDm2 * factor;
    return { clause: `${text} would be ${shown(meant)}`, ampsPerDm2: meant, text };
  });
  const units = Object.entries(typedUnits)
    .filter(([id]) => id !== unitId)
    .map(([id, factor]) => {
      const text = `${figure(value)} ${id}`;
      const clause =
        id === 'A/dm2'
          ? `if A/dm2 was meant, ${shown(value)} lies inside the window`
          : `${text} would be ${shown(value * factor)}`;
      return { clause, ampsPerDm2: value * factor, text };
    });
  const areas = (high ? tooHigh : tooLow)
    .filter(({ ofArea }) => ofArea === true)
    .map((slip) => meaningOf(slip, ampsPerDm2));
  return [...decimals, ...units, ...areas];
}

function nearestFirst(meant: readonly LikelyMeaning[], bath: Bath): readonly LikelyMeaning[] {
  const distance = ({ ampsPerDm2 }: LikelyMeaning) =>
    Math.abs(Math.log(ampsPerDm2 / bath.window.typicalAmpsPerDm2));
  return meant
    .filter(({ ampsPerDm2 }) => inside(bath, ampsPerDm2))
    .toSorted((first, second) => distance(first) - distance(second));
}

/** Slips of a density that stands as a number of A/dm2. */
function plainSlips(ampsPerDm2: number, bath: Bath): readonly LikelyMeaning[] {
  const slips = ampsPerDm2 > bath.window.typicalAmpsPerDm2 ? tooHigh : tooLow;
  const inches = inchSlip(ampsPerDm2, bath);
  const meant = slips
    // A decimal point out in A/in2 is a decimal point out in A/dm2 too: it is said once.
    .filter((slip) => inches === null || !isDecimal(slip))
    .map((slip) => meaningOf(slip, ampsPerDm2));
  return [...(inches === null ? [] : [inches]), ...nearestFirst(meant, bath)];
}

/**
 * What a density outside the bath's window was likely meant to be, the likeliest first and two at
 * the most; empty where no known slip leads back into the window. A density that was typed with its
 * unit is argued with in that unit.
 */
export function likelyMeanings(
  ampsPerDm2: number,
  bath: Bath,
  typed: TypedDensity | null = null,
): readonly LikelyMeaning[] {
  const high = ampsPerDm2 > bath.window.typicalAmpsPerDm2;
  const meant =
    typed === null || typed.unitId === 'A/dm2'
      ? plainSlips(ampsPerDm2, bath)
      : nearestFirst(typedSlips(typed, high), bath);
  return meant.slice(0, mostSlips);
}

/** The same as clauses. */
export function likelySlips(
  ampsPerDm2: number,
  bath: Bath,
  typed: TypedDensity | null = null,
): readonly string[] {
  return likelyMeanings(ampsPerDm2, bath, typed).map(({ clause }) => clause);
}
