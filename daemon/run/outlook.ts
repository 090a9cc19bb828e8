/** A plan with what a person who reads it wants to see beside its figures: sizes, openings, the cut, what is left. */

import { readDensityText } from '../chemistry/density-text.ts';
import type { Bath } from '../chemistry/model.ts';
import { planBoreShare } from '../piece/blanks.ts';
import { finalSizesOfPiece, type PartSizes } from '../piece/final-sizes.ts';
import type { CrossSection, Problem } from '../piece/model.ts';
import { sectionOf } from '../piece/section.ts';
import { chargePerAreaAt, millimetresPerAmpHourPerDm2 } from './charge-density.ts';
import { namedClosures, type NamedClosure } from './closures.ts';
import { leftOf, type Left } from './left.ts';
import { likelyMeanings, type LikelyMeaning } from './notices/slips.ts';
import type { Plan, PlanContext, PlanQuestion, TankFacts } from './model.ts';
import { planProblems } from './plan-problems.ts';
import { planRun } from './plan.ts';
import { solvedForRest } from './rest.ts';

export interface Outlook {
  /** Null where the run begins from nothing. */
  readonly left: Left | null;
  /** Sizes before and after, by part. */
  readonly sizes: readonly PartSizes[];
  /** The first to shut first. */
  readonly closures: readonly NamedClosure[];
  /** The cut through the part that decides. */
  readonly section: CrossSection;
  /** Thickness after each whole hour, micrometres; at most 1,000 of them. */
  readonly hoursMicrometres: readonly number[];
  readonly pace: Pace;
  /** What a typed density outside of the bath's window was likely meant to be. */
  readonly likelyMeanings: readonly LikelyMeaning[];
}

/** How fast a bath grows metal. */
export interface Pace {
  readonly bathId: string;
  /** Mean thickness that 1 A/dm2 grows in an hour. */
  readonly micrometresPerHour: number;
}

export type Planned =
  | { readonly ok: true; readonly plan: Plan; readonly outlook: Outlook }
  | { readonly ok: false; readonly problems: readonly Problem[] };

const hourMs = 3_600_000;
const mostHours = 1000;

/** Thickness that a plan reaches after each whole hour, micrometres; at most 1,000 of them. */
export function thicknessByHour({
  stages,
  durationMs,
  thicknessMicrometres,
}: Pick<Plan, 'stages' | 'durationMs' | 'thicknessMicrometres'>): readonly number[] {
  const perCharge = thicknessMicrometres.value / chargePerAreaAt(stages, durationMs);
  const length = Math.min(mostHours, Math.floor(durationMs / hourMs));
  const at = (hour: number): number => perCharge * chargePerAreaAt(stages, hour * hourMs);
  return Array.from({ length }, (_, index) => at(index + 1));
}

/** How fast the bath of a plan grows metal. */
export function paceOf({ bath, metal }: Pick<Plan, 'bath' | 'metal'>): Pace {
  const perCharge = millimetresPerAmpHourPerDm2(metal, bath.efficiency.value);
  return { bathId: bath.id, micrometresPerHour: perCharge * 1000 };
}

// A density converted from other units may sit on an edge of the window, a rounding error out.
const slack = 1e-9;

/** What the density of a plan was likely meant to be; empty inside the window and where none was typed. */
export function meaningsOf({
  request,
  bath,
}: Pick<Plan, 'request' | 'bath'>): readonly LikelyMeaning[] {
  const { densityTyped, densityAmpsPerDm2 } = request;
  const { minAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  const outside =
    densityAmpsPerDm2 > maxAmpsPerDm2 * (1 + slack) ||
    densityAmpsPerDm2 < minAmpsPerDm2 * (1 - slack);
  const reading = densityTyped === undefined ? null : readDensityText(densityTyped);
  if (!outside || reading?.ok !== true) return [];
  return likelyMeanings(densityAmpsPerDm2, bath, reading.density);
}

/** What a plan comes to for a reader; `carriedAmpHours` only where it carries a run on. */
export function outlookOf(plan: Plan, carriedAmpHours?: number): Outlook {
  const { piece } = plan.request;
  const { low, value, high } = plan.thicknessMicrometres;
  const depositMm = { low: low / 1000, value: value / 1000, high: high / 1000 };
  return {
    left: carriedAmpHours === undefined ? null : leftOf(plan, carriedAmpHours),
    sizes: finalSizesOfPiece(piece, depositMm, planBoreShare),
    closures: namedClosures(piece),
    section: sectionOf(piece, plan.decidingPart),
    hoursMicrometres: thicknessByHour(plan),
    pace: paceOf(plan),
    likelyMeanings: meaningsOf(plan),
  };
}

/** A run that carries on, to be done by a time: only what is left of it has to be done by then. */
function forRest(
  question: PlanQuestion,
  bath: Bath,
  tank: TankFacts,
  context: PlanContext,
): { readonly request: PlanQuestion; readonly problems: readonly Problem[] } {
  const { target } = question;
  const { carriedAmpHours, nowWallMs, timeZone } = context;
  if (carriedAmpHours === undefined || target.kind !== 'done-by') {
    return { request: question, problems: [] };
  }
  const problems = planProblems(question, bath, tank, context);
  if (problems.length > 0) return { request: question, problems };
  const placed = { ...(nowWallMs !== undefined && { nowWallMs }), ...(timeZone && { timeZone }) };
  return solvedForRest(question, { ...placed, ...target }, carriedAmpHours, bath, tank);
}

/** Plans a question and looks ahead; with `carriedAmpHours` it carries a run on. */
export function planAhead(
  question: PlanQuestion,
  bath: Bath,
  tank: TankFacts,
  context: PlanContext,
): Planned {
  const { request, problems } = forRest(question, bath, tank, context);
  if (problems.length > 0) return { ok: false, problems };
  const result = planRun(request, bath, tank, context);
  if (!result.ok) return result;
  return { ...result, outlook: outlookOf(result.plan, context.carriedAmpHours) };
}
