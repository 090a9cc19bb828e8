/** What a run under way stops by, and its target in that. */

import type { PlainTarget, Target } from '../../daemon/run/model.ts';
import type { LiveRun } from '../../daemon/wire/bench.ts';
import * as format from '../format.ts';
import { runWords } from '#words/run';

export type TargetKind = PlainTarget['kind'];

const msPerHour = 3_600_000;

/** A goal with a time of day stops at the goal; a size is grown to as a thickness. */
export function stopsBy(target: Target): TargetKind {
  const goal = target.kind === 'done-by' ? target.goal : target;
  return goal.kind === 'final-size' ? 'thickness' : goal.kind;
}

/** The target as it stands, in the unit of its kind: µm, g, A·h or h; null where that is not known. */
export function targetIn(kind: TargetKind, run: LiveRun): number | null {
  const { targetMicrometres, targetAmpHours, ampHours, massGrams, poweredMs, remainingMs } = run;
  const known = (value: number): number | null =>
    Number.isFinite(value) && value > 0 ? value : null;
  switch (kind) {
    case 'thickness':
      return known(targetMicrometres);
    case 'charge':
      return known(targetAmpHours);
    case 'mass':
      return known((massGrams / ampHours) * targetAmpHours);
    case 'time':
      if (poweredMs === undefined || remainingMs === null) return null;
      return known((poweredMs + remainingMs) / msPerHour);
  }
}

/** The target in words, by what the run stops by; the thickness it comes to stands beside another. */
export function targetText(kind: TargetKind, run: LiveRun): string {
  const thickness = format.targetThickness(run.targetMicrometres);
  const value = targetIn(kind, run);
  if (value === null) return thickness;
  const say = runWords.next;
  switch (kind) {
    case 'thickness':
      return thickness;
    case 'charge':
      return say.about(format.withUnit(format.ampHours(value)), thickness);
    case 'mass':
      return say.about(format.withUnit(format.mass(value)), thickness);
    case 'time':
      return say.about(say.ofCurrent(format.duration(value * msPerHour)), thickness);
  }
}
