/** The baths that tanks may have: their figures with their sources, each to be changed by the supplier's sheet. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Bath } from '../../daemon/chemistry/model.ts';
import type { BathFile } from '../../daemon/wire/settings.ts';
import { read, send } from '../api.ts';
import { connection } from '../connection.ts';
import { button, fact } from '../element.ts';
import { exact, list, range } from '../format.ts';
import { addresses } from '../route.ts';
import { densityLabel, densityRange, perDensityUnit } from '../units.ts';
import { SetupDesk } from './desk.ts';
import type { Path } from './desk.ts';
import { fieldRows, SettingsForm } from './form.ts';
import type { Field } from './form.ts';
import { SetupPart } from './part.ts';
import { inPercent, percent } from './percent.ts';
import { setupWords } from '#words/setup';

const say = setupWords.baths;

function number(path: Path, label: string, unit: string): Field {
  return { path, label, kind: 'number', unit };
}

function density(path: Path, label: string): Field {
  return { path, label, kind: 'number', unit: densityLabel(), perUnit: perDensityUnit() };
}

/** Made anew with each look: densities stand in the unit that is chosen then. */
function figureFields(): readonly Field[] {
  return [
    density(['window', 'minAmpsPerDm2'], say.least),
    density(['window', 'typicalAmpsPerDm2'], say.usual),
    density(['window', 'maxAmpsPerDm2'], say.most),
    { path: ['window', 'source'], label: say.source(say.window), wide: true },
    number(['temperature', 'minCelsius'], say.coldest, '°C'),
    number(['temperature', 'maxCelsius'], say.warmest, '°C'),
    { path: ['temperature', 'source'], label: say.source(say.temperature), wide: true },
    { path: ['efficiency', 'value'], label: say.efficiency, ...inPercent },
    { path: ['efficiency', 'uncertainty'], label: say.doubt, ...inPercent },
    { path: ['efficiency', 'source'], label: say.source(say.efficiency), wide: true },
    number(['loading', 'maxAmpsPerLitre'], say.loading, 'A/L'),
    { path: ['loading', 'source'], label: say.source(say.loading), wide: true },
  ];
}

/** A bath whose figures are being changed: its file, and what was typed. */
interface Editing {
  readonly id: string;
  readonly file: BathFile;
  readonly form: SettingsForm;
}

export class BathsPart extends SetupPart {
  #editing: Editing | null = null;

  #path(id: string): string {
    return `/api/settings/baths/${encodeURIComponent(id)}`;
  }

  async #open(id: string): Promise<void> {
    this.desk.say('');
    await this.desk.attempt(async () => {
      const file = await read<BathFile>(this.#path(id));
      // The form looks up what stands in the file of the bath, as others do in that of the settings.
      const desk = new SetupDesk(this.changed);
      desk.file = { data: file.data } as SetupDesk['file'];
      desk.fields = this.desk.fields;
      this.#editing = { id, file, form: new SettingsForm(desk, [], this.changed) };
    });
    this.changed();
  }

  async #save({ id, file, form }: Editing): Promise<void> {
    const changes = form.changes(figureFields());
    if (changes.length === 0) {
      this.desk.say(setupWords.nothing);
      return;
    }
    this.desk.say('');
    const body = { hash: file.hash, changes };
    const done = await this.desk.attempt(async () => {
      const { message } = await send<{ message: string }>('POST', this.#path(id), body);
      await this.desk.load();
      this.desk.say(setupWords.saved(message));
    });
    form.desk.problems = this.desk.problems;
    if (done) this.#editing = null;
    this.changed();
  }

  #users(bath: Bath): string {
    const names = this.desk
      .list(['tanks'])
      .flatMap((_tank, index) =>
        this.desk.text(['tanks', index, 'bath']) === bath.id
          ? [this.desk.text(['tanks', index, 'name'])]
          : [],
      );
    return names.length === 0 ? say.unused : say.usedBy(list(names));
  }

  #figures({ window, temperature, loading, efficiency }: Bath): TemplateResult {
    const share = Math.round((efficiency.value / percent) * 10) / 10;
    return html`<dl class="facts">
        ${fact(say.window, densityRange(window.minAmpsPerDm2, window.maxAmpsPerDm2))}
        ${fact(say.temperature, range(exact(temperature.minCelsius), `${exact(temperature.maxCelsius)} °C`))}
        ${fact(say.efficiency, `${exact(share)} %`)}
        ${fact(say.loading, `${exact(loading.maxAmpsPerLitre)} A/L`)}
      </dl>
      <p class="aside">${say.from(window.source)}</p>`;
  }

  #form(editing: Editing): TemplateResult {
    const { id, file, form } = editing;
    const cancel = (): void => {
      this.#editing = null;
      this.changed();
    };
    return html`<p class="aside break">
        ${file.file === file.target ? say.inFile(file.file) : say.firstSave(file.target)}
      </p>
      <p class="aside">${say.sheet}</p>
      ${fieldRows(form, figureFields())}
      <p class="actions">
        ${button(setupWords.save, () => void this.#save(editing), {
          id: `save-bath-${id}`,
          strong: true,
        })}
        ${button(say.leave, cancel, { id: `leave-bath-${id}` })}
      </p>`;
  }

  #bath(bath: Bath): TemplateResult {
    const editing = this.#editing?.id === bath.id ? this.#editing : null;
    return html`<section class="setup-block" aria-labelledby="bath-${bath.id}">
      <h2 id="bath-${bath.id}">${bath.name}</h2>
      <p class="aside">${this.#users(bath)}</p>
      ${editing === null ? this.#figures(bath) : this.#form(editing)}
      ${
        editing === null
          ? html`<p class="actions">
              ${button(say.change(bath.name), () => void this.#open(bath.id), {
                id: `change-${bath.id}`,
              })}
            </p>`
          : nothing
      }
    </section>`;
  }

  override render(): TemplateResult {
    return html`<p>${say.intro}</p>
      <p><a href=${addresses.setupOf('tanks')}>${say.toTanks}</a></p>
      ${connection.bench?.baths.map((bath) => this.#bath(bath))}`;
  }
}

customElements.define('baths-part', BathsPart);
