/** The note that the sentinel leaves for the next control process: what it found, did and could not do. */

import { closeSync, fsyncSync, mkdirSync, openSync, readFileSync, renameSync } from 'node:fs';
import { rmSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';
import * as z from 'zod/mini';
import { bootClocksSchema } from '../wire/run.ts';

const tankNoteSchema = z.strictObject({
  tankId: z.string(),
  /** Whether the supply itself said that its output is off. */
  offConfirmed: z.boolean(),
  /** One sentence: how OFF was confirmed, or why not. */
  message: z.string(),
});

const sentinelNoteSchema = z.strictObject({
  /** Wall ms since the epoch at which this was found. */
  wallMs: z.number(),
  /** The clocks that nobody sets, at the same moment. */
  clocks: z.optional(z.nullable(bootClocksSchema)),
  cause: z.enum(['died', 'hung', 'did-not-start', 'overstepped', 'left-on', 'unreadable']),
  /** One sentence: what was found. */
  found: z.string(),
  /** The tanks whose output may have been on, with what became of each. */
  tanks: z.array(tankNoteSchema),
});
export type SentinelNote = z.infer<typeof sentinelNoteSchema>;

const fileSchema = z.strictObject({ notes: z.array(sentinelNoteSchema) });
/** Oldest notes go first; nobody reads a hundred. */
const mostNotes = 20;

/**
 * Notes that stand unread, oldest first; empty when there are none. A file that cannot be
 * understood counts as one note that says so, with no tank confirmed.
 */
export function readSentinelNotes(file: string): readonly SentinelNote[] {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return [];
    return [unreadable(error)];
  }
  try {
    return fileSchema.parse(JSON.parse(text)).notes;
  } catch (error) {
    return [unreadable(error)];
  }
}

function unreadable(error: unknown): SentinelNote {
  const why = (error instanceof Error ? error.message : String(error)).split('\n')[0] ?? '';
  const found = `The sentinel left a note that cannot be read: ${why}`;
  return { wallMs: Date.now(), cause: 'unreadable', found, tanks: [] };
}

/** Removes the notes, once what they say is on record elsewhere. */
export function clearSentinelNotes(file: string): void {
  rmSync(file, { force: true });
}

/** Adds a note, on disk before this returns: the next control process may start right after. */
export function addSentinelNote(file: string, note: SentinelNote): void {
  const notes = [...readSentinelNotes(file), note].slice(-mostNotes);
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  const fresh = `${file}.new`;
  const descriptor = openSync(fresh, 'w', 0o600);
  try {
    writeSync(descriptor, JSON.stringify({ notes }, null, 2));
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
  renameSync(fresh, file);
}
