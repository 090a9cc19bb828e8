/** The thumbnails of a run as data: what has grown, by the hour, and its curves in a few points. */

import { growthMarks, withPlanRange } from '../run/growth-marks.ts';
import { sectionOf } from '../piece/section.ts';
import type { StoreReader } from '../store/door.ts';
import type { Portrait } from '../wire/log.ts';
import type { Alarm, RunRecord, Series } from '../wire/run.ts';

/** Buckets that marks are read from: a lift of two minutes in a day still shows. */
const markBuckets = 900;
/** Points of a thumbnail's curve. */
export const curvePoints = 64;

/** Indices of so many moments, spread evenly over the time of the run, its last one among them. */
export function spread(atMs: readonly number[], points: number): readonly number[] {
  const last = atMs.length - 1;
  if (last < points) return atMs.map((_, index) => index);
  const from = atMs[0] ?? 0;
  const step = ((atMs[last] ?? 0) - from) / (points - 1);
  const indices: number[] = [];
  for (let index = 0; index < last && indices.length < points - 1; index += 1) {
    if ((atMs[index] ?? 0) >= from + step * indices.length) indices.push(index);
  }
  return [...indices, last];
}

/** The value of a column at a time, that of the last moment before it. */
function valueAt(series: Series, column: readonly number[], atMs: number): number {
  const after = series.atMs.findIndex((at) => at > atMs);
  const index = after === -1 ? column.length - 1 : Math.max(0, after - 1);
  return column[index] ?? 0;
}

export function portraitOf(run: RunRecord, series: Series, alarms: readonly Alarm[]): Portrait {
  const { plan, startedWallMs } = run;
  const grown = series.thicknessMicrometres;
  const times = alarms.map(({ wallMs }) => wallMs - (startedWallMs ?? wallMs));
  const kept = spread(series.atMs, curvePoints);
  const pick = (column: readonly number[]): number[] => kept.map((index) => column[index] ?? 0);
  const marks = growthMarks(series, Infinity);
  return {
    runId: run.id,
    rings: {
      section: sectionOf(plan.request.piece, plan.decidingPart),
      grown: withPlanRange(run.thicknessMicrometres, plan.thicknessMicrometres),
      targetMicrometres: plan.thicknessMicrometres.value,
      hours: [...marks.hours],
      lifts: [...marks.lifts],
      alarms: times.map((atMs) => valueAt(series, grown, atMs)),
    },
    atMs: pick(series.atMs),
    amps: pick(series.amps),
    thicknessMicrometres: pick(grown),
  };
}

/** Reads what a portrait is made of; a run that never started has no curve. */
export function readPortrait(reader: StoreReader, run: RunRecord): Portrait {
  const none: Series = {
    runId: run.id,
    atMs: [],
    volts: [],
    minVolts: [],
    maxVolts: [],
    amps: [],
    minAmps: [],
    maxAmps: [],
    setAmps: [],
    ampHours: [],
    thicknessMicrometres: [],
    lifecycle: [],
  };
  return portraitOf(run, reader.series(run.id, markBuckets) ?? none, reader.alarmsOf(run.id));
}
