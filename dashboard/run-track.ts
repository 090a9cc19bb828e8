/** The curve of a run as columns: loaded from the log, extended by live frames, read by pictures. */

import { growthMarks, type GrowthMarks } from '../daemon/run/growth-marks.ts';
import type { Lifecycle } from '../daemon/run/model.ts';
import type { Series } from '../daemon/wire/run.ts';

/** One live sample; times in ms from the start of the run. */
export interface Sample {
  readonly atMs: number;
  readonly volts: number;
  readonly amps: number;
  readonly setAmps: number;
  readonly ampHours: number;
  readonly thicknessMicrometres: number;
  readonly lifecycle: Lifecycle;
}

type Column = Exclude<keyof Series, 'runId' | 'lifecycle'>;

const columns: readonly Column[] = [
  'atMs',
  'volts',
  'minVolts',
  'maxVolts',
  'amps',
  'minAmps',
  'maxAmps',
  'setAmps',
  'ampHours',
  'thicknessMicrometres',
];

/** Points kept before the oldest halves are merged. */
const mostPoints = 2400;

export class RunTrack {
  readonly series: Series;
  /** Grows with every change, so that a picture can tell whether to draw again. */
  changes = 0;
  #bucketMs = 250;

  constructor(runId: string) {
    const empty = Object.fromEntries(columns.map((name) => [name, [] as number[]]));
    this.series = { runId, lifecycle: [], ...(empty as Record<Column, number[]>) };
  }

  get length(): number {
    return this.series.atMs.length;
  }

  get endMs(): number {
    return this.series.atMs.at(-1) ?? 0;
  }

  /** Takes the stored curve; what the live frames added after its end stays. */
  load(stored: Series): void {
    const from = this.series.atMs.findIndex((atMs) => atMs > (stored.atMs.at(-1) ?? -1));
    const keep = from === -1 ? this.length : from;
    for (const name of columns) {
      this.series[name] = stored[name].concat(this.series[name].slice(keep));
    }
    this.series.lifecycle = stored.lifecycle.concat(this.series.lifecycle.slice(keep));
    this.#thin();
    this.changes += 1;
  }

  /** Adds a live sample; one that is not later than the last is left out. */
  push(sample: Sample): void {
    const last = this.length - 1;
    if (last >= 0 && sample.atMs <= this.endMs) {
      return;
    }
    const { series } = this;
    const before = series.atMs[last - 1];
    const merges =
      before !== undefined &&
      series.lifecycle[last] === sample.lifecycle &&
      sample.atMs - before < this.#bucketMs;
    const at = merges ? last : last + 1;
    // A merged point keeps the extremes of both, so that no spike is lost.
    const low = (old: number | undefined, value: number): number =>
      merges && old !== undefined ? Math.min(old, value) : value;
    const high = (old: number | undefined, value: number): number =>
      merges && old !== undefined ? Math.max(old, value) : value;
    series.minVolts[at] = low(series.minVolts[at], sample.volts);
    series.maxVolts[at] = high(series.maxVolts[at], sample.volts);
    series.minAmps[at] = low(series.minAmps[at], sample.amps);
    series.maxAmps[at] = high(series.maxAmps[at], sample.amps);
    series.atMs[at] = sample.atMs;
    series.volts[at] = sample.volts;
    series.amps[at] = sample.amps;
    series.setAmps[at] = sample.setAmps;
    series.ampHours[at] = sample.ampHours;
    series.thicknessMicrometres[at] = sample.thicknessMicrometres;
    series.lifecycle[at] = sample.lifecycle;
    this.#thin();
    this.changes += 1;
  }

  /** The last index at or before a time; -1 before the first point. */
  indexAt(atMs: number): number {
    let low = 0;
    let high = this.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((this.series.atMs[middle] ?? Infinity) <= atMs) {
        low = middle + 1;
      } else {
        high = middle;
      }
    }
    return low - 1;
  }

  /** A column at a time, on the line between its two neighbours. */
  valueAt(name: Column, atMs: number): number {
    const index = this.indexAt(atMs);
    const column = this.series[name];
    const here = column[Math.max(0, index)] ?? 0;
    const next = column[index + 1];
    const from = this.series.atMs[index];
    const to = this.series.atMs[index + 1];
    if (index < 0 || next === undefined || from === undefined || to === undefined || to <= from) {
      return here;
    }
    return here + ((next - here) * (atMs - from)) / (to - from);
  }

  /** The rings and gaps of the metal grown up to a time. */
  marks(untilMs: number): GrowthMarks {
    return growthMarks(this.series, untilMs);
  }

  /** Merges neighbours in pairs once the columns grow too long. */
  #thin(): void {
    while (this.length > mostPoints) {
      const { series } = this;
      // Counted from the end, so that the newest point stays.
      const odd = this.length % 2;
      const keep = (_: unknown, index: number): boolean => index % 2 !== odd;
      const pair = (column: number[], pick: (a: number, b: number) => number): number[] =>
        column.map((value, index) => pick(value, column[index - 1] ?? value)).filter(keep);
      series.minVolts = pair(series.minVolts, Math.min);
      series.minAmps = pair(series.minAmps, Math.min);
      series.maxVolts = pair(series.maxVolts, Math.max);
      series.maxAmps = pair(series.maxAmps, Math.max);
      for (const name of ['atMs', 'volts', 'amps', 'setAmps', 'ampHours'] as const) {
        series[name] = series[name].filter(keep);
      }
      series.thicknessMicrometres = series.thicknessMicrometres.filter(keep);
      series.lifecycle = series.lifecycle.filter(keep);
      this.#bucketMs = Math.max(this.#bucketMs * 2, (2 * this.endMs) / mostPoints);
    }
  }
}
