/** Judges the density of the hold against the bath's window. */

import type { TypedDensity } from '../../chemistry/density-text.ts';
import type { Bath } from '../../chemistry/model.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { refuseAbove, refuseBelow, warnBelow } from '../window-risk.ts';
import { likelySlips } from './slips.ts';
import {
  density,
  figure,
  fitting,
  leastDensity,
  mostDensity,
  notice,
  type NoticeText,
  silent,
  sufficing,
} from './words.ts';

function windowText({ window, name }: Bath): string {
  const least = figure(sufficing(window.minAmpsPerDm2, 3));
  return `${least} to ${mostDensity(window.maxAmpsPerDm2)} in ${name}`;
}

interface Entered {
  readonly ampsPerDm2: number;
  readonly typed: TypedDensity | null;
}

/** As it was typed, and what that is in A/dm2 where it was typed in another unit. */
function asEntered({ ampsPerDm2, typed }: Entered): string {
  if (typed === null || typed.unitId === 'A/dm2') return density(ampsPerDm2);
  return `${typed.text} is ${density(ampsPerDm2)},`;
}

/** The density and the word that goes on from it: "3 A/dm2 is above" or "1 A/in2 is 15.5 A/dm2, above". */
function head(entered: Entered): string {
  const typedElsewhere = entered.typed !== null && entered.typed.unitId !== 'A/dm2';
  return typedElsewhere ? asEntered(entered) : `${asEntered(entered)} is`;
}

function withSlips(remedy: string, { ampsPerDm2, typed }: Entered, bath: Bath): string {
  const slips = likelySlips(ampsPerDm2, bath, typed);
  return slips.length === 0 ? remedy : `Was it a slip? ${sentence(slips.join('; '))}. ${remedy}`;
}

function sentence(clause: string): string {
  return clause.charAt(0).toUpperCase() + clause.slice(1);
}

function text(bath: Bath, entered: Entered, message: string, remedy: string): NoticeText {
  return {
    field: 'densityAmpsPerDm2',
    value: density(entered.ampsPerDm2),
    bound: windowText(bath),
    windowAmpsPerDm2: [bath.window.minAmpsPerDm2, bath.window.maxAmpsPerDm2],
    message,
    remedy,
  };
}

function above(bath: Bath, entered: Entered): readonly Notice[] {
  const { typicalAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  const kind = bath.agitation === 'still' ? 'a still bath' : 'this bath';
  const most = mostDensity(maxAmpsPerDm2);
  // Where the usual density is the most there is, rounding it up would lead out of the window.
  const typical = density(Math.min(typicalAmpsPerDm2, fitting(maxAmpsPerDm2, 3)));
  const usual = `Take ${most} or less; ${typical} is usual here.`;
  if (entered.ampsPerDm2 > refuseAbove * maxAmpsPerDm2) {
    const message =
      `${head(entered)} far above the ${most} that ${kind} can carry: ` +
      'the deposit burns to dark powder.';
    const remedy = withSlips(usual, entered, bath);
    return notice('refuse', 'densityFarAboveWindow', text(bath, entered, message, remedy));
  }
  const message =
    `${head(entered)} above the ${most} that ${kind} carries well: ` +
    'edges and tips grow rough and knobbly.';
  const remedy = withSlips(usual, entered, bath);
  return notice('warn', 'densityAboveWindow', text(bath, entered, message, remedy));
}

function below(bath: Bath, entered: Entered): readonly Notice[] {
  const { typicalAmpsPerDm2, minAmpsPerDm2 } = bath.window;
  const least = leastDensity(minAmpsPerDm2);
  const usual = `${density(typicalAmpsPerDm2)} is usual here.`;
  if (entered.ampsPerDm2 < refuseBelow * minAmpsPerDm2) {
    const message =
      `${head(entered)} far below the ${least} at which this bath begins: ` +
      'the acid takes a thin seed as fast as metal grows.';
    const remedy = withSlips(usual, entered, bath);
    return notice('refuse', 'densityFarBelowWindow', text(bath, entered, message, remedy));
  }
  if (entered.ampsPerDm2 < warnBelow * minAmpsPerDm2) {
    const message =
      `${head(entered)} well below the ${least} at which this bath begins: ` +
      'dull metal, and hollows that stay thin or bare.';
    const remedy = withSlips(usual, entered, bath);
    return notice('warn', 'densityBelowWindow', text(bath, entered, message, remedy));
  }
  const message =
    `${head(entered)} a little below this bath's window: even, slow growth, and ` +
    'hollows may stay dull.';
  return notice(
    'note',
    'densityLow',
    text(bath, entered, message, `Leave it, or raise it. ${usual}`),
  );
}

/** The density against the window: a note, a warning or a refusal, with the likely slip named. */
export function densityNotices({ request, resolved, bath }: PlanFigures): readonly Notice[] {
  const { densityAmpsPerDm2: ampsPerDm2 } = request;
  const entered: Entered = { ampsPerDm2, typed: resolved.typed };
  const { minAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  // A density converted from other units may sit on an edge of the window, a rounding error out.
  const slack = 1e-9;
  if (ampsPerDm2 > maxAmpsPerDm2 * (1 + slack)) {
    return above(bath, entered);
  }
  return ampsPerDm2 < minAmpsPerDm2 * (1 - slack) ? below(bath, entered) : silent;
}
