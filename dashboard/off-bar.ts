/** The off switch: at the foot of every page while any output is not confirmed off, one press. */

import { html, nothing, type TemplateResult } from 'lit';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { access } from './access.ts';
import { command } from './api.ts';
import { connection } from './connection.ts';
import { backoffMs } from './staleness.ts';
import { LiveElement } from './live-element.ts';
import { clockSeconds } from './format.ts';
import { accessWords } from '#words/access';
import { words } from '#words/common';

/** What became of a press: still being asked for, or done; kept in sight for a while. */
interface Press {
  readonly phase: 'sending' | 'failed' | 'done';
  readonly text: string;
}

/** How long the answer stays in sight, ms. */
const shownMs = 60_000;

export class OffBar extends LiveElement {
  readonly #presses = new Map<string, Press>();
  readonly #asking = new Set<string>();
  readonly #seen = new ResizeObserver(([entry]) => {
    const height = entry?.borderBoxSize[0]?.blockSize ?? 0;
    document.documentElement.style.setProperty('--bar-height', `${Math.ceil(height)}px`);
  });

  override connectedCallback(): void {
    super.connectedCallback();
    this.#seen.observe(this);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#seen.disconnect();
  }

  #set(tankId: string, press: Press): void {
    this.#presses.set(tankId, press);
    this.requestUpdate();
  }

  async #turnOff(tank: TankSnapshot): Promise<void> {
    const { id, name } = tank;
    if (this.#asking.has(id)) return;
    this.#asking.add(id);
    this.#set(id, { phase: 'sending', text: words.off.sending(name) });
    await this.#askUntilOff(tank);
    this.#asking.delete(id);
    // The tank's own clock, as for every time of the tank on the page.
    const now = connection.tank(id) ?? tank;
    const at = now.output === 'confirmedOff' ? now.outputSinceWallMs : now.wallMs;
    const press: Press = { phase: 'done', text: words.off.done(name, clockSeconds(at)) };
    this.#set(id, press);
    setTimeout(() => {
      if (this.#presses.get(id) === press) {
        this.#presses.delete(id);
        this.requestUpdate();
      }
    }, shownMs);
  }

  /** Goes on until the supply has been read back as off; it never gives up by itself. */
  async #askUntilOff({ id, name }: TankSnapshot): Promise<void> {
    for (let attempt = 0; ; attempt += 1) {
      try {
        const answer = await command(`/api/tanks/${encodeURIComponent(id)}/stop`);
        if (answer.offConfirmed === true) return;
      } catch {
        // Said below, and tried again.
      }
      if (this.#confirmedByBench(id)) return;
      this.#set(id, { phase: 'failed', text: words.off.failed(name) });
      await new Promise((resolve) => setTimeout(resolve, Math.min(4000, backoffMs(attempt))));
      if (this.#confirmedByBench(id)) return;
    }
  }

  #confirmedByBench(id: string): boolean {
    return connection.state === 'live' && connection.tank(id)?.output === 'confirmedOff';
  }

  #switch(tank: TankSnapshot): TemplateResult {
    const press = this.#presses.get(tank.id);
    return html`<button type="button" class="off" @click=${() => void this.#turnOff(tank)}>
      <svg viewBox="0 0 44 20" aria-hidden="true">
        <path d="M2 15h10M32 15h10M12 15 30 5" />
        <circle cx="12" cy="15" r="2" />
        <circle cx="32" cy="15" r="2" />
      </svg>
      <span>
        <strong>${words.off.turnOff(tank.name)}</strong>
        <small
          >${
            press?.phase === 'sending'
              ? press.text
              : press?.phase === 'failed'
                ? words.off.retrying
                : words.off.note
          }</small
        >
      </span>
    </button>`;
  }

  override render(): unknown {
    const tanks = connection.bench?.tanks ?? [];
    const on = tanks.filter(({ output }) => output !== 'confirmedOff');
    const said = [...this.#presses.values()].filter(({ phase }) => phase !== 'sending');
    return html`<div role="status" class="said">
        ${said.map(({ phase, text }) => html`<p class=${phase}>${text}</p>`)}
      </div>
      ${
        on.length > 0
          ? access.may('stop')
            ? html`<section aria-label=${words.off.label} class="switches">
                ${on.map((tank) => this.#switch(tank))}
              </section>`
            : html`<section aria-label=${words.off.label} class="no-switch">
                ${accessWords.noSwitch}
              </section>`
          : nothing
      }`;
  }
}
