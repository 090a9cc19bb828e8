/** Setup of the tanks: limits, bath and sizes of each, and taking one out. */

import { html, nothing, type TemplateResult } from 'lit';
import { repeat } from 'lit/directives/repeat.js';
import { connection } from '../connection.ts';
import { button } from '../element.ts';
import { addresses } from '../route.ts';
import { fieldRows, FormsByName } from './form.ts';
import type { Field, SettingsForm } from './form.ts';
import { SetupPart } from './part.ts';
import { SensorsBlock } from './sensors-block.ts';
import { Sure } from './sure.ts';
import { TankLine } from './tank-line.ts';
import { whyFixed } from './under-run.ts';
import { finerFields, hurryField, limitFields, tankFields } from './tank-fields.ts';
import { setupWords } from '#words/setup';

const say = setupWords.tanks;

export class TanksPart extends SetupPart {
  readonly #forms = new FormsByName();
  /** The tank whose taking out was pressed once. */
  readonly #sure = new Sure();

  #id(index: number): string {
    return this.desk.text(['tanks', index, 'id']);
  }

  #form(index: number): SettingsForm {
    return this.#forms.of(this.#id(index), this.desk, ['tanks', index], this.changed);
  }

  #fields(index: number): readonly Field[] {
    const simulated = this.#isSimulated(index);
    const baths = connection.bench?.baths ?? [];
    return [
      ...tankFields(baths),
      ...limitFields,
      ...finerFields,
      ...(simulated ? [hurryField] : []),
    ];
  }

  #isSimulated(index: number): boolean {
    return this.desk.at(['tanks', index, 'rectifier', 'link', 'kind']) === 'in-process';
  }

  async #save(index: number): Promise<void> {
    const form = this.#form(index);
    if (await this.desk.save(form.changes(this.#fields(index)))) form.clear();
  }

  async #remove(index: number): Promise<void> {
    const id = this.#id(index);
    if (!this.#sure.press(id)) {
      this.changed();
      return;
    }
    if (!(await this.desk.save([{ kind: 'remove', path: ['tanks', index] }]))) return;
    this.#forms.forget(id);
    this.desk.say(say.removed);
  }

  #supply(index: number): string {
    const at = (key: string): string => this.desk.text(['tanks', index, 'rectifier', 'link', key]);
    if (this.#isSimulated(index)) return say.simulated;
    const dialect = this.desk.text(['tanks', index, 'rectifier', 'dialect']);
    return `${at('path') || `${at('host')}:${at('port')}`}, ${dialect}`;
  }

  #tank(index: number, count: number): TemplateResult {
    const form = this.#form(index);
    const id = this.#id(index);
    const fixed = whyFixed(id);
    return html`<section class="setup-block" aria-labelledby="tank-${id}">
      <h2 id="tank-${id}">${this.desk.text(['tanks', index, 'name'])}</h2>
      <p class="aside break">${say.supply}: ${this.#supply(index)}</p>
      ${fixed === '' ? nothing : html`<p class="caution">${fixed}</p>`}
      ${fieldRows(form, this.#fields(index))}
      <p class="actions">
        ${button(setupWords.save, () => void this.#save(index), { id: `save-${id}`, strong: true })}
        ${button(this.#sure.asks(id) ? say.sure : say.remove, () => void this.#remove(index), {
          id: `remove-${id}`,
          reason: count === 1 ? say.only : fixed,
        })}
      </p>
      ${
        this.#isSimulated(index)
          ? nothing
          : html`<tank-line .desk=${this.desk} .turn=${this.turn} .index=${index}></tank-line>`
      }
      <sensors-block .desk=${this.desk} .turn=${this.turn} .index=${index}></sensors-block>
    </section>`;
  }

  override render(): TemplateResult {
    const tanks = this.desk.list(['tanks']);
    return html`<p>${say.intro}</p>
      ${repeat(
        tanks,
        (_tank, index) => this.#id(index) || index,
        (_tank, index) => this.#tank(index, tanks.length),
      )}
      <p>
        ${say.add}
        <a class="press-link" href=${addresses.setupOf('supply')}>${say.toSupply}</a>
      </p>
      ${nothing}`;
  }
}

customElements.define('sensors-block', SensorsBlock);
customElements.define('tank-line', TankLine);
customElements.define('tanks-part', TanksPart);
