/** A run as CSV and JSON: what was stored is what is read back, and no cell becomes a formula. */

import * as fc from 'fast-check';
import { describe, expect, onTestFinished, test } from 'vitest';
import {
  csvLine,
  csvLines,
  eventCsvLines,
  sensorCsvLines,
  runDocument,
  unguarded,
  type Cell,
} from '../../daemon/store/exports.ts';
import { SensorWriter } from '../../daemon/store/sensor-writer.ts';
import { openStoreReader } from '../../daemon/store/reader.ts';
import { aRun, anAlarm, anEvent, readings } from './a-run.ts';
import { openBenchFile } from './bench-file.ts';
import { parseCsv } from './csv.ts';

const nasty = fc.oneof(
  fc.string(),
  fc.string({
    unit: fc.constantFrom('=', '+', '-', '@', "'", '"', ',', '\r', '\n', '\t', ' ', 'a'),
  }),
);
const anyCell: fc.Arbitrary<Cell> = fc.oneof(
  nasty,
  fc.double({ noNaN: true, noDefaultInfinity: true }),
);

describe('CSV lines', () => {
  test('texts and numbers read back as they were', () => {
    fc.assert(
      fc.property(fc.array(anyCell, { minLength: 1, maxLength: 8 }), (cells) => {
        const parsed = parseCsv(csvLine(cells));
        expect(parsed).toHaveLength(1);
        expect(parsed[0]).toHaveLength(cells.length);
        cells.forEach((cell, index) => {
          const text = parsed[0]?.[index]?.text ?? '';
          if (typeof cell === 'number') expect(Number(text) === cell).toBe(true);
          else expect(unguarded(text)).toBe(cell);
        });
      }),
      { numRuns: 300 },
    );
  });

  test('no text cell begins with what a spreadsheet takes for a formula', () => {
    fc.assert(
      fc.property(fc.array(nasty, { minLength: 1, maxLength: 4 }), (cells) => {
        for (const { text } of parseCsv(csvLine(cells))[0] ?? []) {
          expect(text).not.toMatch(/^[=+\-@\t\r]/);
        }
      }),
      { numRuns: 300 },
    );
  });

  test('guarded cells are quoted, and a negative number stays a number', () => {
    expect(csvLine(['=1+1', -0.25, '@x', 'plain', null, 1e-7])).toBe(
      `"'=1+1",-0.25,"'@x",plain,,1e-7\r\n`,
    );
    expect(csvLine(['a "b", c', 'two\nlines'])).toBe('"a ""b"", c","two\nlines"\r\n');
  });
});

function storedRun() {
  const bench = openBenchFile();
  const reader = openStoreReader(bench.file);
  onTestFinished(() => reader.close());
  const run = aRun('night-1');
  bench.records.createRun(run);
  // More than two pages, so that the seams are crossed.
  const rows = readings(2300);
  bench.append('night-1', rows);
  const events = [
    bench.records.appendEvent(
      anEvent('night-1', { message: '=HYPERLINK("x"), "quoted"\r\nand on' }),
    ),
    bench.records.appendEvent(anEvent('night-1', { atMs: null, message: '-0.2 V measured' })),
  ];
  return { reader, run, rows, events };
}

describe('a run as CSV', () => {
  test('has a header with units and every reading without loss', () => {
    const { reader, rows } = storedRun();
    const [header, ...records] = parseCsv([...csvLines(reader, 'night-1')].join(''));
    expect(header?.map(({ text }) => text)).toEqual([
      'elapsed_ms',
      'wall_ms_since_1970',
      'time_utc',
      'voltage_volts',
      'current_amps',
      'set_current_amps',
      'charge_amp_hours',
      'thickness_micrometres',
      'state',
    ]);
    const back = records.map((cells) => {
      const [atMs, wallMs, , volts, amps, setAmps, ampHours, thickness] = cells.map(({ text }) =>
        Number(text),
      );
      const lifecycle = cells[8]?.text;
      return {
        atMs,
        wallMs,
        volts,
        amps,
        setAmps,
        ampHours,
        thicknessMicrometres: thickness,
        lifecycle,
      };
    });
    expect(back).toEqual(rows);
    expect(records[4]?.[2]?.text).toBe('2026-01-10T21:00:01.000Z');
  });

  test('has its events, with the dangerous ones defused', () => {
    const { reader, events } = storedRun();
    const [, ...records] = parseCsv([...eventCsvLines(reader, 'night-1')].join(''));
    expect(records.map((cells) => unguarded(cells.at(-1)?.text ?? ''))).toEqual(
      events.map(({ message }) => message),
    );
    expect(records.every((cells) => cells.at(-1)?.text.startsWith("'"))).toBe(true);
    expect(records[1]?.[1]?.text).toBe('');
  });

  test('comes line by line, not at once', () => {
    const { reader } = storedRun();
    const lines = csvLines(reader, 'night-1');
    expect(lines.next().value).toMatch(/^elapsed_ms,.*\r\n$/);
    expect(lines.next().value).toMatch(/^0,1768078800000,/);
  });

  test('of an unknown run is refused before the first line', () => {
    const { reader } = storedRun();
    for (const make of [csvLines, eventCsvLines, runDocument]) {
      expect(() => make(reader, 'nobody')).toThrow('There is no run nobody in the log.');
    }
  });
});

describe('a run as JSON', () => {
  test('is one object with the run, its events and its readings', () => {
    const { reader, run, rows, events } = storedRun();
    const pieces = [...runDocument(reader, 'night-1')];
    expect(pieces.length).toBeGreaterThan(3);
    const document: unknown = JSON.parse(pieces.join(''));
    expect(document).toEqual({
      document: { kind: 'nightbath-run', version: 1 },
      run,
      events,
      readings: rows,
    });
  });

  test('without readings or events is valid too', () => {
    const bench = openBenchFile();
    const reader = openStoreReader(bench.file);
    onTestFinished(() => reader.close());
    const run = aRun('short');
    bench.records.createRun(run);
    const document: unknown = JSON.parse([...runDocument(reader, 'short')].join(''));
    expect(document).toMatchObject({ run, events: [], readings: [] });
  });
});

test('alarms of the run are a part of the document, with cause and remedy', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('loud'));
  bench.records.createRun(aRun('other'));
  const { event, alarm } = bench.records.raiseAlarm(anEvent('loud'), anAlarm('loud'));
  bench.records.raiseAlarm(anEvent('other'), anAlarm('other'));
  const reader = openStoreReader(bench.file);
  onTestFinished(() => reader.close());
  const document: unknown = JSON.parse([...runDocument(reader, 'loud')].join(''));
  expect(document).toMatchObject({ events: [event], alarms: [alarm] });
  expect(alarm.remedy).not.toBe('');
});

describe('what sensors said', () => {
  test('is a CSV of its own and a part of the document, where there were any', () => {
    const bench = openBenchFile();
    const run = aRun('warm');
    bench.records.createRun(run);
    const sensors = new SensorWriter(bench.db);
    const about = { id: 'bath', name: 'Bath "one"', kind: 'temperature', unit: '°C' } as const;
    sensors.appendSensor(run.id, { ...about, atMs: 0, value: 21.5 });
    sensors.appendSensor(run.id, { ...about, atMs: 5_000, value: 21.75 });
    sensors.appendSensor('no such run', { ...about, atMs: 0, value: 1 });
    const reader = openStoreReader(bench.file);
    onTestFinished(() => reader.close());
    const [head, ...rows] = parseCsv([...sensorCsvLines(reader, run.id)].join(''));
    expect(head?.map(({ text }) => text)).toEqual([
      'elapsed_ms',
      'sensor',
      'name',
      'value',
      'unit',
    ]);
    expect(rows.map((row) => row.map(({ text }) => text))).toEqual([
      ['0', 'bath', 'Bath "one"', '21.5', '°C'],
      ['5000', 'bath', 'Bath "one"', '21.75', '°C'],
    ]);
    const document: unknown = JSON.parse([...runDocument(reader, run.id)].join(''));
    expect(document).toMatchObject({
      sensors: [{ ...about, atMs: [0, 5_000], values: [21.5, 21.75] }],
    });
  });
});
