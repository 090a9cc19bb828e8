/** The hands of a replay: play, the scrubber with its events, speed; by pointer, thumb or keys. */

import { html, type TemplateResult } from 'lit';
import { button } from '../element.ts';
import * as format from '../format.ts';
import {
  atEnd,
  atSpeed,
  pause,
  play,
  positionAt,
  replaySpeeds,
  seek,
  type ReplayClock,
} from '../replay-clock.ts';
import { EventMarks } from './event-marks.ts';
import { lastHappening, nextHappening, type Happening } from './happenings.ts';
import { replayWords } from '#words/replay';

/** Steps of the scrubber; an arrow key goes one of them. */
const steps = 1000;

const now = (): number => performance.now();

/** What a player shows, and what it does to the clock. */
interface PlayerView {
  readonly clock: ReplayClock;
  readonly startWallMs: number;
  readonly happenings: readonly Happening[];
  readonly set: (clock: ReplayClock) => void;
}

function toEvent({ clock, happenings, set }: PlayerView, direction: 1 | -1): void {
  const atMs = nextHappening(happenings, positionAt(clock, now()), direction);
  if (atMs !== null) set(seek(clock, atMs, now()));
}

function toggle({ clock, set }: PlayerView): void {
  set(clock.playing && !atEnd(clock, now()) ? pause(clock, now()) : play(clock, now()));
}

function pressed(view: PlayerView, event: KeyboardEvent): void {
  const direction = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (event.key === ' ') toggle(view);
  else if (direction !== undefined && event.shiftKey) toEvent(view, direction === 1 ? 1 : -1);
  else return;
  event.preventDefault();
}

/** What happened last, so that an event that one has jumped to can be read where one looks. */
function lastLine({ startWallMs, happenings }: PlayerView, at: number): TemplateResult {
  const last = lastHappening(happenings, at);
  const text =
    last === null
      ? replayWords.beforeAll
      : replayWords.last(format.clockSeconds(startWallMs + last.atMs), last.message);
  return html`<p class="last-event ${last?.grave ? 'grave' : 'aside'}">${text}</p>`;
}

function scrubber(view: PlayerView, at: number): TemplateResult {
  const { clock, startWallMs, happenings, set } = view;
  return html`<event-marks
      role="group"
      aria-label=${replayWords.marks}
      .happenings=${happenings}
      .lengthMs=${clock.lengthMs}
      .startWallMs=${startWallMs}
      @seek=${({ detail }: CustomEvent<number>) => set(seek(clock, detail, now()))}
    ></event-marks>
    <label class="scrubber">
      <span class="unseen">${replayWords.position}</span>
      <input
        type="range"
        min="0"
        max=${steps}
        .value=${String(Math.round((at / clock.lengthMs) * steps))}
        aria-valuetext=${format.clock(startWallMs + at)}
        aria-describedby="replay-keys"
        @keydown=${(event: KeyboardEvent) => pressed(view, event)}
        @input=${(event: Event) => {
          const share = Number((event.target as HTMLInputElement).value) / steps;
          set(seek(clock, share * clock.lengthMs, now()));
        }}
      />
    </label>`;
}

export function player(view: PlayerView, at: number): TemplateResult {
  const { clock, startWallMs, set } = view;
  return html`<div class="player">
    <div class="actions">
      ${button(clock.playing ? replayWords.pause : replayWords.play, () => toggle(view), {
        strong: true,
      })}
      ${button(replayWords.previous, () => toEvent(view, -1), { fast: true })}
      ${button(replayWords.next, () => toEvent(view, 1), { fast: true })}
    </div>
    ${scrubber(view, at)}
    <div class="scrubbed">
      <span>
        ${format.clockSeconds(startWallMs + at)}
        <span class="aside">${format.elapsed(at)} / ${format.elapsed(clock.lengthMs)}</span>
      </span>
      <label class="speed">
        <span>${replayWords.speed}</span>
        <select
          @change=${(event: Event) =>
            set(atSpeed(clock, Number((event.target as HTMLSelectElement).value), now()))}
        >
          ${replaySpeeds.map(
            (speed) =>
              html`<option value=${speed} ?selected=${speed === clock.speed}>
                ${replayWords.times(speed)}
              </option>`,
          )}
        </select>
      </label>
    </div>
    ${lastLine(view, at)}
    <p class="aside keys" id="replay-keys">${replayWords.keys}</p>
  </div>`;
}

customElements.define('event-marks', EventMarks);
