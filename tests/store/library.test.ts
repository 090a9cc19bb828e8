/** The library over real files and the real thread: versions, stale edits, archives, pictures, migration. */

import Database from 'better-sqlite3';
import { describe, expect, onTestFinished, test } from 'vitest';
import { pictureLimits } from '../../daemon/piece/picture/picture.ts';
import { pieceGrowth } from '../../daemon/piece/piece.ts';
import { openDatabase } from '../../daemon/store/database.ts';
import { openStoreReader, openStoreWriter } from '../../daemon/store/door.ts';
import type { PieceAnswer } from '../../daemon/store/door.ts';
import { migrations } from '../../daemon/store/migrations.ts';
import { ReadingsWriter } from '../../daemon/store/readings-writer.ts';
import { BatchPacker } from '../../daemon/store/readings-batch.ts';
import { bytesOf, png } from '../piece/picture/pictures.ts';
import { aPiece, aTracedPiece, idOf, savedWallMs, stored, upload } from './a-piece.ts';
import { aRun, readings } from './a-run.ts';
import { openBenchFile, ownFile } from './bench-file.ts';

const keptMs = 30 * 24 * 60 * 60 * 1000;

async function open(options: { file?: string; maxPages?: number } = {}) {
  const file = options.file ?? ownFile();
  const failures: string[] = [];
  const writer = await openStoreWriter({ file, ...options });
  writer.onFailure((reason) => failures.push(reason));
  const reader = openStoreReader(file);
  onTestFinished(async () => {
    reader.close();
    await writer.close().catch(() => undefined);
  });
  return { file, failures, writer, library: writer.library, shelf: reader.library, reader };
}

function problemsOf(answer: PieceAnswer) {
  if (answer.kind !== 'invalid') throw new Error(`expected problems, got ${answer.kind}`);
  return answer.problems.map(({ field, value, bound }) => [field, value, bound]);
}

describe('a piece', () => {
  test('is saved as version 1 and reads back as it was, with its area in its line', async () => {
    const { library, shelf } = await open();
    const piece = aPiece();
    const line = {
      id: 'one',
      version: 1,
      name: 'Poppy seed head',
      savedWallMs,
      archived: false,
      partCount: 2,
      areaMm2: pieceGrowth(piece).areaMm2,
    };
    expect(await library.addPiece('one', piece, savedWallMs)).toEqual({
      kind: 'saved',
      piece: line,
    });
    expect(shelf.piece('one')).toEqual({
      id: 'one',
      version: 1,
      savedWallMs,
      archived: false,
      piece,
    });
    expect(shelf.pieces({ archived: false, limit: 10 })).toEqual([line]);
    expect(shelf.pieceVersions('one')).toEqual([line]);
    expect(shelf.piece('nobody')).toBeNull();
    expect(shelf.pieceVersions('nobody')).toEqual([]);
  });

  test('gets a version with each edit, and earlier ones stay what they were', async () => {
    const { library, shelf } = await open();
    await library.addPiece('one', aPiece('Head', 20), savedWallMs);
    await library.editPiece('one', 1, aPiece('Head', 21), savedWallMs + 1);
    await library.editPiece('one', 2, aPiece('Head, larger', 22), savedWallMs + 2);
    expect(shelf.piece('one')).toMatchObject({ version: 3, piece: aPiece('Head, larger', 22) });
    expect(shelf.piece('one', 1)).toMatchObject({ version: 1, piece: aPiece('Head', 20) });
    expect(shelf.piece('one', 4)).toBeNull();
    expect(shelf.pieceVersions('one').map(({ version, name }) => [version, name])).toEqual([
      [3, 'Head, larger'],
      [2, 'Head'],
      [1, 'Head'],
    ]);
  });

  test('edited from an older version is told which is newer, and nothing is changed', async () => {
    const { library, shelf } = await open();
    await library.addPiece('one', aPiece('Head', 20), savedWallMs);
    const mine = await library.editPiece('one', 1, aPiece('Mine', 21), savedWallMs + 1);
    const yours = await library.editPiece('one', 1, aPiece('Yours', 22), savedWallMs + 2);
    expect(mine).toMatchObject({ kind: 'saved', piece: { version: 2 } });
    expect(yours).toMatchObject({ kind: 'stale', newest: { version: 2, name: 'Mine' } });
    expect(shelf.pieceVersions('one')).toHaveLength(2);
    expect(shelf.piece('one')).toMatchObject({ version: 2, piece: { name: 'Mine' } });
    const ahead = await library.editPiece('one', 9, aPiece('Ahead'), savedWallMs + 3);
    expect(ahead).toMatchObject({ kind: 'stale', newest: { version: 2 } });
  });

  test('saved again unchanged stays at its version', async () => {
    const { library, shelf } = await open();
    await library.addPiece('one', aPiece(), savedWallMs);
    const again = await library.editPiece('one', 1, aPiece(), savedWallMs + 5);
    expect(again).toMatchObject({ kind: 'saved', piece: { version: 1, savedWallMs } });
    expect(shelf.pieceVersions('one')).toHaveLength(1);
  });

  test('of two edits sent at once from one version, one is saved and one is stale', async () => {
    const { library } = await open();
    await library.addPiece('one', aPiece(), savedWallMs);
    const answers = await Promise.all(
      ['A', 'B'].map((name) => library.editPiece('one', 1, aPiece(name), savedWallMs)),
    );
    expect(answers.map(({ kind }) => kind)).toEqual(['saved', 'stale']);
  });

  test('is copied with its newest version, under a name of its own', async () => {
    const { library, shelf } = await open();
    await library.addPiece('one', aPiece('Head'), savedWallMs);
    await library.editPiece('one', 1, aPiece('Head', 30), savedWallMs + 1);
    await library.copyPiece('one', 'two', null, savedWallMs + 2);
    await library.copyPiece('one', 'three', 'Another head', savedWallMs + 3);
    expect(shelf.piece('two')).toMatchObject({ version: 1, piece: aPiece('Head (copy)', 30) });
    expect(shelf.piece('three')?.piece).toEqual(aPiece('Another head', 30));
    expect(await library.copyPiece('nobody', 'four', null, savedWallMs)).toEqual({
      kind: 'unknown',
    });
    await library.addPiece('long', aPiece('x'.repeat(200)), savedWallMs);
    await library.copyPiece('long', 'longer', null, savedWallMs);
    expect(shelf.piece('longer')?.piece.name).toBe(`${'x'.repeat(193)} (copy)`);
  });

  test('is archived, kept from edits, and brought back', async () => {
    const { library, shelf } = await open();
    await library.addPiece('one', aPiece('One'), savedWallMs);
    await library.addPiece('two', aPiece('Two'), savedWallMs + 1);
    const names = (archived: boolean) =>
      shelf.pieces({ archived, limit: 10 }).map(({ name }) => name);
    expect(names(false)).toEqual(['Two', 'One']);
    expect(await library.archivePiece('one', savedWallMs + 2)).toMatchObject({
      kind: 'saved',
      piece: { id: 'one', archived: true },
    });
    expect([names(false), names(true)]).toEqual([['Two'], ['One']]);
    expect(shelf.piece('one')).toMatchObject({ archived: true });
    expect(await library.editPiece('one', 1, aPiece('New'), savedWallMs)).toEqual({
      kind: 'archived',
    });
    // Twice is the same, both ways.
    await library.archivePiece('one', savedWallMs + 9);
    await library.archivePiece('one', null);
    expect(await library.archivePiece('one', null)).toMatchObject({ piece: { archived: false } });
    expect([names(false), names(true)]).toEqual([['Two', 'One'], []]);
    expect(await library.archivePiece('nobody', 1)).toEqual({ kind: 'unknown' });
  });

  test('that is impossible is refused with its fields, and nothing of it is stored', async () => {
    const { library, shelf } = await open();
    const answer = await library.addPiece('one', aPiece('Head', -1), savedWallMs);
    expect(problemsOf(answer)[0]?.slice(0, 2)).toEqual(['parts[0].sizes.diameterMm', '-1']);
    expect(shelf.pieces({ archived: false, limit: 10 })).toEqual([]);
    // Not even a number is used up.
    await library.addPiece('one', aPiece(), savedWallMs);
    expect(shelf.piece('one')?.version).toBe(1);
  });

  test('the lines come in pages by the time of the newest version', async () => {
    const { library, shelf } = await open();
    for (let index = 0; index < 5; index += 1) {
      await library.addPiece(`p${index}`, aPiece(`Piece ${index}`), savedWallMs + index);
    }
    await library.editPiece('p0', 1, aPiece('Piece 0, edited'), savedWallMs + 10);
    const first = shelf.pieces({ archived: false, limit: 2 });
    expect(first.map(({ id }) => id)).toEqual(['p0', 'p4']);
    const beforeWallMs = first[1]?.savedWallMs ?? 0;
    const next = shelf.pieces({ archived: false, limit: 2, beforeWallMs });
    expect(next.map(({ id }) => id)).toEqual(['p3', 'p2']);
  });

  test('in the tables refuses to be changed or deleted, whoever tries', async () => {
    const { library, file } = await open();
    await library.addPiece('one', aPiece(), savedWallMs);
    const db = new Database(file);
    onTestFinished(() => void db.close());
    expect(() => db.exec("UPDATE piece_versions SET name = 'Other'")).toThrow('cannot be changed');
    expect(() => db.exec('DELETE FROM piece_versions')).toThrow('cannot be deleted');
  });

  test('that this program cannot read is named and keeps nobody else from being read', async () => {
    const { library, shelf, file } = await open();
    await library.addPiece('one', aPiece('One'), savedWallMs);
    await library.addPiece('two', aPiece('Two'), savedWallMs);
    const db = new Database(file);
    db.exec('DROP TRIGGER piece_versions_do_not_change');
    db.exec(`UPDATE piece_versions SET document = '{"name":"One"}' WHERE name = 'One'`);
    db.close();
    expect(() => shelf.piece('one')).toThrow(/saved piece one cannot be read: piece\.parts/);
    expect(shelf.piece('two')?.piece).toEqual(aPiece('Two'));
    await expect(library.copyPiece('one', 'three', null, savedWallMs)).rejects.toMatchObject({
      kind: 'unreadable',
    });
  });
});

describe('a picture', () => {
  test('comes in parts, is stored by its hash, and reads back byte for byte', async () => {
    const { library, shelf } = await open();
    const bytes = png(640, 480, { paddingBytes: 500_000 });
    const part = { upload: idOf(bytes), index: 0, count: 6, base64: 'AAAA' };
    expect(await library.addPicturePart(part, savedWallMs)).toEqual({ kind: 'partTaken' });
    expect(await upload(library, bytes)).toEqual(stored(bytes, 640, 480));
    const { facts, bytes: kept } = shelf.picture(idOf(bytes)) ?? {};
    expect(facts).toEqual(stored(bytes, 640, 480).picture);
    expect(Buffer.compare(kept ?? Buffer.alloc(0), bytes)).toBe(0);
    expect(shelf.picture('0'.repeat(64))).toBeNull();
  });

  test('may come in any order, with a part twice, and beside others', async () => {
    const { library } = await open();
    const pictures = [1, 2, 3].map((seed) => png(32, 24, { paddingBytes: 3000, seed }));
    const cut = (bytes: Buffer, index: number) => ({
      upload: idOf(bytes),
      index,
      count: 3,
      base64: bytes
        .subarray(index * 1200, index === 2 ? undefined : (index + 1) * 1200)
        .toString('base64'),
    });
    for (const index of [2, 0, 0]) {
      for (const bytes of pictures) {
        expect(await library.addPicturePart(cut(bytes, index), savedWallMs)).toEqual({
          kind: 'partTaken',
        });
      }
    }
    for (const bytes of pictures) {
      expect(await library.addPicturePart(cut(bytes, 1), savedWallMs)).toEqual(
        stored(bytes, 32, 24),
      );
    }
  });

  test('of which a fourth is begun beside three gives the one that was silent longest up', async () => {
    const { library } = await open();
    const begin = (name: string) =>
      library.addPicturePart({ upload: name, index: 0, count: 2, base64: 'AAAA' }, savedWallMs);
    for (const name of ['a', 'b', 'c', 'd']) await begin(name);
    const bytes = png(8, 8);
    const last = { upload: 'a', index: 1, count: 2, base64: bytes.toString('base64') };
    // Its first part is forgotten, so the second one completes nothing.
    expect(await library.addPicturePart(last, savedWallMs)).toEqual({ kind: 'partTaken' });
  });

  test.each<[string, Uint8Array, RegExp]>([
    ['a GIF', Buffer.from('GIF89a and more'), /is GIF; it must be JPEG, PNG or WebP/],
    ['a picture cut short', bytesOf('jpeg').subarray(0, 300), /is cut off/],
    [
      'too many bytes',
      png(9, 9, { paddingBytes: pictureLimits.maxBytes }),
      /at most 4000000 bytes/,
    ],
  ])('is refused when it is %s', async (_name, bytes, words) => {
    const { library, shelf } = await open();
    const answer = await upload(library, bytes);
    expect(answer).toMatchObject({
      kind: 'invalid',
      problems: [{ field: 'picture', message: expect.stringMatching(words) as string }],
    });
    expect(shelf.picture(idOf(bytes))).toBeNull();
  });

  test('refuses a part that belongs to another number of parts', async () => {
    const { library } = await open();
    const part = { upload: 'a', index: 0, count: 2, base64: 'AAAA' };
    await library.addPicturePart(part, savedWallMs);
    const answer = await library.addPicturePart({ ...part, count: 3 }, savedWallMs);
    expect(answer).toMatchObject({ kind: 'invalid', problems: [{ field: 'part' }] });
    const outside = await library.addPicturePart({ ...part, index: 2 }, savedWallMs);
    expect(outside).toMatchObject({ kind: 'invalid', problems: [{ value: '2 of 2' }] });
  });

  test('that is not stored keeps a piece from being saved, by the place that names it', async () => {
    const { library } = await open();
    const bytes = png(100, 80);
    const other = 'f'.repeat(64);
    await upload(library, bytes);
    const answer = await library.addPiece('one', aTracedPiece(idOf(bytes), other), savedWallMs);
    expect(problemsOf(answer)).toEqual([
      ['parts[1].outline.pictureId', other, 'the id of a stored picture'],
    ]);
    const sound = await library.addPiece('one', aTracedPiece(idOf(bytes)), savedWallMs);
    expect(sound.kind).toBe('saved');
  });

  test('of a piece are at most eight, and 12 MB together', async () => {
    const { library } = await open();
    const small = Array.from({ length: 9 }, (_, index) => png(9, 9, { seed: index + 1 }));
    for (const bytes of small) await upload(library, bytes);
    const nine = await library.addPiece('one', aTracedPiece(...small.map(idOf)), savedWallMs);
    expect(problemsOf(nine)).toEqual([['parts', '9 pictures', 'at most 8 pictures']]);
    const large = [1, 2, 3, 4].map((seed) => png(9, 9, { paddingBytes: 3_100_000, seed }));
    for (const bytes of large) await upload(library, bytes);
    const heavy = await library.addPiece('one', aTracedPiece(...large.map(idOf)), savedWallMs);
    expect(problemsOf(heavy)).toMatchObject([
      ['parts', /^124\d{5} bytes of pictures$/, 'at most 12000000 bytes of pictures'].map((one) =>
        typeof one === 'string' ? one : (expect.stringMatching(one) as string),
      ),
    ]);
  });

  test('that nothing refers to is gone after a day, when another one is saved', async () => {
    const { library, shelf, writer } = await open();
    const [unused, ofPiece, ofRun, late] = [1, 2, 3, 4].map((seed) => png(9, 9, { seed }));
    if (!unused || !ofPiece || !ofRun || !late) throw new Error('four pictures');
    for (const bytes of [unused, ofPiece, ofRun]) await upload(library, bytes);
    const is = (bytes: Uint8Array) => shelf.picture(idOf(bytes)) !== null;
    await library.addPiece('one', aTracedPiece(idOf(ofPiece)), savedWallMs);
    // An edit away from the picture leaves the version that had it, and so the picture.
    await library.editPiece('one', 1, aPiece(), savedWallMs);
    const { plan } = aRun('night-1');
    const piece = aTracedPiece(idOf(ofRun), 'e'.repeat(64));
    const traced = { ...plan, request: { ...plan.request, piece } } as typeof plan;
    await writer.createRun(aRun('night-1', { plan: traced }));
    await upload(library, late, savedWallMs + keptMs);
    expect([unused, ofPiece, ofRun, late].map(is)).toEqual([true, true, true, true]);
    await upload(library, late, savedWallMs + keptMs + 1);
    expect([unused, ofPiece, ofRun, late].map(is)).toEqual([false, true, true, true]);
  });

  test('uploaded again begins its day anew', async () => {
    const { library, shelf } = await open();
    const [first, second] = [png(9, 9, { seed: 1 }), png(9, 9, { seed: 2 })];
    await upload(library, first, savedWallMs);
    await upload(library, first, savedWallMs + keptMs);
    await upload(library, second, savedWallMs + keptMs + 1);
    expect(shelf.picture(idOf(first))).not.toBeNull();
  });
});

test('a full disk refuses a picture to its asker alone, and the run goes on being written', async () => {
  const { writer, library, failures, reader } = await open({ maxPages: 120 });
  await writer.createRun(aRun('night-1'));
  const large = upload(library, png(9, 9, { paddingBytes: 1_000_000 }));
  await expect(large).rejects.toMatchObject({ kind: 'diskFull' });
  for (const row of readings(40)) writer.appendReading('night-1', row);
  expect((await writer.lastReading('night-1'))?.atMs).toBe(39 * 250);
  expect(reader.readings('night-1', 0, 100)).toHaveLength(40);
  expect(failures).toEqual([]);
});

test('a file of version 2 is brought to the library with its runs and readings kept', () => {
  const file = ownFile();
  const before = openDatabase(file, {
    onNotice: () => undefined,
    migrations: migrations.slice(0, 2),
  });
  const run = aRun('night-1');
  before.db
    .prepare(
      `INSERT INTO runs (id, kind, tank_id, carried_amp_hours, simulated, plan, checklist,
         piece_name, bath_name, target_micrometres, armed_wall_ms, lifecycle, amp_hours,
         low_amp_hours, high_amp_hours, thickness_micrometres)
       VALUES (@id, 'run', 'beaker', 0, 1, @plan, @checklist, 'a', 'b', 1, @armedWallMs, 'armed',
         0, 0, 0, 0)`,
    )
    .run({
      id: run.id,
      armedWallMs: run.armedWallMs,
      plan: JSON.stringify(run.plan),
      checklist: JSON.stringify(run.checklist),
    });
  const packer = new BatchPacker();
  for (const row of readings(25)) packer.add('night-1', row);
  new ReadingsWriter(before.db).append([packer.take()]);
  expect(before.db.pragma('user_version', { simple: true })).toBe(2);
  before.close();

  const bench = openBenchFile(file);
  expect(bench.db.pragma('user_version', { simple: true })).toBe(migrations.length);
  expect(bench.notices.join(' ')).toContain(`from version 2 to ${migrations.length}`);
  const reader = openStoreReader(file);
  onTestFinished(() => reader.close());
  expect(reader.run('night-1')).toEqual(run);
  expect(reader.readings('night-1', 0, 100)).toEqual(readings(25));
  expect(reader.library.pieces({ archived: false, limit: 5 })).toEqual([]);
});

test('a reader of a file that is not there has no pieces and no pictures', () => {
  const reader = openStoreReader(ownFile());
  onTestFinished(() => reader.close());
  expect(reader.library.pieces({ archived: false, limit: 5 })).toEqual([]);
  expect(reader.library.piece('one')).toBeNull();
  expect(reader.library.picture('0'.repeat(64))).toBeNull();
  expect(() => reader.library.pieces({ archived: false, limit: 0 })).toThrow('limit is 0');
});
