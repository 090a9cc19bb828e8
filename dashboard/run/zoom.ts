/** Which stretch of a run the curves show: all of it, its end as it goes on, or one that was drawn over. */

import { html, nothing, type TemplateResult } from 'lit';
import { chartWords } from '#words/charts';

/** `lastMs` goes along with the run; the others stand. Null is the whole of it. */
export type Zoom =
  { readonly lastMs: number } | { readonly fromMs: number; readonly toMs: number } | null;

const minuteMs = 60_000;
/** Shorter than this nothing is to be seen, ms. */
const shortestMs = 2_000;

/** The stretch in view, wall seconds; null for all there is. */
export function zoomed(
  zoom: Zoom,
  startWallMs: number,
  endMs: number,
): readonly [number, number] | null {
  if (zoom === null) return null;
  const [fromMs, toMs] =
    'lastMs' in zoom ? [Math.max(0, endMs - zoom.lastMs), endMs] : [zoom.fromMs, zoom.toMs];
  const seconds = (atMs: number): number => (startWallMs + atMs) / 1000;
  return [seconds(fromMs), seconds(Math.max(toMs, fromMs + shortestMs))];
}

function isLast(zoom: Zoom, lastMs: number): boolean {
  return zoom !== null && 'lastMs' in zoom && zoom.lastMs === lastMs;
}

/** Buttons for who has no mouse, and the way back. */
export function zoomButtons(
  hidden: boolean,
  zoom: Zoom,
  endMs: number,
  choose: (zoom: Zoom) => void,
): TemplateResult {
  const stretches = [
    [60 * minuteMs, chartWords.lastHour],
    [10 * minuteMs, chartWords.lastMinutes],
  ] as const;
  const one = (label: string, to: Zoom, pressed: boolean): TemplateResult =>
    html`<button
      type="button"
      class="quiet"
      aria-pressed=${pressed ? 'true' : 'false'}
      @click=${() => choose(to)}
    >
      ${label}
    </button>`;
  return html`<div
    class="actions zoom"
    role="group"
    aria-label=${chartWords.zoom}
    ?hidden=${hidden}
  >
    ${one(chartWords.whole, null, zoom === null)}
    ${stretches.map(([lastMs, label]) =>
      endMs > lastMs || isLast(zoom, lastMs)
        ? one(label, { lastMs }, isLast(zoom, lastMs))
        : nothing,
    )}
    <span class="aside for-mouse">${chartWords.drag}</span>
  </div>`;
}
