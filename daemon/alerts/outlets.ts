/** What may be told of a channel: its name, where it leads without any secret, and its print. */

import { createHash } from 'node:crypto';
import type { ChannelSettings } from '../settings/model.ts';
import { portOf } from './channels/ports.ts';
import type { Outlet } from './messenger.ts';

/** A channel's settings in short: another address, another print. Secrets are in it by where they are kept. */
export function outletOf(channel: ChannelSettings): Outlet {
  const print = createHash('sha256').update(JSON.stringify(channel)).digest('hex').slice(0, 16);
  return { name: channel.name, leastPriority: channel.leastPriority, print };
}

/** True where it can reach a person who is not at the bench. */
export function reachesOutside({ kind }: ChannelSettings): boolean {
  return kind !== 'beeper';
}

/** Where it leads. Of an address only the server: the rest of it is a secret as a rule. */
export function targetOf(channel: ChannelSettings): string {
  switch (channel.kind) {
    case 'email': {
      const { to, host, security } = channel;
      return `${to.join(', ')} by ${host}, port ${portOf(channel)} (${security})`;
    }
    case 'webhook':
      if (typeof channel.url === 'string') return `${new URL(channel.url).origin}/…`;
      return 'environment' in channel.url
        ? `the address in ${channel.url.environment}`
        : `the address in ${channel.url.file}`;
    case 'command':
      return channel.program;
    case 'beeper':
      return 'the beeper of the supplies';
  }
}
