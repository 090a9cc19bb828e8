/** Notes, photos and changes of runs on disk: whole with their event, bounded, and never lost with a photo. */

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  openStoreReader,
  openStoreWriter,
  runDocument,
  type NewNote,
  type StoreReader,
  type StoreWriter,
} from '../../daemon/store/door.ts';
import { noteLimits } from '../../daemon/wire/run-book.ts';
import { runDocumentSchema } from '../../daemon/wire/run-document.ts';
import { bytesOf } from '../piece/picture/pictures.ts';
import { aRun } from './a-run.ts';
import { ownFile } from './bench-file.ts';

let store: StoreWriter;
let reader: StoreReader;
beforeEach(async () => {
  const file = ownFile();
  store = await openStoreWriter({ file });
  reader = openStoreReader(file);
  await store.createRun(aRun('night'));
});
afterEach(async () => {
  reader.close();
  await store.close();
});

function aNote(changes: Partial<NewNote> = {}): NewNote {
  return {
    runId: 'night',
    atMs: 60_000,
    wallMs: 1_000_000,
    by: 'Maker',
    text: 'Dull near the stem.',
    picture: null,
    ...changes,
  };
}

async function aPhoto(): Promise<string> {
  const base64 = Buffer.from(bytesOf('jpeg')).toString('base64');
  const part = { upload: 'one', index: 0, count: 1, base64 };
  const answer = await store.library.addPicturePart(part, 1);
  if (answer.kind !== 'stored') throw new Error(answer.kind);
  return answer.picture.id;
}

describe('a note', () => {
  it('stands among the events with who wrote it, and by itself with its photo', async () => {
    const picture = await aPhoto();
    const first = await store.runBook.addNote(aNote());
    const second = await store.runBook.addNote(aNote({ picture, text: '', atMs: null }));
    const third = await store.runBook.addNote(aNote({ picture, text: 'Two\nlines.' }));
    expect([first, second, third].map(({ kind }) => kind)).toEqual([
      'written',
      'written',
      'written',
    ]);
    expect(reader.events('night').map(({ code, message }) => `${code}: ${message}`)).toEqual([
      'note: Note by Maker: Dull near the stem.',
      'note: Photo by Maker.',
      'note: Photo and note by Maker: Two\nlines.',
    ]);
    const notes = reader.notes('night');
    expect(notes.map(({ text }) => text)).toEqual(['Dull near the stem.', '', 'Two\nlines.']);
    expect(notes.map((note) => note.picture?.id ?? null)).toEqual([null, picture, picture]);
    expect(notes[1]).toMatchObject({ atMs: null, wallMs: 1_000_000, by: 'Maker' });
    const document = JSON.parse([...runDocument(reader, 'night')].join('')) as unknown;
    expect(runDocumentSchema.parse(document)).toMatchObject({ notes });
  });

  it('is refused without its run, and without its photo, and writes nothing then', async () => {
    expect(await store.runBook.addNote(aNote({ runId: 'nobody' }))).toEqual({ kind: 'unknown' });
    const missing = 'f'.repeat(64);
    const answer = await store.runBook.addNote(aNote({ picture: missing }));
    expect(answer).toMatchObject({
      kind: 'invalid',
      problems: [{ field: 'picture', value: missing, bound: 'the id of a stored picture' }],
    });
    await expect(store.runBook.addNote(aNote({ wallMs: Number.NaN }))).rejects.toMatchObject({
      kind: 'invalid',
    });
    expect(reader.events('night')).toEqual([]);
    expect(reader.notes('night')).toEqual([]);
    expect(reader.notes('nobody')).toEqual([]);
  });

  it('is refused beyond what a run keeps, by the number', async () => {
    const picture = await aPhoto();
    const photo = aNote({ picture, text: '' });
    for (let count = 0; count < noteLimits.maxPhotosPerRun; count += 1) {
      expect(await store.runBook.addNote(photo)).toMatchObject({ kind: 'written' });
    }
    expect(await store.runBook.addNote(photo)).toMatchObject({
      kind: 'invalid',
      problems: [{ field: 'picture', value: '61 photos', bound: 'at most 60 photos' }],
    });
    expect(await store.runBook.addNote(aNote())).toMatchObject({ kind: 'written' });
  });

  it('keeps its photo when unused pictures are cleared away', async () => {
    const picture = await aPhoto();
    await store.runBook.addNote(aNote({ picture }));
    // A picture stored a hundred days later clears away what nothing refers to.
    const base64 = Buffer.from(bytesOf('png')).toString('base64');
    const part = { upload: 'two', index: 0, count: 1, base64 };
    await store.library.addPicturePart(part, 100 * 24 * 3_600_000);
    expect(reader.library.picture(picture)).not.toBeNull();
  });
});

describe('a change of the plan', () => {
  it('puts the new plan in place and keeps the one before', async () => {
    const { plan } = aRun('night');
    const thicker = {
      ...plan,
      thicknessMicrometres: { value: 250, low: 225, high: 275 },
      request: { ...plan.request, target: { kind: 'thickness' as const, micrometres: 250 } },
    };
    const change = { atMs: 5_000, wallMs: 2_000, by: 'Maker', plan: thicker };
    await store.runBook.changePlan('night', change);
    expect((await store.run('night'))?.plan).toEqual(thicker);
    expect(reader.runs({ limit: 1 })[0]?.targetMicrometres).toBe(250);
    const kept = { atMs: 5_000, wallMs: 2_000, by: 'Maker', planBefore: plan };
    expect(reader.planChanges('night')).toEqual([kept]);
    const document = JSON.parse([...runDocument(reader, 'night')].join('')) as unknown;
    expect(runDocumentSchema.parse(document)).toMatchObject({ changes: [kept] });
  });

  it('is refused without its run', async () => {
    const change = { atMs: null, wallMs: 2_000, by: 'Maker', plan: aRun('x').plan };
    await expect(store.runBook.changePlan('nobody', change)).rejects.toMatchObject({
      kind: 'invalid',
    });
  });
});
