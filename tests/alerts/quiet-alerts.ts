/** The real desk of alerts for tests: without channels, or with ones that a test plays. */

import { AlertDesk } from '../../daemon/alerts/door.ts';
import type { Send } from '../../daemon/alerts/messenger.ts';
import type { ChannelSettings } from '../../daemon/settings/model.ts';
import type { StoreWriter } from '../../daemon/store/door.ts';

export function quietAlerts(
  store: Pick<StoreWriter, 'outbox'>,
  channels: readonly ChannelSettings[] = [],
  send: Send = () => Promise.resolve('Nobody plays this channel.'),
): AlertDesk {
  return new AlertDesk({
    settings: { channels, deadMan: null },
    outbox: store.outbox,
    send,
    beep: () => Promise.reject(new Error('There is no beeper.')),
    say: () => undefined,
  });
}

/** A channel by its name; where it leads does not matter to a test that plays it. */
export function aChannel(name: string, changes: Partial<ChannelSettings> = {}): ChannelSettings {
  const channel = {
    kind: 'webhook',
    name,
    leastPriority: 'note',
    url: `https://push.example/${name}`,
    format: 'text',
    body: null,
    headers: {},
    priorityWords: null,
  } as const;
  // The kind stays what it is: only fields that all kinds have are changed.
  return { ...channel, ...changes } as ChannelSettings;
}
