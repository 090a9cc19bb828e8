/** One line on every page for each piece that is to be turned now, with the press that says it was. */

import { html, nothing } from 'lit';
import type { LiveRun, TankSnapshot } from '../daemon/wire/bench.ts';
import { access } from './access.ts';
import { alarmShape } from './alarm-banner.ts';
import { dueRun, turnKey } from './alarm/asks.ts';
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
  /** The tanks whose press is on its way. */
  readonly #busy = new Set<string>();
  /** What a press was refused for, by tank, and the turn that it was about. */
  readonly #errors = new Map<string, { readonly turn: string; readonly text: string }>();

  constructor() {
    super();
    this.besideId = '';
  }

  async #turned(tankId: string, run: LiveRun): Promise<void> {
    const { id: runId, version } = run;
    // The second press would be for the next turn.
    if (this.#busy.has(tankId)) return;
    this.#busy.add(tankId);
    this.#errors.delete(tankId);
    try {
      await command(`/api/tanks/${encodeURIComponent(tankId)}/turned`, { runId, version });
    } catch (error) {
      const text = error instanceof ApiError ? error.message : words.failed;
      this.#errors.set(tankId, { turn: turnKey(run), text });
    }
    this.#busy.delete(tankId);
    this.requestUpdate();
  }

  #waits(): string {
    const lacking = access.whyNot('control');
    if (lacking !== '') return lacking;
    return connection.state === 'live' ? '' : words.run.stale;
  }

  #line(tank: TankSnapshot, run: LiveRun): unknown {
    const error = this.#errors.get(tank.id);
    return html`<section class="turn-due" role="status">
      <p class="what">
        ${alarmShape('note')} <strong>${tank.name}</strong> <span>${alarmWords.turn}</span>
      </p>
      ${button(alarmWords.turned, () => void this.#turned(tank.id, run), {
        reason: this.#waits(),
        id: `turn-due-${tank.id}`,
      })}
      ${error?.turn === turnKey(run) ? html`<p class="error">${error.text}</p>` : nothing}
    </section>`;
  }

  override render(): unknown {
    const tanks = connection.bench?.tanks ?? [];
    return tanks.map((tank) => {
      const run = dueRun(tank);
      // Whatever was refused was about a turn that is due no more.
      if (run === null) this.#errors.delete(tank.id);
      return run === null || tank.id === this.besideId ? nothing : this.#line(tank, run);
    });
  }
}
