/** How runs beside each other are drawn: a line pattern and a letter each, over one shared axis. */

import type uPlot from 'uplot';
import type { Palette } from '../curves.ts';
import { plain } from '../format.ts';
import { letters, patterns, type Axis } from './compare-axes.ts';

const font = '12px system-ui, sans-serif';
/** Room for a letter beside the end of a line. */
const letterRoom = 22;

/** A short number for an axis, without zeros at its end. */
function tick(value: number): string {
  return plain(value, 6);
}

/** Each run's letter at the last place that its line reaches, none upon another. */
function drawLetters(plot: uPlot, palette: Palette): void {
  const { ctx } = plot;
  const ratio = devicePixelRatio;
  const placed: { x: number; y: number }[] = [];
  ctx.save();
  ctx.font = `600 ${13 * ratio}px system-ui, sans-serif`;
  ctx.fillStyle = palette.of('text')();
  ctx.textBaseline = 'middle';
  for (const [index, letter] of letters.entries()) {
    const column = plot.data[index + 1] ?? [];
    const last = Array.from(column).findLastIndex((value) => value !== null);
    const value = column[last];
    if (last < 0 || value === null || value === undefined) continue;
    const x = plot.valToPos(plot.data[0][last] ?? 0, 'x', true) + 5 * ratio;
    let y = plot.valToPos(value, 'y', true);
    while (
      placed.some((one) => Math.abs(one.x - x) < 14 * ratio && Math.abs(one.y - y) < 13 * ratio)
    ) {
      y += 13 * ratio;
    }
    placed.push({ x, y });
    ctx.fillText(letter, x, y);
  }
  ctx.restore();
}

interface Look {
  readonly width: number;
  readonly height: number;
  readonly axis: Axis;
  /** The last one of a stack has the numbers of the shared axis. */
  readonly last: boolean;
  readonly runs: number;
}

export function compareOptions(
  { width, height, axis, last, runs }: Look,
  palette: Palette,
  moved: (index: number | null) => void,
): uPlot.Options {
  const unit = { time: ' h', charge: '', thickness: '' }[axis];
  const shared: uPlot.Axis = {
    stroke: palette.of('quiet'),
    font,
    grid: { stroke: palette.of('line'), width: 1 },
    ticks: { show: false },
  };
  return {
    width,
    height,
    padding: [8, letterRoom, 0, 0],
    legend: { show: false },
    cursor: { sync: { key: 'compare' }, y: false, drag: { x: false, y: false } },
    scales: {
      x: { time: false },
      y: { range: (_, __, most) => [0, Math.max(0.001, most * 1.08)] },
    },
    axes: [
      {
        ...shared,
        size: last ? 26 : 6,
        space: 56,
        values: (_, splits) => splits.map((at) => (last ? `${tick(at)}${unit}` : '')),
      },
      { ...shared, size: 46, space: 26, values: (_, splits) => splits.map(tick) },
    ],
    series: [
      {},
      ...Array.from({ length: runs }, (_, index) => ({
        stroke: palette.of('text'),
        width: 1.75,
        dash: [...(patterns[index] ?? [])],
        points: { show: false },
        spanGaps: false,
      })),
    ],
    hooks: {
      draw: [(plot) => drawLetters(plot, palette)],
      setCursor: [(plot) => moved(plot.cursor.idx ?? null)],
    },
  };
}
