/** What stands in the place of Start while its code is fetched: that it comes or fails, and Disarm. */

import { html, nothing, type TemplateResult } from 'lit';
import { button } from '../element.ts';
import { words } from '#words/common';
import { runNowWords } from '#words/run-now';

/** `blocked` is why nothing can be pressed; empty where it can. */
export function startWaiting(failed: boolean, blocked: string, disarm: () => void): TemplateResult {
  return html`<section class="arming" aria-labelledby="start-title">
    <h2 id="start-title">${runNowWords.armedTitle}</h2>
    <p role="status" class=${failed ? 'problem' : 'aside'}>
      ${failed ? runNowWords.startMissing : runNowWords.startComing}
    </p>
    <div class="actions">
      ${failed ? button(words.connection.reload, () => location.reload()) : nothing}
      ${button(runNowWords.disarm, disarm, { reason: blocked, id: 'disarm-why' })}
    </div>
  </section>`;
}
