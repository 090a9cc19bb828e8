/** What happened in a run, as a list and as marks on the time axis. */

import { html, type TemplateResult } from 'lit';
import type { Alarm, EventRow, RunRecord } from '../daemon/wire/run.ts';
import type { ChartMark } from './run/curve-overlay.ts';
import { clockSeconds } from './format.ts';
import { told } from './units.ts';
import { words } from '#words/common';
import { runNowWords } from '#words/run-now';

/** How a run ended, in one sentence that begins with the kind of its end. */
export function outcomeText({ end, reason }: NonNullable<RunRecord['outcome']>): string {
  const word = words.run.ended[end];
  return told(reason.startsWith(word) ? reason : `${word}. ${reason}`);
}

/** Events with a time in the run; those that raised an alarm are grave. */
export function marksOf(events: readonly EventRow[], alarms: readonly Alarm[]): ChartMark[] {
  const grave = new Set(alarms.map(({ code }) => code));
  return events.flatMap(({ atMs, code, message }) =>
    atMs === null ? [] : [{ atMs, grave: grave.has(code), note: code === 'note', message }],
  );
}

/** Orders by the time that is shown; what was written at one moment stays as it was written. */
function byTime(a: EventRow, b: EventRow): number {
  return a.wallMs - b.wallMs || a.id - b.id;
}

/** The list, newest first; `seek` makes each line go to its moment. */
export function eventList(
  events: readonly EventRow[],
  seek: ((atMs: number) => void) | null,
): TemplateResult {
  if (events.length === 0) return html`<p class="aside">${runNowWords.noEvents}</p>`;
  const sorted = events.toSorted((a, b) => (seek ? byTime(a, b) : byTime(b, a)));
  return html`<ol class="events">
    ${sorted.map(({ atMs, wallMs, code, message }) => {
      const time = clockSeconds(wallMs);
      return html`<li>
        ${
          seek && atMs !== null
            ? html`<button type="button" class="quiet" @click=${() => seek(atMs)}>${time}</button>`
            : html`<time>${time}</time>`
        }
        <span>${code === 'note' ? message : told(message)}</span>
      </li>`;
    })}
  </ol>`;
}
