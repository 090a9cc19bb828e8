/** Tells one process from a later one that got the same number, by when it was started. */

import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';

/** `unknown`: this system does not tell, and a number that is in use says all there is to know. */
export type Birth =
  | { readonly kind: 'gone' }
  | { readonly kind: 'unknown' }
  | { readonly kind: 'running'; readonly birth: string };

const psWithinMs = 2_000;
/** Ended and not yet taken leave of by its parent: it watches over nothing any more. */
const ended: ReadonlySet<string> = new Set(['Z', 'X', 'x']);

/** `procFolder` is the kernel's own account; where there is none, `ps` is asked. */
export function birthOf(pid: number, procFolder = '/proc'): Birth {
  if (!existsSync(`${procFolder}/self/stat`)) return birthByPs(pid);
  let stat: string;
  try {
    stat = readFileSync(`${procFolder}/${pid}/stat`, 'utf8');
  } catch {
    return { kind: 'gone' };
  }
  // The name in brackets may hold anything; after it come the state and, as the 20th, the start.
  const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
  const birth = fields[19];
  if (ended.has(fields[0] ?? '')) return { kind: 'gone' };
  return birth === undefined ? { kind: 'unknown' } : { kind: 'running', birth };
}

function birthByPs(pid: number): Birth {
  let line: string;
  try {
    const asked = ['-o', 'stat=,lstart=', '-p', String(pid)];
    const env = { ...process.env, LC_ALL: 'C', TZ: 'UTC' };
    line = execFileSync('ps', asked, { encoding: 'utf8', timeout: psWithinMs, env }).trim();
  } catch (error) {
    // It ends with 1 where there is no such process; anything else is no answer.
    const answered = error instanceof Error && 'status' in error && error.status === 1;
    return { kind: answered ? 'gone' : 'unknown' };
  }
  const [state = '', ...birth] = line.split(/\s+/);
  if (line === '' || ended.has(state.slice(0, 1))) return { kind: 'gone' };
  return { kind: 'running', birth: birth.join(' ') };
}

/** Which start of the computer this is; null where the system does not tell. */
export function bootId(procFolder = '/proc'): string | null {
  try {
    return readFileSync(`${procFolder}/sys/kernel/random/boot_id`, 'utf8').trim();
  } catch {
    return null;
  }
}
