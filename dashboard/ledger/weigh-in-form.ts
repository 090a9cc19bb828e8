/** The form of a weigh-in: the balance first, callipers for those who have them. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../../daemon/piece/model.ts';
import { choiceField, entryField, otherProblems, tickField } from './fields.ts';
import {
  emptyPlace,
  growthOf,
  placeKinds,
  type PlaceDraft,
  type WeighInDraft,
} from './weigh-in-draft.ts';
import { weighInWords as say } from '#words/ledger';

export interface WeighInForm {
  readonly draft: WeighInDraft;
  readonly problems: readonly Problem[];
  readonly hasHangers: boolean;
  readonly carriesOn: boolean;
  readonly change: (part: Partial<WeighInDraft>) => void;
}

/** As many places as the daemon takes. */
const mostPlaces = 24;

const single = ['beforeGrams', 'afterGrams', 'balanceGrams', 'calliperMm', 'note'] as const;

/** Every field of the form, so that a problem with none of them is still shown. */
export function fieldsOf({ places }: WeighInDraft): readonly string[] {
  const ofPlaces = places.flatMap((_, index) =>
    ['label', 'beforeMm', 'afterMm', 'growthPerThickness'].map(
      (name) => `callipers[${index}].${name}`,
    ),
  );
  return [...single, ...ofPlaces];
}

function balance({ draft, problems, hasHangers, carriesOn, change }: WeighInForm): TemplateResult {
  return html`<fieldset class="weigh-group">
    <legend><h2>${say.balance}</h2></legend>
    <p class="aside">${say.balanceHelp}</p>
    <div class="fields thirds weighings">
      ${entryField({
        path: 'beforeGrams',
        label: say.before,
        value: draft.before,
        unit: 'g',
        problems,
        help: carriesOn ? say.beforeCarried : '',
        set: (before) => change({ before }),
      })}
      ${entryField({
        path: 'afterGrams',
        label: say.after,
        value: draft.after,
        unit: 'g',
        problems,
        set: (after) => change({ after }),
      })}
      ${entryField({
        path: 'balanceGrams',
        label: say.step,
        value: draft.step,
        unit: 'g',
        problems,
        help: say.stepHelp,
        set: (step) => change({ step }),
      })}
    </div>
    ${hasHangers ? tickField(say.hangers, draft.hangers, (hangers) => change({ hangers })) : nothing}
  </fieldset>`;
}

function placeRow(form: WeighInForm, place: PlaceDraft, index: number): TemplateResult {
  const { draft, problems, change } = form;
  const at = `callipers[${index}]`;
  const set = (part: Partial<PlaceDraft>): void =>
    change({ places: draft.places.map((one, row) => (row === index ? { ...one, ...part } : one)) });
  const remove = (): void => change({ places: draft.places.filter((_, row) => row !== index) });
  return html`<li class="place">
    <div class="fields place-fields">
      ${entryField({
        path: `${at}.label`,
        label: say.placeNumber(index + 1),
        value: place.label,
        text: true,
        problems,
        set: (label) => set({ label }),
      })}
      ${choiceField(
        {
          path: `${at}.growthPerThickness`,
          label: say.kind,
          value: String(place.growth),
          problems,
          set: (value) => set({ growth: growthOf(value) }),
        },
        placeKinds,
      )}
      ${entryField({
        path: `${at}.beforeMm`,
        label: say.beforeMm,
        value: place.before,
        unit: 'mm',
        problems,
        set: (before) => set({ before }),
      })}
      ${entryField({
        path: `${at}.afterMm`,
        label: say.afterMm,
        value: place.after,
        unit: 'mm',
        problems,
        set: (after) => set({ after }),
      })}
    </div>
    <button type="button" class="quiet" @click=${remove}>${say.remove(index + 1)}</button>
  </li>`;
}

function callipers(form: WeighInForm): TemplateResult {
  const { draft, problems, change } = form;
  const add = (): void => change({ places: [...draft.places, emptyPlace] });
  return html`<details class="weigh-group" ?open=${draft.places.length > 0}>
    <summary><h2>${say.callipers}</h2></summary>
    <p class="aside">${say.callipersHelp}</p>
    <ol class="places-list">
      ${draft.places.map((place, index) => placeRow(form, place, index))}
    </ol>
    <div class="fields">
      ${entryField({
        path: 'calliperMm',
        label: say.calliperStep,
        value: draft.calliperStep,
        unit: 'mm',
        problems,
        set: (calliperStep) => change({ calliperStep }),
      })}
    </div>
    ${
      draft.places.length < mostPlaces
        ? html`<button type="button" @click=${add}>${say.addPlace}</button>`
        : nothing
    }
  </details>`;
}

export function weighInForm(form: WeighInForm): TemplateResult {
  const { draft, problems, change } = form;
  return html`${balance(form)} ${callipers(form)}
  ${entryField({
    path: 'note',
    label: say.note,
    value: draft.note,
    text: true,
    wide: true,
    problems,
    set: (note) => change({ note }),
  })}
  ${otherProblems(problems, fieldsOf(draft))}`;
}
