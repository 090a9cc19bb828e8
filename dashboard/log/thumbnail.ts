/** A run in a few strokes: its current as a line over the metal grown, without axes. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Portrait } from '../../daemon/wire/log.ts';

/** Size of the drawing's own units; it is stretched to its place. */
export const thumbnailSize = { width: 160, height: 44 } as const;
/** Kept free at the top and bottom, so that a stroke is not cut. */
const rim = 2;

type Moments = Pick<Portrait, 'atMs' | 'amps' | 'thicknessMicrometres'>;

const round1 = (value: number): number => Math.round(value * 10) / 10;

/** Points from the lower left up, `most` being the top; a run of one moment is a level line. */
function points(atMs: readonly number[], column: readonly number[], most: number): string[] {
  const { width, height } = thumbnailSize;
  const end = atMs.at(-1) ?? 0;
  const top = most > 0 ? most : 1;
  const at = (value: number): number =>
    round1(height - rim - (height - 2 * rim) * Math.min(1, Math.max(0, value / top)));
  const drawn = column.map((value, index) => {
    const x = end > 0 ? round1((width * (atMs[index] ?? 0)) / end) : 0;
    return `${x} ${at(value)}`;
  });
  return drawn.length === 1 ? [...drawn, `${width} ${at(column[0] ?? 0)}`] : drawn;
}

/** The two paths: an open line of the current, a closed area of the metal; null without a curve. */
export function thumbnailPaths(
  { atMs, amps, thicknessMicrometres }: Moments,
  targetMicrometres: number,
): { readonly current: string; readonly metal: string } | null {
  if (atMs.length === 0) return null;
  const { width, height } = thumbnailSize;
  const mostAmps = Math.max(...amps);
  const mostGrown = Math.max(targetMicrometres, ...thicknessMicrometres);
  const metal = points(atMs, thicknessMicrometres, mostGrown);
  return {
    current: `M${points(atMs, amps, mostAmps * 1.05).join('L')}`,
    metal: `M0 ${height}L${metal.join('L')}L${width} ${height}z`,
  };
}

export function thumbnail(portrait: Portrait): TemplateResult | typeof nothing {
  const paths = thumbnailPaths(portrait, portrait.rings.targetMicrometres);
  if (paths === null) return nothing;
  const { width, height } = thumbnailSize;
  return html`<svg
    class="thumbnail"
    viewBox="0 0 ${width} ${height}"
    preserveAspectRatio="none"
    aria-hidden="true"
  >
    <path class="grown" d=${paths.metal} />
    <path class="flow" d=${paths.current} />
  </svg>`;
}
