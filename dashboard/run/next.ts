/** What a run does next by itself, in one sentence. */

import type { Plan, StageKind, Target } from '../../daemon/run/model.ts';
import type { LiveRun } from '../../daemon/wire/bench.ts';
import { duration } from '../format.ts';
import { plannedDensityText } from '../units.ts';
import { stopsBy, targetText } from './target.ts';
import { runWords } from '#words/run';

/** What has to be known of a plan. */
type Foreseen = Pick<Plan, 'stages'> & { readonly request: { readonly target: Target } };

/** Empty where nothing comes any more, or where the plan is not known yet. */
export function nextSentence(run: LiveRun, plan: Foreseen | null): string {
  const say = runWords.next;
  // Said without the plan, it is there from the first moment and pushes nothing down later.
  if (run.lifecycle === 'lifted') return say.lifted;
  if (plan === null) return '';
  const stage = (kind: StageKind) => plan.stages.find((one) => one.kind === kind);
  const target = targetText(stopsBy(plan.request.target), run);
  const density = plannedDensityText(stage('hold')?.endAmpsPerDm2 ?? 0);
  const trickle = stage('trickle');
  switch (run.lifecycle) {
    case 'planned':
    case 'armed': {
      const strike = stage('strike');
      return say.armed(strike ? say.forTime(duration(strike.durationMs)) : '');
    }
    case 'striking':
      return say.strike(duration(stage('ramp')?.durationMs ?? 0), density);
    case 'ramping':
      return say.ramp(density, target);
    case 'holding':
      return trickle ? say.trickle(target, duration(trickle.durationMs)) : say.off(target);
    case 'trickling':
      return say.after;
    case 'finished':
    case 'stopped':
    case 'tripped':
    case 'interrupted':
      return '';
  }
}
