/** Readings as they are stored, paged and folded into the columns of a chart. */

import * as fc from 'fast-check';
import { describe, expect, onTestFinished, test } from 'vitest';
import { lifecycles } from '../../daemon/run/model.ts';
import type { StoreError } from '../../daemon/store/errors.ts';
import { openStoreReader } from '../../daemon/store/reader.ts';
import { BatchPacker } from '../../daemon/store/readings-batch.ts';
import { ReadingsWriter } from '../../daemon/store/readings-writer.ts';
import { readingRowSchema, seriesSchema, type ReadingRow } from '../../daemon/wire/run.ts';
import { aReading, aRun, readings } from './a-run.ts';
import { openBenchFile } from './bench-file.ts';

const figure = fc.double({ noNaN: true, noDefaultInfinity: true });

const anyReading = fc.record({
  stepMs: fc.oneof(fc.constant(250), fc.double({ min: 0.001, max: 5000, noNaN: true })),
  volts: figure,
  amps: figure,
  setAmps: figure,
  ampHours: figure,
  thicknessMicrometres: figure,
  lifecycle: fc.constantFrom(...lifecycles),
});

/** Up to a few thousand readings with rising times: long enough for both kinds of summary. */
const anyReadings: fc.Arbitrary<ReadingRow[]> = fc
  .tuple(fc.array(anyReading, { minLength: 1, maxLength: 40 }), fc.integer({ min: 1, max: 50 }))
  .map(([few, times]) => {
    let atMs = 0;
    return Array.from({ length: few.length * times }, (_, index) => {
      const { stepMs, ...rest } = few[(index * 7) % few.length] ?? few[0]!;
      atMs += stepMs;
      return { atMs, wallMs: 1.7e12 + atMs, ...rest };
    });
  });

function benchWithReader() {
  const bench = openBenchFile();
  const reader = openStoreReader(bench.file);
  onTestFinished(() => reader.close());
  let runs = 0;
  const aNewRun = () => {
    runs += 1;
    const id = `run-${runs}`;
    bench.records.createRun(aRun(id));
    return id;
  };
  return { bench, reader, aNewRun };
}

const greatest = (values: readonly number[]) => values.reduce((a, b) => Math.max(a, b), -Infinity);
const least = (values: readonly number[]) => values.reduce((a, b) => Math.min(a, b), Infinity);

describe('storing and paging', () => {
  test('every reading reads back exactly, whatever the batches', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const cuts = fc.array(fc.integer({ min: 1, max: 400 }), { minLength: 1, maxLength: 6 });
    fc.assert(
      fc.property(anyReadings, cuts, (rows, sizes) => {
        const id = aNewRun();
        for (let at = 0, n = 0; at < rows.length; n += 1) {
          const size = n > 20 ? rows.length : (sizes[n % sizes.length] ?? 1);
          bench.append(id, rows.slice(at, at + size));
          at += size;
        }
        expect([...reader.allReadings(id)].flat()).toEqual(rows.map(withoutNegativeZero));
      }),
      { numRuns: 25 },
    );
  });

  test('a page holds the readings from its time on, in order, up to its limit', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const id = aNewRun();
    const rows = readings(1500);
    bench.append(id, rows);
    const bounds = fc.tuple(
      fc.integer({ min: -1000, max: 400_000 }),
      fc.integer({ min: 1, max: 2000 }),
    );
    fc.assert(
      fc.property(bounds, ([fromMs, limit]) => {
        const wanted = rows.filter(({ atMs }) => atMs >= fromMs).slice(0, limit);
        expect(reader.readings(id, fromMs, limit)).toEqual(wanted);
      }),
      { numRuns: 60 },
    );
  });

  test('readings of several runs in one batch stay apart', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const [one, two] = [aNewRun(), aNewRun()];
    const packer = new BatchPacker();
    for (let index = 0; index < 700; index += 1) {
      packer.add(index % 3 === 0 ? two : one, aReading(index));
    }
    new ReadingsWriter(bench.db).append([packer.take()]);
    const stored = [one, two].map((id) => [...reader.allReadings(id)].flat());
    const all = readings(700);
    expect(stored[0]).toEqual(all.filter((_, index) => index % 3 !== 0));
    expect(stored[1]).toEqual(all.filter((_, index) => index % 3 === 0));
  });

  test('readings of an unknown run are left out and named; the others are stored', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const id = aNewRun();
    const packer = new BatchPacker();
    packer.add('nobody', aReading(0));
    packer.add(id, aReading(1));
    const { unknownRunIds, rows } = new ReadingsWriter(bench.db).append([packer.take()]);
    expect(unknownRunIds).toEqual(['nobody']);
    expect(rows).toBe(2);
    expect([...reader.allReadings(id)].flat()).toEqual([aReading(1)]);
  });

  test('a writer that comes later goes on where the last one ended', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const id = aNewRun();
    for (const [first, count] of [
      [0, 59],
      [59, 1],
      [60, 130],
      [190, 200],
    ] as const) {
      const packer = new BatchPacker();
      for (const row of readings(count, first)) packer.add(id, row);
      new ReadingsWriter(bench.db).append([packer.take()]);
    }
    expect([...reader.allReadings(id)].flat()).toEqual(readings(390));
    expectTrueSummaries(bench.db);
  });

  test('the newest reading is the last one stored, and null where there is none', () => {
    const { bench, aNewRun } = benchWithReader();
    const id = aNewRun();
    expect(bench.records.lastReading(id)).toBeNull();
    expect(bench.records.lastReading('nobody')).toBeNull();
    bench.append(id, readings(61));
    aNewRun();
    expect(bench.records.lastReading(id)).toEqual(aReading(60));
  });

  test('a figure that is not finite is refused by name', () => {
    const packer = new BatchPacker();
    expect(packer.add('r', aReading(0, { amps: Number.NaN }))).toContain('amps is NaN');
    expect(packer.add('r', aReading(0, { ampHours: Infinity }))).toContain('ampHours is Infinity');
    expect(packer.count).toBe(0);
  });

  test('packed readings keep every digit while the packer grows', () => {
    const packer = new BatchPacker(2);
    for (let index = 0; index < 100; index += 1) packer.add('r', aReading(index));
    const { figures, runIds } = packer.take();
    expect(runIds).toEqual(['r']);
    expect(figures).toHaveLength(900);
    const last = aReading(99);
    expect(Array.from(figures.slice(-9))).toEqual([
      0,
      last.atMs,
      last.wallMs,
      last.volts,
      last.amps,
      last.setAmps,
      last.ampHours,
      last.thicknessMicrometres,
      lifecycles.indexOf('holding'),
    ]);
    expect(packer.count).toBe(0);
  });
});

/** What SQL itself says of the rows, against what was kept beside them. */
function expectTrueSummaries(db: ReturnType<typeof openBenchFile>['db']): void {
  for (const span of [60, 300]) {
    const wanted = db
      .prepare(
        `SELECT key / 4294967296 AS run, (key % 4294967296) / ${span} AS position,
           count(*) AS count, min(at_ms) AS from_ms, max(at_ms) AS to_ms,
           min(volts) AS min_volts, max(volts) AS max_volts,
           min(amps) AS min_amps, max(amps) AS max_amps
         FROM readings GROUP BY 1, 2 ORDER BY 1, 2`,
      )
      .all();
    const kept = db
      .prepare(
        `SELECT run, position, count, from_ms, to_ms, min_volts, max_volts, min_amps, max_amps
         FROM summaries WHERE span = ${span} ORDER BY run, position`,
      )
      .all();
    expect(wanted.length).toBeGreaterThan(0);
    expect(kept).toEqual(wanted);
  }
}

/** SQLite keeps no sign of a zero. */
function withoutNegativeZero(row: ReadingRow): ReadingRow {
  return readingRowSchema.parse(
    Object.fromEntries(Object.entries(row).map(([name, value]) => [name, value === 0 ? 0 : value])),
  );
}

describe('series', () => {
  test('no spike vanishes, times rise, and the last figures are the last ones measured', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const buckets = fc.oneof(fc.integer({ min: 1, max: 60 }), fc.integer({ min: 1, max: 5000 }));
    fc.assert(
      fc.property(anyReadings, buckets, (rows, count) => {
        const id = aNewRun();
        bench.append(id, rows);
        const series = seriesSchema.parse(reader.series(id, count));
        expect(series.atMs.length).toBeLessThanOrEqual(count);
        expect(greatest(series.maxAmps) === greatest(rows.map(({ amps }) => amps))).toBe(true);
        expect(least(series.minAmps) === least(rows.map(({ amps }) => amps))).toBe(true);
        expect(greatest(series.maxVolts) === greatest(rows.map(({ volts }) => volts))).toBe(true);
        expect(least(series.minVolts) === least(rows.map(({ volts }) => volts))).toBe(true);
        series.atMs.forEach((atMs, index) => {
          expect(atMs).toBeGreaterThan(series.atMs[index - 1] ?? -1);
        });
        const last = withoutNegativeZero(rows.at(-1)!);
        expect(series.atMs.at(-1)).toBe(last.atMs);
        expect(series.ampHours.at(-1)).toBe(last.ampHours);
        expect(series.thicknessMicrometres.at(-1)).toBe(last.thicknessMicrometres);
        expect(series.setAmps.at(-1)).toBe(last.setAmps);
        expect(series.lifecycle.at(-1)).toBe(last.lifecycle);
      }),
      { numRuns: 60 },
    );
    expectTrueSummaries(bench.db);
  });

  test('each bucket holds exactly the readings up to its end', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    for (const [length, buckets] of [
      [4000, 20],
      [4000, 100],
      [1000, 300],
      [500, 499],
    ] as const) {
      const id = aNewRun();
      const rows = readings(length).map((row, index) => ({ ...row, amps: Math.sin(index) }));
      bench.append(id, rows);
      const series = reader.series(id, buckets);
      expect(series).not.toBeNull();
      expect(series!.atMs.length).toBeGreaterThanOrEqual(buckets / 2);
      series!.atMs.forEach((endMs, index) => {
        const startMs = series!.atMs[index - 1] ?? -1;
        const own = rows.filter(({ atMs }) => atMs > startMs && atMs <= endMs);
        const amps = own.map((row) => row.amps);
        expect(series!.maxAmps[index]).toBe(greatest(amps));
        expect(series!.minAmps[index]).toBe(least(amps));
        const mean = amps.reduce((a, b) => a + b, 0) / amps.length;
        expect(series!.amps[index]).toBeCloseTo(mean, 12);
        expect(series!.lifecycle[index]).toBe(own.at(-1)?.lifecycle);
      });
    }
  });

  test('fewer readings than buckets come back one by one', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const id = aNewRun();
    const rows = readings(50);
    bench.append(id, rows);
    const series = reader.series(id, 2000);
    expect(series?.atMs).toEqual(rows.map(({ atMs }) => atMs));
    expect(series?.amps).toEqual(rows.map(({ amps }) => amps));
    expect(series?.minVolts).toEqual(rows.map(({ volts }) => volts));
  });

  test('readings with the same time, or an earlier one, fold into the bucket before', () => {
    const { bench, reader, aNewRun } = benchWithReader();
    const id = aNewRun();
    bench.append(id, [
      aReading(0, { atMs: 0, amps: 1 }),
      aReading(1, { atMs: 0, amps: 9 }),
      aReading(2, { atMs: 500, amps: 2 }),
      aReading(3, { atMs: 250, amps: 7 }),
      aReading(4, { atMs: 750, amps: 3 }),
    ]);
    const series = reader.series(id, 100);
    expect(series?.atMs).toEqual([0, 500, 750]);
    expect(series?.maxAmps).toEqual([9, 7, 3]);
  });

  test('a run without readings has an empty series, and an unknown run none', () => {
    const { reader, aNewRun } = benchWithReader();
    expect(reader.series(aNewRun(), 100)?.atMs).toEqual([]);
    expect(reader.series('nobody', 100)).toBeNull();
  });

  test.each([0, -1, 5001, 1.5, Number.NaN])('%s buckets are refused with the bounds', (buckets) => {
    const { reader, aNewRun } = benchWithReader();
    const id = aNewRun();
    const wanted: Partial<StoreError> = {
      kind: 'invalid',
      message: `buckets is ${buckets}; it must be a whole number from 1 to 5000.`,
    };
    expect(() => reader.series(id, buckets)).toThrow(expect.objectContaining(wanted));
  });
});
