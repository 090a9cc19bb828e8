/** What is drawn upon a curve of a run: events, where a reading line was left, the veil of a replay. */

import type uPlot from 'uplot';
import type { Palette } from '../curves.ts';

/** An event on the time axis, ms from the start of the run. */
export interface ChartMark {
  readonly atMs: number;
  readonly grave: boolean;
  /** A note or a photo. */
  readonly note?: boolean;
  /** What happened, in words. */
  readonly message: string;
}

/** A mark as far from the reading line as this is what the line stands at, CSS pixels. */
const nearPx = 6;
/** Marks no further apart than this stand in one place. */
const samePx = 1;

/**
 * The event that a reading line stands at; null where none is near. Of several the grave one counts,
 * then the nearest; of those in one place the first, which the others follow from.
 */
export function markNear(
  marks: readonly ChartMark[],
  atPx: number,
  placeOf: (atMs: number) => number,
): ChartMark | null {
  let best: ChartMark | null = null;
  let bestPx = nearPx;
  for (const mark of marks) {
    const awayPx = Math.abs(placeOf(mark.atMs) - atPx);
    if (awayPx > nearPx || (best?.grave === true && !mark.grave)) continue;
    if (best?.grave === mark.grave && awayPx > bestPx - samePx) continue;
    best = mark;
    bestPx = awayPx;
  }
  return best;
}

interface Overlay {
  readonly startWallMs: number;
  readonly marks: readonly ChartMark[];
  /** In a replay, the moment it stands at; what comes after is veiled. Null when live. */
  readonly playedMs: number | null;
  /** Where a reading line was left; null for none. */
  readonly pinMs: number | null;
}

/** Draws it on the canvas of one curve. */
export function drawOverlay(plot: uPlot, palette: Palette, overlay: Overlay): void {
  const { startWallMs, marks, playedMs, pinMs } = overlay;
  const { ctx, bbox } = plot;
  const right = bbox.left + bbox.width;
  const x = (atMs: number): number => plot.valToPos((startWallMs + atMs) / 1000, 'x', true);
  // In a stretch that is zoomed into, the others lie outside.
  const inside = (place: number): boolean => place >= bbox.left && place <= right;
  const line = (place: number, token: string): void => {
    if (!inside(place)) return;
    ctx.fillStyle = palette.of(token)();
    ctx.fillRect(place, bbox.top, devicePixelRatio, bbox.height);
  };
  ctx.save();
  if (playedMs !== null) {
    const from = Math.min(right, Math.max(bbox.left, x(playedMs)));
    ctx.globalAlpha = 0.72;
    ctx.fillStyle = palette.of('ground')();
    ctx.fillRect(from, bbox.top, right - from, bbox.height);
    ctx.globalAlpha = 1;
    line(x(playedMs), 'text');
  }
  if (pinMs !== null) line(x(pinMs), 'quiet');
  for (const { atMs, grave, note = false } of marks) {
    const middle = x(atMs);
    if (!inside(middle)) continue;
    ctx.fillStyle = palette.of(grave ? 'stop' : 'quiet')();
    const size = (grave ? 7 : 4) * devicePixelRatio;
    ctx.fillRect(middle - devicePixelRatio / 2, bbox.top, devicePixelRatio, size * 2);
    if (grave) ctx.fillRect(middle - size / 2, bbox.top, size, size);
    if (note) {
      ctx.beginPath();
      ctx.arc(middle, bbox.top + size, size * 0.9, 0, 2 * Math.PI);
      ctx.fill();
    }
  }
  ctx.restore();
}
