/** Runs that were cut short: which ones wait for a decision, and that each is decided once. */

import { expect, test } from 'vitest';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { armedWallMs, aRun } from './a-run.ts';
import { openBenchFile, type BenchFile } from './bench-file.ts';

const cutShort: Partial<RunRecord> = {
  lifecycle: 'interrupted',
  startedWallMs: armedWallMs,
  outcome: { end: 'interrupted', reason: 'Cut short.', faultCode: null },
};

function waiting(bench: BenchFile): readonly string[] {
  return bench.records.interruptedRuns().map(({ run }) => run.id);
}

test('only started runs of metal that were interrupted wait, the newest first', () => {
  const bench = openBenchFile();
  const at = (hours: number) => ({ armedWallMs: armedWallMs + hours * 3_600_000 });
  bench.records.createRun(aRun('older', { ...cutShort, ...at(0) }));
  bench.records.createRun(aRun('newer', { ...cutShort, ...at(1) }));
  bench.records.createRun(aRun('a probe', { ...cutShort, kind: 'probe', id: 'probe' }));
  bench.records.createRun(aRun('never', { ...cutShort, startedWallMs: null }));
  bench.records.createRun(
    aRun('done', {
      lifecycle: 'finished',
      startedWallMs: armedWallMs,
      outcome: { end: 'reached', reason: 'Reached.', faultCode: null },
    }),
  );
  bench.records.createRun(aRun('running', { lifecycle: 'holding', startedWallMs: armedWallMs }));
  expect(waiting(bench)).toEqual(['newer', 'older']);
});

test('a run waits until one that carries it on has started, and the chain is told', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('a', cutShort));
  bench.records.createRun(aRun('b', { continues: 'a' }));
  // Armed alone decides nothing: it may be let go again.
  expect(waiting(bench)).toEqual(['a']);
  bench.records.patchRun('b', cutShort);
  expect(waiting(bench)).toEqual(['b']);
  bench.records.createRun(aRun('c', { ...cutShort, continues: 'b' }));
  expect(bench.records.interruptedRuns()).toMatchObject([
    { run: { id: 'c' }, earlier: ['b', 'a'] },
  ]);
});

test('a run is ended once, by an event, and waits no more', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('a', cutShort));
  const first = bench.records.endInterrupted('a', 'Ended here by a test.', armedWallMs + 1);
  expect(first).toMatchObject({
    kind: 'ended',
    event: { runId: 'a', tankId: 'beaker', code: 'endedHere', message: 'Ended here by a test.' },
  });
  expect(waiting(bench)).toEqual([]);
  const second = bench.records.endInterrupted('a', 'Ended by another.', armedWallMs + 2);
  expect(second).toEqual({ kind: 'endedAlready', message: 'Ended here by a test.' });
  expect(bench.db.prepare("SELECT count(*) FROM events WHERE run_id = 'a'").pluck().get()).toBe(1);
});

test('what is not interrupted, carried on already or unknown is not ended', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('a', cutShort));
  bench.records.createRun(aRun('b', { continues: 'a', lifecycle: 'holding' }));
  bench.records.patchRun('b', { startedWallMs: armedWallMs });
  expect(bench.records.endInterrupted('a', 'x', 1)).toEqual({ kind: 'carriedOn', byRunId: 'b' });
  expect(bench.records.endInterrupted('b', 'x', 1)).toEqual({ kind: 'notInterrupted' });
  expect(bench.records.endInterrupted('z', 'x', 1)).toEqual({ kind: 'unknown' });
  expect(bench.db.prepare('SELECT count(*) FROM events').pluck().get()).toBe(0);
});

test('one that cannot be read is left out with a notice', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('a', cutShort));
  bench.records.createRun(aRun('spoilt', cutShort));
  bench.db.prepare("UPDATE runs SET plan = '{}' WHERE id = 'spoilt'").run();
  expect(waiting(bench)).toEqual(['a']);
  expect(bench.notices.join(' ')).toContain('spoilt');
});

test('one whose clocks, or whose seen charge, are spoilt is there without them', () => {
  const bench = openBenchFile();
  const clocks = { bootId: 'first', awakeMs: 1, sinceBootMs: 2 };
  const chargeSeen = { atMs: 1, wallMs: 2, doubtAmpHours: 0, mostAmps: 1 };
  for (const id of ['a', 'torn', 'other'])
    bench.records.createRun(aRun(id, { ...cutShort, clocks, chargeSeen }));
  bench.db.prepare(`UPDATE runs SET clocks = '{"bootId' WHERE id = 'torn'`).run();
  bench.db.prepare(`UPDATE runs SET clocks = '{"bootId":1}' WHERE id = 'other'`).run();
  bench.db.prepare(`UPDATE runs SET charge_seen = '{}' WHERE id = 'other'`).run();
  expect(bench.records.run('a')).toMatchObject({ clocks, chargeSeen });
  expect(bench.records.run('torn')).toMatchObject({ id: 'torn', clocks: null, chargeSeen });
  expect(bench.records.run('other')).toMatchObject({
    id: 'other',
    clocks: null,
    chargeSeen: null,
  });
});
