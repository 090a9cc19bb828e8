/** The checks of a tank beside its plan, with the short looks that can be taken while it is free. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Check } from '../daemon/run/checks/model.ts';
import { probeTitles, type CheckProbe } from '../daemon/run/probe-model.ts';
import { access } from './access.ts';
import { ApiError, command } from './api.ts';
import { checksSection, probeOf } from './checks-section.ts';
import { ChecksWatch } from './checks-watch.ts';
import { connection } from './connection.ts';
import { button } from './element.ts';
import { LiveElement } from './live-element.ts';
import { isFree } from './tank-lines.ts';
import { checkWords } from '#words/checks';
import { words } from '#words/common';

class PlanChecks extends LiveElement {
  static override properties = {
    tankId: {},
    asking: { state: true },
    error: { state: true },
    busy: { state: true },
  };
  declare tankId: string;
  /** The probe that was pressed and waits for its second press. */
  declare asking: CheckProbe | null;
  declare error: string;
  /** A probe was asked for and is not answered yet. */
  declare busy: boolean;
  readonly #checks = new ChecksWatch(() => this.requestUpdate());

  constructor() {
    super();
    this.tankId = '';
    this.asking = null;
    this.error = '';
    this.busy = false;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#checks.stop();
  }

  override willUpdate(): void {
    if (this.isConnected) this.#checks.follow(connection.tank(this.tankId));
  }

  async #probe(probe: CheckProbe): Promise<void> {
    this.asking = null;
    this.busy = true;
    this.error = '';
    try {
      await command(`/api/tanks/${encodeURIComponent(this.tankId)}/probe`, { probe });
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.busy = false;
  }

  #waits(): string {
    const lacking = access.whyNot('control');
    if (lacking !== '') return lacking;
    if (connection.state !== 'live') return words.run.stale;
    const tank = connection.tank(this.tankId);
    if (this.busy) return words.run.busy;
    return tank && !isFree(tank) ? checkWords.notFree : '';
  }

  #deed({ id }: Check): unknown {
    const probe = probeOf[id];
    if (probe === undefined) return nothing;
    const reason = this.#waits();
    return html`${button(checkWords.probes[probe], () => (this.asking = probe), {
      reason,
      id: `probe-${probe}`,
    })}
    ${this.asking === probe && reason === '' ? this.#question(probe) : nothing}`;
  }

  /** What the second press does, before it is pressed. */
  #question(probe: CheckProbe): TemplateResult {
    return html`<div class="probe-question" role="status">
      <p>${checkWords.flows}</p>
      <div class="actions">
        ${button(checkWords.flow, () => void this.#probe(probe), { strong: true })}
        ${button(checkWords.leave, () => (this.asking = null))}
      </div>
    </div>`;
  }

  override render(): TemplateResult {
    const { answer, error } = this.#checks;
    const run = connection.tank(this.tankId)?.run ?? null;
    const probes = run?.kind === 'probe' && run.outcome === null;
    // A steady current for the meter is no check, and is told of where it was asked for.
    const looking = probes && run.pieceName !== probeTitles.meter;
    return html`${checksSection({
        answer,
        error,
        said: null,
        changed: () => this.requestUpdate(),
        deed: (check) => this.#deed(check),
      })}
      <p class="aside" role="status">${looking ? run.sentence : nothing}</p>
      <p class="error" role="alert">${this.error}</p>`;
  }
}

/** Makes the element known; more than one page shows it. */
export function definePlanChecks(): void {
  if (customElements.get('plan-checks') === undefined) {
    customElements.define('plan-checks', PlanChecks);
  }
}
