/** Puts one piece at two or three densities side by side: time, evenness and risk. */

import type { Bath } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import { recessReachMm, wagnerNumber } from './evenness.ts';
import type { Plan, PlanContext, PlanQuestion, TankFacts, Target } from './model.ts';
import { problem } from './plan-bounds.ts';
import { planProblems } from './plan-problems.ts';
import { planRun } from './plan.ts';
import { placeOf } from './plan-question.ts';
import { restOf, type Rest } from './rest.ts';
import { burningRisk, dullRisk, type Risk } from './window-risk.ts';
import { isTimeZone, localText, nightHours, readLocalTime } from './wall-time.ts';

/** The hole and the distance that stand for all others when densities are compared, mm. */
const sampleBoreMm = 5;
const sampleDistanceMm = 10;

/** Hours in which someone is likely asleep; assumed, no source. */
const nightFromHour = 22;
const nightUntilHour = 7;

/** What one density makes of the piece. */
export interface ComparisonRow {
  readonly densityAmpsPerDm2: number;
  readonly startable: boolean;
  readonly thicknessMicrometres: number;
  readonly thinnestMicrometres: number;
  readonly durationMs: number;
  /** Time for what is left where the run carries another on; null where it begins from nothing. */
  readonly leftMs: number | null;
  readonly holdEndAmps: number;
  /** Polarisation against the bath's resistance over 10 mm: the higher, the more even. */
  readonly wagnerAt10Mm: number;
  /** How far into a hole of 5 mm the metal falls to a third, mm. */
  readonly recessReachMm: number;
  readonly burning: Risk;
  readonly dull: Risk;
  /** End on the clock, and its words; null where the hour or the zone is not known. */
  readonly endWallMs: number | null;
  readonly endLocal: string | null;
  /** Hours of the run between 22:00 and 07:00; null where the hour is not known, and beyond 60 days. */
  readonly nightHours: number | null;
  /** Whether a target by the clock is reached in time; null where none was asked for. */
  readonly inTime: boolean | null;
  /** What refuses the plan or warns of it, without the remarks. */
  readonly against: readonly string[];
}

export type Comparison =
  | { readonly ok: true; readonly rows: readonly ComparisonRow[] }
  | { readonly ok: false; readonly problems: readonly Problem[] };

interface Hour {
  readonly nowWallMs: number;
  readonly timeZone: string;
  readonly dueWallMs: number | null;
}

function hourOf(target: Target, context: PlanContext): Hour | null {
  const clock = target.kind === 'done-by';
  const { nowWallMs, timeZone } = clock ? placeOf(target, context) : context;
  if (nowWallMs === undefined || timeZone === undefined || !isTimeZone(timeZone)) return null;
  const due = clock ? readLocalTime(target.localTime, nowWallMs, timeZone) : null;
  return { nowWallMs, timeZone, dueWallMs: due?.ok === true ? due.moment.wallMs : null };
}

/** `rest` is what is left of the question where the run carries another on. */
function rowOf(plan: Plan, bath: Bath, hour: Hour | null, rest: Rest | null): ComparisonRow {
  const { densityAmpsPerDm2 } = plan.request;
  const { siemensPerMetre } = bath.conductivity;
  const endWallMs = hour === null ? null : hour.nowWallMs + plan.durationMs;
  const known = hour !== null && endWallMs !== null;
  return {
    densityAmpsPerDm2,
    startable: plan.startable,
    thicknessMicrometres: plan.thicknessMicrometres.value,
    thinnestMicrometres: plan.evenness?.thinnestMicrometres ?? 0,
    durationMs: plan.durationMs,
    leftMs: rest?.durationMs(densityAmpsPerDm2) ?? null,
    holdEndAmps: plan.holdEndAmps,
    wagnerAt10Mm: wagnerNumber(siemensPerMetre, densityAmpsPerDm2, sampleDistanceMm),
    recessReachMm: recessReachMm(siemensPerMetre, sampleBoreMm, densityAmpsPerDm2),
    burning: burningRisk(bath, densityAmpsPerDm2),
    dull: dullRisk(bath, densityAmpsPerDm2),
    endWallMs,
    endLocal: known ? localText(endWallMs, hour.timeZone) : null,
    nightHours: known
      ? nightHours(hour.nowWallMs, endWallMs, hour.timeZone, nightFromHour, nightUntilHour)
      : null,
    inTime: known && hour.dueWallMs !== null ? endWallMs <= hour.dueWallMs : null,
    against: plan.notices
      .filter(({ severity }) => severity !== 'note')
      .map(({ message }) => message),
  };
}

/**
 * Plans one question at each of two or three densities, A/dm2, in the order given. Of a target by
 * the clock its goal is taken, and each row says whether it is reached in time. Charge that is carried
 * over shortens no plan here; what is left of it is said beside it.
 */
export function comparePlans(
  question: PlanQuestion,
  densitiesAmpsPerDm2: readonly number[],
  bath: Bath,
  tank: TankFacts,
  { carriedAmpHours, ...context }: PlanContext = {},
): Comparison {
  const field = 'densitiesAmpsPerDm2';
  const advice = 'Name the densities to compare.';
  const { length } =
    new Set(densitiesAmpsPerDm2).size === densitiesAmpsPerDm2.length ? densitiesAmpsPerDm2 : [];
  if (length < 2 || length > 3) {
    const bound = 'two or three different densities';
    return { ok: false, problems: [problem(field, [...densitiesAmpsPerDm2], bound, advice)] };
  }
  const { target, densityTyped: _, ...others } = question;
  // The goal alone is planned below, so the clock beside it is judged here.
  const problems = planProblems({ ...others, target }, bath, tank, context);
  if (problems.length > 0) return { ok: false, problems };
  const plainTarget = target.kind === 'done-by' ? target.goal : target;
  const hour = hourOf(target, context);
  const rest =
    carriedAmpHours === undefined
      ? null
      : restOf(question, plainTarget, carriedAmpHours, bath, tank);
  const rows: ComparisonRow[] = [];
  for (const densityAmpsPerDm2 of densitiesAmpsPerDm2) {
    const result = planRun(
      { ...others, target: plainTarget, densityAmpsPerDm2 },
      bath,
      tank,
      context,
    );
    if (!result.ok) return result;
    rows.push(rowOf(result.plan, bath, hour, rest));
  }
  return { ok: true, rows };
}
