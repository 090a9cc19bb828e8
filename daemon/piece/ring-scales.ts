/** Ring sizes: ISO 8653, US, UK and Japanese scales against the inside diameter of the ring, both ways. */

import { found, quoted, refused } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOf, tidied } from './typed-numbers.ts';

export type RingScaleId = 'iso' | 'us' | 'uk' | 'japan';

/**
 * A scale on which the inside diameter grows by the same step with every size. Sizes are numbers;
 * on the UK scale A is 1, Z is 26, and Z+1 to Z+6 follow.
 */
export interface RingScale {
  readonly id: RingScaleId;
  readonly name: string;
  /** Smallest and largest size in reach. */
  readonly min: number;
  readonly max: number;
  /** Between the sizes that are made: 1, a half, or a quarter. */
  readonly step: number;
  /** Inside diameter, mm, of size 0, were there one, and how much each size adds. */
  readonly diameterMmAtZero: number;
  readonly diameterMmPerSize: number;
  readonly source: string;
  readonly note: string;
}

const mmPerInch = 25.4;

/** The ring scales of the bench. */
export const ringScales: readonly RingScale[] = [
  {
    id: 'iso',
    name: 'ISO',
    min: 38,
    max: 80,
    step: 1,
    diameterMmAtZero: 0,
    diameterMmPerSize: 1 / Math.PI,
    source: 'ISO 8653: the size is the inner circumference in mm; ring sticks run from 41 to 76',
    note: 'Some countries write the circumference less 40; type the whole circumference here.',
  },
  {
    id: 'us',
    name: 'US',
    min: 0,
    max: 16,
    step: 0.25,
    diameterMmAtZero: 0.458 * mmPerInch,
    diameterMmPerSize: 0.032 * mmPerInch,
    source: 'Wikipedia, Ring size: 0.458 in + 0.032 in for each size; the ends are from memory',
    note: 'There is no enforced standard: gauges differ by a few hundredths of a millimetre.',
  },
  {
    id: 'uk',
    name: 'UK',
    min: 1,
    max: 32,
    step: 0.5,
    diameterMmAtZero: 36.25 / Math.PI,
    diameterMmPerSize: 1.25 / Math.PI,
    source:
      'R. Rowlett, How Many?: a circumference of 36.25 mm + 1.25 mm for each letter, A being 1; ' +
      'BS 6820 and the sizes beyond Z are from memory',
    note: 'Older gauges differ by up to about 0.5 mm of circumference.',
  },
  {
    id: 'japan',
    name: 'Japan',
    min: 1,
    max: 30,
    step: 1,
    diameterMmAtZero: 38 / 3,
    diameterMmPerSize: 1 / 3,
    source:
      'R. Rowlett, How Many?: an inside diameter of (n + 38) / 3 mm; the ends are from memory',
    note: 'Whole sizes only.',
  },
];

/** A scale by its id; throws RangeError for one that is not known. */
export function ringScale(id: RingScaleId): RingScale {
  const scale = ringScales.find((one) => one.id === id);
  if (scale === undefined) throw new RangeError(`scale is ${id}; it must be iso, us, uk or japan`);
  return scale;
}

/** Inside diameter, mm, of a ring size; throws RangeError for a size that the scale does not reach. */
export function insideDiameterMmFromSize(id: RingScaleId, size: number): number {
  const { name, min, max, diameterMmAtZero, diameterMmPerSize } = ringScale(id);
  if (!(size >= min && size <= max)) {
    throw new RangeError(
      `size is ${size}; it must be a size of the ${name} scale, ${min} to ${max}`,
    );
  }
  return diameterMmAtZero + diameterMmPerSize * size;
}

/**
 * Size of a ring by its inside diameter, mm, as a real number that may lie beyond the ends of the
 * scale. Throws RangeError unless the diameter is finite and above 0.
 */
export function sizeFromInsideDiameterMm(id: RingScaleId, insideDiameterMm: number): number {
  requireDiameter(insideDiameterMm);
  const { diameterMmAtZero, diameterMmPerSize } = ringScale(id);
  return (insideDiameterMm - diameterMmAtZero) / diameterMmPerSize;
}

function requireDiameter(insideDiameterMm: number): void {
  if (!(Number.isFinite(insideDiameterMm) && insideDiameterMm > 0)) {
    throw new RangeError(
      `insideDiameterMm is ${insideDiameterMm}; it must be a finite number above 0`,
    );
  }
}

/** How many sizes smaller a ring becomes under a deposit of so many mm in its bore. */
export function sizesLostToDeposit(id: RingScaleId, boreThicknessMm: number): number {
  return (2 * boreThicknessMm) / ringScale(id).diameterMmPerSize;
}

const fractions = ['', ' 1/4', ' 1/2', ' 3/4'];

/** A size as it is written, without the name of its scale: `54`, `7 1/2`, `N 1/2`, `Z+2`. */
export function ringSizeLabel(id: RingScaleId, size: number): string {
  const whole = Math.floor(size + 1e-9);
  const fraction = fractions[Math.round((size - whole) * 4)];
  if (fraction === undefined || Math.abs(size * 4 - Math.round(size * 4)) > 1e-6) {
    return id === 'uk' ? `${letterOf(whole)} + ${(size - whole).toFixed(2)}` : size.toFixed(2);
  }
  if (id === 'uk') return `${letterOf(whole)}${fraction}`;
  return whole === 0 && fraction !== '' ? fraction.trim() : `${whole}${fraction}`;
}

// Z is the 26th letter; what is larger is counted from it.
const sizeOfZ = 26;

function letterOf(whole: number): string {
  if (whole > sizeOfZ) return `Z+${whole - sizeOfZ}`;
  return String.fromCodePoint('A'.charCodeAt(0) + whole - 1);
}

/** The size made that is next to a diameter. */
export interface NearestRingSize {
  readonly scale: RingScaleId;
  readonly size: number;
  /** With the name of its scale: `US 7 1/2`. */
  readonly label: string;
  readonly insideDiameterMm: number;
  /** The diameter asked about less that of the size, mm. */
  readonly remainderMm: number;
  /** `US 7`, or `US 7, 0.05 mm wider`. */
  readonly words: string;
}

/**
 * The size made that is next to an inside diameter, mm; null beyond half a step from the ends of the
 * scale. Throws RangeError unless the diameter is finite and above 0.
 */
export function nearestRingSize(id: RingScaleId, insideDiameterMm: number): NearestRingSize | null {
  const { name, min, max, step } = ringScale(id);
  const size = Math.round(sizeFromInsideDiameterMm(id, insideDiameterMm) / step) * step;
  if (size < min || size > max) return null;
  const ofSize = insideDiameterMmFromSize(id, size);
  const remainderMm = insideDiameterMm - ofSize;
  const label = `${name} ${ringSizeLabel(id, size)}`;
  const shown = Math.abs(remainderMm).toFixed(2);
  const off = shown === '0.00' ? '' : `, ${shown} mm ${remainderMm > 0 ? 'wider' : 'narrower'}`;
  return { scale: id, size, label, insideDiameterMm: ofSize, remainderMm, words: `${label}${off}` };
}

/** A diameter in the words of a scale, such as `US 7, 0.05 mm wider` or `smaller than US 0`. */
export function ringSizeWords(id: RingScaleId, insideDiameterMm: number): string {
  const nearest = nearestRingSize(id, insideDiameterMm);
  if (nearest !== null) return nearest.words;
  const { name, min, max } = ringScale(id);
  const small = sizeFromInsideDiameterMm(id, insideDiameterMm) < min;
  const end = `${name} ${ringSizeLabel(id, small ? min : max)}`;
  return small ? `smaller than ${end}` : `larger than ${end}`;
}

/** How the name of a scale may stand before a size; the ISO designation is written in full. */
const prefixes: Readonly<Record<RingScaleId, RegExp>> = {
  iso: /^(?:ring-?size )?(?:iso 8653|iso|eu)(?: ?- ?| )?/,
  us: /^(?:usa?|u\.s\.)(?: |-)?/,
  uk: /^(?:uk|u\.k\.)(?: |-)?/,
  japan: /^(?:japan|jp|jis)(?: |-)?/,
};

/** One size as an example of what may be typed. */
const examples: Readonly<Record<RingScaleId, string>> = {
  iso: '"54"',
  us: '"7", "7.5" or "7 1/2"',
  uk: '"N", "N 1/2" or "Z+1"',
  japan: '"14"',
};

/**
 * A ring size from typed text, such as `7 1/2`, `7.5`, `N½`, `54`, `US 7` or `Ring-size ISO 8653 - 54`.
 * `field` is the name used in the refusal, which names the ends of the scale.
 */
export function parseRingSize(id: RingScaleId, text: string, field = 'ringSize'): Answer<number> {
  const { name, min, max } = ringScale(id);
  const ends = `${ringSizeLabel(id, min)} to ${ringSizeLabel(id, max)}`;
  const bound = `a ring size of the ${name} scale, ${ends}, such as ${examples[id]}`;
  const plain = tidied(text);
  const stranger = ringScales.find((other) => other.id !== id && prefixes[other.id].test(plain));
  if (stranger !== undefined) {
    const advice = `It reads as a size of the ${stranger.name} scale: choose that one, or leave its name out.`;
    return refused(field, quoted(text), bound, advice);
  }
  const bare = plain
    .replace(prefixes[id], '')
    .replace(/^size /, '')
    .trim();
  const size = id === 'uk' ? letterSize(bare) : numberOf(bare);
  if (size === null) return refused(field, quoted(text), bound, wrongKind(id, bare));
  if (size < min || size > max) {
    // The commonest slip: the circumference less 40, or a diameter in millimetres.
    const advice = id === 'iso' && size < min ? 'Type the whole inner circumference in mm.' : '';
    return refused(field, quoted(text), bound, advice);
  }
  return found(size);
}

function wrongKind(id: RingScaleId, bare: string): string {
  if (id === 'uk') return numberOf(bare) === null ? '' : 'UK sizes are letters.';
  return letterSize(bare) === null ? '' : 'Letters are UK sizes.';
}

/** `n`, `n 1/2`, `n.5`, `n+1/2`, `z+2`, `z+2 1/2`, `z2`; null for anything else. */
function letterSize(bare: string): number | null {
  const parts = /^([a-z])(?:\+ ?)?(.*)$/.exec(bare.replace(/ \+/, '+'));
  if (parts === null) return null;
  const [, letter = '', rest = ''] = parts;
  const whole = letter.charCodeAt(0) - 'a'.charCodeAt(0) + 1;
  if (rest.trim() === '') return bare.endsWith('+') ? null : whole;
  const more = rest.trim() === 'half' ? 0.5 : numberOf(rest.trim());
  // Only beyond Z do whole steps follow a letter.
  if (more === null || (more >= 1 && whole !== sizeOfZ)) return null;
  return whole + more;
}
