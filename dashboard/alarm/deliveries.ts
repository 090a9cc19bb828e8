/** What was said outside so far: the last messages by channel, and what became of each. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Delivery } from '../../daemon/wire/alerts.ts';
import { readList } from '../api.ts';
import { NightElement } from '../element.ts';
import { dayAndTime as when, pretty } from '../format.ts';
import { deliveryWords as say } from '#words/deliveries';

const shown = 10;
/** What waits is tried again in seconds: so often the list is read while it is open, ms. */
const readEveryMs = 10_000;

/** One sentence: where this message stands on its channel. */
export function resultOf(one: Delivery): string {
  const { state, kind, tries, deliveries, deliveredWallMs, dueWallMs, confirmedWallMs } = one;
  const next = dueWallMs === null ? '' : say.next(when(dueWallMs));
  switch (state) {
    case 'delivered':
      if (confirmedWallMs !== null) return say.arrived(when(confirmedWallMs));
      if (kind === 'test') return say.testTaken(when(deliveredWallMs ?? one.createdWallMs));
      return say.taken(when(deliveredWallMs ?? one.createdWallMs), deliveries);
    case 'repeating':
      return `${say.repeating(deliveries)}${next}`;
    case 'waiting':
      return tries === 0 ? say.untried : `${say.failing(tries)}${next}`;
    case 'withdrawn':
      return say.withdrawn;
    case 'given-up':
      return say.givenUp(tries);
  }
}

export class AlertDeliveries extends NightElement {
  static override properties = { rows: { state: true } };
  declare rows: readonly Delivery[] | null;
  #timer: ReturnType<typeof setInterval> | undefined;

  constructor() {
    super();
    this.rows = null;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.reload();
    this.#timer = setInterval(() => void this.reload(), readEveryMs);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearInterval(this.#timer);
  }

  /** Reads the list again; one that cannot be read stays as it was. */
  async reload(): Promise<void> {
    try {
      this.rows = await readList<Delivery>(`/api/alerts/deliveries?limit=${shown}`);
    } catch {
      // The page says by itself that the bench is away.
    }
  }

  #row(one: Delivery): TemplateResult {
    const failed = one.state === 'given-up' || (one.state === 'waiting' && one.tries > 0);
    return html`<li>
      <p>
        <strong>${pretty(one.title)}</strong>
        <span class="aside">${say.on(one.channel)}, ${when(one.createdWallMs)}</span>
      </p>
      <p class=${failed ? 'trouble' : 'aside'}>
        ${resultOf(one)}${one.lastError === null ? nothing : html` ${pretty(one.lastError)}`}
      </p>
    </li>`;
  }

  override render(): unknown {
    if (this.rows === null) return nothing;
    return html`<h2>${say.title}</h2>
      ${this.rows.length === 0 ? html`<p class="aside">${say.none}</p>` : nothing}
      <ol class="deliveries">
        ${this.rows.map((one) => this.#row(one))}
      </ol>`;
  }
}

customElements.define('alert-deliveries', AlertDeliveries);
