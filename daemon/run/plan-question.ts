/** Fills in what a request leaves open: the density, a final size's thickness, a time of day. */

import { readDensityText, type TypedDensity } from '../chemistry/density-text.ts';
import type { Bath } from '../chemistry/model.ts';
import type { Dimension, PieceDescription } from '../piece/model.ts';
import { definitionOf } from '../piece/part-growth.ts';
import { areaMm2AtThickness } from './deposit.ts';
import { plannableAmps, tightShare } from './limits.ts';
import type {
  DoneByTarget,
  FinalSizeTarget,
  PlainTarget,
  PlanContext,
  PlanQuestion,
  PlanRequest,
  TankFacts,
} from './model.ts';
import type { DoneByPlan } from './plan-findings.ts';
import { aimOf, depositOnPiece, durationMsAtDensity, type GrowthFacts } from './plan-growth.ts';
import { mm2PerDm2 } from './stages.ts';
import { readLocalTime } from './wall-time.ts';

const micrometresPerMm = 1000;

/** A size of a part that a run is to end at. */
export interface SizeAim {
  readonly partIndex: number;
  readonly dimension: Dimension;
}

/** A request with nothing left open, and how it came to that. */
export interface Resolved {
  readonly request: PlanRequest;
  /** What ends the run. */
  readonly aim: PlainTarget;
  readonly densityFrom: 'typed' | 'window' | 'done-by';
  /** Null where the density was not typed as text. */
  readonly typed: TypedDensity | null;
  /** A typed density that the clock left without a say; null where there is none. */
  readonly typedLeftOut: string | null;
  readonly doneBy: DoneByPlan | null;
  readonly finalSize: SizeAim | null;
}

/** The dimension that a final size names, or null where the part has none of that name. */
export function dimensionOf(
  piece: PieceDescription,
  { partIndex, dimension }: FinalSizeTarget,
): Dimension | null {
  const part = piece.parts[partIndex];
  if (part === undefined) return null;
  const dimensions = definitionOf(part, partIndex).dimensions(part);
  return dimensions.find(({ name }) => name === dimension) ?? null;
}

/** The mean thickness, mm, at which a size reaches a value; below 0 where it never does. */
export function thicknessMmOfSize(
  { valueMm, growthPerThickness }: Dimension,
  finalMm: number,
): number {
  return growthPerThickness === 0 ? -1 : (finalMm - valueMm) / growthPerThickness;
}

function required<Value>(value: Value | null | undefined, what: string): Value {
  if (value === null || value === undefined) throw new RangeError(`The plan lacks ${what}.`);
  return value;
}

interface PlainAim {
  readonly aim: PlainTarget;
  readonly finalSize: SizeAim | null;
}

function plainAim(piece: PieceDescription, goal: PlainTarget | FinalSizeTarget): PlainAim {
  if (goal.kind !== 'final-size') return { aim: goal, finalSize: null };
  const dimension = required(dimensionOf(piece, goal), `a size ${goal.dimension}`);
  const micrometres = thicknessMmOfSize(dimension, goal.mm) * micrometresPerMm;
  const finalSize = { partIndex: goal.partIndex, dimension };
  return { aim: { kind: 'thickness', micrometres }, finalSize };
}

/** The density that a question gives: typed, as a number, or the bath's typical one. */
function openDensity(
  { densityAmpsPerDm2, densityTyped }: PlanQuestion,
  bath: Bath,
): Pick<Resolved, 'densityFrom' | 'typed'> & { readonly ampsPerDm2: number } {
  const reading = densityTyped === undefined ? null : readDensityText(densityTyped);
  if (reading?.ok === true) {
    const { density } = reading;
    return { densityFrom: 'typed', typed: density, ampsPerDm2: density.ampsPerDm2 };
  }
  return densityAmpsPerDm2 === undefined
    ? { densityFrom: 'window', typed: null, ampsPerDm2: bath.window.typicalAmpsPerDm2 }
    : { densityFrom: 'typed', typed: null, ampsPerDm2: densityAmpsPerDm2 };
}

/**
 * The highest density, A/dm2, that bath, tank and supply allow up to a thickness in mm; below the
 * foot of the window where the supply is too small for the area.
 */
function mostDensity({ bath, deposit }: GrowthFacts, tank: TankFacts, thicknessMm: number): number {
  const areas = [0, thicknessMm].map((at) => areaMm2AtThickness(deposit, at) / mm2PerDm2);
  const byCurrent = plannableAmps(tank) / Math.max(...areas);
  return Math.min(bath.window.maxAmpsPerDm2, byCurrent);
}

// Halving a bracket so often leaves nothing of it but the last bits of a float.
const halvings = 60;

/** The lowest density between two bounds that grows a thickness in a time; the upper where none does. */
function slowestInTime(
  facts: GrowthFacts,
  thicknessMm: number,
  availableMs: number,
  bounds: readonly [low: number, high: number],
): number {
  const inTime = (density: number) =>
    durationMsAtDensity(facts, density, thicknessMm) <= availableMs;
  let [low, high] = bounds;
  if (inTime(low)) return low;
  if (!inTime(high)) return high;
  for (let step = 0; step < halvings; step += 1) {
    const middle = (low + high) / 2;
    if (inTime(middle)) high = middle;
    else low = middle;
  }
  return high;
}

const msPerHour = 3_600_000;

/** The longest that the tank allows without a warning, less the trickle, ms. */
function tankMs({ trickle }: PlanQuestion, tank: TankFacts): number {
  return (tightShare * tank.maxHours - (trickle?.maxHours ?? 0)) * msPerHour;
}

interface Place {
  readonly nowWallMs: number;
  readonly timeZone: string;
}

/** The hour and place of a target by the clock: its own, or else those of planning. */
export function placeOf(target: DoneByTarget, context: PlanContext): Partial<Place> {
  const nowWallMs = target.nowWallMs ?? context.nowWallMs;
  const timeZone = target.timeZone ?? context.timeZone;
  return {
    ...(nowWallMs === undefined ? {} : { nowWallMs }),
    ...(timeZone === undefined ? {} : { timeZone }),
  };
}

function resolveDoneBy(
  question: PlanQuestion,
  target: DoneByTarget,
  bath: Bath,
  tank: TankFacts,
  context: PlanContext,
): Resolved {
  const place = placeOf(target, context);
  const timeZone = required(place.timeZone, 'a time zone');
  const startWallMs = required(place.nowWallMs, 'the time of day');
  const due = readLocalTime(target.localTime, startWallMs, timeZone);
  const moment = required(due.ok ? due.moment : null, 'a time to be done by');
  const { aim, finalSize } = plainAim(question.piece, target.goal);
  // The clock decides the density, so one that was typed does not stand beside it.
  const { densityTyped = null, ...rest } = question;
  const request: PlanRequest = {
    ...rest,
    densityAmpsPerDm2: bath.window.minAmpsPerDm2,
    target: { ...target, timeZone, nowWallMs: startWallMs },
  };
  const facts = {
    request,
    bath,
    deposit: depositOnPiece(question.piece, bath, question.acceptClosures),
  };
  const { thicknessMm } = aimOf(facts, aim);
  const most = mostDensity(facts, tank, thicknessMm);
  const bounds = [Math.min(bath.window.minAmpsPerDm2, most), most] as const;
  const availableMs = Math.min(moment.wallMs - startWallMs, tankMs(question, tank));
  const density = slowestInTime(facts, thicknessMm, availableMs, bounds);
  const endAt = (ampsPerDm2: number) =>
    startWallMs + durationMsAtDensity(facts, ampsPerDm2, thicknessMm);
  return {
    request: { ...request, densityAmpsPerDm2: density },
    aim,
    densityFrom: 'done-by',
    typed: null,
    typedLeftOut: densityTyped,
    finalSize,
    doneBy: {
      timeZone,
      startWallMs,
      dueWallMs: moment.wallMs,
      endWallMs: endAt(density),
      earliestWallMs: endAt(most),
      clocks: moment.kind,
    },
  };
}

/** Resolves a question that `planProblems` found nothing wrong with. */
export function resolveQuestion(
  question: PlanQuestion,
  bath: Bath,
  tank: TankFacts,
  context: PlanContext,
): Resolved {
  const { target } = question;
  if (target.kind === 'done-by') return resolveDoneBy(question, target, bath, tank, context);
  const { ampsPerDm2, ...density } = openDensity(question, bath);
  return {
    request: { ...question, densityAmpsPerDm2: ampsPerDm2 },
    ...plainAim(question.piece, target),
    ...density,
    typedLeftOut: null,
    doneBy: null,
  };
}
