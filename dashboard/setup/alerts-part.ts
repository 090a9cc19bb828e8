/** Setup of the channels by which a person is told: each with its test, and a form for a new one. */

import { html, nothing, type TemplateResult } from 'lit';
import { repeat } from 'lit/directives/repeat.js';
import { command } from '../api.ts';
import { button } from '../element.ts';
import { fieldRows, FormsByName, SettingsForm } from './form.ts';
import type { Field } from './form.ts';
import { ChannelHeaders } from './channel-headers.ts';
import { SetupPart } from './part.ts';
import { Sure } from './sure.ts';
import { setupWords } from '#words/setup';

const say = setupWords.alerts;
type Kind = 'email' | 'webhook' | 'beeper';

const least: Field = {
  path: ['leastPriority'],
  label: say.leastPriority,
  choices: Object.entries(say.least),
};
const name: Field = { path: ['name'], label: setupWords.fields.name };

/** What most receivers of a web address need no word about. */
const bodyFields: readonly Field[] = [
  { path: ['format'], label: say.format, choices: Object.entries(say.formats) },
  { path: ['body'], label: say.body, kind: 'lines', help: say.bodyHelp, wide: true },
];
const inMore = ['format', 'body', 'headers'] as const;

/** What each kind asks for; a secret that is kept says so in its help. */
function fieldsOf(kind: string, kept: boolean): readonly Field[] {
  const secretHelp = kept ? say.keptHelp : say.secretHelp;
  if (kind === 'webhook') {
    return [
      name,
      least,
      {
        path: ['url'],
        label: say.url,
        kind: 'secret',
        help: kept ? secretHelp : `${say.urlHelp} ${secretHelp}`,
        wide: true,
      },
    ];
  }
  if (kind === 'email') {
    return [
      name,
      least,
      { path: ['host'], label: say.host },
      { path: ['port'], label: say.port, kind: 'number' },
      {
        path: ['security'],
        label: say.security,
        choices: ['tls', 'starttls', 'none'].map((one) => [one, one] as const),
      },
      { path: ['user'], label: say.user },
      { path: ['password'], label: say.password, kind: 'secret', help: secretHelp },
      { path: ['from'], label: say.from },
      { path: ['to'], label: say.to, kind: 'list', wide: true },
    ];
  }
  return [name, least];
}

export class AlertsPart extends SetupPart {
  readonly #forms = new FormsByName();
  #adding: SettingsForm | null = null;
  #kind: Kind = 'webhook';
  readonly #sure = new Sure();
  /** Whether somebody has opened or closed what is under "More", by the channel's name. */
  readonly #more = new Map<string, boolean>();
  #code = '';

  #form(index: number): SettingsForm {
    const base = ['alerts', 'channels', index];
    return this.#forms.of(this.#name(index), this.desk, base, this.changed);
  }

  #name(index: number): string {
    return this.desk.text(['alerts', 'channels', index, 'name']);
  }

  async #save(index: number, fields: readonly Field[]): Promise<void> {
    const form = this.#form(index);
    if (await this.desk.save(form.changes(fields))) form.clear();
  }

  async #remove(index: number): Promise<void> {
    const channel = this.#name(index);
    if (!this.#sure.press(channel)) {
      this.changed();
      return;
    }
    const path = ['alerts', 'channels', index];
    if (await this.desk.save([{ kind: 'remove', path }])) {
      this.#forms.forget(channel);
      this.#more.delete(channel);
    }
  }

  async #add(form: SettingsForm, fields: readonly Field[]): Promise<void> {
    const value = { kind: this.#kind, ...form.entry(fields) };
    const done = await this.desk.save([{ kind: 'add', path: ['alerts', 'channels'], value }]);
    if (done) {
      this.#adding = null;
      this.#more.delete('');
    }
    this.changed();
  }

  #test(channel: string): void {
    this.desk.say(say.testing);
    void this.desk.attempt(async () => {
      const path = `/api/alerts/channels/${encodeURIComponent(channel)}/test`;
      const { message = '' } = await command(path);
      this.desk.say(message);
    });
  }

  #confirm(event: Event): void {
    event.preventDefault();
    const code = this.#code.trim();
    if (!/^\d{4}$/.test(code)) {
      this.desk.say('');
      this.desk.error = say.badCode;
      this.changed();
      return;
    }
    void this.desk.attempt(async () => {
      const { message = '' } = await command('/api/alerts/confirm', { code });
      this.#code = '';
      this.desk.say(message);
    });
  }

  /** Folded, unless something in it is set or wrong, or somebody has opened it. */
  #folded(index: number, channel: string, body: TemplateResult): TemplateResult {
    const at = (key: string): unknown => this.desk.at(['alerts', 'channels', index, key]);
    const headers = Object.keys(at('headers') ?? {}).length;
    const isSet = headers > 0 || at('body') !== undefined || (at('format') ?? 'text') !== 'text';
    const places = inMore.map((key) => `alerts.channels[${index}].${key}`);
    const isWrong = this.desk.problems.some(({ field }) =>
      places.some((place) => field.startsWith(place)),
    );
    const heed = (event: Event): void => {
      this.#more.set(channel, (event.target as HTMLDetailsElement).open);
    };
    return html`<details
      class="setup-more"
      ?open=${isWrong || (this.#more.get(channel) ?? isSet)}
      @toggle=${heed}
    >
      <summary>${say.more}</summary>
      <div class="setup-inner">${body}</div>
    </details>`;
  }

  #channel(index: number): TemplateResult {
    const at = (key: string): string => this.desk.text(['alerts', 'channels', index, key]);
    const kind = at('kind');
    const channel = at('name');
    const id = `channel-${index}`;
    const shown = kind === 'command' ? [least] : fieldsOf(kind, true);
    const fields = kind === 'webhook' ? [...shown, ...bodyFields] : shown;
    const waits = this.desk.file?.waiting.some((field) => field.startsWith('alerts')) ?? false;
    return html`<section class="setup-block" aria-labelledby=${id}>
      <h2 id=${id}>${channel}</h2>
      <p class="aside">${say.kinds[kind as keyof typeof say.kinds]}</p>
      ${kind === 'command' ? html`<p class="aside">${say.command}</p>` : nothing}
      ${fieldRows(this.#form(index), shown)}
      ${
        kind === 'webhook'
          ? this.#folded(
              index,
              channel,
              html`${fieldRows(this.#form(index), bodyFields)}
                <channel-headers
                  .desk=${this.desk}
                  .turn=${this.turn}
                  .index=${index}
                ></channel-headers>`,
            )
          : nothing
      }
      <p class="actions">
        ${button(setupWords.save, () => void this.#save(index, fields), {
          id: `${id}-save`,
          strong: true,
        })}
        ${button(say.test, () => this.#test(channel), {
          id: `${id}-test`,
          reason: waits ? say.notYet : '',
        })}
        ${button(
          this.#sure.asks(this.#name(index)) ? say.sure : say.remove,
          () => void this.#remove(index),
          {
            id: `${id}-remove`,
          },
        )}
      </p>
    </section>`;
  }

  #new(count: number): TemplateResult {
    const form = (this.#adding ??= new SettingsForm(
      this.desk,
      ['alerts', 'new-channel'],
      this.changed,
    ));
    const shown = fieldsOf(this.#kind, false);
    const isWeb = this.#kind === 'webhook';
    const at = ['alerts', 'channels', count];
    const fields = isWeb ? [...shown, ...bodyFields] : shown;
    const choose = (event: Event): void => {
      this.#kind = (event.target as HTMLSelectElement).value as Kind;
      this.changed();
    };
    return html`<section class="setup-block" aria-labelledby="add-channel">
      <h2 id="add-channel">${say.add}</h2>
      <div class="fields">
        <div class="field">
          <label for="channel-kind">${say.kind}</label>
          <select id="channel-kind" @change=${choose}>
            ${(['webhook', 'email', 'beeper'] as const).map(
              (kind) =>
                html`<option value=${kind} .selected=${kind === this.#kind}>
                  ${say.kinds[kind]}
                </option>`,
            )}
          </select>
        </div>
      </div>
      ${fieldRows(form, shown, at)}
      ${
        isWeb
          ? this.#folded(
              count,
              '',
              html`${fieldRows(form, bodyFields, at)}
                <p class="aside">${say.headersLater}</p>`,
            )
          : nothing
      }
      <p class="actions">
        ${button(say.add, () => void this.#add(form, fields), { id: 'add-press', strong: true })}
      </p>
    </section>`;
  }

  #arrived(): TemplateResult {
    return html`<form class="arrived" @submit=${(event: Event) => this.#confirm(event)}>
      <label for="setup-code">${say.code}</label>
      <input
        id="setup-code"
        inputmode="numeric"
        autocomplete="off"
        maxlength="4"
        .value=${this.#code}
        @input=${(event: Event) => (this.#code = (event.target as HTMLInputElement).value)}
      />
      <button type="submit">${say.arrived}</button>
    </form>`;
  }

  override render(): TemplateResult {
    const channels = this.desk.list(['alerts', 'channels']);
    return html`<p>${say.intro}</p>
      ${channels.length === 0 ? html`<p class="aside">${say.none}</p>` : this.#arrived()}
      ${repeat(
        channels,
        (_one, index) => this.#name(index) || index,
        (_one, index) => this.#channel(index),
      )}
      ${this.#new(channels.length)}`;
  }
}

customElements.define('channel-headers', ChannelHeaders);
customElements.define('alerts-part', AlertsPart);
