/** Asks who stands at a line that was opened anew, before anything is believed or switched there. */

import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { SentinelOffScript } from '../wire/process.ts';
import type { Channel } from './channel.ts';

/** `silent`: nobody answered in time, or nothing that could be understood, as another supply would have. */
export type Met =
  | { readonly kind: 'same' }
  | { readonly kind: 'silent' }
  | { readonly kind: 'other'; readonly says: string };

const pollMs = 5;
/** Whoever never stops talking is not waited for. */
const mostText = 16_384;
/** A supply's own time-out may be longer; it then gets twice that. */
const leastAnswerMs = 400;

/** A line that has come to its end is judged at once; what has no end only once it is quiet. */
function holds(text: string, reply: string, whole: boolean): boolean {
  const lines = text.split(/[\r\n\0]+/);
  return (whole ? lines : lines.slice(0, -1)).some((line) => line.trim() === reply.trim());
}

/** What somebody else has said, line by line: an echo of the question is said by nobody. */
function otherWords(text: string, query: string): readonly string[] {
  const lines = text.split(/[\r\n\0]+/).map((line) => line.trim());
  return lines.filter((line) => line !== '' && line !== query.trim());
}

/**
 * Compares the supply's own word with the one that was heard at arming. Without such a word nobody
 * can be told apart, and whoever stands there counts as the same. Only who says something else, and
 * says it again when asked again, is another one: noise is said once, and refusing OFF to the right
 * supply is worse than waiting. The driver of control goes by the same rule.
 */
export async function meet(
  channel: Channel,
  identity: SentinelOffScript['identity'],
): Promise<Met> {
  if (identity === null) return { kind: 'same' };
  const first = await ask(channel, identity);
  if (first === null) return { kind: 'same' };
  if (first.length === 0) return { kind: 'silent' };
  const second = await ask(channel, identity);
  if (second === null) return { kind: 'same' };
  // An error text is no name: another device would give its own, and ours may be in disorder.
  const named = new RegExp(identity.pattern ?? '', 's');
  const [says] = first.filter((line) => second.includes(line) && named.test(line));
  return says === undefined ? { kind: 'silent' } : { kind: 'other', says: says.slice(0, 80) };
}

function answerWithinMs({ timeoutMs }: NonNullable<SentinelOffScript['identity']>): number {
  return Math.max(leastAnswerMs, 2 * (timeoutMs ?? 0));
}

/** How long `meet` takes at the most, ms. */
export function meetWithinMs(identity: SentinelOffScript['identity']): number {
  return identity === null ? 0 : 2 * answerWithinMs(identity);
}

/**
 * Null once the right word was heard, else what was said instead, once its whole time has passed: an
 * echo, a greeting or an older reply comes first.
 */
async function ask(
  channel: Channel,
  identity: NonNullable<SentinelOffScript['identity']>,
): Promise<readonly string[] | null> {
  channel.take();
  await channel.write(Buffer.from(identity.query, 'latin1'));
  const endMs = performance.now() + answerWithinMs(identity);
  let text = '';
  while (performance.now() < endMs && text.length < mostText) {
    text += channel.take();
    if (holds(text, identity.reply, false)) return null;
    await wait(pollMs);
  }
  // Held up itself, this process may not have looked for a while.
  text += channel.take();
  if (holds(text, identity.reply, true)) return null;
  return otherWords(text, identity.query);
}
