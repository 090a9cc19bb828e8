/** A probe on the Run page: what is looked at, what it came to, and the way back to the plan. */

import { html, type TemplateResult } from 'lit';
import type { LiveRun, TankSnapshot } from '../daemon/wire/bench.ts';
import { heading } from './element.ts';
import { eventList } from './event-list.ts';
import { addresses } from './route.ts';
import type { RunFolder } from './runs.ts';
import { outputLine, simulatedLine } from './tank-lines.ts';
import { told } from './units.ts';
import { checkWords } from '#words/checks';
import { runNowWords } from '#words/run-now';

export function probeView(tank: TankSnapshot, run: LiveRun, folder: RunFolder): TemplateResult {
  return html`<p class="aside over">${tank.name}</p>
    ${heading(run.pieceName)} ${simulatedLine(tank)}
    <p class="sentence large" role="status">${told(run.outcome?.reason ?? run.sentence)}</p>
    <p class="output ${tank.output}">${outputLine(tank)}.</p>
    <p class="aside">${checkWords.whatItIs}</p>
    <p class="actions probe-actions">
      <a class="press-link" href=${addresses.planOn(tank.id)}>${checkWords.toPlan}</a>
    </p>
    <section aria-labelledby="events-title">
      <h2 id="events-title">${runNowWords.events}</h2>
      ${eventList(folder.events, null)}
    </section>`;
}
