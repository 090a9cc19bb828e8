/** The form for the figures of the supplier's sheet. */

import { html, nothing, type TemplateResult } from 'lit';
import { button } from '../element.ts';
import { emptyAdditive, type AdditiveDraft, type FiguresDraft } from './entry-draft.ts';
import { unitOf, units, type Form } from './entry-form.ts';
import { choiceField, entryField, otherProblems } from './fields.ts';
import { ledgerWords } from '#words/ledger';

const words = ledgerWords.figures;

function additiveRow(form: Form<FiguresDraft>, one: AdditiveDraft, index: number): TemplateResult {
  const { draft, problems, change } = form;
  const at = `additives[${index}]`;
  const set = (part: Partial<AdditiveDraft>): void =>
    change({
      additives: draft.additives.map((row, place) => (place === index ? { ...row, ...part } : row)),
    });
  const remove = (): void =>
    change({ additives: draft.additives.filter((_, row) => row !== index) });
  const field = (
    name: 'name' | 'rate' | 'least' | 'source',
    path: string,
    label: string,
    more: { text?: boolean; help?: string; unit?: string } = {},
  ): TemplateResult =>
    entryField({
      path: `${at}.${path}`,
      label,
      value: one[name],
      problems,
      set: (text) => set({ [name]: text }),
      ...more,
    });
  return html`<li class="place">
    <div class="fields place-fields">
      ${field('name', 'name', words.name, { text: true })}
      ${choiceField(
        {
          path: `${at}.unit`,
          label: words.unit,
          value: one.unit,
          problems,
          set: (unit) => set({ unit: unitOf(unit) }),
        },
        units,
      )}
      ${field('rate', 'perAmpHour', words.rate, { help: words.rateHelp, unit: one.unit })}
      ${field('least', 'leastAmount', words.least, { help: words.leastHelp, unit: one.unit })}
    </div>
    ${field('source', 'source', words.source, { text: true, help: words.sourceHelp })}
    <button type="button" class="quiet" @click=${remove}>${words.remove(one.name)}</button>
  </li>`;
}

/** As many as the daemon takes. */
const mostAdditives = 8;

function bathFields({ draft, problems, change }: Form<FiguresDraft>): TemplateResult {
  return html`<div class="fields">
    ${entryField({
      path: 'carbonAmpHoursPerLitre',
      label: words.carbon,
      value: draft.carbon,
      unit: 'A·h/L',
      problems,
      help: words.carbonHelp,
      set: (carbon) => change({ carbon }),
    })}
    ${choiceField(
      {
        path: 'anodes',
        label: words.anodes,
        value: draft.anodes,
        problems,
        set: (value) => change({ anodes: value === 'insoluble' ? 'insoluble' : 'soluble' }),
      },
      [
        ['soluble', words.soluble],
        ['insoluble', words.insoluble],
      ],
    )}
  </div>`;
}

export function figuresForm(form: Form<FiguresDraft>): TemplateResult {
  const { draft, problems, change, save, cancel, reason } = form;
  const known = draft.additives.flatMap((_, index) =>
    ['name', 'unit', 'perAmpHour', 'leastAmount', 'source'].map(
      (name) => `additives[${index}].${name}`,
    ),
  );
  return html`<form
    class="figures-form"
    @submit=${(event: Event) => {
      event.preventDefault();
      save();
    }}
  >
    <h3>${words.title}</h3>
    <p class="aside">${ledgerWords.sheetWins}</p>
    <ol class="places-list">
      ${draft.additives.map((one, index) => additiveRow(form, one, index))}
    </ol>
    ${
      draft.additives.length < mostAdditives
        ? html`<button
            type="button"
            class="quiet"
            @click=${() => change({ additives: [...draft.additives, emptyAdditive] })}
          >
            ${words.add}
          </button>`
        : nothing
    }
    ${bathFields(form)} ${otherProblems(problems, ['carbonAmpHoursPerLitre', 'anodes', ...known])}
    <div class="actions">
      ${button(words.save, save, { reason, id: 'figures-why', strong: true })}
      ${button(words.leave, cancel)}
    </div>
  </form>`;
}
