/** Reads what a person added to a run: notes with photos, and changes of its plan. */

import type Database from 'better-sqlite3';
import {
  planChangeSchema,
  runNoteSchema,
  type PlanChange,
  type RunNote,
} from '../wire/run-book.ts';
import { describeIssues } from './checks.ts';
import { StoreError } from './errors.ts';

export interface PictureColumns {
  readonly pictureId: string | null;
  readonly mime: string;
  readonly widthPixels: number;
  readonly heightPixels: number;
}

/** Columns of a picture that are known without its bytes. */
export const pictureColumns = `pictures.id AS pictureId, pictures.mime,
  pictures.width_pixels AS widthPixels, pictures.height_pixels AS heightPixels`;

type Picture = NonNullable<RunNote['picture']>;

export function toPicture({ pictureId, mime, widthPixels, heightPixels }: PictureColumns): Picture {
  return { id: pictureId ?? '', mime: mime as Picture['mime'], widthPixels, heightPixels };
}

interface NoteColumns extends PictureColumns {
  readonly eventId: number;
  readonly atMs: number | null;
  readonly wallMs: number;
  readonly writtenBy: string;
  readonly text: string;
}

/** The notes of a run in the order in which they were written. */
export function runNotes(db: Database.Database, runNumber: number): readonly RunNote[] {
  return db
    .prepare<[number], NoteColumns>(
      `SELECT events.id AS eventId, events.at_ms AS atMs, events.wall_ms AS wallMs,
         run_notes.written_by AS writtenBy, run_notes.text, ${pictureColumns}
       FROM run_notes JOIN events ON events.id = run_notes.event
         LEFT JOIN pictures ON pictures.number = run_notes.picture
       WHERE run_notes.run = ? ORDER BY run_notes.event`,
    )
    .all(runNumber)
    .map((row) => {
      const { eventId, atMs, wallMs, writtenBy: by, text } = row;
      const picture = row.pictureId === null ? null : toPicture(row);
      return runNoteSchema.parse({ eventId, atMs, wallMs, by, text, picture });
    });
}

interface ChangeColumns {
  readonly atMs: number | null;
  readonly wallMs: number;
  readonly askedBy: string;
  readonly planBefore: string;
}

/** The changes of a run's plan in their order, each with the plan until then. */
export function planChanges(db: Database.Database, runNumber: number): readonly PlanChange[] {
  return db
    .prepare<[number], ChangeColumns>(
      `SELECT at_ms AS atMs, wall_ms AS wallMs, asked_by AS askedBy, plan_before AS planBefore
       FROM run_changes WHERE run = ? ORDER BY number`,
    )
    .all(runNumber)
    .map(({ atMs, wallMs, askedBy: by, planBefore }) => {
      const change = { atMs, wallMs, by, planBefore: JSON.parse(planBefore) as unknown };
      const result = planChangeSchema.safeParse(change);
      if (result.success) return result.data;
      const issues = describeIssues(result.error.issues);
      throw new StoreError('unreadable', `A change of the run cannot be read: ${issues}.`);
    });
}
