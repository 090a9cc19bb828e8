/** The running daemon, as a command reaches it. */

import { existsSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import { connectControl } from '../control/door.ts';
import type { ControlClient } from '../control/door.ts';

const connectWithinMs = 700;

/** A client of the running daemon, or null when there is none. */
export async function runningDaemon(socketPath: string): Promise<ControlClient | null> {
  // No waiting where there is nothing to wait for: OFF is in a hurry. A pipe of Windows is no file.
  if (process.platform !== 'win32' && !existsSync(socketPath)) return null;
  const client = connectControl(socketPath);
  const endMs = performance.now() + connectWithinMs;
  while (!client.alive && performance.now() < endMs) await wait(20);
  if (client.alive) return client;
  client.close();
  return null;
}
