/** How the curves of a run are drawn: their columns, lines, axes and colours. */

import type uPlot from 'uplot';
import type { PlannedCourse } from '../daemon/wire/run-book.ts';
import * as format from './format.ts';
import type { RunTrack } from './run-track.ts';
import { foreseen } from './run/planned.ts';
import { themeColour } from './theme.ts';

export type Columns = RunTrack['series'];
export type Curve = 'current' | 'voltage' | 'resistance' | 'charge' | 'thickness';

/** From top to bottom; the last carries the time axis of them all. */
export const curves: readonly Curve[] = ['current', 'voltage', 'resistance', 'charge', 'thickness'];

/** Colours of the theme by token, read anew when the look changes. */
export class Palette {
  #colours = new Map<string, string>();

  readonly of = (token: string): (() => string) => {
    return () => {
      const colour = this.#colours.get(token) ?? themeColour(token);
      this.#colours.set(token, colour);
      return colour;
    };
  };

  forget(): void {
    this.#colours = new Map();
  }
}

/** Below this current a quotient of voltage and current says nothing of the cell, A. */
const leastAmps = 0.01;

/** Voltage over current, ohms: rises when a contact goes or a bath tires; null without current. */
export function resistanceOhms(volts: number, amps: number): number | null {
  return amps >= leastAmps ? volts / amps : null;
}

/** Moments after the last reading for which the plan is drawn on. */
const aheadPoints = 60;

type Column = readonly (number | null)[];

/** What the curves are drawn from beside the readings. */
export interface CurveInput {
  readonly series: Columns;
  readonly startWallMs: number;
  readonly targetMicrometres: number;
  readonly planned: PlannedCourse | null;
}

/** The common time axis, ms from the start: every reading, and the rest of the plan after them. */
export function timesOf({ series, planned }: CurveInput): readonly number[] {
  const lastMs = series.atMs.at(-1) ?? 0;
  const endMs = planned?.atMs.at(-1) ?? 0;
  if (endMs <= lastMs) return series.atMs;
  const stepMs = (endMs - lastMs) / aheadPoints;
  const ahead = Array.from({ length: aheadPoints }, (_, index) => lastMs + stepMs * (index + 1));
  return [...series.atMs, ...ahead];
}

export function curveData(curve: Curve, input: CurveInput): uPlot.AlignedData {
  const { series, startWallMs, planned } = input;
  const times = timesOf(input);
  const x = times.map((atMs) => (startWallMs + atMs) / 1000);
  const whole = (column: Column): (number | null)[] =>
    times.length === column.length
      ? [...column]
      : [...column, ...Array.from({ length: times.length - column.length }, () => null)];
  const plan = (name: 'amps' | 'ampHours' | 'thicknessMicrometres'): (number | null)[] =>
    times.map((atMs) => (planned ? foreseen(planned, atMs)[name] : null));
  switch (curve) {
    case 'current':
      return [
        x,
        whole(series.maxAmps),
        whole(series.minAmps),
        plan('amps'),
        whole(series.setAmps),
        whole(series.amps),
      ];
    case 'voltage':
      return [x, whole(series.maxVolts), whole(series.minVolts), whole(series.volts)];
    case 'resistance':
      return [
        x,
        whole(series.volts.map((volts, at) => resistanceOhms(volts, series.amps[at] ?? 0))),
      ];
    case 'charge':
      return [x, plan('ampHours'), whole(series.ampHours)];
    case 'thickness':
      return [
        x,
        times.map(() => input.targetMicrometres),
        plan('thicknessMicrometres'),
        whole(series.thicknessMicrometres),
      ];
  }
}

function lines(curve: Curve, { of }: Palette): uPlot.Series[] {
  const edge: uPlot.Series = { width: 0, points: { show: false } };
  const line = (token: string, more: Partial<uPlot.Series> = {}): uPlot.Series => ({
    stroke: of(token),
    width: 1.5,
    // A gentle slope is drawn as one, not as steps of whole pixels.
    pxAlign: 0,
    points: { show: false },
    ...more,
  });
  const dashed = { dash: [5, 4], width: 1 };
  // Broad and pale: what was meant to be lies behind what is.
  const plan = line('plan-line', { width: 5 });
  switch (curve) {
    case 'current':
      return [{}, edge, edge, plan, line('quiet', dashed), line('text')];
    case 'voltage':
      return [{}, edge, edge, line('text')];
    case 'resistance':
      return [{}, line('text')];
    case 'charge':
      return [{}, plan, line('text')];
    case 'thickness':
      return [{}, line('quiet', dashed), plan, line('metal')];
  }
}

function axes(last: boolean, { of }: Palette): uPlot.Axis[] {
  const font = '12px system-ui, sans-serif';
  const shared: uPlot.Axis = {
    stroke: of('quiet'),
    font,
    grid: { stroke: of('line'), width: 1 },
    ticks: { show: false },
  };
  return [
    {
      ...shared,
      size: last ? 26 : 6,
      space: 64,
      values: (_, splits, __, ___, step) =>
        splits.map((at) =>
          last ? (step < 60 ? format.clockSeconds : format.clock)(at * 1000) : '',
        ),
    },
    {
      ...shared,
      size: 46,
      space: 26,
      values: (_, splits) => splits.map((at) => format.plain(at, 6)),
    },
  ];
}

const heights: Readonly<Record<Curve, number>> = {
  current: 112,
  voltage: 92,
  resistance: 80,
  charge: 80,
  thickness: 146,
};

/** How one of the curves is drawn; the hooks are the component's, and so is the stretch in view. */
export function curveOptions(
  curve: Curve,
  width: number,
  palette: Palette,
  hooks: uPlot.Hooks.Arrays,
  inView: () => readonly [number, number] | null,
): uPlot.Options {
  const floor: uPlot.Range.MinMax = [0, 0.001];
  return {
    width,
    height: heights[curve],
    padding: [8, 10, 0, 0],
    legend: { show: false },
    cursor: {
      sync: { key: 'run', scales: ['x', null] },
      y: false,
      drag: { x: true, y: false, setScale: false, dist: 8 },
    },
    scales: {
      x: {
        time: true,
        range: (_, min, max) => {
          const [from, to] = inView() ?? [min, max];
          return [from, to];
        },
      },
      y: { range: (_, __, max) => [floor[0], Math.max(floor[1] ?? 0, max * 1.08)] },
    },
    axes: axes(curve === curves.at(-1), palette),
    series: lines(curve, palette),
    ...((curve === 'current' || curve === 'voltage') && {
      bands: [{ series: [1, 2] as [number, number], fill: palette.of('band')() }],
    }),
    hooks,
  };
}
