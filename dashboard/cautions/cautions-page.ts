/** The Cautions page: always within reach, on every page's foot. */

import { html, type TemplateResult } from 'lit';
import { heading, NightElement } from '../element.ts';
import { addresses, go } from '../route.ts';
import { showIntroduction } from '../introduction.ts';
import { cautionWords as say } from '#words/cautions';

export class CautionsPage extends NightElement {
  #again(): void {
    showIntroduction();
    go(addresses.bench);
  }

  override render(): TemplateResult {
    return html`${heading(say.title)}
      <p>${say.intro}</p>
      <div class="caution-groups">
        ${say.groups.map(
          ([title, list]) =>
            html`<section>
              <h2>${title}</h2>
              <ul>
                ${list.map((caution) => html`<li>${caution}</li>`)}
              </ul>
            </section>`,
        )}
      </div>
      <button type="button" class="quiet" @click=${() => this.#again()}>${say.again}</button>`;
  }
}

customElements.define('cautions-page', CautionsPage);
