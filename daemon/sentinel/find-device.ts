/** Opens a serial device that was lost, under whichever of its names it stands now, and only that one. */

import { realpathSync } from 'node:fs';
import type { SentinelOffScript } from '../wire/process.ts';
import { reopenDevice } from './channel.ts';
import type { Channel } from './channel.ts';
import { meet } from './identity.ts';

/** The devices that are there now, each once, in the order of the names. */
function devicesOf(names: readonly string[]): readonly string[] {
  const devices = new Set<string>();
  for (const name of names) {
    try {
      devices.add(realpathSync(name));
    } catch {
      // Nothing stands under this name now.
    }
  }
  return [...devices];
}

/**
 * The supply that answers as it did at arming. Where nobody does, a device that keeps silent is
 * taken: a supply that cannot answer may still hear OFF, and another one would have answered. One
 * that answers as somebody else is closed again and sent nothing. Throws with the reason.
 */
export async function findDevice(
  names: readonly string[],
  baudRate: number | null,
  identity: SentinelOffScript['identity'],
): Promise<Channel> {
  let silent: Channel | null = null;
  let reason = `${names[0] ?? 'the line'} is not there`;
  for (const device of devicesOf(names)) {
    try {
      const channel = await reopenDevice(device, baudRate);
      const met = await meet(channel, identity);
      if (met.kind === 'same') {
        silent?.close();
        return channel;
      }
      if (met.kind === 'silent' && silent === null) silent = channel;
      else channel.close();
      if (met.kind === 'other') {
        reason = `another device stands at ${device}: it answers as ${JSON.stringify(met.says)}`;
      }
    } catch (error) {
      reason = error instanceof Error ? error.message : String(error);
    }
  }
  if (silent !== null) return silent;
  throw new Error(reason);
}
