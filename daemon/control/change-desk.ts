/** Changes target or density of a run under way: the sentinel first, then the run machine, then the log. */

import { changedPlan, largestAmps, type ChangedPlan } from '../run/change.ts';
import { isFinal } from '../run/state.ts';
import { timeLeftMs } from '../run/steps.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import type { ChangeLook } from '../wire/run-book.ts';
import type { RunRecord } from '../wire/run.ts';
import { refusal, type Refusal } from './refusal.ts';
import type { ActiveRun } from './snapshot.ts';
import type { Tank } from './tank.ts';

type ChangeCommand = Extract<Command, { kind: 'change' }>;
type LookCommand = Extract<Command, { kind: 'look-change' }>;

/** What a change would come to. The run machine is not asked: it may still refuse. */
export function lookAtChange(tank: Tank, { change }: LookCommand): CommandAnswer {
  const { run } = tank;
  if (run === null || isFinal(run.state.lifecycle)) {
    return refusal('refused', 'No run is under way on this tank.');
  }
  const answer = changedPlan(run.state, change);
  if (!answer.ok) return refused(answer.problems);
  return { ok: true, change: lookOf(tank, run, answer) };
}

function lookOf(
  tank: Tank,
  { state }: ActiveRun,
  { plan, raises, sentence }: ChangedPlan,
): ChangeLook {
  const leftMs = timeLeftMs(state, plan);
  return {
    sentence,
    raises,
    densityAmpsPerDm2: plan.request.densityAmpsPerDm2,
    largestAmps: largestAmps(plan),
    leftMs,
    endsWallMs: tank.clock.wallMs() + leftMs,
    thicknessMicrometres: plan.thicknessMicrometres,
  };
}

function refused(problems: readonly { readonly message: string }[]): Refusal {
  const reason = problems[0]?.message ?? 'It cannot be changed.';
  return { ...refusal('refused', reason), problems: [...problems] as Refusal['problems'] };
}

/** Null where the change stands. `moved` tells whether the run is another by now. */
export async function changeRun(
  tank: Tank,
  { change, confirmed = false, by }: ChangeCommand,
  moved: () => Refusal | null,
): Promise<Refusal | null> {
  const { run } = tank;
  if (run === null) return refusal('refused', 'There is no run on this tank.');
  const input = { kind: 'change', change, confirmed, by } as const;
  const looked = isFinal(run.state.lifecycle) ? null : changedPlan(run.state, change);
  if (looked?.ok === false && run.state.probe === null) return refused(looked.problems);
  const before = run.record;
  if (looked?.ok === true && (confirmed || !looked.raises)) {
    // Bounds as wide as both plans need, so that nothing is overstepped whichever comes to hold.
    const guarded = await guardBoth(tank, before, looked.plan);
    if (guarded !== null) return guarded;
    const other = moved();
    if (other !== null) return other;
  }
  const told = tank.feed({ ...input, atMs: tank.clock.nowMs() });
  if (told !== null) return refusal('refused', told);
  run.record = { ...before, plan: structuredClone(run.state.plan) as RunRecord['plan'] };
  tank.journal.replanned(run, by);
  tank.publish();
  return null;
}

async function guardBoth(
  tank: Tank,
  before: RunRecord,
  plan: ChangedPlan['plan'],
): Promise<Refusal | null> {
  const { limits } = before.plan;
  const wider = {
    ...limits,
    maxDurationMs: Math.max(limits.maxDurationMs, plan.limits.maxDurationMs),
    maxChargeAmpHours: Math.max(limits.maxChargeAmpHours, plan.limits.maxChargeAmpHours),
  };
  try {
    await tank.guard({ ...before, plan: { ...before.plan, limits: wider } });
    return null;
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return refusal(
      'refused',
      `The sentinel does not take the change, so nothing was changed: ${why}`,
    );
  }
}
