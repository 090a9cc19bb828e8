/** Ledgers and weigh-ins over real files and the real thread: versions, stale changes, charge, migration. */

import Database from 'better-sqlite3';
import { describe, expect, onTestFinished, test } from 'vitest';
import { openDatabase } from '../../daemon/store/database.ts';
import {
  openStoreReader,
  openStoreWriter,
  runDocument,
  type StoreReader,
} from '../../daemon/store/door.ts';
import { runDocumentSchema } from '../../daemon/wire/run-document.ts';
import type { LedgerEntry } from '../../daemon/wire/ledger.ts';
import { migrations } from '../../daemon/store/migrations.ts';
import { aReading, armedWallMs, aRun } from './a-run.ts';
import { aGrownRun, aWeighIn, hourMs } from './a-weigh-in.ts';
import { openBenchFile, ownFile } from './bench-file.ts';

const place = { tankId: 'beaker', bathId: 'acid-copper-still' };
const atWallMs = armedWallMs + 4 * hourMs;

async function open(file = ownFile()) {
  const failures: string[] = [];
  const writer = await openStoreWriter({ file });
  writer.onFailure((reason) => failures.push(reason));
  const reader = openStoreReader(file);
  onTestFinished(async () => {
    reader.close();
    await writer.close().catch(() => undefined);
  });
  return { file, failures, writer, reader, ledger: writer.ledger, book: reader.ledger };
}

/** By its schema, which knows every key. */
function documentOf(reader: StoreReader, runId: string) {
  return runDocumentSchema.parse(JSON.parse([...runDocument(reader, runId)].join('')));
}

const temperature = (celsius: number): LedgerEntry => ({ kind: 'temperature', celsius, note: '' });

function newEntry(entry: LedgerEntry) {
  return { ...place, atWallMs, savedWallMs: atWallMs + 5, by: 'Mara', entry };
}

describe('an entry', () => {
  test('is kept with who and when, and a correction keeps what it was', async () => {
    const { ledger, book } = await open();
    const first = await ledger.add(newEntry(temperature(21)));
    expect(first).toMatchObject({ kind: 'saved', saved: { id: 1, version: 1, by: 'Mara' } });
    const change = { entryId: 1, version: 1, atWallMs: null, by: 'Ole', savedWallMs: atWallMs + 9 };
    await ledger.change({ ...change, entry: temperature(22.5) });
    expect(book.entries(place, 10)).toEqual([
      {
        ...place,
        id: 1,
        version: 2,
        by: 'Ole',
        savedWallMs: atWallMs + 9,
        atWallMs,
        entry: temperature(22.5),
      },
    ]);
    expect(book.entryVersions(1).map(({ entry, by }) => [entry, by])).toEqual([
      [temperature(22.5), 'Ole'],
      [temperature(21), 'Mara'],
    ]);
  });

  test('can be taken back, and brought back by saving it anew', async () => {
    const { ledger, book } = await open();
    await ledger.add(newEntry(temperature(21)));
    const change = { entryId: 1, atWallMs: null, by: 'Mara', savedWallMs: atWallMs };
    await ledger.change({ ...change, version: 1, entry: null });
    expect(book.entries(place, 10)[0]).toMatchObject({ version: 2, entry: null, atWallMs });
    await ledger.change({ ...change, version: 2, entry: temperature(21) });
    expect(book.entries(place, 10)[0]).toMatchObject({ version: 3, entry: temperature(21) });
  });

  test('is not overwritten by a change to an older version, nor turned into another kind', async () => {
    const { ledger, book } = await open();
    await ledger.add(newEntry(temperature(21)));
    const change = { entryId: 1, version: 1, atWallMs: null, by: 'Mara', savedWallMs: atWallMs };
    await ledger.change({ ...change, entry: temperature(22) });
    expect(await ledger.change({ ...change, entry: temperature(30) })).toMatchObject({
      kind: 'stale',
      newest: { version: 2 },
    });
    const other: LedgerEntry = { kind: 'upkeep', what: 'filter', note: '' };
    expect(await ledger.change({ ...change, version: 2, entry: other })).toMatchObject({
      kind: 'invalid',
      problems: [{ field: 'entry.kind', value: 'upkeep', bound: 'temperature' }],
    });
    expect(await ledger.change({ ...change, entryId: 99, entry: other })).toEqual({
      kind: 'unknown',
    });
    expect(book.entries(place, 10)[0]).toMatchObject({ version: 2, entry: temperature(22) });
  });

  test('cannot be changed or deleted behind the program', async () => {
    const { ledger, file, writer } = await open();
    await ledger.add(newEntry(temperature(21)));
    await writer.close();
    const db = new Database(file);
    onTestFinished(() => void db.close());
    expect(() => db.exec('UPDATE ledger_versions SET document = NULL')).toThrow(
      /cannot be changed/,
    );
    expect(() => db.exec('DELETE FROM ledger_versions')).toThrow(/cannot be deleted/);
  });

  test('with a time that is none is refused, and trips nothing', async () => {
    const { ledger, failures } = await open();
    await expect(
      ledger.add({ ...newEntry(temperature(21)), atWallMs: Number.NaN }),
    ).rejects.toMatchObject({ kind: 'invalid' });
    expect(failures).toEqual([]);
  });
});

describe('an efficiency', () => {
  test('that was taken over counts until it is taken back, and then the one before', async () => {
    const { ledger, book } = await open();
    const of = (value: number): LedgerEntry => ({
      kind: 'efficiency',
      value,
      uncertainty: 0.01,
      weighIns: 3,
      note: '',
    });
    await ledger.add(newEntry(of(0.97)));
    await ledger.add(newEntry(of(0.96)));
    const values = async () => (await ledger.adopted()).map(({ entry }) => entry.value);
    expect(await values()).toEqual([0.96]);
    expect(book.adopted()).toEqual(await ledger.adopted());
    const back = { version: 1, atWallMs: null, by: 'Mara', savedWallMs: atWallMs, entry: null };
    await ledger.change({ ...back, entryId: 2 });
    expect(await values()).toEqual([0.97]);
    await ledger.change({ ...back, entryId: 1 });
    expect(await values()).toEqual([]);
  });
});

describe('a weigh-in', () => {
  const by = { by: 'Mara', savedWallMs: atWallMs };

  test('grows in versions, and stands among the events of its run', async () => {
    const { ledger, book, writer, reader } = await open();
    await writer.createRun(aGrownRun('night'));
    const before = aWeighIn({ afterGrams: null });
    await ledger.saveWeighIn({ runId: 'night', version: 0, weighIn: before, ...by });
    await ledger.saveWeighIn({ runId: 'night', version: 1, weighIn: aWeighIn(), ...by });
    expect(book.weighIn('night')).toMatchObject({ version: 2, weighIn: aWeighIn(), by: 'Mara' });
    expect(book.weighInVersions('night').map(({ weighIn }) => weighIn)).toEqual([
      aWeighIn(),
      before,
    ]);
    expect(reader.events('night').map(({ code, message }) => [code, message])).toEqual([
      ['weighIn', 'Weighed in by Mara: 12 g before.'],
      ['weighIn', 'Weigh-in changed by Mara: 12 g before, 15 g after.'],
    ]);
  });

  test('goes out with the document of its run, every version of it', async () => {
    const { ledger, writer, reader } = await open();
    await writer.createRun(aGrownRun('night'));
    await ledger.saveWeighIn({ runId: 'night', version: 0, weighIn: aWeighIn(), ...by });
    await ledger.saveWeighIn({ runId: 'night', version: 1, weighIn: null, ...by });
    const document = documentOf(reader, 'night');
    expect(document).toMatchObject({
      weighIns: [
        { version: 2, weighIn: null, by: 'Mara' },
        { version: 1, weighIn: aWeighIn(), by: 'Mara' },
      ],
    });
    expect(document.weighInResult).toBeUndefined();
  });

  test('goes out with what it gives: efficiency with its range, and the mean thickness', async () => {
    const { ledger, writer, reader } = await open();
    await writer.createRun(aGrownRun('night'));
    await writer.createRun(aGrownRun('on', { endedWallMs: null }));
    for (const runId of ['night', 'on']) {
      await ledger.saveWeighIn({ runId, version: 0, weighIn: aWeighIn(), ...by });
    }
    const result = documentOf(reader, 'night').weighInResult;
    expect(result).toMatchObject({ version: 1, why: null });
    const { efficiency, massMicrometres } = result?.figures ?? {};
    // 3.00 g of 2.6 A·h at 1.186 g/A·h for copper, from the handbook table of electrochemical
    // equivalents (of the kind printed in the Metal Finishing Guidebook).
    expect(efficiency?.value).toBeCloseTo(3 / (2.6 * 1.186), 3);
    expect(efficiency?.low).toBeLessThan(efficiency?.value ?? 0);
    expect(efficiency?.high).toBeGreaterThan(efficiency?.value ?? Infinity);
    // On a flat area as large it would be g / (8.96 g/cm3 x area), CRC Handbook; a grown one is larger.
    const areaMm2 = (reader.run('night')?.plan.areaDm2.value ?? 0) * 10_000;
    const flatMicrometres = (3 / 8.96e-3 / areaMm2) * 1000;
    expect(massMicrometres?.value).toBeLessThan(flatMicrometres);
    expect(massMicrometres?.value).toBeGreaterThan(0.8 * flatMicrometres);
    expect(documentOf(reader, 'on').weighInResult).toMatchObject({
      figures: null,
      why: 'The run is not over; what you enter is kept until it is.',
    });
  });

  test('is refused where it was changed meanwhile, makes no sense, or has no run', async () => {
    const { ledger, book, writer, reader } = await open();
    await writer.createRun(aGrownRun('night'));
    const saved = { runId: 'night', version: 0, weighIn: aWeighIn(), ...by };
    expect(await ledger.saveWeighIn({ ...saved, weighIn: null })).toEqual({ kind: 'unknown' });
    await ledger.saveWeighIn(saved);
    expect(await ledger.saveWeighIn(saved)).toMatchObject({
      kind: 'stale',
      newest: { version: 1 },
    });
    expect(
      await ledger.saveWeighIn({ ...saved, version: 1, weighIn: aWeighIn({ afterGrams: 11 }) }),
    ).toMatchObject({ kind: 'invalid', problems: [{ field: 'afterGrams', value: '11' }] });
    expect(await ledger.saveWeighIn({ ...saved, runId: 'nobody' })).toEqual({ kind: 'unknown' });
    expect(book.weighInVersions('night')).toHaveLength(1);
    expect(reader.events('night')).toHaveLength(1);
  });

  test('is found by bath, and not where a later run carries its charge on', async () => {
    const { ledger, book, writer } = await open();
    await writer.createRun(aGrownRun('cut', { lifecycle: 'interrupted' }));
    await writer.createRun(aGrownRun('whole', { continues: 'cut', carriedAmpHours: 1 }));
    for (const runId of ['cut', 'whole']) {
      await ledger.saveWeighIn({ runId, version: 0, weighIn: aWeighIn(), ...by });
    }
    expect(book.weighedInBath(place, 10).map(({ run }) => run.id)).toEqual(['whole']);
    await ledger.saveWeighIn({ runId: 'whole', version: 1, weighIn: null, ...by });
    expect(book.weighedInBath(place, 10)).toEqual([]);
  });

  test('is found by the piece of the library that was run', async () => {
    const { ledger, book, writer } = await open();
    const pieceRef = { id: 'piece-1', version: 1 };
    await writer.createRun(aGrownRun('one', {}, { pieceRef }));
    await writer.createRun(aGrownRun('by-mass-alone', {}, { pieceRef }));
    await writer.createRun(aGrownRun('other'));
    const reading = { label: '', beforeMm: 2, afterMm: 2.2, growthPerThickness: 2 } as const;
    const callipers = [reading, reading, reading];
    for (const runId of ['one', 'by-mass-alone', 'other']) {
      const weighIn = runId === 'by-mass-alone' ? aWeighIn() : aWeighIn({ callipers });
      await ledger.saveWeighIn({ runId, version: 0, weighIn, ...by });
    }
    expect(book.weighedOfPiece('piece-1', 10).map(({ run }) => run.id)).toEqual(['one']);
    const unweighed = aWeighIn({ afterGrams: null, callipers });
    await ledger.saveWeighIn({ runId: 'other', version: 1, weighIn: unweighed, ...by });
    expect(book.weighedInBath(place, 10).map(({ run }) => run.id)).toEqual([
      'by-mass-alone',
      'one',
    ]);
  });
});

describe('the charge of a bath', () => {
  test('counts what each run brought, and a night in the middle of which something was added', async () => {
    const file = ownFile();
    const bench = openBenchFile(file);
    bench.records.createRun(aGrownRun('first', { ampHours: 1.5 }));
    const second = aGrownRun('second', {
      continues: 'first',
      carriedAmpHours: 1.5,
      ampHours: 3.5,
      armedWallMs: armedWallMs + 10 * hourMs,
      startedWallMs: armedWallMs + 10 * hourMs,
      endedWallMs: armedWallMs + 18 * hourMs,
    });
    bench.records.createRun(second);
    // A reading a quarter of an hour: 1.5 A·h at its start, 0.25 A all night.
    const rows = Array.from({ length: 33 }, (_, index) =>
      aReading(index, {
        wallMs: armedWallMs + 10 * hourMs + (index * hourMs) / 4,
        ampHours: 1.5 + index * 0.0625,
      }),
    );
    bench.append('second', rows);
    bench.records.createRun(aGrownRun('elsewhere', { tankId: 'jar', ampHours: 9 }));
    bench.records.createRun(aGrownRun('real', { simulated: false, ampHours: 7 }));
    const { ledger } = openStoreReader(file);
    const since = (hours: number | null) =>
      ledger.charge(place, true, hours === null ? null : armedWallMs + hours * hourMs);
    expect(since(null)).toEqual({ runs: 2, ampHours: 3.5 });
    expect(since(9)).toEqual({ runs: 1, ampHours: 2 });
    expect(since(14).ampHours).toBeCloseTo(1, 9);
    // Between two readings the earlier one counts.
    expect(since(14.1).ampHours).toBeCloseTo(1, 9);
    expect(since(19)).toEqual({ runs: 0, ampHours: 0 });
    expect(ledger.charge(place, false, null)).toEqual({ runs: 1, ampHours: 7 });
    expect(ledger.newestRun(place)?.id).toBe('second');
    expect(ledger.places()).toEqual([place, { tankId: 'jar', bathId: 'acid-copper-still' }]);
  });

  test('of a run that goes on is that of its newest reading', () => {
    const file = ownFile();
    const bench = openBenchFile(file);
    const going = { endedWallMs: null, lifecycle: 'holding', outcome: null, ampHours: 0 } as const;
    bench.records.createRun(aGrownRun('now', going));
    bench.append('now', [aReading(0, { ampHours: 0 }), aReading(1, { ampHours: 0.4 })]);
    expect(openStoreReader(file).ledger.charge(place, true, null).ampHours).toBeCloseTo(0.4, 9);
  });
});

describe('a file from before ledgers', () => {
  test('gains them, with its runs by bath, and a run that cannot be read keeps nothing back', () => {
    const file = ownFile();
    const onNotice = () => undefined;
    const older = migrations.filter(({ version }) => version < 9);
    const before = openDatabase(file, { migrations: older, onNotice });
    const insert = before.db.prepare(
      `INSERT INTO runs (id, kind, tank_id, carried_amp_hours, simulated, plan, checklist, piece_name,
         bath_name, target_micrometres, armed_wall_ms, started_wall_ms, ended_wall_ms, lifecycle,
         off_confirmed, amp_hours, low_amp_hours, high_amp_hours, thickness_micrometres)
       VALUES (?, 'run', 'beaker', 0, 1, ?, '[]', 'Old', 'Invented bath', 100, 1, 1, 2, 'finished', 1,
         2.5, 2.5, 2.5, 100)`,
    );
    insert.run('sound', JSON.stringify(aRun('x').plan));
    insert.run('broken', '{"half a plan');
    before.close();
    openDatabase(file, { onNotice }).close();
    const { ledger } = openStoreReader(file);
    expect(ledger.places()).toEqual([{ tankId: 'beaker', bathId: 'invented-bath' }]);
    expect(ledger.charge({ tankId: 'beaker', bathId: 'invented-bath' }, true, null)).toEqual({
      runs: 1,
      ampHours: 2.5,
    });
  });
});
