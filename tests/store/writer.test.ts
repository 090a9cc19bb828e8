/** The writer on its own thread, over real files: durable, batched, in order, and clear when it fails. */

import Database from 'better-sqlite3';
import { existsSync } from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { openStoreReader, openStoreWriter, StoreError } from '../../daemon/store/door.ts';
import type { StoreWriterOptions } from '../../daemon/store/writer.ts';
import { aReading, aRun, anAlarm, anEvent, readings } from './a-run.ts';
import { ownFile } from './bench-file.ts';

async function open(options: Partial<StoreWriterOptions> = {}) {
  const file = options.file ?? ownFile();
  const notices: string[] = [];
  const failures: string[] = [];
  const writer = await openStoreWriter({
    file,
    onNotice: (sentence) => notices.push(sentence),
    ...options,
  });
  writer.onFailure((reason) => failures.push(reason));
  const reader = openStoreReader(file);
  onTestFinished(async () => {
    reader.close();
    // Where a test breaks the file on purpose, closing fails too.
    await writer.close().catch(() => undefined);
  });
  return { writer, reader, file, notices, failures };
}

/** A connection that knows nothing of ours; it sees commits only. */
function stranger(file: string, options: Database.Options = { readonly: true }) {
  const db = new Database(file, options);
  onTestFinished(() => void db.close());
  return { db, dataVersion: () => Number(db.pragma('data_version', { simple: true })) };
}

async function errorOf(promise: Promise<unknown>): Promise<StoreError> {
  const error: unknown = await promise.then(
    () => new Error('expected a refusal'),
    (reason: unknown) => reason,
  );
  if (error instanceof StoreError) return error;
  throw error;
}

describe('records', () => {
  test('a run is committed when createRun resolves, and reads back as it was', async () => {
    const { writer, file } = await open();
    const run = aRun('night-1');
    await writer.createRun(run);
    const { db } = stranger(file);
    expect(db.prepare('SELECT id FROM runs').pluck().all()).toEqual(['night-1']);
    expect(await writer.run('night-1')).toEqual(run);
    expect(await writer.run('nobody')).toBeNull();
  });

  test('a patch changes what it names and nothing else', async () => {
    const { writer, reader } = await open();
    const run = aRun('night-1');
    await writer.createRun(run);
    const clocks = { bootId: '8a6e', awakeMs: 4_000.25, sinceBootMs: 9_000 };
    const chargeSeen = { atMs: 3.5, wallMs: 8.5, doubtAmpHours: 0.1, mostAmps: 2.25 };
    await writer.patchRun('night-1', { lifecycle: 'striking', startedWallMs: 5, clocks });
    await writer.patchRun('night-1', {
      lifecycle: 'finished',
      offConfirmed: true,
      endedWallMs: 9,
      outcome: { end: 'reached', reason: 'The target was reached.', faultCode: null },
      ampHours: 2.5,
      lowAmpHours: 2.4,
      highAmpHours: 2.6,
      chargeSeen,
      thicknessMicrometres: 120.25,
    });
    expect(reader.run('night-1')).toEqual({
      ...run,
      startedWallMs: 5,
      clocks,
      endedWallMs: 9,
      lifecycle: 'finished',
      offConfirmed: true,
      outcome: { end: 'reached', reason: 'The target was reached.', faultCode: null },
      ampHours: 2.5,
      lowAmpHours: 2.4,
      highAmpHours: 2.6,
      chargeSeen,
      thicknessMicrometres: 120.25,
    });
  });

  test('an outcome is written once; the same again is harmless, another is refused', async () => {
    const { writer, failures } = await open();
    await writer.createRun(aRun('night-1'));
    const outcome = { end: 'stopped', reason: 'By hand.', faultCode: null } as const;
    await writer.patchRun('night-1', { lifecycle: 'stopped', outcome });
    await writer.patchRun('night-1', { outcome, ampHours: 1 });
    const error = await errorOf(
      writer.patchRun('night-1', { outcome: { ...outcome, end: 'reached' } }),
    );
    expect(error.kind).toBe('invalid');
    expect(error.message).toContain('stopped: By hand.');
    expect((await errorOf(writer.patchRun('night-1', { outcome: null }))).kind).toBe('invalid');
    expect((await writer.run('night-1'))?.outcome).toEqual(outcome);
    expect(failures).toEqual([]);
  });

  test('runs that have not ended or whose OFF was not read back are found again by the next writer', async () => {
    const file = ownFile();
    const first = await openStoreWriter({ file });
    await first.createRun(aRun('armed'));
    await first.createRun(aRun('holding', { lifecycle: 'holding' }));
    const outcome = { end: 'reached', reason: 'There.', faultCode: null } as const;
    for (const id of ['done', 'owing']) {
      await first.createRun(aRun(id));
      await first.patchRun(id, { lifecycle: 'finished', outcome });
    }
    await first.patchRun('done', { offConfirmed: true });
    await first.close();
    const { writer } = await open({ file });
    expect((await writer.unsettledRuns()).map(({ id }) => id)).toEqual([
      'armed',
      'holding',
      'owing',
    ]);
    await writer.patchRun('owing', { offConfirmed: true });
    expect(await writer.unsettledRuns()).toHaveLength(2);
  });

  test('a run is carried on once: by the first that was started for it', async () => {
    const { writer } = await open();
    await writer.createRun(aRun('first'));
    await writer.createRun(aRun('let-go', { continues: 'first' }));
    expect(await writer.continuedBy('first')).toBeNull();
    await writer.createRun(aRun('next', { continues: 'first' }));
    await writer.patchRun('next', { startedWallMs: 7 });
    expect(await writer.continuedBy('first')).toBe('next');
    expect(await writer.continuedBy('next')).toBeNull();
  });

  test('an alarm and its event are one commit, and none of them where one is refused', async () => {
    const { writer, reader, file } = await open();
    await writer.createRun(aRun('night-1'));
    const { dataVersion, db } = stranger(file);
    const before = dataVersion();
    const raised = await writer.raiseAlarm(anEvent('night-1'), anAlarm('night-1'));
    expect(dataVersion()).toBe(before + 1);
    expect(reader.events('night-1')).toEqual([raised.event]);
    expect(reader.alarms(5)).toEqual([raised.alarm]);

    const error = await errorOf(writer.raiseAlarm(anEvent('night-1'), anAlarm('nobody')));
    expect(error.message).toContain('no run nobody');
    expect(db.prepare('SELECT count(*) FROM events').pluck().get()).toBe(1);
  });

  test('an alarm stands until it is acknowledged, and the first acknowledgement counts', async () => {
    const { writer } = await open();
    const { alarm } = await writer.raiseAlarm(anEvent(null), anAlarm(null));
    expect(await writer.standingAlarms()).toEqual([alarm]);
    const acknowledged = { ...alarm, acknowledgedWallMs: 77 };
    expect(await writer.acknowledgeAlarm(alarm.id, 77)).toEqual(acknowledged);
    expect(await writer.acknowledgeAlarm(alarm.id, 99)).toEqual(acknowledged);
    expect(await writer.acknowledgeAlarm(-4, 99)).toBeNull();
  });

  test('an alarm is open until it is acknowledged and what it is about has ended', async () => {
    const { writer } = await open();
    const { alarm } = await writer.raiseAlarm(anEvent(null), anAlarm(null));
    const acknowledged = await writer.acknowledgeAlarm(alarm.id, 77);
    expect(await writer.standingAlarms()).toEqual([acknowledged]);
    expect(await writer.clearAlarm(alarm.id, 88)).toEqual({ ...acknowledged, clearedWallMs: 88 });
    expect(await writer.standingAlarms()).toEqual([]);
    // It began once more.
    expect(await writer.clearAlarm(alarm.id, null)).toEqual(acknowledged);
    expect(await writer.standingAlarms()).toEqual([acknowledged]);
    expect(await writer.clearAlarm(-4, 99)).toBeNull();
    const error = await errorOf(writer.clearAlarm(alarm.id, Number.NaN));
    expect(error.message).toContain('wallMs is NaN');

    const second = await writer.raiseAlarm(anEvent(null), anAlarm(null));
    await writer.clearAlarm(alarm.id, 90);
    // Over, and nobody has seen it: it stays.
    const cleared = await writer.clearAlarm(second.alarm.id, 91);
    expect(await writer.standingAlarms()).toEqual([cleared]);
  });

  test('bad values are refused by field, value and bound, and trip nothing', async () => {
    const { writer, failures, notices } = await open();
    const run = aRun('night-1');
    await writer.createRun(run);
    const refused: readonly [call: () => Promise<unknown>, words: string][] = [
      [() => writer.createRun(run), 'There is a run night-1 already'],
      [() => writer.createRun({ ...run, id: 'has spaces' }), 'id is "has spaces", must match'],
      [() => writer.createRun({ ...run, id: 'x', ampHours: Number.NaN }), 'ampHours is NaN'],
      [
        () => writer.createRun({ ...run, id: 'x', continues: 'nobody' }),
        'run nobody, which is not',
      ],
      [() => writer.patchRun('nobody', { ampHours: 1 }), 'no run nobody'],
      [() => writer.patchRun('night-1', { highAmpHours: Infinity }), 'highAmpHours is Infinity'],
      [() => writer.appendEvent(anEvent('nobody')), 'no run nobody'],
      [() => writer.appendEvent(anEvent(null, { wallMs: Number.NaN })), 'wallMs is NaN'],
      [() => writer.acknowledgeAlarm(0.5, 1), 'id is 0.5'],
    ];
    for (const [call, words] of refused) {
      const error = await errorOf(call());
      expect(error.kind).toBe('invalid');
      expect(error.message).toContain(words);
    }
    expect(failures).toEqual([]);
    // Records whose writer may not look at the promise are said aloud.
    expect(notices.join('\n')).toContain('wallMs is NaN');
    expect(await writer.unsettledRuns()).toEqual([run]);
  });
});

describe('readings', () => {
  test('are committed by themselves, many in one commit, within a second', async () => {
    const { writer, reader, file } = await open();
    await writer.createRun(aRun('night-1'));
    const { dataVersion } = stranger(file);
    const before = dataVersion();
    const startMs = performance.now();
    for (const row of readings(100)) writer.appendReading('night-1', row);
    expect(reader.readings('night-1', 0, 200)).toEqual([]);
    await vi.waitFor(() => expect(dataVersion()).not.toBe(before), { timeout: 5000, interval: 5 });
    const tookMs = performance.now() - startMs;
    expect(reader.readings('night-1', 0, 200)).toEqual(readings(100));
    expect(dataVersion()).toBe(before + 1);
    // On a disk that is busy with other work a commit takes longer; how long, the next one tells.
    const nextMs = performance.now();
    await writer.appendEvent(anEvent('night-1'));
    expect(tookMs).toBeLessThan(1000 + Math.min(1000, performance.now() - nextMs));
  });

  test('are on disk before anything that is written after them', async () => {
    const { writer, reader } = await open();
    await writer.createRun(aRun('night-1'));
    writer.appendReading('night-1', aReading(0));
    await writer.appendEvent(anEvent('night-1'));
    expect(reader.readings('night-1', 0, 9)).toEqual([aReading(0)]);
    writer.appendReading('night-1', aReading(1));
    await writer.patchRun('night-1', { ampHours: 1 });
    expect(reader.readings('night-1', 0, 9)).toHaveLength(2);
    writer.appendReading('night-1', aReading(2));
    expect(await writer.lastReading('night-1')).toEqual(aReading(2));
  });

  test('that cannot be stored are left out with a notice, once a run', async () => {
    const { writer, notices, reader, failures } = await open();
    await writer.createRun(aRun('night-1'));
    for (let index = 0; index < 5; index += 1) {
      writer.appendReading('night-1', aReading(index, { volts: Number.NaN }));
    }
    writer.appendReading('night-1', aReading(9));
    writer.appendReading('nobody', aReading(9));
    await writer.standingAlarms();
    expect(notices).toHaveLength(2);
    expect(notices[0]).toContain('volts is NaN');
    expect(notices[1]).toContain('nobody');
    expect(reader.readings('night-1', 0, 9)).toEqual([aReading(9)]);
    expect(failures).toEqual([]);
  });

  test('queued at closing are not lost', async () => {
    const { writer, reader } = await open();
    await writer.createRun(aRun('night-1'));
    for (const row of readings(30)) writer.appendReading('night-1', row);
    await writer.close();
    expect(reader.readings('night-1', 0, 99)).toEqual(readings(30));
  });

  test('beyond the bound of the queue are dropped, and it says so and when it is over', async () => {
    const { writer, reader, notices } = await open();
    await writer.createRun(aRun('night-1'));
    for (const row of readings(20_500)) writer.appendReading('night-1', row);
    expect(notices).toEqual([
      'Readings are being dropped: 20000 readings already wait for the disk.',
    ]);
    await writer.standingAlarms();
    expect(notices[1]).toBe('500 readings were dropped; the disk keeps up again.');
    const stored = [...reader.allReadings('night-1')].flat();
    expect(stored).toEqual(readings(20_000));
    writer.appendReading('night-1', aReading(20_500));
    expect(await writer.lastReading('night-1')).toEqual(aReading(20_500));
  });

  test('can be read while they are written, and never look torn', async () => {
    const { writer, reader } = await open();
    await writer.createRun(aRun('night-1'));
    let seen = 0;
    let looks = 0;
    for (let next = 0; next < 6000; next += 120) {
      for (const row of readings(120, next)) writer.appendReading('night-1', row);
      if (next % 480 === 0) void writer.appendEvent(anEvent('night-1'));
      await sleep(1);
      const rows = [...reader.allReadings('night-1')].flat();
      const series = reader.series('night-1', 5);
      expect(rows.length).toBeGreaterThanOrEqual(seen);
      expect(rows).toEqual(readings(rows.length));
      if (rows.length > 0)
        expect(series?.atMs.at(-1)).toBeGreaterThanOrEqual(rows.at(-1)?.atMs ?? 0);
      if (rows.length > seen && rows.length < 6000) looks += 1;
      seen = rows.length;
    }
    await writer.close();
    expect([...reader.allReadings('night-1')].flat()).toHaveLength(6000);
    expect(looks).toBeGreaterThan(2);
  });
});

describe('failures', () => {
  test('a full disk fails commits, is reported, and loses nothing that was acknowledged', async () => {
    const file = ownFile();
    const { writer, failures } = await open({ file, maxPages: 60 });
    await writer.createRun(aRun('night-1'));
    const { event } = await writer.raiseAlarm(anEvent('night-1'), anAlarm('night-1'));
    for (const row of readings(8000)) writer.appendReading('night-1', row);
    await vi.waitFor(() => expect(failures).toHaveLength(1), { timeout: 5000, interval: 10 });
    expect(failures[0]).toContain('the disk is full');
    expect(failures[0]).toContain(file);

    const refusals: StoreError[] = [];
    for (let index = 0; index < 60; index += 1) {
      await writer.createRun(aRun(`more-${index}`)).catch((error: unknown) => {
        if (error instanceof StoreError) refusals.push(error);
      });
    }
    expect(refusals.length).toBeGreaterThan(0);
    expect(new Set(refusals.map(({ kind }) => kind))).toEqual(new Set(['diskFull']));
    const closing = await errorOf(writer.close());
    expect(closing.kind).toBe('diskFull');
    expect(closing.message).toContain('The last 8000 readings are lost.');

    const again = await open({ file });
    expect(again.notices).toEqual([]);
    expect(again.reader.events('night-1')).toEqual([event]);
    const kept = 1 + 60 - refusals.length;
    expect(await again.writer.unsettledRuns()).toHaveLength(kept);
  });

  test('a file that another program keeps fails, and the readings go in once it is let go', async () => {
    const { writer, reader, file, failures } = await open();
    await writer.createRun(aRun('night-1'));
    const { db } = stranger(file, {});
    db.exec('BEGIN IMMEDIATE');
    const startMs = performance.now();
    for (const row of readings(20)) writer.appendReading('night-1', row);
    await vi.waitFor(() => expect(failures).toHaveLength(1), { timeout: 18_000, interval: 50 });
    expect(failures[0]).toContain('another program holds it');
    // Not before it had waited its two seconds, four times.
    expect(performance.now() - startMs).toBeGreaterThan(8000);
    db.exec('ROLLBACK');
    writer.appendReading('night-1', aReading(20));
    await writer.appendEvent(anEvent('night-1'));
    expect(reader.readings('night-1', 0, 99)).toEqual(readings(21));
    expect(failures).toHaveLength(1);
  });

  test('readings that break a rule of the tables are given up and do not block the rest', async () => {
    const { writer, reader, file, failures } = await open();
    await writer.createRun(aRun('night-1'));
    // No figure of ours can break a rule; a rule added from outside can be broken.
    stranger(file, {}).db.exec(
      `CREATE TRIGGER no_more BEFORE INSERT ON readings WHEN new.amps > 9
       BEGIN SELECT raise(ABORT, 'more than 9 A'); END`,
    );
    writer.appendReading('night-1', aReading(0, { amps: 10 }));
    await writer.standingAlarms();
    await vi.waitFor(() => expect(failures).toHaveLength(1), { timeout: 15_000 });
    expect(failures[0]).toContain('more than 9 A');
    writer.appendReading('night-1', aReading(1));
    await writer.standingAlarms();
    expect(reader.readings('night-1', 0, 9)).toEqual([aReading(1)]);
  });

  test('a second writer in the same process is refused, and welcome after the first closed', async () => {
    const { writer, file } = await open();
    expect((await errorOf(openStoreWriter({ file }))).kind).toBe('busy');
    await writer.close();
    const next = await openStoreWriter({ file });
    await next.close();
  });

  test('a place that cannot be written is refused with its path', async () => {
    const file = `${import.meta.filename}/bench.db`;
    const error = await errorOf(openStoreWriter({ file }));
    expect(error.kind).toBe('cannotOpen');
    expect(error.message).toContain(file);
    expect(existsSync(file)).toBe(false);
  });

  test('after closing, calls are refused, readings say so, and closing again is harmless', async () => {
    const { writer, notices, failures } = await open();
    await writer.close();
    await writer.close();
    expect((await errorOf(writer.createRun(aRun('late')))).kind).toBe('closed');
    writer.appendReading('late', aReading(0));
    expect(notices).toEqual(['Readings are being dropped: the database is closed.']);
    expect(failures).toEqual([]);
  });
});
