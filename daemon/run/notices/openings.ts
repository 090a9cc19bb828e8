/** Judges the openings of a piece: bores that close and links that fuse before the target. */

import { type Closure, isAccepted, partNameOf } from '../closures.ts';
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

/** What the target comes to at its end, trickle included, µm. */
function finalMicrometres({ thicknessMm, trickle }: PlanFigures): number {
  return (thicknessMm + (trickle?.addedMm ?? 0)) * micrometresPerMm;
}

/** What happens to what, in words: a bore closes, a gap fuses. */
function event(figures: PlanFigures, { label, partIndex }: Closure): string {
  const verb = /gap|room/i.test(label) ? 'fuses' : 'closes';
  return `${label} of ${partName(figures, partIndex)} ${verb}`;
}

function common(figures: PlanFigures, { partIndex, closesAtMm }: Closure) {
  return {
    field: `piece.parts[${partIndex}]`,
    value: micrometres(finalMicrometres(figures)),
    bound: `below ${micrometres(closesAtMm * micrometresPerMm)}`,
  };
}

function closed(figures: PlanFigures, closure: Closure): readonly Notice[] {
  const { request } = figures;
  const closes = micrometres(closure.closesAtMm * micrometresPerMm);
  const shuts = `${event(figures, closure)} at ${closes}`;
  if (isAccepted(closure, request.acceptClosures)) {
    return notice('warn', 'closingAccepted', {
      ...common(figures, closure),
      message:
        `${shuts}, before the target; you have accepted that. ` +
        'From there on its area is taken to stay what it is then: the figures are near the truth.',
      remedy: 'What is shut stays shut: bath may be caught inside. Look at it before the end.',
    });
  }
  return notice('refuse', 'boreCloses', {
    ...common(figures, closure),
    message: `${shuts}, before the target of ${micrometres(finalMicrometres(figures))}.`,
    remedy:
      `Aim below ${micrometres(fitting(closure.closesAtMm * micrometresPerMm))}, plug or lacquer ` +
      'the opening and take it out of the area, or make it wider. If it is meant to close, ' +
      `accept it by its name: ${closure.partName}.`,
  });
}

/** Openings that close before, or about when, the target is reached; each part is named once. */
export function boreNotices(figures: PlanFigures): readonly Notice[] {
  const { closures, thicknessMicrometres } = figures;
  const end = finalMicrometres(figures);
  const firstOfParts = closures.filter(
    ({ partIndex }, index) => closures.findIndex((one) => one.partIndex === partIndex) === index,
  );
  const shut = firstOfParts.filter(({ closesAtMm }) => end >= closesAtMm * micrometresPerMm);
  const next = firstOfParts.find(({ closesAtMm }) => end < closesAtMm * micrometresPerMm);
  const mayShut =
    next !== undefined && thicknessMicrometres.high >= next.closesAtMm * micrometresPerMm
      ? notice('warn', 'boreMayClose', {
          ...common(figures, next),
          message:
            `${event(figures, next)} at ` +
            `${micrometres(next.closesAtMm * micrometresPerMm)}; the deposit may reach ` +
            `${micrometres(thicknessMicrometres.high, 2)}.`,
          remedy: 'Aim thinner, or look at it before the end.',
        })
      : silent;
  return [...shut.flatMap((closure) => closed(figures, closure)), ...mayShut];
}
