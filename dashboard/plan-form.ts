/** The entries of the Plan page that say how the piece is to be run. */

import { html, nothing, type TemplateResult } from 'lit';
import { densityUnits, fromAmpsPerDm2 } from '../daemon/chemistry/density-units.ts';
import type { Bath } from '../daemon/chemistry/model.ts';
import type { Paint, PlainTarget } from '../daemon/run/model.ts';
import { choice, entry, type FormContext } from './form-field.ts';
import { threeDigits } from './format.ts';
import { inUnit, targetFields, type Draft } from './plan-draft.ts';
import { words } from './words.ts';

function densityHelp(bath: Bath | undefined, unitId: string): string {
  if (!bath) return '';
  const label = densityUnits.find(({ id }) => id === unitId)?.label ?? unitId;
  const text = (value: number): string => threeDigits(fromAmpsPerDm2(value, unitId));
  const { minAmpsPerDm2, typicalAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  return words.plan.densityHelp(
    text(minAmpsPerDm2),
    `${text(typicalAmpsPerDm2)} ${label}`,
    `${text(maxAmpsPerDm2)} ${label}`,
  );
}

function densityForm(form: FormContext): TemplateResult {
  const { draft, bench } = form;
  const bath = bench.baths.find(({ id }) => id === draft.bathId);
  return html`${entry(form, {
    path: 'densityAmpsPerDm2',
    label: words.plan.density,
    value: draft.density,
    help: densityHelp(bath, draft.densityUnit),
    set: (target, text) => (target.density = text),
  })}
  ${choice(
    form,
    {
      path: 'densityUnit',
      label: words.plan.unit,
      value: draft.densityUnit,
      help: words.plan.unitHelp,
      set: (target, unit) => {
        target.density = inUnit(target.density, target.densityUnit, unit);
        target.trickleDensity = inUnit(target.trickleDensity, target.densityUnit, unit);
        target.densityUnit = unit;
      },
    },
    densityUnits.map(({ id, label }) => [id, label]),
  )}`;
}

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
          form.change((target) => (target[name] = (event.target as HTMLInputElement).checked))}
      />
      ${label}
    </label>
    <span class="note">${help}</span>
  </div>`;
}

function trickleForm(form: FormContext): TemplateResult {
  const { draft } = form;
  const unit = densityUnits.find(({ id }) => id === draft.densityUnit)?.label ?? '';
  return html`${tick(form, words.plan.trickle, words.plan.trickleHelp, 'trickle')}
  ${
    draft.trickle
      ? html`${entry(form, {
          path: 'trickle.densityAmpsPerDm2',
          label: words.plan.trickleDensity,
          value: draft.trickleDensity,
          unit,
          set: (target, text) => (target.trickleDensity = text),
        })}
        ${entry(form, {
          path: 'trickle.maxHours',
          label: words.plan.trickleHours,
          value: draft.trickleHours,
          unit: 'h',
          set: (target, text) => (target.trickleHours = text),
        })}`
      : nothing
  }`;
}

function startForm(form: FormContext): TemplateResult {
  const { draft } = form;
  const minutes = (name: 'strikeMinutes' | 'rampMinutes', label: string): TemplateResult =>
    entry(form, {
      path: `start.${name}`,
      label,
      value: draft[name],
      unit: 'min',
      set: (target, text) => (target[name] = text),
    });
  return html`${tick(form, words.plan.ownStart, words.plan.ownStartHelp, 'ownStart')}
  ${
    draft.ownStart
      ? html`${entry(form, {
          path: 'start.strikeShare',
          label: words.plan.strikeShare,
          value: draft.strikePercent,
          unit: '%',
          help: words.plan.strikeShareHelp,
          set: (target, text) => (target.strikePercent = text),
        })}
        ${minutes('strikeMinutes', words.plan.strikeMinutes)}
        ${minutes('rampMinutes', words.plan.rampMinutes)}`
      : nothing
  }`;
}

function targetForm(form: FormContext): TemplateResult {
  const { draft } = form;
  return html`${choice(
    form,
    {
      path: 'target.kind',
      label: words.plan.targetKind,
      value: draft.targetKind,
      set: (target, kind) => (target.targetKind = kind as PlainTarget['kind']),
    },
    Object.entries(words.targets).map(([kind, [name]]) => [kind, name]),
  )}
  ${entry(form, {
    path: `target.${targetFields[draft.targetKind]}`,
    label: words.plan.target,
    value: draft.targets[draft.targetKind],
    unit: words.targets[draft.targetKind][1],
    set: (target, text) => (target.targets[target.targetKind] = text),
  })}`;
}

function bathForm(form: FormContext): TemplateResult {
  const { draft, bench } = form;
  const tanks = bench.tanks.map(({ id, name }) => [id, name] as const);
  const baths = bench.baths.map(({ id, name }) => [id, name] as const);
  const setTank = (target: Draft, id: string): void => {
    target.tankId = id;
    target.bathId = bench.tanks.find((tank) => tank.id === id)?.bathId ?? target.bathId;
  };
  const setBath = (target: Draft, id: string): string => (target.bathId = id);
  const setPaint = (target: Draft, paint: string): string => (target.paint = paint as Paint);
  const { tank, bath, paint } = words.plan;
  return html`${choice(
    form,
    { path: 'tankId', label: tank, value: draft.tankId, set: setTank },
    tanks,
  )}
  ${choice(form, { path: 'bathId', label: bath, value: draft.bathId, set: setBath }, baths)}
  ${choice(
    form,
    { path: 'paint', label: paint, value: draft.paint, set: setPaint },
    Object.entries(words.paints),
  )}`;
}

/** Tank, bath, density, target: how the piece is to be run. */
export function runForm(form: FormContext): TemplateResult {
  return html`<section aria-labelledby="run-title">
    <h2 id="run-title">${words.plan.run}</h2>
    <div class="fields">
      ${targetForm(form)} ${densityForm(form)} ${bathForm(form)} ${startForm(form)}
      ${trickleForm(form)}
    </div>
  </section>`;
}
