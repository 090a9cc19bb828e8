/** What `nightbath verify` says of the alert channels: reachable, last delivery, last test that arrived. */

import { outletOf, reachOf, testHoldsMs } from '../alerts/door.ts';
import { databaseFile } from '../settings/door.ts';
import type { ChannelSettings, Settings } from '../settings/model.ts';
import { openStoreReader } from '../store/door.ts';
import type { ChannelHistory } from '../store/door.ts';

export interface ChannelFinding {
  readonly what: string;
  readonly word: 'ok' | 'look' | 'wrong';
  readonly found: string;
}

/** One line for each channel; none at all is worth a thought. */
export async function channelFindings(
  settings: Settings,
  env: NodeJS.ProcessEnv,
): Promise<readonly ChannelFinding[]> {
  const { channels } = settings.alerts;
  if (channels.length === 0) {
    const found = 'no channels: away from the page nobody is told, so do not leave the bench alone';
    return [{ what: 'alerts', word: 'look', found }];
  }
  const history = historyOf(settings, env);
  return Promise.all(channels.map((channel) => findingOf(channel, history, env)));
}

/** A log that cannot be read has a line of its own. */
function historyOf(settings: Settings, env: NodeJS.ProcessEnv): readonly ChannelHistory[] {
  try {
    const reader = openStoreReader(databaseFile(settings, env));
    try {
      return reader.channelHistory();
    } finally {
      reader.close();
    }
  } catch {
    return [];
  }
}

async function findingOf(
  channel: ChannelSettings,
  history: readonly ChannelHistory[],
  env: NodeJS.ProcessEnv,
): Promise<ChannelFinding> {
  const what = `alerts: ${channel.name}`;
  let reached: string;
  try {
    reached = await reachOf(channel, env);
  } catch (error) {
    return { what, word: 'wrong', found: error instanceof Error ? error.message : String(error) };
  }
  const known = history.find((one) => one.channel === channel.name);
  const delivered = `last delivery ${whenOf(known?.deliveredWallMs ?? null)}`;
  if (channel.kind === 'beeper') return { what, word: 'ok', found: `${reached}; ${delivered}` };
  const sameAddress = known?.confirmedPrint === outletOf(channel).print;
  const confirmedWallMs = sameAddress ? (known?.confirmedWallMs ?? null) : null;
  const tested = `last test that arrived ${whenOf(confirmedWallMs)}`;
  const fresh = confirmedWallMs !== null && Date.now() - confirmedWallMs <= testHoldsMs;
  return { what, word: fresh ? 'ok' : 'look', found: `${reached}; ${delivered}; ${tested}` };
}

function whenOf(wallMs: number | null): string {
  return wallMs === null ? 'never' : new Date(wallMs).toISOString().slice(0, 16).replace('T', ' ');
}
