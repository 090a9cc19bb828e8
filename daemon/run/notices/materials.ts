/** Says what the bath does to the materials of the piece: advice, and a refusal where it gives off a poison. */

import { actionWords } from '../../piece/material.ts';
import type { MaterialJudgement } from '../../piece/materials.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { notice } from './words.ts';

function commonOf({ request }: PlanFigures, { id, name }: MaterialJudgement) {
  const index = request.piece.materials?.findIndex((material) => material.id === id) ?? 0;
  return { field: `piece.materials[${index}].id`, value: name };
}

/** What to do, in the order of the table. */
function doing({ actions, advice }: MaterialJudgement): string {
  return [...new Set([...actions.map((action) => actionWords[action]), advice])].join(' ');
}

/** What gives off a poison is refused until it is accepted; how to work with it is not said here. */
function poison(figures: PlanFigures, found: MaterialJudgement): readonly Notice[] {
  const common = commonOf(figures, found);
  const message = `${found.name}: ${found.why}`;
  const rule = 'licensed practice, local rules and the ventilation they ask for decide';
  if (figures.request.acceptMaterials?.includes(found.id) === true) {
    return notice('warn', 'poisonAccepted', {
      ...common,
      bound: 'accepted by name',
      message: `${message} You have accepted that it is in the bath.`,
      remedy: `This plan makes nothing safe: ${rule}, and nobody should sleep in that air.`,
    });
  }
  return notice('refuse', 'materialPoisons', {
    ...common,
    bound: 'kept out of the bath',
    message: `${message} A bath that runs unattended is no place for it.`,
    remedy:
      `Keep it out and set it after the bath. If it has to go in, ${rule}; only then accept it by ` +
      `its name: ${found.id}.`,
  });
}

function judged(figures: PlanFigures, found: MaterialJudgement): readonly Notice[] {
  if (figures.materials.poisonous.has(found.id)) return poison(figures, found);
  if (found.verdict === 'withstands') return [];
  const common = commonOf(figures, found);
  const message = `${found.name}: ${[found.why, ...found.warnings].join(' ')}`;
  if (!found.known) {
    const near = found.suggestions.map(({ name }) => name).join(', ');
    return notice('warn', 'materialUnknown', {
      ...common,
      bound: 'a material of the table',
      message,
      remedy: near === '' ? found.advice : `${found.advice} Meant, perhaps: ${near}.`,
    });
  }
  return found.verdict === 'keepOut'
    ? notice('warn', 'materialKeepOut', {
        ...common,
        bound: 'kept out of the bath',
        message,
        remedy: doing(found),
      })
    : notice('note', 'materialCaution', {
        ...common,
        bound: 'with care',
        message,
        remedy: doing(found),
      });
}

/** One notice for each material that does not usually withstand the bath. */
export function materialNotices(figures: PlanFigures): readonly Notice[] {
  return figures.materials.judgement?.materials.flatMap((found) => judged(figures, found)) ?? [];
}
