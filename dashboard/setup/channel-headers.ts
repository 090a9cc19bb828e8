/** The headers of a web address: each by its name, its value kept out of sight and replaced by typing. */

import { html, nothing, type TemplateResult } from 'lit';
import type { SettingsChange } from '../../daemon/wire/settings.ts';
import { button } from '../element.ts';
import { SetupPart } from './part.ts';
import { lineWords } from '#words/lines';

const say = lineWords.headers;

/** What the daemon fills in; a value with one of these is no secret. */
const placeholder = /\{(?:title|text|priority|tank|time|id|studio)\}/;

/** What a typed value is in the file: a secret, unless a placeholder stands in it. */
export function headerValue(typed: string): unknown {
  const value = typed.trim();
  return placeholder.test(value) ? value : { secret: value };
}

export class ChannelHeaders extends SetupPart {
  static override properties = { ...SetupPart.properties, index: { type: Number } };
  declare index: number;
  readonly #typed = new Map<string, string>();
  #name = '';
  #value = '';
  /** The channel that all of this was typed for. */
  #whose = '';

  #path(...rest: readonly string[]): (string | number)[] {
    return ['alerts', 'channels', this.index, 'headers', ...rest];
  }

  async #save(change: SettingsChange, done: () => void): Promise<void> {
    if (await this.desk.save([change])) done();
    this.changed();
  }

  #set(name: string, typed: string, done: () => void): void {
    const value = headerValue(typed);
    void this.#save({ kind: 'set', path: this.#path(name), value }, done);
  }

  #add(): void {
    const name = this.#name.trim();
    const refused =
      name === '' || this.#value.trim() === ''
        ? say.empty
        : /^[A-Za-z0-9_-]{1,60}$/.test(name)
          ? ''
          : say.badName;
    if (refused !== '') {
      this.desk.say('');
      this.desk.error = refused;
      this.changed();
      return;
    }
    this.#set(name, this.#value, () => ([this.#name, this.#value] = ['', '']));
  }

  #entry(id: string, label: string, value: string, secret: boolean, hear: (text: string) => void) {
    return html`<div class="field">
      <label for=${id}>${label}</label>
      <span class="entry">
        <input
          id=${id}
          type=${secret ? 'password' : 'text'}
          autocomplete=${secret ? 'new-password' : 'off'}
          autocapitalize="off"
          spellcheck="false"
          placeholder=${secret && label !== say.newValue ? say.kept : nothing}
          .value=${value}
          @input=${(event: Event) => {
            hear((event.target as HTMLInputElement).value);
            this.changed();
          }}
        />
      </span>
    </div>`;
  }

  #header(name: string, nth: number): TemplateResult {
    const id = `header-${this.index}-${nth}`;
    const typed = this.#typed.get(name) ?? '';
    const forget = (): void => void this.#typed.delete(name);
    return html`<li>
      ${this.#entry(id, say.value(name), typed, true, (text) => this.#typed.set(name, text))}
      <p class="actions">
        ${button(say.replace, () => this.#set(name, typed, forget), {
          id: `${id}-save`,
          reason: typed.trim() === '' ? say.noValue : '',
        })}
        ${button(
          say.remove,
          () => void this.#save({ kind: 'remove', path: this.#path(name) }, forget),
          { id: `${id}-remove` },
        )}
      </p>
    </li>`;
  }

  /** A secret that was typed for one service is never sent to another. */
  override willUpdate(): void {
    const whose = this.desk.text(['alerts', 'channels', this.index, 'name']);
    if (whose === this.#whose) return;
    [this.#whose, this.#name, this.#value] = [whose, '', ''];
    this.#typed.clear();
  }

  override render(): TemplateResult {
    const kept = this.desk.at(this.#path());
    const names = typeof kept === 'object' && kept !== null ? Object.keys(kept) : [];
    const id = `header-${this.index}`;
    return html`<section class="setup-headers" aria-labelledby=${id}>
      <h3 id=${id}>${say.title(names.length)}</h3>
      <p class="aside">${say.help}</p>
      <ul class="setup-found">
        ${names.map((name, nth) => this.#header(name, nth))}
      </ul>
      <div class="fields">
        ${this.#entry(`${id}-name`, say.name, this.#name, false, (text) => (this.#name = text))}
        ${this.#entry(`${id}-value`, say.newValue, this.#value, true, (text) => (this.#value = text))}
      </div>
      <p class="actions">${button(say.add, () => this.#add(), { id: `${id}-add` })}</p>
    </section>`;
  }
}
