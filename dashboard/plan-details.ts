/** What stands in the folds of the Plan page. */

import { nothing } from 'lit';
import type { Left } from '../daemon/run/left.ts';
import type { Plan } from '../daemon/run/model.ts';
import type { Outlook } from '../daemon/run/outlook.ts';
import type { FormContext } from './form-field.ts';
import { blankDetail } from './plan-blank.ts';
import { compareDetail, Comparing } from './plan-compare.ts';
import { doubtDetail } from './plan-doubt.ts';
import { evennessDetail } from './plan-evenness.ts';
import { limitsDetail } from './plan-limits.ts';
import { sizesDetail } from './plan-sizes.ts';

/** Its folds, from the top. */
export type FoldName = 'sizes' | 'even' | 'doubt' | 'limits' | 'compare' | 'blank';

export interface FoldContext {
  readonly form: FormContext;
  /** The last plan there was, and what is said beside it. */
  readonly plan: Plan | null;
  readonly outlook: Outlook | null;
  readonly left: Left | null;
  /** Null until the comparison is first opened. */
  readonly comparing: Comparing | null;
  /** The tank's own clock. */
  readonly nowMs: number;
}

/** A comparison of which nothing was asked yet. */
export function newComparing(changed: () => void): Comparing {
  return new Comparing(changed);
}

export function detail(fold: FoldName, context: FoldContext): unknown {
  const { form, plan, outlook, left, comparing, nowMs } = context;
  const carriesOn = form.draft.continues !== null;
  switch (fold) {
    case 'sizes':
      return outlook ? sizesDetail(outlook) : nothing;
    case 'even':
      return plan ? evennessDetail(plan) : nothing;
    case 'doubt':
      return plan ? doubtDetail(plan) : nothing;
    case 'limits':
      return plan ? limitsDetail(plan, left) : nothing;
    case 'compare':
      return comparing ? compareDetail(form, { comparing, nowMs, carriesOn }) : nothing;
    case 'blank':
      return blankDetail(form, plan);
  }
}
