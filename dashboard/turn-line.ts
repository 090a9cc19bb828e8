/** One line on every page for each piece that is to be turned now, with the press that says it was. */

import { html, nothing } from 'lit';
import type { LiveRun, TankSnapshot } from '../daemon/wire/bench.ts';
import { access } from './access.ts';
import { alarmShape } from './alarm-banner.ts';
import { dueRun } from './alarm/asks.ts';
import { ApiError, command } from './api.ts';
import { connection } from './connection.ts';
import { button } from './element.ts';
import { LiveElement } from './live-element.ts';
import { alarmWords } from '#words/alarm';
import { words } from '#words/common';

export class TurnLine extends LiveElement {
  static override properties = { besideId: {} };
  /** The tank whose own page is shown: it says the same there. */
  declare besideId: string;
  #busy = false;
  /** Of the last press, and for the tank that it was about. */
  #error = { tankId: '', text: '' };

  constructor() {
    super();
    this.besideId = '';
  }

  async #turned(tankId: string, { id: runId, version }: LiveRun): Promise<void> {
    // The second press would be for the next turn.
    if (this.#busy) return;
    this.#busy = true;
    this.#error = { tankId: '', text: '' };
    try {
      await command(`/api/tanks/${encodeURIComponent(tankId)}/turned`, { runId, version });
    } catch (error) {
      const text = error instanceof ApiError ? error.message : words.failed;
      this.#error = { tankId, text };
    }
    this.#busy = false;
    this.requestUpdate();
  }

  #waits(): string {
    const lacking = access.whyNot('control');
    if (lacking !== '') return lacking;
    return connection.state === 'live' ? '' : words.run.stale;
  }

  #line(tank: TankSnapshot, run: LiveRun): unknown {
    const { tankId, text } = this.#error;
    return html`<section class="turn-due" role="status">
      <p class="what">
        ${alarmShape('note')} <strong>${tank.name}</strong> <span>${alarmWords.turn}</span>
      </p>
      ${button(alarmWords.turned, () => void this.#turned(tank.id, run), {
        reason: this.#waits(),
        id: `turn-due-${tank.id}`,
      })}
      ${tankId === tank.id && text !== '' ? html`<p class="error">${text}</p>` : nothing}
    </section>`;
  }

  override render(): unknown {
    const tanks = connection.bench?.tanks ?? [];
    return tanks.map((tank) => {
      const run = tank.id === this.besideId ? null : dueRun(tank);
      return run === null ? nothing : this.#line(tank, run);
    });
  }
}
