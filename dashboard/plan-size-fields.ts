/** The entries for a size of the piece at which a run is to end. */

import { html, nothing, type TemplateResult } from 'lit';
import { ringScales, type RingScaleId } from '../daemon/piece/ring-scales.ts';
import { choice, entry, fieldProblems, type FormContext } from './form-field.ts';
import { chosenSize, isRingSize, sizeChoices, type SizeChoice } from './plan-final-size.ts';
import type { GoalContext } from './plan-goal.ts';
import { aimedSize, sizeText } from './plan-sizes.ts';
import { sizeUnit } from './units.ts';
import { planWords } from '#words/plan';

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

/** Which size, and what it is to be. */
export function sizeFields(form: FormContext, context: GoalContext): TemplateResult {
  const { parts, plan, outlook } = context;
  const choices = sizeChoices(form.draft.piece, parts) ?? [];
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
