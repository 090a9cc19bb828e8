/** The page before all others where somebody has to sign in. It needs nothing of the rest. */

import { html, nothing, type TemplateResult } from 'lit';
import { maxNameCharacters } from '../daemon/wire/bounds.ts';
import { access } from './access.ts';
import { NightElement } from './element.ts';
import { keep, kept } from './theme.ts';
import { accessWords } from '#words/access';
import { words } from '#words/common';

const nameKey = 'nightbath.name';

export class SignInPage extends NightElement {
  static override properties = {
    sending: { state: true },
    error: { state: true },
    shown: { state: true },
  };
  declare sending: boolean;
  declare error: string;
  declare shown: boolean;

  constructor() {
    super();
    this.sending = false;
    this.error = '';
    this.shown = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    document.title = words.titled(accessWords.title);
  }

  #entry(id: string): HTMLInputElement | null {
    return this.querySelector<HTMLInputElement>(`#${id}`);
  }

  async #send(event: Event): Promise<void> {
    event.preventDefault();
    if (this.sending) return;
    const passphrase = this.#entry('passphrase')?.value ?? '';
    const name = this.#entry('person')?.value.trim() ?? '';
    this.error = passphrase === '' ? accessWords.empty : '';
    if (this.error === '') {
      this.sending = true;
      const refused = await access.signIn(passphrase, name);
      this.sending = false;
      if (refused === null) {
        keep(nameKey, name);
        // The same address again, now with a session: the page that was wanted.
        location.reload();
        return;
      }
      this.error = refused;
    }
    await this.updateComplete;
    this.#entry('passphrase')?.select();
  }

  override render(): TemplateResult {
    const text = accessWords;
    return html`<main class="sign-in">
      <p class="product">${words.product}</p>
      <h1>${text.title}</h1>
      <p>${text.intro}</p>
      <form novalidate @submit=${(event: Event) => void this.#send(event)}>
        <div class="field">
          <label for="passphrase">${text.passphrase}</label>
          <input
            id="passphrase"
            type=${this.shown ? 'text' : 'password'}
            name="passphrase"
            autocomplete="current-password"
            autocapitalize="off"
            spellcheck="false"
            maxlength="256"
            aria-invalid=${this.error !== ''}
            aria-describedby="refusal"
          />
          <p class="problem" id="refusal" role="alert">${this.error}</p>
          <label class="tick">
            <input
              type="checkbox"
              .checked=${this.shown}
              @change=${(event: Event) => {
                this.shown = (event.target as HTMLInputElement).checked;
              }}
            />
            ${text.show}
          </label>
        </div>
        <div class="field">
          <label for="person">${text.name}</label>
          <input
            id="person"
            name="person"
            autocomplete="username"
            maxlength=${maxNameCharacters}
            aria-describedby="person-help"
            .value=${kept(nameKey) ?? ''}
          />
          <p class="aside" id="person-help">${text.nameHelp}</p>
        </div>
        <button class="strong" type="submit">${text.send}</button>
        <span class="aside" role="status">${this.sending ? text.sending : nothing}</span>
      </form>
      <p class="supply-switch">${text.atTheSupply}</p>
      <p class="aside">${text.forgotten}</p>
    </main>`;
  }
}

customElements.define('sign-in-page', SignInPage);
