/** Searching the log on a real file: what is found, in which order, and by which index. */

import Database from 'better-sqlite3';
import { describe, expect, onTestFinished, test } from 'vitest';
import { countOfFound, pageOfFound } from '../../daemon/store/log-search.ts';
import type { LogFilter, StoreReader } from '../../daemon/store/door.ts';
import { openStoreReader } from '../../daemon/store/reader.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { anAlarm, anEvent, armedWallMs, aRun } from './a-run.ts';
import { openBenchFile, ownFile } from './bench-file.ts';

const hourMs = 3_600_000;

interface Kept {
  readonly id: string;
  readonly piece?: string;
  readonly bath?: string;
  readonly change?: Partial<RunRecord>;
}

function logOf(kept: readonly Kept[]) {
  const bench = openBenchFile();
  for (const [index, { id, piece, bath, change }] of kept.entries()) {
    const { plan } = aRun(id);
    const { request } = plan;
    bench.records.createRun(
      aRun(id, {
        armedWallMs: armedWallMs + index * hourMs,
        ...change,
        plan: {
          ...plan,
          request: { ...request, piece: { ...request.piece, name: piece ?? request.piece.name } },
          bath: { ...plan.bath, name: bath ?? plan.bath.name },
        },
      }),
    );
  }
  const reader = openStoreReader(bench.file);
  onTestFinished(() => reader.close());
  return { bench, reader };
}

const idsOf = (reader: StoreReader, filter: Partial<LogFilter>): readonly string[] =>
  reader.searchLog({ skip: 0, limit: 100, ...filter }).runs.map(({ id }) => id);

const outcome = (end: 'reached' | 'stopped' | 'tripped' | 'interrupted') => ({
  outcome: { end, reason: 'Over.', faultCode: null },
});

describe('a search finds', () => {
  test('pieces by words of their names, in any order, whatever their case and accents', () => {
    const { reader } = logOf([
      { id: 'twig', piece: 'Larch twig, second try' },
      { id: 'ear', piece: 'Épi de blé' },
      { id: 'odd', piece: '100 % leaf_1 \\ "x"' },
    ]);
    expect(idsOf(reader, { piece: 'TWIG larch' })).toEqual(['twig']);
    expect(idsOf(reader, { piece: ' epi  ble ' })).toEqual(['ear']);
    expect(idsOf(reader, { piece: 'larch oak' })).toEqual([]);
    // Signs that mean something to other searches mean themselves here.
    expect(idsOf(reader, { piece: '%' })).toEqual(['odd']);
    expect(idsOf(reader, { piece: '_1 \\' })).toEqual(['odd']);
    expect(idsOf(reader, { piece: `' OR 1=1 --` })).toEqual([]);
    expect(idsOf(reader, { piece: '   ' })).toHaveLength(3);
  });

  test('baths by their whole names, and lists all there are', () => {
    const { reader } = logOf([
      { id: 'one', bath: 'Still copper' },
      { id: 'two', bath: 'Watts nickel' },
      { id: 'three', bath: 'Still copper' },
    ]);
    expect(idsOf(reader, { bath: 'Still copper' })).toEqual(['three', 'one']);
    expect(idsOf(reader, { bath: 'Still' })).toEqual([]);
    const { baths } = reader.searchLog({ bath: 'Still', skip: 0, limit: 1 });
    expect(baths).toEqual(['Still copper', 'Watts nickel']);
  });

  test('results; a probe is no run that reached its target', () => {
    const { reader } = logOf([
      { id: 'done', change: outcome('reached') },
      { id: 'hand', change: outcome('stopped') },
      { id: 'trip', change: outcome('tripped') },
      { id: 'cut', change: outcome('interrupted') },
      { id: 'on' },
      { id: 'check', change: { kind: 'probe', ...outcome('reached') } },
    ]);
    expect(idsOf(reader, { result: 'reached' })).toEqual(['done']);
    expect(idsOf(reader, { result: 'stopped' })).toEqual(['hand']);
    expect(idsOf(reader, { result: 'tripped' })).toEqual(['trip']);
    expect(idsOf(reader, { result: 'interrupted' })).toEqual(['cut']);
    expect(idsOf(reader, { result: 'running' })).toEqual(['on']);
    expect(idsOf(reader, { result: 'probe' })).toEqual(['check']);
  });

  test('every run that was on in a stretch of time, also one that began before it', () => {
    const { reader } = logOf([
      { id: 'night', change: { endedWallMs: armedWallMs + 9 * hourMs, ...outcome('reached') } },
      { id: 'short', change: { endedWallMs: armedWallMs + 2 * hourMs, ...outcome('reached') } },
      { id: 'open' },
    ]);
    const at = (from: number, to: number) =>
      idsOf(reader, {
        fromWallMs: armedWallMs + from * hourMs,
        toWallMs: armedWallMs + to * hourMs,
      });
    expect(at(8, 10)).toEqual(['open', 'night']);
    expect(at(-5, 0)).toEqual([]);
    // The end of the stretch is not part of it.
    expect(at(-5, 1)).toEqual(['night']);
    expect(at(1.5, 1.6)).toEqual(['short', 'night']);
    expect(at(10, 11)).toEqual(['open']);
  });

  test('pages that together are the whole, also where runs were armed at one moment', () => {
    const same = { armedWallMs };
    const { reader } = logOf(
      Array.from({ length: 7 }, (_, index) => ({ id: `run-${index}`, change: same })),
    );
    const pages = [0, 3, 6].map((skip) => reader.searchLog({ skip, limit: 3 }));
    expect(pages.map(({ total }) => total)).toEqual([7, 7, 7]);
    expect(pages.flatMap(({ runs }) => runs.map(({ id }) => id))).toEqual(
      [6, 5, 4, 3, 2, 1, 0].map((index) => `run-${index}`),
    );
    expect(reader.searchLog({ skip: 9, limit: 3 })).toMatchObject({ total: 7, runs: [] });
  });

  test('nothing in a file that is not there', () => {
    const reader = openStoreReader(ownFile());
    onTestFinished(() => reader.close());
    expect(reader.searchLog({ skip: 0, limit: 5 })).toEqual({
      total: 0,
      skip: 0,
      runs: [],
      baths: [],
    });
    expect(reader.alarmsOf('none')).toEqual([]);
  });
});

test('what is out of bounds is refused by name, value and bound', () => {
  const { reader } = logOf([]);
  const asked = (filter: Partial<LogFilter>) => () =>
    reader.searchLog({ skip: 0, limit: 5, ...filter });
  expect(asked({ limit: 101 })).toThrow('limit is 101; it must be a whole number from 1 to 100.');
  expect(asked({ skip: -1 })).toThrow('skip is -1; it must be a whole number from 0 to 1000000.');
  expect(asked({ fromWallMs: Number.NaN })).toThrow('fromWallMs is NaN');
  expect(asked({ fromWallMs: 5, toWallMs: 5 })).toThrow(
    'toWallMs is 5; it must be later than fromWallMs, which is 5.',
  );
  expect(asked({ piece: 'x'.repeat(81) })).toThrow('with 81 letters; at most 80.');
});

test('a search reads one index and no plan', () => {
  const { bench } = logOf([]);
  const db = new Database(bench.file, { readonly: true });
  onTestFinished(() => void db.close());
  db.function('names_piece', (name, wanted) => Number(name === wanted));
  const names = ['from', 'before', 'result', 'bath', 'tank', 'piece', 'limit', 'skip'];
  const none = Object.fromEntries(names.map((name) => [name, null]));
  const stepsOf = (sql: string): readonly string[] =>
    db
      .prepare<[object], { detail: string }>(`EXPLAIN QUERY PLAN ${sql}`)
      .all(none)
      .map(({ detail }) => detail);
  expect(stepsOf(countOfFound)).toEqual([
    expect.stringMatching(/^SEARCH runs USING COVERING INDEX runs_for_search/),
  ]);
  const steps = stepsOf(pageOfFound);
  expect(steps).toContainEqual(
    expect.stringMatching(/^SEARCH runs USING COVERING INDEX runs_for_search/),
  );
  // Only the rows of one page are sorted, never all that were found.
  expect(steps.filter((step) => step.startsWith('SCAN'))).toEqual([]);
});

test('alarms of a run come oldest first, and none of another', () => {
  const { bench, reader } = logOf([{ id: 'one' }, { id: 'two' }]);
  const first = bench.records.raiseAlarm(anEvent('one'), anAlarm('one'));
  bench.records.raiseAlarm(anEvent('two'), anAlarm('two'));
  const later = bench.records.raiseAlarm(anEvent('one'), anAlarm('one'));
  expect(reader.alarmsOf('one')).toEqual([first.alarm, later.alarm]);
  expect(reader.alarmsOf('none')).toEqual([]);
});
