/** The folds of the Plan page: closed, a title each; what stands in them is fetched with the first opening. */

import { html, nothing, type TemplateResult } from 'lit';
import type { FoldContext, FoldName } from './plan-details.ts';
import { details } from './plan-lazy.ts';
import { planWords } from '#words/plan';

/** Which folds are open, and who hears of it. */
export interface Folding {
  readonly open: ReadonlySet<FoldName>;
  readonly toggled: (fold: FoldName, open: boolean) => void;
  /** Called when what was fetched is there, or cannot be had. */
  readonly came: () => void;
}

export function foldView(
  fold: FoldName,
  { open, toggled, came }: Folding,
  context: FoldContext,
): TemplateResult {
  const isOpen = open.has(fold);
  return html`<details
    class="fold ${fold === 'compare' ? fold : ''}"
    .open=${isOpen}
    @toggle=${(event: Event) => {
      const { open: now } = event.currentTarget as HTMLDetailsElement;
      if (now !== open.has(fold)) toggled(fold, now);
    }}
  >
    <summary><h3>${planWords.folds[fold]}</h3></summary>
    ${isOpen ? details.view(came, ({ detail }) => detail(fold, context)) : nothing}
  </details>`;
}

/** The folds that have something to say of a plan. */
export function foldsOf({ plan, outlook }: FoldContext): readonly FoldName[] {
  if (!plan || !outlook) return [];
  return [
    'sizes',
    ...(plan.evenness ? (['even'] as const) : []),
    ...(plan.dominant ? (['doubt'] as const) : []),
    'limits',
  ];
}
