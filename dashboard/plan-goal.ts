/** The entries for what ends a run, and for how fast: by a density or by the clock. */

import { html, nothing, type TemplateResult } from 'lit';
import type { MeasuredPart } from '../daemon/run/measured-piece.ts';
import type { LikelyMeaning } from '../daemon/run/notices/slips.ts';
import type { Notice, Plan } from '../daemon/run/model.ts';
import type { Outlook } from '../daemon/run/outlook.ts';
import { choice, entry, fieldProblems, type FormContext } from './form-field.ts';
import { fieldId } from './element.ts';
import { densityField, densityWindow, solvedReading } from './plan-density.ts';
import { short } from './piece/typed.ts';
import { targetFields, type Draft, type DueDay, type GoalKind } from './plan-draft.ts';
import { sizeGoal } from './plan-lazy.ts';
import { plannedDensityText, told, typedDensity } from './units.ts';
import { planWords } from '#words/plan';

/** The last plan that was made of these entries, and what is known of their piece. */
export interface GoalContext {
  readonly plan: Plan | null;
  readonly outlook: Outlook | null;
  /** The last plan there was, be it of other entries. */
  readonly last: { readonly plan: Plan; readonly outlook: Outlook } | null;
  /** In the order of the piece; null for each of which nothing is known, or that is wrong. */
  readonly parts: readonly (MeasuredPart | null)[];
  readonly refresh: () => void;
}

/** What a target too thin to be one was likely meant as: millimetres, or thousandths of an inch. */
export function thinMeaning(text: string): string | null {
  const entered = Number(text.trim().replace(',', '.'));
  if (!(entered > 0)) return null;
  return short(entered <= 2 ? entered * 1000 : entered * 25.4);
}

function thinSlip(form: FormContext, notices: readonly Notice[]): unknown {
  const { draft } = form;
  const thin = notices.some(({ code }) => code === 'thinTarget');
  const meant = thinMeaning(draft.targets.thickness);
  if (draft.goal !== 'thickness' || !thin || meant === null) return nothing;
  const text = `${meant} µm`;
  return html`<div class="meant wide" role="group" aria-label=${planWords.goal.thin}>
    <span class="meant-head">${planWords.goal.thin}</span>
    <button
      type="button"
      class="quiet"
      @click=${() =>
        form.change((target) => (target.targets.thickness = meant), planWords.goal.amount)}
    >
      ${planWords.goal.milled(text)}
    </button>
  </div>`;
}

/** What ends the run. */
export function goalFields(form: FormContext, context: GoalContext): TemplateResult {
  const { draft } = form;
  const { goal } = draft;
  return html`${choice(
    form,
    {
      path: 'target.kind',
      label: planWords.goal.kind,
      value: goal,
      wide: goal === 'final-size',
      set: (target, kind) => (target.goal = kind as GoalKind),
    },
    Object.entries(planWords.targets).map(([kind, [name]]) => [kind, name]),
  )}
  ${
    goal === 'final-size'
      ? sizeGoal.view(context.refresh, ({ sizeFields }) => sizeFields(form, context))
      : entry(form, {
          path: `target.${targetFields[goal]}`,
          label: planWords.goal.amount,
          value: draft.targets[goal],
          unit: planWords.targets[goal][1],
          set: (target, text) => (target.targets[target.goal] = text),
        })
  }
  ${thinSlip(form, context.plan?.notices ?? [])}`;
}

/** What the daemon says of the time: the density it led to, the earliest there is, a change of clocks. */
function clockAnswer(form: FormContext, plan: Plan | null): unknown {
  const said = (plan?.notices ?? []).filter(({ field }) => field === 'target.localTime');
  return html`<div class="answer note wide" aria-live="polite">
    ${
      form.draft.continues && plan
        ? html`<p>${planWords.pace.rest(plannedDensityText(plan.request.densityAmpsPerDm2))}</p>`
        : nothing
    }
    ${said.map(({ severity, message, remedy }) =>
      // A refusal stands in full beside the plan; here is what to do about it.
      severity === 'note'
        ? html`<p>${told(`${message} ${remedy}`)}</p>`
        : html`<p class="problem">${told(remedy)}</p>`,
    )}
  </div>`;
}

function dueFields(form: FormContext, plan: Plan | null): TemplateResult {
  const { draft } = form;
  const id = fieldId('target.localTime');
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const set = (target: Draft, text: string): string => (target.dueTime = text);
  const wrong = form.problems.some(({ field }) => field === 'target.localTime');
  return html`<div class="field">
      <label for=${id}>${planWords.pace.due}</label>
      <input
        id=${id}
        type="time"
        .value=${draft.dueTime}
        aria-invalid=${wrong}
        aria-describedby="${id}-note"
        @input=${(event: Event) =>
          form.change(
            (target) => set(target, (event.target as HTMLInputElement).value),
            planWords.pace.due,
            id,
          )}
      />
      <span class="note" id="${id}-note">
        ${fieldProblems(form, 'target.localTime', planWords.pace.due)}
        ${fieldProblems(form, 'target.timeZone', planWords.pace.due)} ${planWords.pace.zone(zone)}
      </span>
    </div>
    ${choice(
      form,
      {
        path: 'target.day',
        label: planWords.pace.day,
        value: draft.dueDay,
        set: (target, day) => (target.dueDay = day as DueDay),
      },
      Object.entries(planWords.pace.days),
    )}
    ${clockAnswer(form, plan)}`;
}

/** What the density as it stands there was likely meant to be, as far as a plan has said it. */
function meantInstead({ draft }: FormContext, { last }: GoalContext): readonly LikelyMeaning[] {
  const typed = typedDensity(draft.density, draft.bareUnit).trim();
  return last?.plan.request.densityTyped === typed ? last.outlook.likelyMeanings : [];
}

/** How fast: at a density, or at the one that a time asks for. */
export function paceFields(form: FormContext, context: GoalContext): TemplateResult {
  const { plan, last } = context;
  const pace = last?.outlook.pace ?? null;
  const { draft, bench } = form;
  const bath = bench.baths.find(({ id }) => id === draft.bathId);
  const byClock = draft.pace === 'done-by';
  const solved = byClock ? (plan?.request.densityAmpsPerDm2 ?? null) : null;
  return html`${choice(
    form,
    {
      path: 'pace',
      label: planWords.pace.kind,
      value: draft.pace,
      wide: true,
      set: (target, chosen) => (target.pace = chosen as Draft['pace']),
    },
    [
      ['density', planWords.pace.density],
      ['done-by', planWords.pace.doneBy],
    ],
  )}
  ${byClock ? dueFields(form, plan) : densityField(form, bath, pace, meantInstead(form, context))}
  ${
    byClock && bath
      ? html`<div class="wide">
          ${densityWindow(bath, solved === null ? null : solvedReading(bath, pace, solved))}
        </div>`
      : nothing
  }`;
}
