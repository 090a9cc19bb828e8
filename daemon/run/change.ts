/** A change of target or density while a run is under way: the plan as it would stand then, or why not. */

import type { Problem } from '../piece/model.ts';
import type { RunChange } from './change-model.ts';
import { areaDm2Now, micrometresAfter, thicknessNow } from './forecast.ts';
import { durationAllowance, durationExtraMs } from './limits.ts';
import type { Plan, PlainTarget, PlanRequest, RunLimits, Target } from './model.ts';
import { planRun } from './plan.ts';
import { problem } from './plan-bounds.ts';
import type { RunState } from './state.ts';
import { placeToGoOn, stageOf, timeLeftMs } from './steps.ts';

const msPerHour = 3_600_000;

/** A change that can be made. */
export interface ChangedPlan {
  readonly ok: true;
  readonly plan: Plan;
  /**
   * A higher density, or more metal: that is switching on, and is asked for twice. A gentler current
   * is not, though it takes longer for the same metal; its time stays within that of the tank.
   */
  readonly raises: boolean;
  /** "Target changed from 200 µm to 250 µm". */
  readonly sentence: string;
}

export type ChangeAnswer =
  ChangedPlan | { readonly ok: false; readonly problems: readonly [Problem, ...Problem[]] };

const tidy = (value: number, digits = 4): string => String(Number(value.toPrecision(digits)));
const densityText = (ampsPerDm2: number): string => `${tidy(ampsPerDm2)} A/dm2`;

/** The largest figure of so many digits that is not above a value. */
function roundedDown(value: number, digits: number): number {
  const step = 10 ** (Math.floor(Math.log10(value)) - digits + 1);
  return Number((Math.floor(value / step + 1e-9) * step).toPrecision(digits));
}

function targetText(target: Target, { thicknessMicrometres }: Plan): string {
  switch (target.kind) {
    case 'thickness':
      return `${tidy(target.micrometres)} µm`;
    case 'mass':
      return `${tidy(target.grams)} g`;
    case 'charge':
      return `${tidy(target.ampHours)} A·h`;
    case 'time':
    case 'final-size':
    case 'done-by':
      return `${tidy(thicknessMicrometres.value, 3)} µm`;
  }
}

/** A target by the clock would be solved anew; under way it means the thickness that it came to. */
function standingTarget({ request, thicknessMicrometres }: Plan): Target {
  const { target } = request;
  return target.kind === 'time' || target.kind === 'done-by'
    ? { kind: 'thickness', micrometres: thicknessMicrometres.value }
    : target;
}

/** A change as it is planned: a time has become the thickness that it comes to. */
type SolvedChange =
  | Extract<RunChange, { kind: 'density' }>
  | { readonly kind: 'target'; readonly target: Exclude<PlainTarget, { kind: 'time' }> };

type Solved =
  | { readonly change: SolvedChange; readonly problem: null }
  | { readonly change: null; readonly problem: Problem };

/** A time is the whole one with the output on, so that pressing again asks for the same end. */
function solved(state: RunState, change: RunChange): Solved {
  if (change.kind === 'density') return { change, problem: null };
  const { target } = change;
  if (target.kind !== 'time') return { change: { kind: 'target', target }, problem: null };
  const { plan, charge, poweredMs } = state;
  const { stageIndex, stageElapsedMs } = placeToGoOn(state);
  const { hours } = target;
  const { maxHours } = plan.tank;
  const refused = (bound: string, advice: string): Solved => ({
    change: null,
    problem: problem('target.hours', hours, bound, advice),
  });
  const goneHours = poweredMs / msPerHour;
  if (hours <= goneHours) {
    const bound = `more than the ${tidy(goneHours, 3)} h that the output has been on already`;
    return refused(bound, 'To end the run now, switch it off.');
  }
  if (!(hours <= maxHours)) {
    const bound = `a number up to ${maxHours} h, the longest run of this tank`;
    return refused(bound, 'It counts from switching on, without the time in which it is lifted.');
  }
  const leftMs = hours * msPerHour - poweredMs;
  const micrometres = micrometresAfter(plan, charge.ampHours, stageIndex, stageElapsedMs, leftMs);
  return { change: { kind: 'target', target: { kind: 'thickness', micrometres } }, problem: null };
}

function requestWith(plan: Plan, change: SolvedChange): PlanRequest {
  const { densityTyped: _, ...request } = plan.request;
  // What the piece is made of was judged at arming, and does not depend on this.
  const { materials: __, ...piece } = request.piece;
  return change.kind === 'density'
    ? {
        ...request,
        piece,
        target: standingTarget(plan),
        densityAmpsPerDm2: change.ampsPerDm2,
      }
    : { ...request, piece, target: change.target };
}

function no(first: Problem, ...more: readonly Problem[]): ChangeAnswer {
  return { ok: false, problems: [first, ...more] };
}

/** The largest current that a plan wants from its hold on, A. */
export function largestAmps(plan: Plan): number {
  const { request, holdStartAmps, holdEndAmps, targetChargeAmpHours } = plan;
  const trickleAmps =
    (request.trickle?.densityAmpsPerDm2 ?? 0) * areaDm2Now(plan, targetChargeAmpHours);
  return Math.max(holdStartAmps, holdEndAmps, trickleAmps);
}

/** What the limits of current, set at arming, leave for the plan itself, A. */
function usableAmps({ limits, tank }: Plan): number {
  return limits.maxAmps - Math.max(0.02 * limits.maxAmps, 3 * tank.supply.stepAmps);
}

/** The supply holds these since arming, and they stay: more needs a run of its own. */
function currentProblem(before: Plan, wanted: Plan, change: SolvedChange): Problem | null {
  const amps = largestAmps(wanted);
  const usable = usableAmps(before);
  const volts = wanted.expectedVolts.high;
  const tooHigh = volts > before.limits.setVolts && volts > before.expectedVolts.high;
  // The largest density that is named is one that is taken: no last bit of a float refuses it.
  if (amps <= usable * (1 + 1e-9) && !tooHigh) return null;
  const armed =
    amps <= usable * (1 + 1e-9)
      ? `${tidy(volts, 3)} V may be needed at ${tidy(amps, 3)} A, and the run was armed for at most ${tidy(before.limits.setVolts, 3)} V`
      : `${tidy(amps, 3)} A would flow, and the run was armed for at most ${tidy(before.limits.maxAmps, 3)} A, of which a little stays free`;
  if (change.kind === 'density') {
    const share = Math.min(usable / amps, tooHigh ? before.limits.setVolts / volts : 1);
    const most = roundedDown(change.ampsPerDm2 * Math.min(1, share), 3);
    const bound = `at most ${densityText(most)}`;
    const advice = `${armed}. For more, end this run and carry on as a new one.`;
    return problem('change.ampsPerDm2', change.ampsPerDm2, bound, advice);
  }
  const bound = 'within the current that the run was armed for';
  const value = targetText(change.target, wanted);
  const advice = `${armed}: the area grows with the metal. End this run and carry on as a new one.`;
  return problem('change.target', value, bound, advice);
}

/** The time that the run has taken and would still take, against the longest that its tank allows. */
function timeProblem(state: RunState, wanted: Plan, leftMs: number): Problem | null {
  const trickleMs = (wanted.request.trickle?.maxHours ?? 0) * msPerHour;
  const wholeMs = state.poweredMs + leftMs + trickleMs;
  const { maxHours } = wanted.tank;
  if (wholeMs <= maxHours * msPerHour) return null;
  return problem(
    'tank.maxHours',
    `${tidy(wholeMs / msPerHour, 3)} h`,
    `at most ${maxHours} h`,
    'That is the whole time of this run with its output on. Aim nearer, or end it and carry on as a new run.',
  );
}

function reachedProblem(state: RunState, change: SolvedChange, wanted: Plan): Problem | null {
  const { ampHours } = state.charge;
  if (wanted.targetChargeAmpHours > ampHours) return null;
  const grown = thicknessNow(state.plan, ampHours).value;
  const value = change.kind === 'target' ? targetText(change.target, wanted) : 'passed';
  const bound = `more than the ${tidy(grown, 3)} µm that are there already`;
  return problem('change.target', value, bound, 'To end the run now, switch it off.');
}

/** Current and voltage as armed; time and charge by the rule of arming, for what is still to come. */
function limitsFor(state: RunState, wanted: Plan, leftMs: number): RunLimits {
  const trickleMs = (wanted.request.trickle?.maxHours ?? 0) * msPerHour;
  const { ampHours, highAmpHours } = state.charge;
  // Charge in doubt by now is no reason to trip at the moment of a change.
  const doubtAmpHours = Math.max(0, highAmpHours - ampHours - state.carriedDoubtAmpHours);
  return {
    ...state.plan.limits,
    maxDurationMs: Math.min(
      wanted.tank.maxHours * msPerHour,
      state.poweredMs + durationAllowance * leftMs + durationExtraMs + trickleMs,
    ),
    maxChargeAmpHours: Math.max(wanted.limits.maxChargeAmpHours, ampHours) + doubtAmpHours,
  };
}

function sameProblem(plan: Plan, change: SolvedChange): Problem | null {
  if (change.kind === 'density') {
    const { densityAmpsPerDm2 } = plan.request;
    if (Math.abs(change.ampsPerDm2 - densityAmpsPerDm2) > 1e-9) return null;
    const bound = `another density than ${densityText(densityAmpsPerDm2)}`;
    return problem('change.ampsPerDm2', change.ampsPerDm2, bound, 'It is that already.');
  }
  const text = targetText(change.target, plan);
  const same =
    change.target.kind === plan.request.target.kind &&
    text === targetText(plan.request.target, plan);
  return same
    ? problem('change.target', text, `another target than ${text}`, 'It is that already.')
    : null;
}

function overProblem({ kind }: RunChange): Problem {
  const bound = 'a change before the target is reached';
  return problem('change', kind, bound, 'The target is reached. For more, carry on as a new run.');
}

function sentenceOf(before: Plan, wanted: Plan, change: RunChange): string {
  if (change.kind === 'density') {
    const from = densityText(before.request.densityAmpsPerDm2);
    return `Density changed from ${from} to ${densityText(change.ampsPerDm2)}`;
  }
  const from = targetText(before.request.target, before);
  if (change.target.kind === 'time') {
    const about = `about ${tidy(wanted.thicknessMicrometres.value, 3)} µm`;
    return `Target changed from ${from} to ${tidy(change.target.hours)} h with the output on, ${about}`;
  }
  return `Target changed from ${from} to ${targetText(change.target, before)}`;
}

function raisesOf(before: Plan, wanted: Plan, change: SolvedChange): boolean {
  return change.kind === 'density'
    ? change.ampsPerDm2 > before.request.densityAmpsPerDm2
    : wanted.targetChargeAmpHours > before.targetChargeAmpHours;
}

/**
 * The plan with a change in it, judged as at arming for what is still to come. Current and voltage stay
 * within what the run was armed for; what refuses names the field, the value and the bound.
 */
export function changedPlan(state: RunState, asked: RunChange): ChangeAnswer {
  const before = state.plan;
  // Also where it was lifted since: put back, it goes on with the trickle and grows nothing more.
  if (stageOf(state).kind === 'trickle') return no(overProblem(asked));
  const { change, problem: unsolved } = solved(state, asked);
  if (change === null) return no(unsolved);
  const same = sameProblem(before, change);
  if (same !== null) return no(same);
  const planned = planRun(requestWith(before, change), before.bath, before.tank, {
    carriedAmpHours: state.charge.ampHours,
  });
  if (!planned.ok) {
    const [first, ...more] = planned.problems;
    return no(first ?? problem('change', change.kind, 'a change that can be planned', ''), ...more);
  }
  const wanted = planned.plan;
  const reached = reachedProblem(state, change, wanted);
  if (reached !== null) return no(reached);
  const refusing = wanted.notices
    .filter(({ severity }) => severity === 'refuse')
    .map(({ field, value, bound, message, remedy }) => ({
      field,
      value,
      bound,
      message: `${message} ${remedy}`,
    }));
  const leftMs = timeLeftMs(state, wanted);
  const problems = [
    currentProblem(before, wanted, change),
    timeProblem(state, wanted, leftMs),
    ...refusing,
  ].filter((found) => found !== null);
  const [first, ...more] = problems;
  if (first !== undefined) return no(first, ...more);
  const plan: Plan = {
    ...wanted,
    request: { ...wanted.request, piece: before.request.piece },
    materials: before.materials,
    limits: limitsFor(state, wanted, leftMs),
  };
  return {
    ok: true,
    plan,
    raises: raisesOf(before, wanted, change),
    sentence: sentenceOf(before, wanted, asked),
  };
}
