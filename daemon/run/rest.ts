/** A run that carries on, to be done by a time: the density is solved for what is left of it. */

import type { Bath } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import { millimetresPerAmpHourPerDm2, timeMsAtChargePerArea } from './charge-density.ts';
import { areaMm2AtThickness, thicknessMmOfCharge } from './deposit.ts';
import { plannableAmps } from './limits.ts';
import type {
  DoneByTarget,
  FinalSizeTarget,
  PlainTarget,
  PlanQuestion,
  TankFacts,
} from './model.ts';
import { aimOf, depositOnPiece, growing } from './plan-growth.ts';
import { dimensionOf, thicknessMmOfSize } from './plan-question.ts';
import { mm2PerDm2 } from './stages.ts';
import { localText, readLocalTime } from './wall-time.ts';
import { density as shown } from './notices/words.ts';

const minuteMs = 60_000;
// Halving a bracket so often leaves nothing of it but the last bits of a float.
const halvings = 60;

/** The rest of a question after some charge, at any density. */
export interface Rest {
  /** From switching on to the target, ms; 0 where it is reached already. */
  readonly durationMs: (ampsPerDm2: number) => number;
  /** The highest density that bath, tank and supply allow. */
  readonly mostAmpsPerDm2: number;
}

type Goal = PlainTarget | FinalSizeTarget;

function plainGoal({ piece }: PlanQuestion, goal: Goal): PlainTarget {
  if (goal.kind !== 'final-size') return goal;
  const dimension = dimensionOf(piece, goal);
  if (dimension === null) throw new RangeError(`the piece has no size ${goal.dimension}`);
  return { kind: 'thickness', micrometres: thicknessMmOfSize(dimension, goal.mm) * 1000 };
}

/** What is left of a question without problems; throws RangeError for a size that there is not. */
export function restOf(
  question: PlanQuestion,
  goal: Goal,
  carriedAmpHours: number,
  bath: Bath,
  tank: TankFacts,
): Rest {
  const deposit = depositOnPiece(question.piece, bath, question.acceptClosures);
  const perArea = millimetresPerAmpHourPerDm2(deposit.metal, deposit.efficiency);
  const grownMm = thicknessMmOfCharge(deposit, carriedAmpHours);
  const aim = plainGoal(question, goal);
  const endMm = (densityAmpsPerDm2: number): number =>
    aimOf({ request: { ...question, densityAmpsPerDm2 }, bath, deposit }, aim).thicknessMm;
  const { minAmpsPerDm2, typicalAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  const areas = [grownMm, endMm(typicalAmpsPerDm2)].map(
    (mm) => areaMm2AtThickness(deposit, mm) / mm2PerDm2,
  );
  const byCurrent = plannableAmps(tank) / Math.max(...areas);
  return {
    durationMs: (densityAmpsPerDm2) => {
      const toGrowMm = endMm(densityAmpsPerDm2) - grownMm;
      const stages = growing({ ...question, densityAmpsPerDm2 }, bath);
      return toGrowMm <= 0 ? 0 : timeMsAtChargePerArea(stages, toGrowMm / perArea);
    },
    mostAmpsPerDm2: Math.max(minAmpsPerDm2, Math.min(maxAmpsPerDm2, byCurrent)),
  };
}

/** The lowest density of a window in which the rest is done in a time; null where none is. */
export function slowestFor(
  rest: Rest,
  leastAmpsPerDm2: number,
  availableMs: number,
): number | null {
  const inTime = (density: number): boolean => rest.durationMs(density) <= availableMs;
  let [low, high] = [leastAmpsPerDm2, rest.mostAmpsPerDm2];
  if (inTime(low)) return low;
  if (!inTime(high)) return null;
  for (let step = 0; step < halvings; step += 1) {
    const middle = (low + high) / 2;
    if (inTime(middle)) high = middle;
    else low = middle;
  }
  return high;
}

function tooEarly(rest: Rest, nowWallMs: number, timeZone: string, text: string): Problem {
  const takesMs = rest.durationMs(rest.mostAmpsPerDm2);
  // Rounded up to a whole minute: the time named has to be one that can be asked for.
  const earliestMs = Math.ceil((nowWallMs + takesMs) / minuteMs) * minuteMs;
  const field = 'target.localTime';
  const bound = `${localText(earliestMs, timeZone)} or later`;
  const why = `What is left takes until then even at ${shown(rest.mostAmpsPerDm2)}, the most that bath and supply allow.`;
  return { field, value: text, bound, message: `${field} is ${text}; it must be ${bound}. ${why}` };
}

/**
 * The question with its density solved for what is left; a problem where no density of the window is
 * fast enough. A time that cannot be read, or has no hour and place to be read in, is left to the daemon.
 */
export function solvedForRest(
  question: PlanQuestion,
  target: DoneByTarget,
  carriedAmpHours: number,
  bath: Bath,
  tank: TankFacts,
): { readonly request: PlanQuestion; readonly problems: readonly Problem[] } {
  const { goal, localTime, nowWallMs, timeZone } = target;
  const none = { request: question, problems: [] };
  if (nowWallMs === undefined || timeZone === undefined) return none;
  const due = readLocalTime(localTime, nowWallMs, timeZone);
  if (!due.ok) return none;
  const rest = restOf(question, goal, carriedAmpHours, bath, tank);
  const availableMs = due.moment.wallMs - nowWallMs;
  const densityAmpsPerDm2 = slowestFor(rest, bath.window.minAmpsPerDm2, availableMs);
  if (densityAmpsPerDm2 === null) {
    return { ...none, problems: [tooEarly(rest, nowWallMs, timeZone, localTime)] };
  }
  return { request: { ...question, target: goal, densityAmpsPerDm2 }, problems: [] };
}
