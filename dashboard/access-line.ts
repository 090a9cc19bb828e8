/** Who is signed in, at the foot of every page, and the way out. */

import { html, nothing, type TemplateResult } from 'lit';
import { access } from './access.ts';
import { LiveElement } from './live-element.ts';
import { accessWords } from '#words/access';

export class AccessLine extends LiveElement {
  static override properties = { error: { state: true } };
  declare error: string;

  constructor() {
    super();
    this.error = '';
  }

  async #out(everybody: boolean): Promise<void> {
    if (await access.signOut(everybody)) location.reload();
    else this.error = accessWords.outFailed;
  }

  override render(): unknown {
    const { standing } = access;
    if (access.ended || standing === null || standing.role === null) return nothing;
    const { signedIn, name, role } = standing;
    if (!signedIn) return nothing;
    return html`<span>${accessWords.as(name, role)}</span>
      <button type="button" class="quiet" @click=${() => void this.#out(false)}>
        ${accessWords.out}
      </button>
      ${
        role === 'control'
          ? html`<button type="button" class="quiet" @click=${() => void this.#out(true)}>
              ${accessWords.outAll}
            </button>`
          : nothing
      }
      <span class="problem" role="alert">${this.error}</span>`;
  }
}

/** One line on every page of somebody who may not do everything. */
export function limitsLine(): TemplateResult | typeof nothing {
  const role = access.ended ? null : access.standing?.role;
  if (role === undefined || role === null || role === 'control') return nothing;
  return html`<section class="aside limits-line" aria-label=${accessWords.limits}>
    ${accessWords.limited[role]}
  </section>`;
}
