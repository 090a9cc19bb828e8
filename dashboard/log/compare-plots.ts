/** How runs beside each other are drawn: a line pattern and a letter each, over one shared axis. */

import type uPlot from 'uplot';
import type { Palette } from '../curves.ts';
import { plain } from '../format.ts';
import { letters, patterns, type Axis } from './compare-axes.ts';
import { letterPlaces } from './end-letters.ts';

const font = '12px system-ui, sans-serif';
/** Room for a letter beside the end of a line. */
const letterRoom = 22;

/** A short number for an axis, without zeros at its end. */
function tick(value: number): string {
  return plain(value, 6);
}

/** Each run's letter at the last place that its line reaches, on a piece of ground that no line crosses. */
function drawLetters(plot: uPlot, palette: Palette): void {
  const { ctx, bbox } = plot;
  const ratio = devicePixelRatio;
  const ends = letters.flatMap((letter, index) => {
    const column = plot.data[index + 1] ?? [];
    const last = Array.from(column).findLastIndex((value) => value !== null);
    const value = column[last];
    if (last < 0 || value === null || value === undefined) return [];
    const x = plot.valToPos(plot.data[0][last] ?? 0, 'x', true) + 5 * ratio;
    return [{ letter, x, y: plot.valToPos(value, 'y', true) }];
  });
  const size = { width: 15 * ratio, height: 16 * ratio };
  const half = size.height / 2;
  const bounds = { ...size, top: bbox.top + half, bottom: bbox.top + bbox.height - half };
  ctx.save();
  ctx.font = `600 ${13 * ratio}px system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  for (const [index, { x, y }] of letterPlaces(ends, bounds).entries()) {
    ctx.fillStyle = palette.of('ground')();
    ctx.fillRect(x - 2 * ratio, y - half, size.width, size.height);
    ctx.fillStyle = palette.of('text')();
    ctx.fillText(ends[index]?.letter ?? '', x, y);
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
