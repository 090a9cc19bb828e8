/** Setup of who gets in: a passphrase for each role, and where the page is served. */

import { html, nothing, type TemplateResult } from 'lit';
import { send } from '../api.ts';
import { button } from '../element.ts';
import { entriesOf, fieldRows, listedWith, SettingsForm } from './form.ts';
import type { Field } from './form.ts';
import { SetupPart } from './part.ts';
import { setupWords } from '#words/setup';

const say = setupWords.access;
const roles = ['view', 'stop', 'control'] as const;
type Role = (typeof roles)[number];

const listen: Field = { path: ['listen'], label: say.listen, kind: 'list', help: say.listenHelp };

const fields: readonly Field[] = [
  listen,
  { path: ['hostNames'], label: say.hostNames, kind: 'list', help: say.hostNamesHelp },
  {
    path: ['signInHere'],
    label: say.signInHere,
    kind: 'boolean',
    choices: Object.entries(say.signIn),
  },
];

export class AccessPart extends SetupPart {
  #form: SettingsForm | null = null;
  readonly #typed = new Map<Role, string>();

  async #save(form: SettingsForm): Promise<void> {
    if (await this.desk.save(form.changes(fields))) form.clear();
  }

  async #put(role: Role, passphrase: string | null): Promise<void> {
    this.desk.say('');
    const done = await this.desk.attempt(async () => {
      await send('POST', '/api/settings/passphrase', { role, passphrase });
    });
    if (!done) return;
    this.#typed.delete(role);
    await this.desk.load();
    this.desk.say(say.done);
  }

  #role(role: Role): TemplateResult {
    const set = this.desk.file?.passphrases.includes(role) ?? false;
    const here = this.desk.file?.here ?? false;
    const id = `passphrase-${role}`;
    const typed = this.#typed.get(role) ?? '';
    const hears = (event: Event): void => {
      this.#typed.set(role, (event.target as HTMLInputElement).value);
      this.changed();
    };
    return html`<li>
      <p>
        <strong>${say.roles[role]}</strong> <span class="aside">${set ? say.set : say.notSet}</span>
      </p>
      ${
        here
          ? html`<div class="field">
                <label for=${id}>${say.passphrase(say.roles[role])}</label>
                <input
                  id=${id}
                  type="password"
                  autocomplete="new-password"
                  .value=${typed}
                  @input=${hears}
                  aria-describedby="${id}-note"
                />
                <span class="note" id="${id}-note">${say.length}</span>
              </div>
              <p class="actions">
                ${button(say.put, () => void this.#put(role, typed), { id: `put-${role}` })}
                ${
                  set
                    ? button(say.take, () => void this.#put(role, null), { id: `take-${role}` })
                    : nothing
                }
              </p>`
          : nothing
      }
    </li>`;
  }

  /** Where the page is found from elsewhere, or what is missing for it. */
  #phone(): TemplateResult {
    const served = this.desk.file?.servedAt ?? [];
    const waits = this.desk.list(['web', 'listen']).length > 0;
    const { passphrases = [], here = false } = this.desk.file ?? {};
    const first = passphrases.includes('control') ? '' : say.first;
    const how = here ? `${first} ${say.toServe}` : '';
    return html`<section class="setup-block" aria-labelledby="phone-title">
      <h2 id="phone-title">${say.phone}</h2>
      ${
        served.length === 0
          ? html`<p>${waits ? say.waits : `${say.hereNow} ${how}`}</p>`
          : html`<p>${say.type}</p>
              <ul class="setup-found">
                ${served.map(
                  ({ url, present }) =>
                    html`<li class="break">
                      <code class="setup-address">${url}</code>
                      ${present ? nothing : html`<span class="problem">${say.absent}</span>`}
                    </li>`,
                )}
              </ul>`
      }
    </section>`;
  }

  /** The addresses that this machine has, each to be served at with one tick. */
  #own(form: SettingsForm): TemplateResult {
    const own = this.desk.file?.ownAddresses ?? [];
    if (own.length === 0) return html`<p class="aside">${say.ownNone}</p>`;
    const typed = form.value(listen);
    const tick = (address: string, event: Event): void =>
      form.set(listen.path, listedWith(typed, address, (event.target as HTMLInputElement).checked));
    return html`<fieldset class="setup-ports" aria-describedby="own-addresses-note">
      <legend>${say.own}</legend>
      ${own.map(
        ({ address, network }) =>
          html`<label>
            <input
              type="checkbox"
              .checked=${entriesOf(typed).includes(address)}
              @change=${(event: Event) => tick(address, event)}
            />
            <span>${say.ownAddress(address, network)}</span>
          </label>`,
      )}
      <span class="note" id="own-addresses-note">${say.ownHelp}</span>
    </fieldset>`;
  }

  override render(): TemplateResult {
    const form = (this.#form ??= new SettingsForm(this.desk, ['web'], this.changed));
    const here = this.desk.file?.here ?? false;
    return html`<p>${say.intro}</p>
      ${here ? nothing : html`<p class="caution">${say.here}</p>`}
      <ul class="setup-roles">
        ${roles.map((role) => this.#role(role))}
      </ul>
      ${this.#phone()}
      ${
        here
          ? html`<section class="setup-block">
              ${this.#own(form)} ${fieldRows(form, fields)}
              <p class="caution">${say.never}</p>
              <p class="actions">
                ${button(setupWords.save, () => void this.#save(form), {
                  id: 'save-access',
                  strong: true,
                })}
              </p>
            </section>`
          : nothing
      }`;
  }
}

customElements.define('access-part', AccessPart);
