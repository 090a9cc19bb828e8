/** Says what a target by the clock comes to: the density found, or the earliest time there is. */

import type { Notice } from '../model.ts';
import type { DoneByPlan } from '../plan-findings.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { clockText, localText, localTimeAt } from '../wall-time.ts';
import { density, hours, notice, silent } from './words.ts';

const minuteMs = 60_000;
/** Ends nearer to the wanted time than this count as on time, ms. */
const slackMs = 1_000;

function common(doneBy: DoneByPlan) {
  const { endWallMs, dueWallMs, timeZone } = doneBy;
  return {
    field: 'target.localTime',
    value: localText(endWallMs, timeZone),
    bound: `by ${localText(dueWallMs, timeZone)}`,
  };
}

/** The night on which the clocks change over the wanted time. */
function clocksNotice(doneBy: DoneByPlan): readonly Notice[] {
  const { clocks, dueWallMs, timeZone } = doneBy;
  if (clocks === 'once') return silent;
  const due = localText(dueWallMs, timeZone);
  const clock = clockText(localTimeAt(dueWallMs, timeZone));
  return notice('note', 'clocksChange', {
    ...common(doneBy),
    message:
      clocks === 'twice'
        ? `The clocks are set back that night and show ${clock} twice; the first one is taken.`
        : `The clocks are set forward that night and skip the time you gave; ${due} is taken.`,
    remedy: 'Give another time if that is not what you meant.',
  });
}

function missed({ request, resolved, durationMs }: PlanFigures, doneBy: DoneByPlan) {
  const { earliestWallMs, timeZone } = doneBy;
  // Rounded up to a whole minute: the time named has to be one that can be asked for.
  const earliest = localText(Math.ceil(earliestWallMs / minuteMs) * minuteMs, timeZone);
  return notice('refuse', 'doneByTooEarly', {
    ...common(doneBy),
    message:
      `Even at ${density(request.densityAmpsPerDm2)}, the most that bath and supply allow, it ` +
      `takes ${hours(durationMs)}: it cannot be done by ` +
      `${localText(doneBy.dueWallMs, timeZone)}.`,
    remedy: `The earliest is ${earliest}. Or aim ${resolved.finalSize === null ? 'thinner' : 'for a size nearer to the one now'}.`,
  });
}

/** The density that a time of day led to, or the refusal with the earliest time. */
export function clockNotices(figures: PlanFigures): readonly Notice[] {
  const { resolved, request, bath } = figures;
  const { doneBy } = resolved;
  if (doneBy === null) return silent;
  const { endWallMs, dueWallMs, timeZone } = doneBy;
  if (endWallMs > dueWallMs + slackMs) return [...missed(figures, doneBy), ...clocksNotice(doneBy)];
  const early = endWallMs < dueWallMs - minuteMs;
  const shown = density(request.densityAmpsPerDm2);
  const solved = notice('note', 'doneBy', {
    ...common(doneBy),
    message: early
      ? `${shown}, the least this bath is run at, is done at ${localText(endWallMs, timeZone)}, ` +
        'before the time you gave.'
      : `${shown} is done by ${localText(dueWallMs, timeZone)} if it starts at ` +
        `${localText(doneBy.startWallMs, timeZone)}.`,
    remedy: early
      ? `Ask for more, or let a trickle keep it. ${bath.window.minAmpsPerDm2} A/dm2 is the foot of the window.`
      : 'A start later than that ends as much later: plan again if it is not started now.',
  });
  return [...solved, ...clocksNotice(doneBy)];
}
