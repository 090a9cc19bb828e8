/** The entries for what ends a run, and for how fast: by a density or by the clock. */

import { html, nothing, type TemplateResult } from 'lit';
import { ringScales, type RingScaleId } from '../daemon/piece/ring-scales.ts';
import type { MeasuredPiece } from '../daemon/run/measured-piece.ts';
import type { Notice, Plan } from '../daemon/run/model.ts';
import type { Outlook } from '../daemon/run/outlook.ts';
import { choice, entry, fieldProblems, type FormContext } from './form-field.ts';
import { fieldId } from './element.ts';
import { densityField, densityWindow, solvedReading } from './plan-density.ts';
import { short } from './piece/typed.ts';
import { targetFields, type Draft, type DueDay, type GoalKind } from './plan-draft.ts';
import { chosenSize, isRingSize, sizeChoices, type SizeChoice } from './plan-final-size.ts';
import { aimedSize, sizeText } from './plan-sizes.ts';
import { plannedDensityText, sizeUnit, told } from './units.ts';
import { planWords } from '#words/plan';

/** The last plan that was made of these entries, and what is known of their piece. */
export interface GoalContext {
  readonly plan: Plan | null;
  readonly outlook: Outlook | null;
  readonly measured: MeasuredPiece | null;
}

function sizeField(form: FormContext, choices: readonly SizeChoice[]): TemplateResult {
  const { sizeOf } = form.draft;
  const key = ({ partKey, dimension }: { partKey: string; dimension: string }): string =>
    `${partKey}/${dimension}`;
  const chosen = chosenSize(sizeOf, choices);
  const gone: readonly (readonly [string, string])[] =
    chosen === null ? [['', planWords.goal.gone]] : [];
  return html`<div class="wide">
    ${choice(
      form,
      {
        path: 'target.dimension',
        label: planWords.goal.size,
        value: chosen ? key(chosen) : '',
        set: (draft, text) => {
          const found = choices.find((one) => key(one) === text);
          if (!found) return;
          draft.sizeOf = { partKey: found.partKey, dimension: found.dimension };
          if (!isRingSize(found.size)) draft.sizeScale = 'mm';
        },
      },
      [
        ...gone,
        ...choices.map(
          (one) =>
            [
              key(one),
              planWords.goal.sizeNow(
                one.partName,
                one.size.label,
                `${sizeText(one.size.valueMm)} ${sizeUnit()}`,
              ),
            ] as const,
        ),
      ],
    )}
  </div>`;
}

function wantedField(form: FormContext, ring: boolean, comesTo: string): TemplateResult {
  const { draft } = form;
  const scales = ringScales.map(({ id, name }) => [id, name] as const);
  const inMillimetres = draft.sizeScale === 'mm' || !ring;
  return html`${entry(form, {
    path: 'target.mm',
    label: planWords.goal.wanted,
    value: draft.targets['final-size'],
    unit: inMillimetres ? 'mm' : '',
    help: comesTo,
    words: true,
    set: (target, text) => (target.targets['final-size'] = text),
  })}
  ${
    ring
      ? choice(
          form,
          {
            path: 'target.scale',
            label: planWords.goal.wantedIn,
            value: draft.sizeScale,
            set: (target, id) => (target.sizeScale = id as 'mm' | RingScaleId),
          },
          [['mm', planWords.goal.millimetres], ...scales],
        )
      : nothing
  }`;
}

function finalSizeFields(form: FormContext, context: GoalContext): TemplateResult {
  const { measured, plan, outlook } = context;
  const choices = sizeChoices(form.draft.piece, measured) ?? [];
  if (choices.length === 0) {
    return html`<p class="note wide">
      ${fieldProblems(form, 'target.dimension', planWords.goal.size)} ${planWords.goal.noSizes}
    </p>`;
  }
  const chosen = chosenSize(form.draft.sizeOf, choices);
  const after = plan && outlook ? aimedSize(plan, outlook) : null;
  const comesTo = after
    ? planWords.goal.comesTo(sizeText(after.low), `${sizeText(after.high)} ${sizeUnit()}`)
    : '';
  return html`${sizeField(form, choices)}
  ${wantedField(form, chosen !== null && isRingSize(chosen.size), comesTo)}`;
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
      ? finalSizeFields(form, context)
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

/** How fast: at a density, or at the one that a time asks for. */
export function paceFields(form: FormContext, plan: Plan | null): TemplateResult {
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
      set: (target, pace) => (target.pace = pace as Draft['pace']),
    },
    [
      ['density', planWords.pace.density],
      ['done-by', planWords.pace.doneBy],
    ],
  )}
  ${byClock ? dueFields(form, plan) : densityField(form, bath)}
  ${
    byClock && bath
      ? html`<div class="wide">
          ${densityWindow(bath, solved === null ? null : solvedReading(bath, solved))}
        </div>`
      : nothing
  }`;
}
