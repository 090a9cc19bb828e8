/** Writes what a person adds to a run: notes with photos, and changes of its plan; on the database thread. */

import type Database from 'better-sqlite3';
import type { Problem } from '../piece/model.ts';
import { noteLimits, type RunNote } from '../wire/run-book.ts';
import type { EventRow, RunRecord } from '../wire/run.ts';
import type { NewNote, NoteAnswer, NewPlanChange } from './door.ts';
import { StoreError } from './errors.ts';
import { pictureColumns, toPicture, type PictureColumns } from './run-book-reader.ts';

export interface RunBookOperations {
  addNote(note: NewNote): NoteAnswer;
  changePlan(runId: string, change: NewPlanChange): void;
}

interface RunRow {
  readonly number: number;
  readonly tankId: string;
}

/** The code of the event that a note stands beside. */
const noteCode = 'note';

export class RunBookWriter implements RunBookOperations {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  addNote(note: NewNote): NoteAnswer {
    return this.#db.transaction(() => this.#addNote(note)).immediate();
  }

  /** Keeps the plan as it was beside the change, and puts the new one in its place. */
  changePlan(runId: string, { atMs, wallMs, by, plan }: NewPlanChange): void {
    this.#db
      .transaction(() => {
        const run = this.#run(runId);
        if (run === undefined) {
          throw new StoreError(
            'invalid',
            `There is no run ${runId} in the log. Nothing was stored.`,
          );
        }
        this.#db
          .prepare(
            `INSERT INTO run_changes (run, at_ms, wall_ms, asked_by, plan_before)
             SELECT number, @atMs, @wallMs, @by, plan FROM runs WHERE number = @number`,
          )
          .run({ atMs, wallMs, by, number: run.number });
        this.#db
          .prepare('UPDATE runs SET plan = ?, target_micrometres = ? WHERE number = ?')
          .run(
            JSON.stringify(plan satisfies RunRecord['plan']),
            plan.thicknessMicrometres.value,
            run.number,
          );
      })
      .immediate();
  }

  #addNote({ runId, by, text, picture, atMs, wallMs }: NewNote): NoteAnswer {
    const run = this.#run(runId);
    if (run === undefined) return { kind: 'unknown' };
    const stored = picture === null ? null : this.#picture(picture);
    const problem =
      picture !== null && stored === null
        ? notStored(picture)
        : this.#tooMany(run, stored !== null);
    if (problem !== null) return { kind: 'invalid', problems: [problem] };
    const message = messageOf(by, text, stored !== null);
    const event = { runId, tankId: run.tankId, atMs, wallMs, code: noteCode, message };
    const { lastInsertRowid } = this.#db
      .prepare(
        `INSERT INTO events (run_id, tank_id, at_ms, wall_ms, code, message)
         VALUES (@runId, @tankId, @atMs, @wallMs, @code, @message)`,
      )
      .run(event);
    const eventId = Number(lastInsertRowid);
    this.#db
      .prepare(
        'INSERT INTO run_notes (event, run, written_by, text, picture) VALUES (?, ?, ?, ?, ?)',
      )
      .run(eventId, run.number, by, text, stored?.number ?? null);
    if (stored !== null) {
      this.#db
        .prepare('INSERT OR IGNORE INTO run_pictures (picture, run) VALUES (?, ?)')
        .run(stored.number, run.number);
    }
    const written: EventRow = { ...event, id: eventId };
    const note: RunNote = {
      eventId,
      atMs,
      wallMs,
      by,
      text,
      picture: stored === null ? null : toPicture(stored),
    };
    return { kind: 'written', event: written, note };
  }

  #run(id: string): RunRow | undefined {
    return this.#db
      .prepare<[string], RunRow>('SELECT number, tank_id AS tankId FROM runs WHERE id = ?')
      .get(id);
  }

  #picture(id: string): (PictureColumns & { readonly number: number }) | null {
    const found = this.#db
      .prepare<[string], PictureColumns & { readonly number: number }>(
        `SELECT number, ${pictureColumns} FROM pictures WHERE id = ?`,
      )
      .get(id);
    return found ?? null;
  }

  #tooMany({ number }: RunRow, withPhoto: boolean): Problem | null {
    const { notes, photos } = this.#db
      .prepare<[number], { notes: number; photos: number }>(
        'SELECT count(*) AS notes, count(picture) AS photos FROM run_notes WHERE run = ?',
      )
      .get(number) ?? { notes: 0, photos: 0 };
    const { maxPerRun, maxPhotosPerRun } = noteLimits;
    if (notes >= maxPerRun) return full('text', `${notes + 1} notes`, `at most ${maxPerRun} notes`);
    if (withPhoto && photos >= maxPhotosPerRun) {
      return full('picture', `${photos + 1} photos`, `at most ${maxPhotosPerRun} photos`);
    }
    return null;
  }
}

function messageOf(by: string, text: string, withPhoto: boolean): string {
  const what = text === '' ? 'Photo' : withPhoto ? 'Photo and note' : 'Note';
  return text === '' ? `${what} by ${by}.` : `${what} by ${by}: ${text}`;
}

function notStored(value: string): Problem {
  const bound = 'the id of a stored picture';
  const message = `picture is ${value}; it must be ${bound}. Choose the photo again.`;
  return { field: 'picture', value, bound, message };
}

function full(field: string, value: string, bound: string): Problem {
  return { field, value, bound, message: `The run would have ${value}; it may have ${bound}.` };
}
