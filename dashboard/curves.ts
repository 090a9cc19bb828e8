/** How the curves of a run are drawn: their columns, lines, axes and colours. */

import type uPlot from 'uplot';
import * as format from './format.ts';
import type { RunTrack } from './run-track.ts';
import { themeColour } from './theme.ts';

export type Columns = RunTrack['series'];
export type Curve = 'current' | 'voltage' | 'thickness';

export const curves: readonly Curve[] = ['current', 'voltage', 'thickness'];

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

export function curveData(
  curve: Curve,
  series: Columns,
  startWallMs: number,
  targetMicrometres: number,
): uPlot.AlignedData {
  const x = series.atMs.map((atMs) => (startWallMs + atMs) / 1000);
  switch (curve) {
    case 'current':
      return [x, series.maxAmps, series.minAmps, series.setAmps, series.amps];
    case 'voltage':
      return [x, series.maxVolts, series.minVolts, series.volts];
    case 'thickness':
      return [x, x.map(() => targetMicrometres), series.thicknessMicrometres];
  }
}

function lines(curve: Curve, { of }: Palette): uPlot.Series[] {
  const edge: uPlot.Series = { width: 0, points: { show: false } };
  const line = (token: string, dash?: number[]): uPlot.Series => ({
    stroke: of(token),
    width: 1.5,
    points: { show: false },
    ...(dash && { dash, width: 1 }),
  });
  switch (curve) {
    case 'current':
      return [{}, edge, edge, line('quiet', [5, 4]), line('text')];
    case 'voltage':
      return [{}, edge, edge, line('text')];
    case 'thickness':
      return [{}, line('quiet', [5, 4]), line('metal')];
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
    { ...shared, size: 46, space: 26 },
  ];
}

/** How one of the curves is drawn; the hooks are the component's. */
export function curveOptions(
  curve: Curve,
  width: number,
  palette: Palette,
  hooks: uPlot.Hooks.Arrays,
): uPlot.Options {
  const last = curve === 'thickness';
  const floor: uPlot.Range.MinMax = [0, 0.001];
  return {
    width,
    height: { current: 112, voltage: 92, thickness: 146 }[curve],
    padding: [8, 10, 0, 0],
    legend: { show: false },
    cursor: { sync: { key: 'run' }, y: false, drag: { x: false, y: false } },
    scales: {
      x: { time: true },
      y: { range: (_, __, max) => [floor[0], Math.max(floor[1] ?? 0, max * 1.08)] },
    },
    axes: axes(last, palette),
    series: lines(curve, palette),
    ...(curve !== 'thickness' && {
      bands: [{ series: [1, 2] as [number, number], fill: palette.of('band')() }],
    }),
    hooks,
  };
}
