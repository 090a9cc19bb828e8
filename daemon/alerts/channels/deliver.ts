/** One try on one channel that leaves this computer, bounded in time, with its outcome fit to be shown. */

import type { ChannelSettings } from '../../settings/model.ts';
import type { Letter } from '../letter.ts';
import { reasonOf } from './reasons.ts';
import { ChannelError, redact, secretsOf, secretVariables, sourcesOfAll } from './secrets.ts';
import type { Hide } from './secrets.ts';

/** A try is given up after this, ms. */
export const tryWithinMs = 10_000;

export interface Workplace {
  readonly channels: readonly ChannelSettings[];
  readonly studio: string;
  readonly env: NodeJS.ProcessEnv;
  /** For tests: less than the usual time. */
  readonly withinMs?: number;
}

/** Resolves with null once the channel took it, else with why not; never rejects, tells no secret. */
export async function deliver(
  place: Workplace,
  channelName: string,
  letter: Letter,
): Promise<string | null> {
  const channel = place.channels.find(({ name }) => name === channelName);
  if (channel === undefined) return `There is no channel "${channelName}".`;
  const withinMs = place.withinMs ?? boundOf(channel);
  const late = new AbortController();
  const timer = setTimeout(() => late.abort(), withinMs);
  // Read when something is to be told: a secret in a file may have been changed since.
  const hide = (text: string) => redact(text, secretsOf(sourcesOfAll(place.channels), place.env));
  try {
    await send(place, channel, letter, { signal: late.signal, withinMs, hide });
    return null;
  } catch (error) {
    const seconds = withinMs / 1000;
    const reason = late.signal.aborted ? `No answer within ${seconds} s.` : reasonOf(error, hide);
    return hide(reason).slice(0, 400);
  } finally {
    clearTimeout(timer);
  }
}

/** A program has its own time and ends by it; the rest is for noticing that. */
function boundOf(channel: ChannelSettings): number {
  return channel.kind === 'command' ? channel.timeoutSeconds * 1000 + 2_000 : tryWithinMs;
}

interface Try {
  readonly signal: AbortSignal;
  readonly withinMs: number;
  readonly hide: Hide;
}

/** The code of a channel is loaded when it is first used: most benches use one or two. */
async function send(
  { channels, studio, env }: Workplace,
  channel: ChannelSettings,
  letter: Letter,
  { signal, withinMs, hide }: Try,
): Promise<void> {
  const context = { env, studio, signal };
  switch (channel.kind) {
    case 'email': {
      const { sendByEmail } = await import('./email.ts');
      return sendByEmail(channel, letter, context, withinMs);
    }
    case 'webhook': {
      const { sendByWebhook } = await import('./webhook.ts');
      return sendByWebhook(channel, letter, context);
    }
    case 'command': {
      const { sendByCommand } = await import('./command.ts');
      const variables = secretVariables(sourcesOfAll(channels));
      return sendByCommand(channel, letter, env, { variables, hide });
    }
    case 'beeper':
      throw new ChannelError('The beeper of a supply is reached by the control process only.');
  }
}
