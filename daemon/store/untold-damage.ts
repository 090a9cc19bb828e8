/**
 * That the log was damaged stays in a file beside it until an alarm about it is stored: a process that
 * ends in between would leave a fresh log that knows of nothing.
 */

import { closeSync, fsyncSync, openSync, readFileSync, rmSync, writeSync } from 'node:fs';

function markOf(file: string): string {
  return `${file}.damage-untold`;
}

/** Kept before the damaged file is moved. A disk that takes nothing more keeps nobody from opening the log. */
export function noteDamage(file: string, found: string): void {
  try {
    const mark = openSync(markOf(file), 'w', 0o600);
    try {
      writeSync(mark, found);
      fsyncSync(mark);
    } finally {
      closeSync(mark);
    }
  } catch {
    // It is told now; only a process that ends before that would have needed it.
  }
}

/** What an earlier process found and may not have told; null as a rule. */
export function untoldDamage(file: string): string | null {
  try {
    return readFileSync(markOf(file), 'utf8');
  } catch {
    return null;
  }
}

/** An alarm about it is stored. One that cannot be removed is told of once more at the next start. */
export function damageIsTold(file: string): void {
  try {
    rmSync(markOf(file), { force: true });
  } catch {
    // Twice is better than never.
  }
}
