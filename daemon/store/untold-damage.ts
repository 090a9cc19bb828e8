/**
 * That the log was damaged stays in a file beside it until its alarms are stored: a process that
 * ends in between would leave a fresh log that knows of nothing.
 */

import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { syncToDisk } from './sync-to-disk.ts';

function markOf(file: string): string {
  return `${file}.damage-untold`;
}

/**
 * Kept before the damaged file is moved, after what is not told yet. A disk that takes nothing more
 * keeps nobody from opening the log.
 */
export function noteDamage(file: string, found: string): void {
  try {
    const before = untoldDamage(file);
    writeFileSync(markOf(file), before === null ? found : `${before} ${found}`, { mode: 0o600 });
    syncToDisk(markOf(file));
    syncToDisk(dirname(file));
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

/** The alarms about it are stored. One that cannot be removed is told of once more at the next start. */
export function forgetDamage(file: string): void {
  try {
    rmSync(markOf(file), { force: true });
  } catch {
    // Twice is better than never.
  }
}
