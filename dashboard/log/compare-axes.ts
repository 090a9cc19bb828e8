/** Runs laid on one axis: time, charge or thickness from their own starts, sampled at shared places. */

import type { Series } from '../../daemon/wire/run.ts';

export const axes = ['time', 'charge', 'thickness'] as const;
export type Axis = (typeof axes)[number];
export type Quantity = 'thickness' | 'charge' | 'current' | 'voltage';

/** What is drawn over an axis; what the axis says itself is not drawn again. */
export const quantitiesOver: Readonly<Record<Axis, readonly Quantity[]>> = {
  time: ['thickness', 'current', 'voltage'],
  charge: ['thickness', 'current', 'voltage'],
  thickness: ['charge', 'current', 'voltage'],
};

/** Line patterns in the order of the runs, as lengths of strokes and gaps; none is a solid line. */
export const patterns: readonly (readonly number[])[] = [[], [10, 5], [2, 4], [12, 4, 2, 4]];
/** What the runs are called on the picture. */
export const letters = ['A', 'B', 'C', 'D'] as const;

const hourMs = 3_600_000;

/** Along the axis: hours, A·h or micrometres. */
function placesOf(series: Series, axis: Axis): readonly number[] {
  switch (axis) {
    case 'time':
      return series.atMs.map((atMs) => atMs / hourMs);
    case 'charge':
      return series.ampHours;
    case 'thickness':
      return series.thicknessMicrometres;
  }
}

/** A·h, A, V or micrometres. */
function columnOf(series: Series, quantity: Quantity): readonly number[] {
  switch (quantity) {
    case 'charge':
      return series.ampHours;
    case 'current':
      return series.amps;
    case 'voltage':
      return series.volts;
    case 'thickness':
      return series.thicknessMicrometres;
  }
}

/** How far a run goes along an axis. */
export function endOf(series: Series, axis: Axis): number {
  return placesOf(series, axis).at(-1) ?? 0;
}

/** What a run came to at its end; null without a curve. */
export function lastOf(series: Series, quantity: Quantity): number | null {
  return columnOf(series, quantity).at(-1) ?? null;
}

/** So many places from nothing to the end of the run that goes farthest. */
export function gridOf(runs: readonly Series[], axis: Axis, places: number): readonly number[] {
  const end = Math.max(0, ...runs.map((series) => endOf(series, axis)));
  return end > 0 ? Array.from({ length: places }, (_, index) => (end * index) / (places - 1)) : [];
}

/**
 * A run's values at the places of a grid, on the line between its neighbours; null before its start
 * and past its end. Where a run stands still on the axis, as it does while it is lifted, only the
 * moment at which it moves on counts.
 */
export function sampled(
  series: Series,
  axis: Axis,
  quantity: Quantity,
  grid: readonly number[],
): readonly (number | null)[] {
  const places = placesOf(series, axis);
  const values = columnOf(series, quantity);
  const last = places.length - 1;
  if (last < 0) return grid.map(() => null);
  const first = places[0] ?? 0;
  const end = places[last] ?? 0;
  // The last place of a grid is computed, and may lie a rounding beyond the end that it comes from.
  const slack = 1e-9 * Math.max(1, Math.abs(end));
  // A curve's first moment is the end of its first stretch, a little after the start.
  const begin = first - ((grid[1] ?? 0) - (grid[0] ?? 0)) - slack;
  let right = 0;
  return grid.map((at) => {
    if (at < begin || at > end + slack) return null;
    while (right < last && (places[right] ?? 0) < at) right += 1;
    const left = Math.max(0, right - 1);
    const from = places[left] ?? 0;
    const to = places[right] ?? 0;
    const low = values[left] ?? 0;
    const high = values[right] ?? 0;
    if (to <= from) return high;
    const share = Math.min(1, Math.max(0, (at - from) / (to - from)));
    return low + (high - low) * share;
  });
}

/** The axis that an address names; time where it names none. */
export function axisOf(text: string | null): Axis {
  return axes.find((axis) => axis === text) ?? 'time';
}
