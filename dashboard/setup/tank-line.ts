/** Where the supply of a tank is: its port or address, and the name that it must give. */

import { html, type TemplateResult } from 'lit';
import { button } from '../element.ts';
import { fieldRows, FormsByName, type Field, type SettingsForm } from './form.ts';
import { lineChanges, lineFields, lineKind } from './line-fields.ts';
import { SetupPart } from './part.ts';
import { whyFixed } from './under-run.ts';
import { lineWords } from '#words/lines';

const say = lineWords.supply;
const place = ['link'] as const;
const identity: Field = {
  path: ['expectIdentity'],
  label: say.identity,
  help: say.identityHelp,
  wide: true,
};

export class TankLine extends SetupPart {
  static override properties = { ...SetupPart.properties, index: { type: Number } };
  declare index: number;
  readonly #forms = new FormsByName();

  async #save(form: SettingsForm): Promise<void> {
    const changes = [...lineChanges(form, place), ...form.changes([identity])];
    if (await this.desk.save(changes)) form.clear();
  }

  override render(): TemplateResult {
    const base = ['tanks', this.index, 'rectifier'];
    const id = this.desk.text(['tanks', this.index, 'id']);
    const form = this.#forms.of(id, this.desk, base, this.changed);
    const fields = [...lineFields(lineKind(form, place), place, say.rateHelp), identity];
    return html`<details class="setup-more">
      <summary>${say.title}</summary>
      <p class="aside">${say.help}</p>
      ${fieldRows(form, fields)}
      <p class="actions">
        ${button(say.save, () => void this.#save(form), {
          id: `save-line-${id}`,
          reason: whyFixed(id),
        })}
      </p>
    </details>`;
  }
}
