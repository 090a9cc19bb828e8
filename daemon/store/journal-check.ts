/** Finds a write-ahead journal that has lost commits which were safe on disk: SQLite itself says nothing of it. */

import { existsSync, readFileSync } from 'node:fs';

/*
 * The form of the file is that of "WAL-mode File Format" in SQLite's own documentation: a header of 32
 * bytes, then frames of 24 bytes and a page each. Sums run on from frame to frame; two salts tell the
 * frames of this journal from what an earlier one has left behind them.
 */
const headerBytes = 32;
const frameHeaderBytes = 24;
const magic = 0x377f0682;

/** The running sum over whole pairs of 32-bit words. */
class RunningSum {
  #first = 0;
  #second = 0;
  readonly #read: (bytes: Buffer, at: number) => number;

  constructor(bigEndian: boolean) {
    this.#read = bigEndian
      ? (bytes, at) => bytes.readInt32BE(at)
      : (bytes, at) => bytes.readInt32LE(at);
  }

  add(bytes: Buffer): void {
    for (let at = 0; at + 8 <= bytes.length; at += 8) {
      this.#first = (this.#first + this.#read(bytes, at) + this.#second) | 0;
      this.#second = (this.#second + this.#read(bytes, at + 4) + this.#first) | 0;
    }
  }

  /** Whether it is the one that stands at a place. */
  isAt(bytes: Buffer, at: number): boolean {
    return bytes.readInt32BE(at) === this.#first && bytes.readInt32BE(at + 4) === this.#second;
  }
}

interface Frame {
  readonly ofThisJournal: boolean;
  readonly whole: boolean;
  /** Ends a transaction. */
  readonly commits: boolean;
}

function* framesOf(bytes: Buffer, pageBytes: number, sum: RunningSum): Generator<Frame> {
  const salts = bytes.subarray(16, 24);
  const step = frameHeaderBytes + pageBytes;
  for (let at = headerBytes; at + step <= bytes.length; at += step) {
    sum.add(bytes.subarray(at, at + 8));
    sum.add(bytes.subarray(at + frameHeaderBytes, at + step));
    yield {
      ofThisJournal: bytes.subarray(at + 8, at + 16).equals(salts),
      whole: sum.isAt(bytes, at + 16),
      commits: bytes.readUInt32BE(at + 4) !== 0,
    };
  }
}

/**
 * Why the journal beside `file` has lost what was safe, or null. A torn end is no damage: it was never
 * confirmed to anybody. A transaction is only begun once the one before it is on disk, so a frame that
 * does not hold, with two ends of transactions from it on, was on disk before.
 */
export function brokenJournal(file: string): string | null {
  const path = `${file}-wal`;
  if (!existsSync(path)) return null;
  const bytes = readFileSync(path);
  if (bytes.length < headerBytes + frameHeaderBytes || isBlank(bytes.subarray(0, headerBytes))) {
    return null;
  }
  const pageBytes = bytes.readUInt32BE(8) === 1 ? 65_536 : bytes.readUInt32BE(8);
  const sum = new RunningSum((bytes.readUInt32BE(0) & 1) === 1);
  sum.add(bytes.subarray(0, 24));
  const known = (bytes.readUInt32BE(0) & ~1) >>> 0 === magic && pageBytes >= 512;
  if (!known || !sum.isAt(bytes, 24)) return `the head of the journal ${path} is damaged`;
  let broken = 0;
  let ends = 0;
  let number = 0;
  for (const frame of framesOf(bytes, pageBytes, sum)) {
    number += 1;
    if (broken === 0 && !frame.whole) broken = number;
    if (broken > 0 && frame.ofThisJournal && frame.commits) ends += 1;
  }
  return broken > 0 && ends >= 2 ? `the journal ${path} is damaged at frame ${broken}` : null;
}

function isBlank(bytes: Buffer): boolean {
  return bytes.every((byte) => byte === 0);
}
