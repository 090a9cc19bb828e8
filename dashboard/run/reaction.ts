/** How fast the bench acts on the armed run: a fold that is open by itself only where the supply slows it. */

import { html, type TemplateResult } from 'lit';
import type { Reaction } from '../../daemon/wire/checks.ts';
import { exact } from '../format.ts';
import { reactionWords as say } from '#words/reaction';

export function reactionFold(
  { readsPerSecond, slowedBySupply, silentOffSeconds, hungOffSeconds, offAlarmSeconds }: Reaction,
  simulated: boolean,
): TemplateResult {
  const unguarded = simulated ? say.endsWithIt : say.nobody;
  const lines = [
    say.reads(readsPerSecond, exact(readsPerSecond), slowedBySupply),
    say.silent(exact(silentOffSeconds)),
    hungOffSeconds === null ? unguarded : say.hung(exact(hungOffSeconds)),
    say.alarm(exact(offAlarmSeconds)),
  ];
  return html`<details class="checks reaction" ?open=${slowedBySupply}>
    <summary>${say.title}</summary>
    <ul>
      ${lines.map((line) => html`<li><p>${line}</p></li>`)}
    </ul>
  </details>`;
}
