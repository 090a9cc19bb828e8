/** Setup of the units in which figures are shown, with what they make of an example. */

import { html, type TemplateResult } from 'lit';
import { nearestGauge } from '../../daemon/piece/gauges.ts';
import { button } from '../element.ts';
import { fixed, list } from '../format.ts';
import { densityText } from '../units.ts';
import { fieldRows, SettingsForm } from './form.ts';
import type { Field } from './form.ts';
import { SetupPart } from './part.ts';
import { setupWords } from '#words/setup';

const say = setupWords.units;

const fields: readonly Field[] = [
  { path: ['density'], label: say.density, choices: Object.entries(say.densities) },
  { path: ['length'], label: say.length, choices: Object.entries(say.lengths) },
  { path: ['wire'], label: say.wire, choices: Object.entries(say.wires) },
];

/** A density, a size and a wire as the form has them shown. */
export function unitsExample(form: SettingsForm): string {
  const [density = '', length = '', wire = ''] = fields.map((field) => form.chosen(field));
  const size = length === 'in' ? `${fixed(12.7 / 25.4, 3)} in` : `${fixed(12.7, 1)} mm`;
  const scales = (['awg', 'swg'] as const).filter((one) => one === wire || wire === 'mm');
  const gauge = scales.flatMap((one) => nearestGauge(one, 0.8)?.words ?? []).join('; ');
  return list([densityText(1.5, density), size, say.gauge(`${fixed(0.8, 2)} mm`, gauge)]);
}

export class UnitsPart extends SetupPart {
  #form: SettingsForm | null = null;

  async #save(form: SettingsForm): Promise<void> {
    if (await this.desk.save(form.changes(fields))) form.clear();
  }

  override render(): TemplateResult {
    const form = (this.#form ??= new SettingsForm(this.desk, ['units'], this.changed));
    return html`<p>${say.intro}</p>
      <section class="setup-block">
        ${fieldRows(form, fields)}
        <p class="aside">${say.example}: ${unitsExample(form)}</p>
        <p class="actions">
          ${button(setupWords.save, () => void this.#save(form), { id: 'save-units', strong: true })}
        </p>
      </section>`;
  }
}

customElements.define('units-part', UnitsPart);
