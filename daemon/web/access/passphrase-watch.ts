/** The passphrases as they are now: read anew when the command line has changed their file. */

import { createHash } from 'node:crypto';
import { statSync } from 'node:fs';
import { matchesPassphrase, readPassphrases } from '../../settings/door.ts';
import type { Passphrases } from '../../settings/door.ts';
import { roleSchema } from '../../wire/session.ts';
import type { Role } from '../../wire/roles.ts';

/** The file is looked at this often at the most, ms. */
const lookEveryMs = 500;

export class PassphraseWatch {
  readonly #file: string | null;
  readonly #warn: (error: unknown, sentence: string) => void;
  #set: Passphrases = {};
  #marks: Partial<Record<Role, string>> = {};
  #stamp = 'never';
  #lookedMs = -Infinity;

  /** Null for the file means that there are none and never will be. */
  constructor(file: string | null, warn: (error: unknown, sentence: string) => void) {
    this.#file = file;
    this.#warn = warn;
  }

  /** Tells one passphrase from the next without saying anything about either; null where none is set. */
  markOf(role: Role): string | null {
    this.#look();
    return this.#marks[role] ?? null;
  }

  get any(): boolean {
    this.#look();
    return Object.keys(this.#set).length > 0;
  }

  /** The highest role that a passphrase opens. Every one that is set is computed, whichever it is. */
  async roleOf(passphrase: string): Promise<Role | null> {
    this.#look();
    const set = this.#set;
    let found: Role | null = null;
    for (const role of roleSchema.options) {
      const kept = set[role];
      if (kept !== undefined && (await matchesPassphrase(passphrase, kept))) found = role;
    }
    return found;
  }

  #look(): void {
    if (this.#file === null || performance.now() - this.#lookedMs < lookEveryMs) return;
    this.#lookedMs = performance.now();
    const stamp = stampOf(this.#file);
    if (stamp === this.#stamp) return;
    this.#stamp = stamp;
    try {
      this.#set = readPassphrases(this.#file);
    } catch (error) {
      // Nobody gets in with what cannot be read; the switch of the supply and `off` remain.
      this.#set = {};
      this.#warn(error, 'The passphrases cannot be read; nobody can sign in.');
    }
    this.#marks = {};
    for (const role of roleSchema.options) {
      const kept = this.#set[role];
      if (kept !== undefined) {
        this.#marks[role] = createHash('sha256').update(kept).digest('hex').slice(0, 32);
      }
    }
  }
}

function stampOf(file: string): string {
  try {
    const { ino, mtimeMs, size } = statSync(file);
    return `${ino} ${mtimeMs} ${size}`;
  } catch {
    return 'none';
  }
}
