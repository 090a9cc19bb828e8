/** The form for one entry of a ledger, of any kind. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Symptom } from '../../daemon/chemistry/symptoms.ts';
import type { Problem } from '../../daemon/piece/model.ts';
import { button } from '../element.ts';
import { enteredKinds, symptomOf, type EntryDraft } from './entry-draft.ts';
import { choiceField, entryField, otherProblems } from './fields.ts';
import { ledgerWords } from '#words/ledger';

const say = ledgerWords.entry;
/** Units in which additives are measured out. */
export const units = [
  ['mL', 'mL'],
  ['g', 'g'],
] as const;

/** What every form of the ledger is given. */
export interface Form<Draft> {
  readonly draft: Draft;
  readonly problems: readonly Problem[];
  readonly change: (part: Partial<Draft>) => void;
  readonly save: () => void;
  readonly cancel: () => void;
  /** Why it cannot be saved; empty where it can. */
  readonly reason: string;
}

export interface EntryForm extends Form<EntryDraft> {
  /** Whether an earlier entry is being corrected; its kind then stays. */
  readonly correcting: boolean;
  readonly additives: readonly string[];
  readonly symptoms: readonly Symptom[];
}

const fieldsOfKind = {
  addition: ['name', 'amount', 'unit', 'plannedAmount'],
  anode: ['grams'],
  temperature: ['celsius'],
  symptom: ['symptom'],
  upkeep: ['what'],
} as const;

/** The unit that a chooser's value stands for. */
export const unitOf = (value: string): 'mL' | 'g' => (value === 'g' ? 'g' : 'mL');

function additionFields({ draft, problems, additives, change }: EntryForm): TemplateResult {
  // What was entered under a name that is not listed any more keeps it.
  const names = [...new Set([...additives, ...(draft.name === '' ? [] : [draft.name])])];
  return html`${
    additives.length > 0
      ? choiceField(
          {
            path: 'name',
            label: say.additive,
            value: draft.name,
            problems,
            set: (name) => change({ name }),
          },
          names.map((name) => [name, name] as const),
        )
      : entryField({
          path: 'name',
          label: say.additive,
          value: draft.name,
          text: true,
          problems,
          set: (name) => change({ name }),
        })
  }
  ${entryField({
    path: 'amount',
    label: say.amount,
    value: draft.amount,
    problems,
    set: (amount) => change({ amount }),
  })}
  ${choiceField(
    {
      path: 'unit',
      label: say.unit,
      value: draft.unit,
      problems,
      set: (unit) => change({ unit: unitOf(unit) }),
    },
    units,
  )}
  ${entryField({
    path: 'plannedAmount',
    label: say.planned,
    value: draft.planned,
    unit: draft.unit,
    help: say.plannedHelp,
    problems,
    set: (planned) => change({ planned }),
  })}`;
}

function upkeepOf(value: string): EntryDraft['what'] {
  const known = Object.keys(say.upkeep) as EntryDraft['what'][];
  return known.find((one) => one === value) ?? 'other';
}

function kindFields(form: EntryForm): TemplateResult {
  const { draft, problems, symptoms, change } = form;
  switch (draft.kind) {
    case 'addition':
      return additionFields(form);
    case 'anode':
      return entryField({
        path: 'grams',
        label: say.grams,
        value: draft.grams,
        unit: 'g',
        problems,
        set: (grams) => change({ grams }),
      });
    case 'temperature':
      return entryField({
        path: 'celsius',
        label: say.celsius,
        value: draft.celsius,
        unit: '°C',
        problems,
        set: (celsius) => change({ celsius }),
      });
    case 'symptom':
      return choiceField(
        {
          path: 'symptom',
          label: say.symptom,
          value: draft.symptom,
          problems,
          set: (value) => change({ symptom: symptomOf(value) }),
        },
        symptoms.map(({ id, name }) => [id, name] as const),
      );
    case 'upkeep':
      return choiceField(
        {
          path: 'what',
          label: say.upkeepWhat,
          value: draft.what,
          problems,
          set: (value) => change({ what: upkeepOf(value) }),
        },
        Object.entries(say.upkeep),
      );
  }
}

export function entryForm(form: EntryForm): TemplateResult {
  const { draft, problems, correcting, change, save, cancel, reason } = form;
  const kindOf = (value: string): EntryDraft['kind'] =>
    enteredKinds.find((kind) => kind === value) ?? 'addition';
  return html`<form
    class="entry-form"
    @submit=${(event: Event) => {
      event.preventDefault();
      save();
    }}
  >
    <h2 tabindex="-1">${correcting ? say.correct : say.title}</h2>
    <div class="fields thirds entry-fields">
      ${
        correcting
          ? nothing
          : choiceField(
              {
                path: 'kind',
                label: say.kind,
                value: draft.kind,
                problems,
                set: (value) => change({ kind: kindOf(value) }),
              },
              enteredKinds.map((kind) => [kind, say.kinds[kind]] as const),
            )
      }
      ${kindFields(form)}
      ${entryField({
        path: 'atWallMs',
        label: say.when,
        value: draft.when,
        type: 'datetime-local',
        problems,
        help: correcting ? '' : say.whenHelp,
        set: (when) => change({ when }),
      })}
    </div>
    ${entryField({
      path: 'note',
      label: say.note,
      value: draft.note,
      text: true,
      wide: true,
      problems,
      set: (note) => change({ note }),
    })}
    ${otherProblems(problems, ['kind', 'atWallMs', 'note', ...fieldsOfKind[draft.kind]])}
    <div class="actions">
      ${button(correcting ? say.saveCorrection : say.save, save, { reason, id: 'entry-why', strong: true })}
      ${correcting ? button(say.cancel, cancel) : nothing}
    </div>
  </form>`;
}
