/** The plan of an armed run before its start: its decisive numbers, and what speaks against it. */

import { html, type TemplateResult } from 'lit';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { NightElement } from '../element.ts';
import { leftOf } from '../plan-left.ts';
import { decisiveNumbers, graveNotices } from '../plan-verdict.ts';

export class ArmedPlan extends NightElement {
  static override properties = { record: { attribute: false }, wallMs: { attribute: false } };
  declare record: RunRecord;
  /** The tank's own clock now. */
  declare wallMs: number;

  override render(): TemplateResult {
    const { plan, continues, carriedAmpHours } = this.record;
    const left = continues === null ? null : leftOf(plan, carriedAmpHours);
    return html`${decisiveNumbers(plan, this.wallMs, left)} ${graveNotices(plan)}`;
  }
}

customElements.define('armed-plan', ArmedPlan);
