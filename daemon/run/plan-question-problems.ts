/** What is wrong with the parts of a request that lead to a figure: typed text, sizes, a time of day. */

import { readDensityText } from '../chemistry/density-text.ts';
import type { Problem } from '../piece/model.ts';
import { definitionOf } from '../piece/part-growth.ts';
import { numberNameOf, partNameOf } from '../piece/part-names.ts';
import { acceptNameOf, closuresOf, partsNamed } from './closures.ts';
import type { DoneByTarget, FinalSizeTarget, PlanContext, PlanQuestion } from './model.ts';
import { problem } from './plan-bounds.ts';
import { dimensionOf, placeOf, thicknessMmOfSize } from './plan-question.ts';
import { isTimeZone, readLocalTime } from './wall-time.ts';

/** Two ways of saying one density may differ by no more than a rounding on a page. */
const sameDensityShare = 0.005;

const figure = (value: number): string => String(Number(value.toPrecision(4)));

/** A typed density that cannot be read, or that says another thing than the figure beside it. */
export function typedDensityProblems(question: PlanQuestion): readonly Problem[] {
  const { densityTyped, densityAmpsPerDm2 } = question;
  if (densityTyped === undefined || question.target.kind === 'done-by') return [];
  const reading = readDensityText(densityTyped);
  if (!reading.ok) return [problem('densityTyped', densityTyped, reading.bound, reading.advice)];
  const { ampsPerDm2 } = reading.density;
  const apart = densityAmpsPerDm2 === undefined ? 0 : Math.abs(ampsPerDm2 / densityAmpsPerDm2 - 1);
  if (apart <= sameDensityShare) return [];
  const bound = `the same as densityAmpsPerDm2, ${densityAmpsPerDm2} A/dm2`;
  const advice = `It means ${figure(ampsPerDm2)} A/dm2. Give one of the two.`;
  return [problem('densityTyped', densityTyped, bound, advice)];
}

/** Names of accepted openings that no part with an opening has, or that more than one has. */
export function acceptedProblems({ piece, acceptClosures }: PlanQuestion): readonly Problem[] {
  const closures = closuresOf(piece);
  const names = [...new Set(closures.map((closure) => acceptNameOf(closures, closure)))];
  return (acceptClosures ?? []).flatMap((name, index) => {
    const field = `acceptClosures[${index}]`;
    const meant = partsNamed(closures, name);
    if (meant.length === 1) return [];
    if (meant.length > 1) {
      const bound = `one of ${meant.map(numberNameOf).join(', ')}`;
      const advice = `${meant.length} parts are called that; say which by its number.`;
      return [problem(field, name, bound, advice)];
    }
    const bound = names.length === 0 ? 'left out' : `one of ${names.join(', ')}`;
    const advice =
      names.length === 0
        ? 'No part of this piece has an opening.'
        : 'Name a part whose opening may close.';
    return [problem(field, name, bound, advice)];
  });
}

/** Accepted materials that are not on the piece. */
export function acceptedMaterialProblems({
  piece,
  acceptMaterials = [],
}: PlanQuestion): readonly Problem[] {
  const ids = (piece.materials ?? []).map(({ id }) => id);
  return acceptMaterials.flatMap((id, index) => {
    if (ids.includes(id)) return [];
    const bound = ids.length === 0 ? 'left out' : `one of ${ids.join(', ')}`;
    const advice = 'Only a material that the piece names can be accepted.';
    return [problem(`acceptMaterials[${index}]`, id, bound, advice)];
  });
}

/** A final size of no part, of no size, or one that growth never reaches. */
export function finalSizeProblems(
  { piece }: PlanQuestion,
  target: FinalSizeTarget,
  path: string,
): readonly Problem[] {
  const part = piece.parts[target.partIndex];
  if (part === undefined) {
    const bound = `a whole number from 0 to ${piece.parts.length - 1}`;
    const advice = 'It counts the parts from 0.';
    return [problem(`${path}.partIndex`, target.partIndex, bound, advice)];
  }
  const dimension = dimensionOf(piece, target);
  const name = partNameOf(piece, target.partIndex);
  if (dimension === null) {
    const sizes = definitionOf(part, target.partIndex)
      .dimensions(part)
      .filter(({ growthPerThickness }) => growthPerThickness !== 0)
      .map((known) => known.name);
    const bound = sizes.length === 0 ? 'of another part' : `one of ${sizes.join(', ')}`;
    const advice = `These are the sizes of "${name}" that change as metal grows.`;
    return [problem(`${path}.dimension`, target.dimension, bound, advice)];
  }
  if (thicknessMmOfSize(dimension, target.mm) > 0) return [];
  const { growthPerThickness, valueMm, label } = dimension;
  const side = growthPerThickness < 0 ? 'below' : 'above';
  const bound = growthPerThickness === 0 ? 'left out' : `${side} ${figure(valueMm)} mm`;
  const way = growthPerThickness < 0 ? 'shrinks' : 'grows';
  const advice =
    growthPerThickness === 0
      ? `${label} of "${name}" does not change as metal grows.`
      : `${label} of "${name}" is ${figure(valueMm)} mm now and ${way}.`;
  return [problem(`${path}.mm`, target.mm, bound, advice)];
}

/** A time of day without a place, in no zone, past, or no time at all. */
export function doneByProblems(target: DoneByTarget, context: PlanContext): readonly Problem[] {
  const { nowWallMs, timeZone } = placeOf(target, context);
  if (timeZone === undefined || !isTimeZone(timeZone)) {
    const bound = 'the IANA name of a time zone, such as Europe/Berlin';
    const advice = 'It says on which clock the time is to be read.';
    return [problem('target.timeZone', timeZone, bound, advice)];
  }
  // The years 2000 to 2100: anything else is seconds taken for milliseconds, or worse.
  if (
    nowWallMs === undefined ||
    !(nowWallMs >= 946_684_800_000 && nowWallMs <= 4_102_444_800_000)
  ) {
    const bound = 'milliseconds since 1970, between the years 2000 and 2100';
    return [problem('target.nowWallMs', nowWallMs, bound, 'It says when the run starts.')];
  }
  const due = readLocalTime(target.localTime, nowWallMs, timeZone);
  if (due.ok) return [];
  return [problem('target.localTime', target.localTime, due.bound, 'It is read in local time.')];
}
