/** Keeps on disk what would have to be switched off if sentinel and control were both gone at once. */

import { readFileSync } from 'node:fs';
import { mkdir, open, rename, rm } from 'node:fs/promises';
import { dirname } from 'node:path';
import * as z from 'zod/mini';
import { offScriptSchema } from '../wire/process.ts';
import type { Way } from './guard.ts';
import { birthOf, bootId } from './process-birth.ts';

const bookSchema = z.strictObject({
  /** The sentinel that wrote it, when that process was started, and in which start of the computer. */
  owner: z.strictObject({
    pid: z.int(),
    startedTicks: z.nullable(z.string()),
    bootId: z.optional(z.nullable(z.string())),
  }),
  ways: z.array(
    z.strictObject({ tankId: z.string(), script: offScriptSchema, names: z.array(z.string()) }),
  ),
});

/** What an earlier sentinel has left behind. */
export type LeftBehind =
  | { readonly kind: 'nothing' }
  /** That sentinel is still there: its tanks are not ours to touch. */
  | { readonly kind: 'in-use'; readonly pid: number }
  | { readonly kind: 'unreadable'; readonly why: string }
  | { readonly kind: 'owed'; readonly ways: readonly Way[] };

/**
 * A process id is used again one day, and by anybody: what was started at another time, or before
 * this start of the computer, is not the one that wrote the book. A false "alive" would leave an
 * output on.
 */
function isAlive(owner: z.infer<typeof bookSchema>['owner']): boolean {
  if (owner.pid === process.pid) return false;
  const boot = bootId();
  if (boot !== null && owner.bootId != null && owner.bootId !== boot) return false;
  const found = birthOf(owner.pid);
  if (found.kind === 'running') return owner.startedTicks === found.birth;
  return found.kind === 'unknown' && numberIsInUse(owner.pid);
}

function numberIsInUse(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // Somebody else's process is a process all the same.
    return error instanceof Error && 'code' in error && error.code === 'EPERM';
  }
}

/** Reads the book; never throws. */
export function readGuardBook(file: string): LeftBehind {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    const missing = error instanceof Error && 'code' in error && error.code === 'ENOENT';
    return missing ? { kind: 'nothing' } : { kind: 'unreadable', why: String(error) };
  }
  try {
    const { owner, ways } = bookSchema.parse(JSON.parse(text));
    if (isAlive(owner)) return { kind: 'in-use', pid: owner.pid };
    return ways.length === 0 ? { kind: 'nothing' } : { kind: 'owed', ways };
  } catch (error) {
    const why = (error instanceof Error ? error.message : String(error)).split('\n')[0] ?? '';
    return { kind: 'unreadable', why };
  }
}

export class GuardBook {
  readonly #file: string;
  /** Writes come one after the other, and each takes what is newest when its turn comes. */
  #last: Promise<void> = Promise.resolve();
  #ways: readonly Way[] = [];

  constructor(file: string) {
    this.#file = file;
  }

  /** Resolves once it is on disk; the disk may take its time, so nobody is kept from watching. */
  write(ways: readonly Way[]): Promise<void> {
    this.#ways = ways;
    const done = this.#last.catch(() => undefined).then(() => this.#write(this.#ways));
    this.#last = done;
    return done;
  }

  async #write(ways: readonly Way[]): Promise<void> {
    if (ways.length === 0) {
      await rm(this.#file, { force: true });
      return;
    }
    await mkdir(dirname(this.#file), { recursive: true, mode: 0o700 });
    const born = birthOf(process.pid);
    const startedTicks = born.kind === 'running' ? born.birth : null;
    const owner = { pid: process.pid, startedTicks, bootId: bootId() };
    const fresh = `${this.#file}.new`;
    const handle = await open(fresh, 'w', 0o600);
    try {
      await handle.writeFile(JSON.stringify({ owner, ways }, null, 2));
      await handle.sync();
    } finally {
      await handle.close();
    }
    await rename(fresh, this.#file);
  }
}
