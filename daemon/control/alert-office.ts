/** Sets up the alerts of control: the thread that sends, and the beepers of the supplies. */

import { AlertDesk, DeliveryCrew } from '../alerts/door.ts';
import type { Settings } from '../settings/model.ts';
import type { StoreWriter } from '../store/door.ts';
import type { Tank } from './tank.ts';

/** The desk of alerts by the settings; `say` takes sentences for the log of the process. */
export function alertDesk(
  { studio, alerts }: Settings,
  store: StoreWriter,
  tanks: ReadonlyMap<string, Tank>,
  say: (sentence: string) => void,
): AlertDesk {
  const crew = new DeliveryCrew({ channels: alerts.channels, studio });
  return new AlertDesk({
    settings: alerts,
    outbox: store.outbox,
    send: (channel, letter) => crew.send(channel, letter),
    beep: () => soundBeepers([...tanks.values()]),
    say,
  });
}

/** Resolves when one of them at least was sounded; rejects with the reasons of all. */
async function soundBeepers(tanks: readonly Tank[]): Promise<void> {
  const tries = await Promise.allSettled(tanks.map((tank) => tank.beep()));
  if (tries.some(({ status }) => status === 'fulfilled')) return;
  const reasons = tries.map((one) =>
    one.status === 'rejected' && one.reason instanceof Error ? one.reason.message : '',
  );
  throw new Error(reasons.join(' ').trim().slice(0, 300) || 'There is no supply to be sounded.');
}
