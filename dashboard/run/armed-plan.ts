/** The plan of an armed run before its start: its decisive numbers, and what speaks against it. */

import { html, type PropertyValues, type TemplateResult } from 'lit';
import type { Left } from '../../daemon/run/left.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { read } from '../api.ts';
import { NightElement } from '../element.ts';
import { fetchPart } from '../on-demand.ts';
import { decisiveNumbers, graveNotices } from '../plan-verdict.ts';

export class ArmedPlan extends NightElement {
  static override properties = { record: { attribute: false }, wallMs: { attribute: false } };
  declare record: RunRecord;
  /** The tank's own clock now. */
  declare wallMs: number;

  /** What is left of a run that carries on; undefined until the daemon has said it. */
  #left: Left | null | undefined;
  #runId = '';

  override willUpdate(changed: PropertyValues<this>): void {
    const { id, continues } = this.record;
    if (!changed.has('record') || id === this.#runId) return;
    this.#runId = id;
    this.#left = continues === null ? null : undefined;
    if (continues !== null) void this.#askLeft(id);
  }

  async #askLeft(runId: string): Promise<void> {
    await fetchPart(async () => {
      const left = await read<Left | null>(`/api/runs/${encodeURIComponent(runId)}/left`);
      if (runId === this.#runId) this.#left = left;
    });
    this.requestUpdate();
  }

  override render(): TemplateResult {
    const { plan } = this.record;
    const left = this.#left;
    if (left === undefined) return html`${decisiveNumbers(null, this.wallMs)}`;
    return html`${decisiveNumbers(plan, this.wallMs, left)} ${graveNotices(plan)}`;
  }
}

customElements.define('armed-plan', ArmedPlan);
