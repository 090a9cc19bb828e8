/** What has to be looked at before a plan is armed, and why it cannot be yet. */

import { html, type TemplateResult } from 'lit';
import type { Plan } from '../daemon/run/model.ts';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { checklistItems } from '../daemon/wire/checklist.ts';
import { button } from './element.ts';
import type { CarryOn } from './plan-carry.ts';
import { isFree } from './tank-lines.ts';
import { planWords } from '#words/plan';

/** Where a jump to arming goes. */
export const armTitleId = 'arm-title';

export interface ArmingFacts {
  /** Null while there is none for the entries as they are. */
  readonly plan: Plan | null;
  readonly tank: TankSnapshot | null;
  /** Whether the page hears the bench. */
  readonly live: boolean;
  /** Whether the run that is carried on has passed this target. */
  readonly reached: boolean;
  readonly checked: ReadonlySet<string>;
  /** The earlier run that is asked for and not there yet; null where none is. */
  readonly carrying: CarryOn | null;
}

/** Why it cannot be armed; empty when it can. */
export function whyNotArmed({ plan, tank, live, reached, checked, carrying }: ArmingFacts): string {
  const { why } = planWords;
  if (!live) return why.stale;
  if (carrying) return carrying.error === '' ? why.carrying : why.notCarried;
  if (!plan) return why.noPlan;
  if (!plan.startable) return why.refused;
  if (reached) return why.reached;
  if (tank && !isFree(tank)) return why.busy(tank.name);
  const open = checklistItems.length - checked.size;
  return open > 0 ? why.checks(open) : '';
}

/** The checks of the tank, the checklist and the button; an empty reason enables it. */
export function armingSection(
  tankId: string,
  checked: Set<string>,
  changed: () => void,
  reason: string,
  arm: () => void,
): TemplateResult {
  const tick = (id: string, event: Event): void => {
    if ((event.target as HTMLInputElement).checked) checked.add(id);
    else checked.delete(id);
    changed();
  };
  return html`<section class="arming" aria-labelledby=${armTitleId}>
    <h2 id=${armTitleId} tabindex="-1">${planWords.armTitle}</h2>
    <plan-checks .tankId=${tankId}></plan-checks>
    <p class="aside">${planWords.armIntro}</p>
    ${checklistItems.map(
      ({ id, text }) =>
        html`<label class="tick">
          <input
            type="checkbox"
            .checked=${checked.has(id)}
            @change=${(event: Event) => tick(id, event)}
          />
          ${text}
        </label>`,
    )}
    <p class="aside">${planWords.armNote}</p>
    ${button(planWords.arm, arm, { reason, id: 'arm-why', strong: true })}
  </section>`;
}
