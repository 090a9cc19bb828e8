/** Says what a target by the clock comes to: the density found, or the earliest time there is. */

import type { Notice } from '../model.ts';
import type { DoneByPlan } from '../plan-findings.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { clockText, localText, localTimeAt } from '../wall-time.ts';
import { density, figure, hours, notice, silent } from './words.ts';

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

function endsInTime({ request }: PlanFigures, { dueWallMs, startWallMs, timeZone }: DoneByPlan) {
  const shown = density(request.densityAmpsPerDm2);
  const due = localText(dueWallMs, timeZone);
  return `${shown} is done by ${due} if it starts at ${localText(startWallMs, timeZone)}.`;
}

/** There is more time than the foot of the window, or the tank, has a use for. */
function endsBefore({ request, bath, tank }: PlanFigures, { endWallMs, timeZone }: DoneByPlan) {
  const shown = density(request.densityAmpsPerDm2);
  const why =
    request.densityAmpsPerDm2 > bath.window.minAmpsPerDm2
      ? `the least that keeps within the ${figure(tank.maxHours)} h of this tank`
      : 'the least this bath is run at';
  return `${shown}, ${why}, is done at ${localText(endWallMs, timeZone)}, before the time you gave.`;
}

/** A density that was typed beside a time of day. */
function typedLeftOut({ resolved, request }: PlanFigures): readonly Notice[] {
  const { typedLeftOut: typed } = resolved;
  if (typed === null) return silent;
  return notice('note', 'typedDensityLeftOut', {
    field: 'densityTyped',
    value: typed,
    bound: density(request.densityAmpsPerDm2),
    message:
      `The density typed, ${typed}, has no say: the time of day decides, and it comes to ` +
      `${density(request.densityAmpsPerDm2)}.`,
    remedy: 'Leave out the time to run at the density typed.',
  });
}

/** Tank or supply are too small for the area: no density of the window can be had. */
function belowWindow({ request, bath }: PlanFigures, doneBy: DoneByPlan): readonly Notice[] {
  const most = density(request.densityAmpsPerDm2);
  const least = density(bath.window.minAmpsPerDm2);
  return notice('refuse', 'doneByBelowWindow', {
    ...common(doneBy),
    message:
      `Tank and supply allow no more than ${most} on this area, below the ${least} at which this ` +
      'bath begins: no density of its window can be found for a time of day.',
    remedy: 'Plate fewer pieces at once, or use a larger supply. Check the area too.',
  });
}

/** The density that a time of day led to, or the refusal with the earliest time. */
export function clockNotices(figures: PlanFigures): readonly Notice[] {
  const { doneBy } = figures.resolved;
  if (doneBy === null) return silent;
  return [...answerNotices(figures, doneBy), ...clocksNotice(doneBy), ...typedLeftOut(figures)];
}

function answerNotices(figures: PlanFigures, doneBy: DoneByPlan): readonly Notice[] {
  // The foot of the window itself may come back a rounding error out.
  const foot = figures.bath.window.minAmpsPerDm2 * (1 - 1e-9);
  if (figures.request.densityAmpsPerDm2 < foot) return belowWindow(figures, doneBy);
  const { endWallMs, dueWallMs } = doneBy;
  if (endWallMs > dueWallMs + slackMs) return missed(figures, doneBy);
  const early = endWallMs < dueWallMs - minuteMs;
  return notice('note', 'doneBy', {
    ...common(doneBy),
    message: early ? endsBefore(figures, doneBy) : endsInTime(figures, doneBy),
    remedy: early
      ? 'Ask for more metal, or let a trickle keep it until someone comes.'
      : 'A later start, and every lift, ends it as much later: plan again if it is not started now.',
  });
}
