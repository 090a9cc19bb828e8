/** The clocks of this computer that nobody sets. */

import { createHash } from 'node:crypto';
import { uptime } from 'node:os';
import type { BootClocks } from '../wire/run.ts';
import { bootId } from './process-birth.ts';

/** A name for one start of the computer that tells nobody which computer it is. */
function nameOf(boot: string): string {
  return createHash('sha256').update(boot).digest('hex').slice(0, 16);
}

/**
 * The monotonic clock stands still while the computer sleeps, the time since boot does not. Null where
 * the system does not tell one of its starts from another.
 */
export function readBootClocks(): BootClocks | null {
  const boot = bootId();
  if (boot === null) return null;
  const sinceBootMs = uptime() * 1000;
  return { bootId: nameOf(boot), awakeMs: Number(process.hrtime.bigint()) / 1e6, sinceBootMs };
}
