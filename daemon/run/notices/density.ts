/** Judges the density of the hold against the bath's window. */

import type { Bath } from '../../chemistry/model.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { likelySlips } from './slips.ts';
import { density, notice, type NoticeText, silent } from './words.ts';

/** Up to this share of the window's top a density is warned about; beyond it is refused. */
const refuseAbove = 1.5;
/** Below these shares of the window's foot a density is warned about, and refused. */
const warnBelow = 0.4;
const refuseBelow = 0.1;

function windowText({ window, name }: Bath): string {
  return `${window.minAmpsPerDm2} to ${window.maxAmpsPerDm2} A/dm2 in ${name}`;
}

function withSlips(remedy: string, entered: number, bath: Bath): string {
  const slips = likelySlips(entered, bath);
  return slips.length === 0 ? remedy : `Was it a slip? ${sentence(slips.join('; '))}. ${remedy}`;
}

function sentence(clause: string): string {
  return clause.charAt(0).toUpperCase() + clause.slice(1);
}

function text(bath: Bath, entered: number, message: string, remedy: string): NoticeText {
  return {
    field: 'densityAmpsPerDm2',
    value: density(entered),
    bound: windowText(bath),
    message,
    remedy,
  };
}

function above(bath: Bath, entered: number): readonly Notice[] {
  const { typicalAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  const kind = bath.agitation === 'still' ? 'a still bath' : 'this bath';
  const most = density(maxAmpsPerDm2);
  const usual = `Take ${most} or less; ${density(typicalAmpsPerDm2)} is usual here.`;
  if (entered > refuseAbove * maxAmpsPerDm2) {
    const message =
      `${density(entered)} is far above the ${most} that ${kind} can carry: ` +
      'the deposit burns to dark powder.';
    const remedy = withSlips(usual, entered, bath);
    return notice('refuse', 'densityFarAboveWindow', text(bath, entered, message, remedy));
  }
  const message =
    `${density(entered)} is above the ${most} that ${kind} carries well: ` +
    'edges and tips grow rough and knobbly.';
  const remedy = withSlips(usual, entered, bath);
  return notice('warn', 'densityAboveWindow', text(bath, entered, message, remedy));
}

function below(bath: Bath, entered: number): readonly Notice[] {
  const { typicalAmpsPerDm2, minAmpsPerDm2 } = bath.window;
  const least = density(minAmpsPerDm2);
  const usual = `${density(typicalAmpsPerDm2)} is usual here.`;
  if (entered < refuseBelow * minAmpsPerDm2) {
    const message =
      `${density(entered)} is far below the ${least} at which this bath begins: ` +
      'the acid takes a thin seed as fast as metal grows.';
    const remedy = withSlips(usual, entered, bath);
    return notice('refuse', 'densityFarBelowWindow', text(bath, entered, message, remedy));
  }
  if (entered < warnBelow * minAmpsPerDm2) {
    const message =
      `${density(entered)} is well below the ${least} at which this bath begins: ` +
      'dull metal, and hollows that stay thin or bare.';
    const remedy = withSlips(usual, entered, bath);
    return notice('warn', 'densityBelowWindow', text(bath, entered, message, remedy));
  }
  const message =
    `${density(entered)} is a little below this bath's window: even, slow growth, and ` +
    'hollows may stay dull.';
  return notice(
    'note',
    'densityLow',
    text(bath, entered, message, `Leave it, or raise it. ${usual}`),
  );
}

/** The density against the window: a note, a warning or a refusal, with the likely slip named. */
export function densityNotices({ request, bath }: PlanFigures): readonly Notice[] {
  const entered = request.densityAmpsPerDm2;
  const { minAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  // A density converted from other units may sit on an edge of the window, a rounding error out.
  const slack = 1e-9;
  if (entered > maxAmpsPerDm2 * (1 + slack)) {
    return above(bath, entered);
  }
  return entered < minAmpsPerDm2 * (1 - slack) ? below(bath, entered) : silent;
}
