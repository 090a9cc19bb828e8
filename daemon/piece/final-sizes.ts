/**
 * Sizes after the bath: what each dimension becomes under a deposit, and what closes or fuses. A
 * dimension whose name holds "inside" or "hole" is a bore, and one with "gap" or "play" a gap.
 */

import type { Span } from './answer.ts';
import { closesAtMm } from './geometry/dimensions.ts';
import { ringScales, ringSizeWords, sizeFromInsideDiameterMm } from './ring-scales.ts';
import type { RingScaleId } from './ring-scales.ts';
import type { Dimension, PieceDescription } from './model.ts';
import { definitionOf } from './part-growth.ts';

/** How sure it is that a bore or gap shuts, over the range of the thickness. */
export type Closing = 'staysOpen' | 'mayClose' | 'closes';

/** The words of one ring scale for an inside diameter, before and after, with the range after. */
export interface RingWords {
  readonly scale: RingScaleId;
  readonly before: string;
  readonly after: string;
  /** At the thinnest and at the thickest deposit. */
  readonly largest: string;
  readonly smallest: string;
}

/** One dimension before and after. Lengths in mm. */
export interface FinalSize {
  readonly name: string;
  readonly label: string;
  readonly beforeMm: number;
  /** Never below 0. */
  readonly after: Span;
  /** Null for what cannot close. */
  readonly closing: null | {
    readonly kind: 'bore' | 'gap';
    readonly state: Closing;
    /** Mean deposit, mm, at which it shuts: at the earliest, most likely, and at the latest. */
    readonly atThickness: Span;
    /** One sentence. */
    readonly words: string;
  };
  /** Empty where a ring size means nothing. */
  readonly rings: readonly RingWords[];
}

function requireThickness(thickness: Span): void {
  const { low, value, high } = thickness;
  if (!(low >= 0 && low <= value && value <= high && Number.isFinite(high))) {
    throw new RangeError(
      `thickness is ${low} to ${high} mm round ${value}; it must be finite, 0 or more, and in order`,
    );
  }
}

/** Whether a size is a bore, which lies in the shade of the rest. */
export function isBore(size: Dimension): boolean {
  return size.growthPerThickness < 0 && /inside|hole/i.test(size.name);
}

// Below this no hole is a finger's, mm; the smallest size of the scales lies above it.
const smallestRingMm = 11;

function ringWordsOf(beforeMm: number, after: Span): readonly RingWords[] {
  if (beforeMm < smallestRingMm || !(after.low > 0)) return [];
  return ringScales
    .filter(({ id, min, max }) => {
      const size = sizeFromInsideDiameterMm(id, beforeMm);
      return size >= min && size <= max;
    })
    .map(({ id }) => ({
      scale: id,
      before: ringSizeWords(id, beforeMm),
      after: ringSizeWords(id, after.value),
      largest: ringSizeWords(id, after.high),
      smallest: ringSizeWords(id, after.low),
    }));
}

function finalSize(size: Dimension, thickness: Span, boreShare: Span): FinalSize {
  const { name, label, valueMm, growthPerThickness: slope } = size;
  const share = isBore(size) ? boreShare : { low: 1, value: 1, high: 1 };
  const at = (end: 'low' | 'value' | 'high'): number =>
    Math.max(0, valueMm + slope * thickness[end] * share[end]);
  const ends = [at('low'), at('high')];
  const after = { low: Math.min(...ends), value: at('value'), high: Math.max(...ends) };
  const closing = closingOf(size, thickness, share);
  const rings = /inside.*diameter/i.test(name) ? ringWordsOf(valueMm, after) : [];
  return { name, label, beforeMm: valueMm, after, closing, rings };
}

function closingOf(size: Dimension, thickness: Span, share: Span): FinalSize['closing'] {
  const even = closesAtMm(size);
  if (even === null) return null;
  const atThickness = { low: even / share.high, value: even / share.value, high: even / share.low };
  const state: Closing =
    thickness.high < atThickness.low
      ? 'staysOpen'
      : thickness.low >= atThickness.high
        ? 'closes'
        : 'mayClose';
  const kind = /gap|play/i.test(size.name) ? 'gap' : 'bore';
  const words = closingWords(size.label, kind, state, atThickness.low);
  return { kind, state, atThickness, words };
}

function closingWords(label: string, kind: 'bore' | 'gap', state: Closing, atMm: number): string {
  const at = `a deposit of ${Number(atMm.toPrecision(3))} mm`;
  const verb = kind === 'gap' ? 'fuse' : 'close';
  if (state === 'staysOpen') return `${label} stays open; it would ${verb} at ${at}.`;
  if (state === 'mayClose') return `${label} may ${verb}: it can shut from ${at}.`;
  return `${label} will ${verb}: it shuts from ${at}.`;
}

/**
 * Each dimension after a deposit of `thickness`, mm, in the order given. `boreShare` is the share of
 * the deposit that bores get: `evenBoreShare` to agree with the thickness of a plan, or
 * `usualBoreShare` to allow for the shade. Throws RangeError for a thickness that is negative or out of order.
 */
export function finalSizes(
  dimensions: readonly Dimension[],
  thickness: Span,
  boreShare: Span,
): readonly FinalSize[] {
  requireThickness(thickness);
  return dimensions.map((size) => finalSize(size, thickness, boreShare));
}

/** The sizes of one part of a piece, before and after. */
export interface PartSizes {
  readonly partIndex: number;
  readonly label: string;
  readonly sizes: readonly FinalSize[];
}

/** Sizes before and after of every part that has some; the piece has to be one without problems. */
export function finalSizesOfPiece(
  piece: PieceDescription,
  thickness: Span,
  boreShare: Span,
): readonly PartSizes[] {
  return piece.parts.flatMap((part, partIndex) => {
    const definition = definitionOf(part, partIndex);
    const sizes = finalSizes(definition.dimensions(part), thickness, boreShare);
    const label = part.label === '' ? definition.title : part.label;
    return sizes.length === 0 ? [] : [{ partIndex, label, sizes }];
  });
}
