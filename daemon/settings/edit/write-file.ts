/** Writes a file whole or not at all: a draft beside it, flushed, then put in its place. */

import { randomBytes } from 'node:crypto';
import {
  chmodSync,
  chownSync,
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { dirname } from 'node:path';
import type { Stats } from 'node:fs';

/** Only what a maker's own programs write: others have no business with where a supply hangs. */
const newFileMode = 0o600;

function standing(file: string): Stats | null {
  try {
    return statSync(file);
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return null;
    throw error;
  }
}

/** A file's owner can be kept by the superuser only; for anybody else it is their own already. */
function keepOwner(draft: string, { uid, gid }: Stats): void {
  try {
    chownSync(draft, uid, gid);
  } catch {
    // The file then belongs to who runs Nightbath, as a new one would.
  }
}

/**
 * The name of a folder's entry outlasts a power cut only once the folder is flushed. Some disks, such
 * as those of a network, cannot do that; the new file is in its place by then, so this is no failure.
 */
function flushFolder(folder: string): void {
  if (process.platform === 'win32') return;
  try {
    const handle = openSync(folder, 'r');
    try {
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
  } catch {
    // What stood there before, or the new file whole: a power cut leaves one of them.
  }
}

/**
 * Writes the text as the file, with the mode of `like` or of the file as it stands. Throws what the
 * system says, and then what stood there still does.
 */
export function writeWhole(file: string, text: string, like = file): void {
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  const before = standing(like);
  const draft = `${file}.${process.pid}.${randomBytes(4).toString('hex')}.new`;
  const handle = openSync(draft, 'wx', newFileMode);
  try {
    try {
      const bytes = Buffer.from(text, 'utf8');
      let written = 0;
      while (written < bytes.length) written += writeSync(handle, bytes, written);
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
    if (before !== null) {
      chmodSync(draft, before.mode & 0o777);
      keepOwner(draft, before);
    }
    renameSync(draft, file);
  } catch (error) {
    rmSync(draft, { force: true });
    throw error;
  }
  flushFolder(dirname(file));
}
