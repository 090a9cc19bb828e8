/** "End at this size": which sizes of a piece there are to choose from, and what was typed for one. */

import type { Dimension, Problem } from '../daemon/piece/model.ts';
import {
  insideDiameterMmFromSize,
  parseRingSize,
  type RingScaleId,
} from '../daemon/piece/ring-scales.ts';
import { partNameOf } from '../daemon/piece/part-names.ts';
import type { MeasuredPart } from '../daemon/run/measured-piece.ts';
import type { FinalSizeTarget } from '../daemon/run/model.ts';
import type { PieceDraft } from './piece/draft.ts';
import { lengthMmFrom } from './piece/typed.ts';
import { problemOf, shownEntry } from './problem.ts';
import { planBounds as bounds } from '#words/plan-bounds';

/** A size of a part, by the key that the part keeps while others come and go. */
export interface SizePlace {
  readonly partKey: string;
  readonly dimension: string;
}

/** A size that changes as metal grows. */
export interface SizeChoice extends SizePlace {
  readonly partIndex: number;
  readonly partName: string;
  readonly size: Dimension;
}

/** Whether a size is the inside of a ring, which has a size on the scales too. */
export function isRingSize({ name }: Pick<Dimension, 'name'>): boolean {
  return /inside.*diameter/i.test(name);
}

/** Every size that changes, in the order of the parts; null while one of them is not known. */
export function sizeChoices(
  { parts }: Pick<PieceDraft, 'parts'>,
  measured: readonly (MeasuredPart | null)[],
): readonly SizeChoice[] | null {
  if (measured.includes(null)) return null;
  return measured.flatMap((part, partIndex) =>
    (part?.dimensions ?? [])
      .filter(({ growthPerThickness }) => growthPerThickness !== 0)
      .map((size) => ({
        partKey: parts[partIndex]?.key ?? '',
        dimension: size.name,
        partIndex,
        partName: partNameOf({ parts }, partIndex),
        size,
      })),
  );
}

/** The choice that a draft has made; before any was made, the first ring there is, or the first size. */
export function chosenSize(
  place: SizePlace | null,
  choices: readonly SizeChoice[],
): SizeChoice | null {
  if (place === null) {
    return choices.find(({ size }) => isRingSize(size)) ?? choices[0] ?? null;
  }
  const { partKey, dimension } = place;
  return choices.find((one) => one.partKey === partKey && one.dimension === dimension) ?? null;
}

interface SizeEntries {
  readonly piece: PieceDraft;
  readonly sizeOf: SizePlace | null;
  readonly sizeScale: 'mm' | RingScaleId;
  readonly targets: { readonly 'final-size': string };
}

function wantedMm({ sizeScale, targets }: SizeEntries, ring: boolean, problems: Problem[]): number {
  const field = 'target.mm';
  const text = targets['final-size'];
  if (ring && sizeScale !== 'mm') {
    const size = parseRingSize(sizeScale, text, field);
    if (size.ok) return insideDiameterMmFromSize(sizeScale, size.value);
    problems.push(size.problem);
    return Number.NaN;
  }
  const mm = lengthMmFrom(text);
  if (mm > 0) return mm;
  problems.push(problemOf(field, shownEntry(text), bounds.size));
  return Number.NaN;
}

/** The target that the entries ask for; what stands in its way goes to `problems`. */
export function finalSizeFrom(
  entries: SizeEntries,
  measured: readonly (MeasuredPart | null)[],
  problems: Problem[],
): FinalSizeTarget {
  const choices = sizeChoices(entries.piece, measured);
  const choice = choices === null ? null : chosenSize(entries.sizeOf, choices);
  if (choices !== null && choice === null) {
    const bound = choices.length > 0 ? bounds.oneOfSizes : bounds.pieceWithSizes;
    const value = entries.sizeOf === null ? bounds.sizeMissing : bounds.sizeGone;
    problems.push(problemOf('target.dimension', value, bound));
  }
  const mm = wantedMm(entries, choice !== null && isRingSize(choice.size), problems);
  return {
    kind: 'final-size',
    partIndex: choice?.partIndex ?? 0,
    dimension: choice?.dimension ?? '',
    mm,
  };
}
