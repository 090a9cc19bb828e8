/** The curves of a run as a printer wants them: lines and areas that scale, with numbers as text. */

import { html, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import * as format from '../format.ts';
import { roundUp, timeTicks } from './report-content.ts';
import { markGroups, type Happening } from './happenings.ts';

/** Units of a drawing; it is stretched to its place, and strokes are not. */
const width = 1000;
const height = 100;
/** Events nearer than a hair on paper share a mark; the width that a scrubber would need for that, px. */
const markWidthPx = 2400;

interface Line {
  readonly values: readonly number[];
  readonly look: 'measured' | 'wanted' | 'metal';
}

interface CurveOf {
  readonly title: string;
  readonly unit: string;
  readonly atMs: readonly number[];
  readonly lengthMs: number;
  readonly lines: readonly Line[];
  /** A level to hold it against; null for none. */
  readonly target: number | null;
  readonly happenings: readonly Happening[];
  /** Set under the last curve of a stack. */
  readonly startWallMs: number | null;
}

function path(line: readonly number[], { atMs, lengthMs }: CurveOf, top: number): string {
  const points = line.map((value, index) => {
    const x = lengthMs > 0 ? (width * (atMs[index] ?? 0)) / lengthMs : 0;
    const y = height * (1 - Math.min(1, Math.max(0, value / top)));
    return `${x.toFixed(1)} ${y.toFixed(1)}`;
  });
  return points.length === 0 ? '' : `M${points.join('L')}`;
}

function grid(ticks: readonly number[], lengthMs: number): SVGTemplateResult[] {
  const level = (y: number): SVGTemplateResult => svg`<path class="grid" d="M0 ${y}H${width}" />`;
  return [
    ...[0, height / 2, height].map(level),
    ...ticks.map((at) => svg`<path class="grid" d="M${(width * at) / lengthMs} 0V${height}" />`),
  ];
}

export function reportCurve(curve: CurveOf): TemplateResult {
  const { title, unit, lines, lengthMs, target, happenings, startWallMs } = curve;
  const most = Math.max(target ?? 0, ...lines.map(({ values }) => Math.max(0, ...values)));
  const top = roundUp(most * 1.02);
  const ticks = lengthMs > 0 ? timeTicks(lengthMs) : [];
  const level = target === null ? '' : `M0 ${height * (1 - target / top)}H${width}`;
  return html`<div class="report-curve">
    <p class="curve-name">${title} <span class="aside">${unit}</span></p>
    <p class="scale" aria-hidden="true">
      <span>${format.plain(top, 3)}</span><span>${format.plain(top / 2, 3)}</span><span>0</span>
    </p>
    <svg viewBox="0 0 ${width} ${height}" preserveAspectRatio="none" aria-hidden="true">
      ${grid(ticks, lengthMs)} ${target === null ? '' : svg`<path class="wanted" d=${level} />`}
      ${lines.map(({ values, look }) => svg`<path class=${look} d=${path(values, curve, top)} />`)}
      ${markGroups(happenings, lengthMs, markWidthPx).map(({ atMs, members }) => {
        const x = lengthMs > 0 ? (width * Math.min(atMs, lengthMs)) / lengthMs : 0;
        const look = members.some(({ grave }) => grave) ? 'event grave' : 'event';
        return svg`<path class=${look} d="M${x.toFixed(1)} 0V9" />`;
      })}
    </svg>
    ${
      startWallMs === null
        ? ''
        : html`<p class="times" aria-hidden="true">
            ${ticks.map(
              (at) =>
                // As a property: the page's policy allows no style in markup.
                html`<span .style=${`left:${((100 * at) / lengthMs).toFixed(2)}%`}
                  >${format.clock(startWallMs + at)}</span
                >`,
            )}
          </p>`
    }
  </div>`;
}
