/** Judges the trickle that protects a finished piece from the acid until someone comes. */

import type { Bath } from '../../chemistry/model.ts';
import type { Notice, TankFacts, TrickleRequest } from '../model.ts';
import { boundAmps, plannableAmps } from '../limits.ts';
import type { PlanFigures, TrickleFigures } from '../plan-figures.ts';
import { boundName } from './current.ts';
import { amps, density, figure, fitting, micrometres, notice, silent } from './words.ts';

const mostHours = 24;
/** A trickle above this share of the typical density is a second hold in all but name. */
const smallShare = 0.2;

function densityNotice(
  { densityAmpsPerDm2, maxHours }: TrickleRequest,
  figures: TrickleFigures,
  { window }: Bath,
): readonly Notice[] {
  const small = fitting(smallShare * window.typicalAmpsPerDm2);
  const asked = density(densityAmpsPerDm2);
  const added = micrometres(figures.addedMm * 1000, 2);
  const common = {
    field: 'trickle.densityAmpsPerDm2',
    value: asked,
    bound: `at most ${density(small)}`,
  };
  if (densityAmpsPerDm2 >= window.typicalAmpsPerDm2) {
    return notice('refuse', 'trickleTooStrong', {
      ...common,
      message:
        `A trickle of ${asked} is no trickle: this bath is usually run at ` +
        `${density(window.typicalAmpsPerDm2)}.`,
      remedy: `Take ${density(small)} or less.`,
    });
  }
  if (densityAmpsPerDm2 > small) {
    return notice('warn', 'trickleStrong', {
      ...common,
      message: `A trickle of ${asked} goes on growing: ${added} more if it runs to its end.`,
      remedy: `Take ${density(small)} or less; a little is enough to keep the acid off.`,
    });
  }
  return notice('note', 'trickle', {
    ...common,
    message:
      `After the target a trickle of ${amps(figures.amps)} stays on for up to ` +
      `${figure(maxHours)} h and adds up to ${added}.`,
    remedy: 'Leave it out if the output should go off at the target.',
  });
}

function hoursNotice({ maxHours }: TrickleRequest): readonly Notice[] {
  if (maxHours <= mostHours) {
    return silent;
  }
  return notice('refuse', 'trickleTooLong', {
    field: 'trickle.maxHours',
    value: `${figure(maxHours)} h`,
    bound: `at most ${mostHours} h`,
    message: `A trickle of ${figure(maxHours)} h is longer than a day.`,
    remedy: `Take ${mostHours} h or less: someone should come and lift the piece out.`,
  });
}

function supplyNotice(
  { densityAmpsPerDm2 }: TrickleRequest,
  figures: TrickleFigures,
  tank: TankFacts,
): readonly Notice[] {
  const { supply } = tank;
  const plannable = plannableAmps(tank);
  if (figures.amps > plannable * (1 + 1e-9)) {
    const fits = fitting((densityAmpsPerDm2 * plannable) / figures.amps);
    const bound = amps(boundAmps(tank));
    return notice('refuse', 'trickleBeyondBound', {
      field: 'trickle.densityAmpsPerDm2',
      value: amps(figures.amps),
      bound: `${amps(plannable)} of ${bound}`,
      message:
        `The trickle needs ${amps(figures.amps)}; ${boundName(tank)} ${bound}, of which ` +
        `${amps(plannable)} can be planned.`,
      remedy: `Leave it out, or take ${density(fits)} or less.`,
    });
  }
  const least = Math.max(supply.minAmps, supply.stepAmps);
  if (figures.leastAmps >= least) {
    return silent;
  }
  const raised = (densityAmpsPerDm2 * least) / figures.leastAmps;
  return notice('refuse', 'trickleBelowSupply', {
    field: 'trickle.densityAmpsPerDm2',
    value: amps(figures.leastAmps),
    bound: `at least ${amps(least)}`,
    message:
      `The trickle needs ${amps(figures.leastAmps)}; the least this supply can be set to is ` +
      `${amps(least)}.`,
    remedy: `Leave it out, or raise it to ${density(raised)}.`,
  });
}

/** The trickle's density, time and current against their bounds; a note on what it adds. */
export function trickleNotices({ request, bath, trickle, tank }: PlanFigures): readonly Notice[] {
  if (trickle === null || request.trickle === null) {
    return silent;
  }
  return [
    ...densityNotice(request.trickle, trickle, bath),
    ...hoursNotice(request.trickle),
    ...supplyNotice(request.trickle, trickle, tank),
  ];
}
