/** What a chart needs of a stretch of readings, folded up one reading at a time. */

/** Readings per summary, finest first. */
export const summarySpans = [60, 300] as const;
export const coarsestSpan = summarySpans[1];

/** One stretch: least, greatest and sum of what was measured, and the last of what only moves on. */
export interface Summary {
  count: number;
  fromMs: number;
  toMs: number;
  minVolts: number;
  maxVolts: number;
  sumVolts: number;
  minAmps: number;
  maxAmps: number;
  sumAmps: number;
  setAmps: number;
  ampHours: number;
  thicknessMicrometres: number;
  /** The file's code of the last reading's lifecycle. */
  lifecycle: number;
}

/** A stored reading without its wall time. */
export interface SummarisedReading {
  readonly atMs: number;
  readonly volts: number;
  readonly amps: number;
  readonly setAmps: number;
  readonly ampHours: number;
  readonly thicknessMicrometres: number;
  readonly lifecycle: number;
}

export function summaryOf(reading: SummarisedReading): Summary {
  const { atMs, volts, amps, setAmps, ampHours, thicknessMicrometres, lifecycle } = reading;
  return {
    count: 1,
    fromMs: atMs,
    toMs: atMs,
    minVolts: volts,
    maxVolts: volts,
    sumVolts: volts,
    minAmps: amps,
    maxAmps: amps,
    sumAmps: amps,
    setAmps,
    ampHours,
    thicknessMicrometres,
    lifecycle,
  };
}

/** Folds a later stretch into an earlier one, in place. */
export function fold(into: Summary, later: Readonly<Summary>): void {
  into.count += later.count;
  into.fromMs = Math.min(into.fromMs, later.fromMs);
  into.toMs = Math.max(into.toMs, later.toMs);
  into.minVolts = Math.min(into.minVolts, later.minVolts);
  into.maxVolts = Math.max(into.maxVolts, later.maxVolts);
  into.sumVolts += later.sumVolts;
  into.minAmps = Math.min(into.minAmps, later.minAmps);
  into.maxAmps = Math.max(into.maxAmps, later.maxAmps);
  into.sumAmps += later.sumAmps;
  into.setAmps = later.setAmps;
  into.ampHours = later.ampHours;
  into.thicknessMicrometres = later.thicknessMicrometres;
  into.lifecycle = later.lifecycle;
}

/** The columns of a summary in the order of `SummaryColumns`. */
export const summaryColumns =
  'count, from_ms, to_ms, min_volts, max_volts, sum_volts, min_amps, max_amps, sum_amps, ' +
  'set_amps, amp_hours, thickness_micrometres, lifecycle';

export type SummaryColumns = [
  count: number,
  fromMs: number,
  toMs: number,
  minVolts: number,
  maxVolts: number,
  sumVolts: number,
  minAmps: number,
  maxAmps: number,
  sumAmps: number,
  setAmps: number,
  ampHours: number,
  thicknessMicrometres: number,
  lifecycle: number,
];

export function toColumns(summary: Readonly<Summary>): SummaryColumns {
  return [
    summary.count,
    summary.fromMs,
    summary.toMs,
    summary.minVolts,
    summary.maxVolts,
    summary.sumVolts,
    summary.minAmps,
    summary.maxAmps,
    summary.sumAmps,
    summary.setAmps,
    summary.ampHours,
    summary.thicknessMicrometres,
    summary.lifecycle,
  ];
}

export function fromColumns(columns: SummaryColumns): Summary {
  const [count, fromMs, toMs, minVolts, maxVolts, sumVolts, minAmps, maxAmps, sumAmps] = columns;
  const [, , , , , , , , , setAmps, ampHours, thicknessMicrometres, lifecycle] = columns;
  return {
    count,
    fromMs,
    toMs,
    minVolts,
    maxVolts,
    sumVolts,
    minAmps,
    maxAmps,
    sumAmps,
    setAmps,
    ampHours,
    thicknessMicrometres,
    lifecycle,
  };
}
