/** Keeps on disk what would have to be switched off if sentinel and control were both gone at once. */

import { readFileSync } from 'node:fs';
import { mkdir, open, rename, rm } from 'node:fs/promises';
import { dirname } from 'node:path';
import * as z from 'zod/mini';
import { offScriptSchema } from '../wire/process.ts';
import type { Way } from './guard.ts';

const bookSchema = z.strictObject({
  /** The sentinel that wrote it, and when that process was started, in the kernel's own ticks. */
  owner: z.strictObject({ pid: z.int(), startedTicks: z.nullable(z.string()) }),
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

/** A process id is used again one day, so its start is compared too; null where there is no /proc. */
function startedTicks(pid: number): string | null {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    // The name in brackets may hold anything; the 22nd field is the 20th after it.
    return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? null;
  } catch {
    return null;
  }
}

function isAlive(owner: z.infer<typeof bookSchema>['owner']): boolean {
  if (owner.pid === process.pid) return false;
  try {
    process.kill(owner.pid, 0);
  } catch (error) {
    // Somebody else's process is a process all the same.
    return error instanceof Error && 'code' in error && error.code === 'EPERM';
  }
  return owner.startedTicks === startedTicks(owner.pid);
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
    const owner = { pid: process.pid, startedTicks: startedTicks(process.pid) };
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
