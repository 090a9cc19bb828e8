/** The one line under the decisive numbers: what they are worth. */

import type { Plan } from '../daemon/run/model.ts';
import { toldOfNotice } from './units.ts';
import { planWords } from '#words/plan';

export interface StatusFacts {
  readonly error: string;
  readonly pending: boolean;
  readonly problems: readonly unknown[];
  readonly plan: Pick<Plan, 'startable' | 'notices'> | null;
}

export interface Status {
  readonly text: string;
  /** True where the plan is refused: the reasons stand further down. */
  readonly refused: boolean;
}

export function statusOf({ error, pending, problems, plan }: StatusFacts): Status {
  const say = (text: string): Status => ({ text, refused: false });
  if (error) return say(error);
  if (pending) return say(planWords.waiting);
  if (problems.length > 0) return say(plan ? planWords.broken : planWords.brokenFirst);
  if (!plan) return say('');
  if (plan.startable) return say(planWords.ready);
  const reason = plan.notices.find(({ severity }) => severity === 'refuse');
  const text = toldOfNotice(planWords.refused(reason?.message ?? ''), reason ?? {});
  return { text, refused: true };
}
