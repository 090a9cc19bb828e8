/** Judges the openings of a piece: bores that close and links that fuse before the target. */

import { partNameOf } from '../../piece/part-names.ts';
import { acceptNameOf, type Closure, isAccepted } from '../closures.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { fitting, micrometres, notice, silent } from './words.ts';

const micrometresPerMm = 1000;

function partName({ request }: PlanFigures, index: number): string {
  const { piece } = request;
  const part = piece.parts[index];
  const name = partNameOf(piece, index);
  return part?.label.trim() === '' ? `${name} (${part.kind})` : `"${name}"`;
}

/** What a thickness at the target, µm, comes to at the end of the trickle, µm. */
function withTrickle({ trickle }: PlanFigures, micrometresAtTarget: number): number {
  return micrometresAtTarget + (trickle?.addedMm ?? 0) * micrometresPerMm;
}

/** What the target comes to at its end, trickle included, µm. */
function finalMicrometres(figures: PlanFigures): number {
  return withTrickle(figures, figures.thicknessMm * micrometresPerMm);
}

/** What happens to what, in words: a bore closes, a gap fuses. */
function event(figures: PlanFigures, closure: Closure): string {
  const { label, partIndex } = closure;
  return `${label} of ${partName(figures, partIndex)} ${verbOf(closure)}`;
}

function verbOf({ label }: Closure): string {
  return /gap|room/i.test(label) ? 'fuses' : 'closes';
}

function common(figures: PlanFigures, { partIndex, closesAtMm }: Closure) {
  return {
    field: `piece.parts[${partIndex}]`,
    value: micrometres(finalMicrometres(figures)),
    bound: `below ${micrometres(closesAtMm * micrometresPerMm)}`,
  };
}

/** One warning for each opening of an accepted part that shuts; the first one ends its growth. */
function accepted(figures: PlanFigures, shut: readonly Closure[]): readonly Notice[] {
  return shut.flatMap((closure, index) => {
    const closes = micrometres(closure.closesAtMm * micrometresPerMm);
    const follows =
      index === 0
        ? 'From there on its area is taken to stay what it is then: the figures are near the truth.'
        : 'It is another opening of the same part.';
    return notice('warn', 'closingAccepted', {
      ...common(figures, closure),
      message:
        `${event(figures, closure)} at ${closes}, before the target; you have accepted that. ` +
        follows,
      remedy: 'What is shut stays shut: bath may be caught inside. Look at it before the end.',
    });
  });
}

/** One refusal for a part, with every opening that its name would accept. */
function refused(
  figures: PlanFigures,
  closure: Closure,
  later: readonly Closure[],
): readonly Notice[] {
  const closes = micrometres(closure.closesAtMm * micrometresPerMm);
  const shuts = `${event(figures, closure)} at ${closes}`;
  const then = later.map((one) => {
    const { label, closesAtMm } = one;
    return ` ${label} ${verbOf(one)} too, at ${micrometres(closesAtMm * micrometresPerMm)}.`;
  });
  return notice('refuse', 'boreCloses', {
    ...common(figures, closure),
    message:
      `${shuts}, before the target of ${micrometres(finalMicrometres(figures))}.` + then.join(''),
    remedy:
      `Aim below ${micrometres(fitting(closure.closesAtMm * micrometresPerMm))}, plug or lacquer ` +
      'the opening and take it out of the area, or make it wider. If it is meant to close, ' +
      `accept it by its name: ${acceptNameOf(figures.closures, closure)}.`,
  });
}

/**
 * Openings that close before, or about when, the target is reached. A part is refused once, with all
 * of its openings that shut; of an accepted part each is named, and so is the next that may.
 */
export function boreNotices(figures: PlanFigures): readonly Notice[] {
  const { closures, thicknessMicrometres, request } = figures;
  const end = finalMicrometres(figures);
  const most = withTrickle(figures, thicknessMicrometres.high);
  const parts = [...new Set(closures.map(({ partIndex }) => partIndex))];
  const shut = parts.flatMap((index) => {
    const own = closures.filter(
      ({ partIndex, closesAtMm }) => partIndex === index && end >= closesAtMm * micrometresPerMm,
    );
    const [first, ...later] = own;
    if (first === undefined) return silent;
    return isAccepted(first, closures, request.acceptClosures)
      ? accepted(figures, own)
      : refused(figures, first, later);
  });
  const next = closures.find(({ closesAtMm }) => end < closesAtMm * micrometresPerMm);
  const mayShut =
    next !== undefined && most >= next.closesAtMm * micrometresPerMm
      ? notice('warn', 'boreMayClose', {
          ...common(figures, next),
          message:
            `${event(figures, next)} at ` +
            `${micrometres(next.closesAtMm * micrometresPerMm)}; the deposit may reach ` +
            `${micrometres(most, 2)}.`,
          remedy: 'Aim thinner, or look at it before the end.',
        })
      : silent;
  return [...shut, ...mayShut];
}
