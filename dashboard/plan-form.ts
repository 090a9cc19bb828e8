/** The entries of a run: what ends it, how fast it goes, where, how gently it starts. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Paint, Plan } from '../daemon/run/model.ts';
import { choice, entry, type FormContext } from './form-field.ts';
import { explainedIn, stageTerms } from './explained-term.ts';
import * as format from './format.ts';
import type { Draft } from './plan-draft.ts';
import { goalFields, paceFields, type GoalContext } from './plan-goal.ts';
import { densityLabel, perDensityUnit } from './units.ts';
import { words } from '#words/common';
import { planWords } from '#words/plan';

function tick(
  form: FormContext,
  label: string,
  help: string,
  name: 'trickle' | 'ownStart',
): TemplateResult {
  return html`<div class="field wide">
    <label class="tick">
      <input
        type="checkbox"
        .checked=${form.draft[name]}
        @change=${(event: Event) =>
          form.change(
            (target) => (target[name] = (event.target as HTMLInputElement).checked),
            label,
          )}
      />
      ${label}
    </label>
    <span class="note">${help}</span>
  </div>`;
}

function trickleFields(form: FormContext): TemplateResult {
  const { draft } = form;
  const text = planWords.trickle;
  return html`${tick(form, text.label, text.help, 'trickle')}
  ${
    draft.trickle
      ? html`${entry(form, {
          path: 'trickle.densityAmpsPerDm2',
          label: text.density,
          value: draft.trickleDensity,
          words: true,
          set: (target, typed) => (target.trickleDensity = typed),
        })}
        ${entry(form, {
          path: 'trickle.maxHours',
          label: text.hours,
          value: draft.trickleHours,
          unit: 'h',
          set: (target, typed) => (target.trickleHours = typed),
        })}`
      : nothing
  }`;
}

/** How the plan begins and why, in words; empty while there is no plan. */
export function startWords({ stages, request, contact }: Plan): string {
  const [strike, ramp] = stages;
  if (strike?.kind !== 'strike' || ramp?.kind !== 'ramp') return '';
  const { startAmpsPerDm2, durationMs } = strike;
  const text = planWords.start;
  const share = (100 * startAmpsPerDm2) / request.densityAmpsPerDm2;
  const why = request.start ? 'own' : contact ? 'contact' : request.paint;
  return [
    text.strike(
      `${format.threeDigits(startAmpsPerDm2 / perDensityUnit())} ${densityLabel()}`,
      `${format.plain(share)} %`,
      format.duration(durationMs),
    ),
    text.ramp(format.duration(ramp.durationMs)),
    text.why[why],
  ].join(' ');
}

function ownStart(form: FormContext): TemplateResult {
  const { draft } = form;
  const text = planWords.start;
  const minutes = (name: 'strikeMinutes' | 'rampMinutes', label: string): TemplateResult =>
    entry(form, {
      path: `start.${name}`,
      label,
      value: draft[name],
      unit: 'min',
      set: (target, typed) => (target[name] = typed),
    });
  return html`${entry(form, {
    path: 'start.strikeShare',
    label: text.strikeShare,
    value: draft.strikePercent,
    unit: '%',
    help: text.strikeShareHelp,
    set: (target, typed) => (target.strikePercent = typed),
  })}
  ${minutes('strikeMinutes', text.strikeMinutes)} ${minutes('rampMinutes', text.rampMinutes)}`;
}

function contactFields(form: FormContext): TemplateResult {
  const { draft } = form;
  const text = planWords.contact;
  if (draft.paint === 'none') return html`<p class="note">${text.none}</p>`;
  return html`${entry(form, {
    path: 'contact.points',
    label: text.points,
    value: draft.contactPoints,
    help: text.help,
    set: (target, typed) => (target.contactPoints = typed),
  })}
  ${entry(form, {
    path: 'contact.farthestMm',
    label: text.farthest,
    value: draft.contactFarthest,
    unit: 'mm',
    words: true,
    help: text.farthestHelp,
    set: (target, typed) => (target.contactFarthest = typed),
  })}`;
}

/** What the contacts ask for, in the plan's own words. */
function contactAnswer(plan: Plan | null): unknown {
  const said = (plan?.notices ?? []).find(({ code }) => code === 'contactReach');
  if (!said) return nothing;
  // A warning stands in full beside the plan; here is what to do about it.
  const text = said.severity === 'note' ? `${said.message} ${said.remedy}` : said.remedy;
  return html`<p>${format.pretty(text)}</p>`;
}

function startFields(form: FormContext, plan: Plan | null): TemplateResult {
  const text = planWords.start;
  return html`${choice(
      form,
      {
        path: 'paint',
        label: planWords.paint,
        value: form.draft.paint,
        wide: true,
        set: (target, paint) => (target.paint = paint as Paint),
      },
      Object.entries(words.paints),
    )}
    ${contactFields(form)}
    <div class="answer note wide" aria-live="polite">
      <p>${plan ? explainedIn(format.pretty(startWords(plan)), stageTerms) : nothing}</p>
      ${contactAnswer(plan)}
    </div>
    ${tick(form, text.own, text.ownHelp, 'ownStart')}
    ${form.draft.ownStart ? ownStart(form) : nothing}`;
}

function placeFields(form: FormContext): TemplateResult {
  const { draft, bench } = form;
  const tanks = bench.tanks.map(({ id, name }) => [id, name] as const);
  const baths = bench.baths.map(({ id, name }) => [id, name] as const);
  const setTank = (target: Draft, id: string): void => {
    target.tankId = id;
    target.bathId = bench.tanks.find((tank) => tank.id === id)?.bathId ?? target.bathId;
  };
  const setBath = (target: Draft, id: string): string => (target.bathId = id);
  const { tank, bath } = planWords;
  return html`${choice(
    form,
    { path: 'tankId', label: tank, value: draft.tankId, set: setTank },
    tanks,
  )}
  ${choice(form, { path: 'bathId', label: bath, value: draft.bathId, set: setBath }, baths)}`;
}

function group(title: string, fields: unknown): TemplateResult {
  return html`<fieldset class="group">
    <legend>${title}</legend>
    <div class="fields">${fields}</div>
  </fieldset>`;
}

/** All entries of the run. */
export function runForm(form: FormContext, context: GoalContext): TemplateResult {
  const { plan } = context;
  return html`<section class="run-form" aria-labelledby="run-title">
    <h2 id="run-title">${planWords.run}</h2>
    <div class="fields places">${placeFields(form)}</div>
    ${group(planWords.goal.title, goalFields(form, context))}
    ${group(planWords.pace.title, paceFields(form, context))}
    ${group(planWords.start.title, startFields(form, plan))}
    ${group(planWords.trickle.title, trickleFields(form))}
  </section>`;
}
