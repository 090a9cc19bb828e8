/** Which stretch of a run the curves show, and how it is moved without drawing over them. */

import { html, nothing, type TemplateResult } from 'lit';
import { chartWords } from '#words/charts';
import * as format from '../format.ts';

/** `lastMs` goes along with the run; the others stand. Null is the whole of it. */
export type Zoom =
  { readonly lastMs: number } | { readonly fromMs: number; readonly toMs: number } | null;

/** What a stretch lies in, ms from the start of the run. */
export interface Course {
  /** The last reading. */
  readonly endMs: number;
  /** Where the axis ends; a plan may go on after the last reading. */
  readonly fullMs: number;
  /** What Closer goes towards: a reading line, or where a replay stands. Null is the newest. */
  readonly anchorMs: number | null;
  /** New readings may come, so that its end goes on. */
  readonly live: boolean;
}

export type Move = 'closer' | 'wider' | 'earlier' | 'later';

/** Why a move came to nothing; empty when it did not. */
type Limit = '' | 'whole' | 'closest' | 'beginning' | 'end';

interface Moved {
  readonly zoom: Zoom;
  readonly limit: Limit;
}

const minuteMs = 60_000;
/** Shorter than this nothing is to be seen, ms. */
const shortestMs = 2_000;
/** Closer ends here, ms. */
const closestMs = 15_000;
/** How much larger Closer shows things. */
const stride = 3;

function boundsOf(zoom: Zoom, { endMs, fullMs }: Course): readonly [number, number] {
  if (zoom === null) return [0, fullMs];
  if ('lastMs' in zoom) return [Math.max(0, endMs - zoom.lastMs), endMs];
  return [zoom.fromMs, zoom.toMs];
}

/** The stretch in view, wall seconds; null for all there is. */
export function zoomed(
  zoom: Zoom,
  startWallMs: number,
  endMs: number,
): readonly [number, number] | null {
  if (zoom === null) return null;
  const [fromMs, toMs] = boundsOf(zoom, { endMs, fullMs: endMs, anchorMs: null, live: true });
  const seconds = (atMs: number): number => (startWallMs + atMs) / 1000;
  return [seconds(fromMs), seconds(Math.max(toMs, fromMs + shortestMs))];
}

/** A stretch of that length, pushed back into the run where it would stand out of it. */
function placed(fromMs: number, spanMs: number, { fullMs }: Course): Zoom {
  if (spanMs >= fullMs) return null;
  const from = Math.min(fullMs - spanMs, Math.max(0, fromMs));
  return { fromMs: from, toMs: from + spanMs };
}

function sized(zoom: Zoom, course: Course, spanMs: number): Zoom {
  const [fromMs, toMs] = boundsOf(zoom, course);
  const { anchorMs, live } = course;
  const seen = anchorMs !== null && anchorMs >= fromMs && anchorMs <= toMs;
  const follows = live && !seen && (zoom === null || 'lastMs' in zoom);
  if (follows) return spanMs >= course.endMs ? null : { lastMs: spanMs };
  const middleMs = seen ? anchorMs : (fromMs + toMs) / 2;
  return placed(middleMs - spanMs / 2, spanMs, course);
}

function shifted(zoom: Zoom, course: Course, direction: 1 | -1): Moved {
  const [fromMs, toMs] = boundsOf(zoom, course);
  const spanMs = toMs - fromMs;
  if (direction === -1 && fromMs <= 0) return { zoom, limit: 'beginning' };
  if (direction === 1 && toMs >= course.fullMs) return { zoom, limit: 'end' };
  const next = placed(fromMs + (direction * spanMs) / 2, spanMs, course);
  // Back at the newest reading it goes along with the run again.
  const nearEnd = Math.abs((next && 'toMs' in next ? next.toMs : 0) - course.endMs) < spanMs / 4;
  if (course.live && direction === 1 && nearEnd) return { zoom: { lastMs: spanMs }, limit: '' };
  return { zoom: next, limit: '' };
}

/** The stretch after a press: a third or three times as long, or half of its length along. */
export function moved(zoom: Zoom, move: Move, course: Course): Moved {
  if (zoom === null && move !== 'closer') return { zoom, limit: 'whole' };
  if (move === 'earlier') return shifted(zoom, course, -1);
  if (move === 'later') return shifted(zoom, course, 1);
  const [fromMs, toMs] = boundsOf(zoom, course);
  const spanMs = toMs - fromMs;
  if (move === 'wider') return { zoom: sized(zoom, course, spanMs * stride), limit: '' };
  if (spanMs <= closestMs) return { zoom, limit: 'closest' };
  return { zoom: sized(zoom, course, Math.max(closestMs, spanMs / stride)), limit: '' };
}

/** The stretch that keeps a moment in view which was there before; else the same. */
export function following(zoom: Zoom, wasMs: number, isMs: number, course: Course): Zoom {
  if (zoom === null || 'lastMs' in zoom) return zoom;
  const sees = (atMs: number): boolean => atMs >= zoom.fromMs && atMs <= zoom.toMs;
  if (sees(isMs) || !sees(wasMs)) return zoom;
  const spanMs = zoom.toMs - zoom.fromMs;
  return placed(isMs - spanMs * (isMs > wasMs ? 0.1 : 0.9), spanMs, course);
}

/** What is shown, in words. */
export function stretchText(zoom: Zoom, startWallMs: number): string {
  if (zoom === null) return chartWords.shownWhole;
  if ('lastMs' in zoom) return chartWords.shownLast(format.duration(zoom.lastMs));
  const { fromMs, toMs } = zoom;
  const time = toMs - fromMs < 20 * minuteMs ? format.clockSeconds : format.clock;
  return chartWords.shown(
    time(startWallMs + fromMs),
    time(startWallMs + toMs),
    format.duration(toMs - fromMs),
  );
}

function isLast(zoom: Zoom, lastMs: number): boolean {
  return zoom !== null && 'lastMs' in zoom && zoom.lastMs === lastMs;
}

const moves = [
  ['closer', chartWords.closer],
  ['wider', chartWords.wider],
  ['earlier', chartWords.earlier],
  ['later', chartWords.later],
] as const;

/** What the buttons work on. */
interface ZoomView {
  readonly hidden: boolean;
  readonly zoom: Zoom;
  readonly course: Course;
  readonly startWallMs: number;
  /** A move that came to nothing says so. */
  readonly limit: Limit;
  readonly choose: (zoom: Zoom, limit: Limit) => void;
}

/** Every stretch can be come to with these, by keys and by thumb; a drag is only quicker. */
export function zoomButtons(view: ZoomView): TemplateResult {
  const { hidden, zoom, course, startWallMs, limit, choose } = view;
  const stretches = [
    [60 * minuteMs, chartWords.lastHour],
    [10 * minuteMs, chartWords.lastMinutes],
  ] as const;
  const choice = (label: string, to: Zoom, pressed: boolean): TemplateResult =>
    html`<button
      type="button"
      class="quiet"
      aria-pressed=${pressed ? 'true' : 'false'}
      @click=${() => choose(to, '')}
    >
      ${label}
    </button>`;
  const step = (move: Move, label: string): TemplateResult =>
    html`<button
      type="button"
      class="quiet"
      @click=${() => {
        const next = moved(zoom, move, course);
        choose(next.zoom, next.limit);
      }}
    >
      ${label}
    </button>`;
  return html`<div ?hidden=${hidden}>
    <div class="actions zoom" role="group" aria-label=${chartWords.zoom}>
      ${moves.map(([move, label]) => step(move, label))}
      ${choice(chartWords.whole, null, zoom === null)}
      ${stretches.map(([lastMs, label]) =>
        course.live && (course.endMs > lastMs || isLast(zoom, lastMs))
          ? choice(label, { lastMs }, isLast(zoom, lastMs))
          : nothing,
      )}
      <span class="aside for-mouse">${chartWords.drag}</span>
    </div>
    <p class="aside shown-stretch">
      ${stretchText(zoom, startWallMs)} ${limit === '' ? nothing : chartWords.limits[limit]}
    </p>
  </div>`;
}
