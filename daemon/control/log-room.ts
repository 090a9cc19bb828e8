/** Room for the log: what is free where it lies, and what a run on a tank may need. */

import { statfs } from 'node:fs/promises';
import { dirname } from 'node:path';

const bytesPerMegabyte = 1024 * 1024;
/** Measured: a night of eight hours at four readings a second takes about 12 MB. */
const megabytesPerReading = 12 / (8 * 3_600 * 4);
/** Journal, events, alarms and photos beside the readings. */
const allowance = 2;
const leastMegabytes = 20;

/** Free room where a database lies, MB; null where the system does not tell. */
export async function freeMegabytes(databaseFile: string): Promise<number | null> {
  try {
    const { bavail, bsize } = await statfs(dirname(databaseFile));
    return (bavail * bsize) / bytesPerMegabyte;
  } catch {
    return null;
  }
}

/** What the longest run on a tank may write, MB. */
export function neededMegabytes(maxHours: number, cycleMs: number): number {
  const readings = (maxHours * 3_600_000) / cycleMs;
  return Math.max(leastMegabytes, allowance * megabytesPerReading * readings);
}
