/** Waits until what was written is on the disk, where nothing else does. */

import { closeSync, fsyncSync, openSync } from 'node:fs';

/**
 * A file, or a folder for the names in it. SQLite writes a `VACUUM INTO` copy without waiting for the
 * disk.
 */
export function syncToDisk(path: string): void {
  // Windows cannot open a folder for this, and does not need it.
  if (process.platform === 'win32') return;
  const descriptor = openSync(path, 'r');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}
