/** The bring-up of a supply that no tank has: port, identity, limits, set-points, and a tank made of it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { SetStep, TriedDialect } from '../../daemon/wire/bring-up.ts';
import type { SettingsChange } from '../../daemon/wire/settings.ts';
import { read, send } from '../api.ts';
import { connection } from '../connection.ts';
import { button } from '../element.ts';
import { exact } from '../format.ts';
import { askedView } from './asked.ts';
import { FoundSupply, linkEntry } from './found.ts';
import { fieldRows, SettingsForm } from './form.ts';
import type { Field } from './form.ts';
import { SetupPart } from './part.ts';
import { supplyWords as say } from '#words/supply';
import { idField, tankFields } from './tank-fields.ts';

interface Port {
  readonly path: string;
  readonly stablePath: string | null;
  readonly description: string;
}

type StepName = 'port' | 'ask' | 'limits' | 'set' | 'tank';
const order: readonly StepName[] = ['port', 'ask', 'limits', 'set', 'tank'];

/** What most supplies and benches have, to begin with. */
const usual = { hours: '14' } as const;

export class NewSupply extends SetupPart {
  #found = new FoundSupply();
  /** The tank that was saved last. */
  #saved = '';
  #ports: readonly Port[] | null = null;
  #form: SettingsForm | null = null;
  #dropSimulated = false;

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#look();
  }

  async #look(): Promise<void> {
    await this.desk.attempt(async () => {
      this.#ports = await read<readonly Port[]>('/api/ports');
    });
    this.changed();
  }

  /** One dialect after the other: each answers for itself, and the list grows while it is looked at. */
  async #ask(): Promise<void> {
    const found = this.#found;
    const { link } = found;
    if (link === null || found.trying !== '') return;
    found.moved();
    await this.desk.attempt(async () => {
      for (const dialect of this.desk.file?.dialects ?? []) {
        found.trying = dialect;
        this.changed();
        const tried = await send<TriedDialect>('POST', '/api/bring-up/try', { link, dialect });
        found.tried = [...found.tried, tried];
      }
    });
    found.trying = '';
    const [only] = found.fits;
    if (only !== undefined) found.chosen = only.dialect;
    this.changed();
  }

  async #set(): Promise<void> {
    const { link, fit, maxAmps, maxVolts } = this.#found;
    if (link === null || fit === null) return;
    const body = { link, dialect: fit.dialect, maxAmps, maxVolts };
    await this.desk.attempt(async () => {
      this.#found.steps = await send<readonly SetStep[]>('POST', '/api/bring-up/set', body);
    });
    this.changed();
  }

  async #save(form: SettingsForm, fields: readonly Field[]): Promise<void> {
    const { link, fit, maxAmps, maxVolts } = this.#found;
    if (link === null || fit === null) return;
    const value = {
      ...form.entry(fields),
      maxAmps,
      maxVolts,
      rectifier: {
        driver: 'scpi',
        dialect: fit.dialect,
        expectIdentity: fit.expectIdentity,
        link: linkEntry(link),
      },
    };
    const gone = this.#dropSimulated ? this.#simulated() : [];
    const saved = await this.desk.save([
      { kind: 'add', path: ['tanks'], value },
      ...gone.map((index): SettingsChange => ({ kind: 'remove', path: ['tanks', index] })),
    ]);
    if (saved) {
      this.#saved = form.value({ path: ['name'], label: '' });
      [this.#found, this.#form] = [new FoundSupply(), null];
    }
    this.changed();
  }

  /** Places of simulated tanks, the last first, so that taking one out moves none that is still to go. */
  #simulated(): readonly number[] {
    return this.desk
      .list(['tanks'])
      .flatMap((_tank, index) =>
        this.desk.at(['tanks', index, 'rectifier', 'link', 'kind']) === 'in-process' ? [index] : [],
      )
      .toReversed();
  }

  #taken(port: Port): string {
    const tanks = this.desk.list(['tanks']);
    const index = tanks.findIndex((_tank, nth) => {
      const path = this.desk.text(['tanks', nth, 'rectifier', 'link', 'path']);
      return path !== '' && [port.path, port.stablePath].includes(path);
    });
    return index < 0 ? '' : say.port.taken(this.desk.text(['tanks', index, 'name']));
  }

  #choosePlace(place: string): void {
    this.#found.place = place;
    this.#found.moved();
    this.changed();
  }

  #portChoice(place: string, label: unknown, note: string): TemplateResult {
    return html`<label>
      <input
        type="radio"
        name="supply-port"
        .checked=${this.#found.place === place}
        @change=${() => this.#choosePlace(place)}
      />
      <span>${label} <span class="aside">${note}</span></span>
    </label>`;
  }

  #typed(key: 'other' | 'baud' | 'amps' | 'volts', label: string, help: string, unit = '') {
    const id = `supply-${key}`;
    const hears = (event: Event): void => {
      this.#found[key] = (event.target as HTMLInputElement).value;
      if (key === 'other' || key === 'baud') this.#found.moved();
      else this.#found.steps = [];
      this.changed();
    };
    return html`<div class="field">
      <label for=${id}>${label}</label>
      <span class="entry">
        <input
          id=${id}
          autocomplete="off"
          autocapitalize="off"
          spellcheck="false"
          .value=${this.#found[key]}
          aria-describedby="${id}-note"
          @input=${hears}
        />
        ${unit === '' ? nothing : html`<span class="unit">${unit}</span>`}
      </span>
      <span class="note" id="${id}-note">${help}</span>
    </div>`;
  }

  #port(): TemplateResult {
    const found = this.#found;
    const ports = this.#ports ?? [];
    const badly = found.place === 'other' && found.other.trim() !== '' && found.link === null;
    return html`<p class="aside">${say.port.help}</p>
      <fieldset class="setup-ports">
        <legend>${say.port.which}</legend>
        ${ports.map((port) =>
          this.#portChoice(
            port.stablePath ?? port.path,
            port.stablePath ?? port.path,
            this.#taken(port) || port.description,
          ),
        )}
        ${this.#ports?.length === 0 ? html`<p class="aside">${say.port.none}</p>` : nothing}
        ${this.#portChoice('other', say.port.other, '')}
      </fieldset>
      <div class="fields">
        ${found.place === 'other' ? this.#typed('other', say.port.otherLabel, say.port.otherHelp) : nothing}
        ${
          found.place === '' || found.link?.kind === 'tcp'
            ? nothing
            : this.#typed('baud', say.port.baud, say.port.baudHelp)
        }
      </div>
      ${badly ? html`<p class="problem">${say.port.bad}</p>` : nothing}
      <p class="actions">
        ${button(say.port.again, () => void this.#look(), { id: 'ports-again' })}
      </p>`;
  }

  #asked(): TemplateResult {
    const choose = (dialect: string): void => {
      this.#found.chosen = dialect;
      this.#found.steps = [];
      this.changed();
    };
    return askedView(this.#found, () => void this.#ask(), choose);
  }

  #limits(): TemplateResult {
    const found = this.#found;
    const mostAmps = found.fit?.maxAmps ?? 0;
    const mostVolts = Math.min(60, found.fit?.maxVolts ?? 0);
    const wrong = (text: string, value: number, label: string, most: string) =>
      text.trim() !== '' && Number.isNaN(value)
        ? html`<p class="problem">${say.limits.bad(label, most)}</p>`
        : nothing;
    return html`<p class="aside">${say.limits.help}</p>
      <div class="fields">
        ${this.#typed('amps', say.limits.amps, say.limits.upTo(`${exact(mostAmps)} A`), 'A')}
        ${this.#typed('volts', say.limits.volts, say.limits.upTo(`${exact(mostVolts)} V`), 'V')}
      </div>
      ${wrong(found.amps, found.maxAmps, say.limits.amps, `${exact(mostAmps)} A`)}
      ${wrong(found.volts, found.maxVolts, say.limits.volts, `${exact(mostVolts)} V`)}`;
  }

  #setBack(): TemplateResult {
    return html`<p class="aside">${say.set.help}</p>
      <p class="actions">
        ${button(say.set.press, () => void this.#set(), {
          id: 'set-supply',
          strong: !this.#found.isSet,
          reason: this.desk.busy ? say.busy : '',
        })}
      </p>
      <div role="status">
        <ul class="setup-found">
          ${this.#found.steps.map(
            ({ state, found }) => html`<li class=${state === 'ok' ? '' : 'problem'}>${found}</li>`,
          )}
        </ul>
      </div>`;
  }

  #tank(): TemplateResult {
    const form = (this.#form ??= this.#newForm());
    const fields = [idField, ...tankFields(connection.bench?.baths ?? [])];
    const at = ['tanks', this.desk.list(['tanks']).length];
    const drop = (event: Event): void => {
      this.#dropSimulated = (event.target as HTMLInputElement).checked;
    };
    return html`<p class="aside">${say.tank.help}</p>
      ${fieldRows(form, fields, at)}
      ${
        this.#simulated().length === 0
          ? nothing
          : html`<label class="tick">
              <input type="checkbox" .checked=${this.#dropSimulated} @change=${drop} />
              ${say.tank.simulated}
            </label>`
      }
      <p class="actions">
        ${button(say.tank.press, () => void this.#save(form, fields), {
          id: 'save-tank',
          strong: true,
          reason: this.desk.busy ? say.busy : '',
        })}
      </p>`;
  }

  #newForm(): SettingsForm {
    const form = new SettingsForm(this.desk, ['tanks', 'new-tank'], this.changed);
    form.set(['maxHours'], usual.hours);
    return form;
  }

  #step(name: StepName, index: number): TemplateResult {
    const { done } = this.#found;
    const state = index < done ? 'done' : index === done ? 'now' : 'later';
    const body = {
      port: () => this.#port(),
      ask: () => this.#asked(),
      limits: () => this.#limits(),
      set: () => this.#setBack(),
      tank: () => this.#tank(),
    }[name];
    return html`<li class=${state}>
      <h3>${index + 1}. ${say.steps[name]} <span>${say.states[state]}</span></h3>
      ${state === 'later' ? nothing : body()}
    </li>`;
  }

  override render(): TemplateResult {
    if (this.#saved !== '') {
      const again = (): void => {
        this.#saved = '';
        this.changed();
      };
      return html`<p role="status">${say.tank.next(this.#saved)}</p>
        <p class="actions">${button(say.tank.another, again, { id: 'another-supply' })}</p>`;
    }
    return html`<ol class="setup-steps">
      ${order.map((name, index) => this.#step(name, index))}
    </ol>`;
  }
}
