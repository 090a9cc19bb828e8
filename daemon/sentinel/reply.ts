/** Asks a supply whether its output is off, trusting nothing that may be an older reply. */

import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { Channel } from './channel.ts';

const pollMs = 10;
/** A reply is whole when nothing more came for this long; some supplies need as long before a query. */
const quietMs = 100;
const replyWithinMs = 700;
const drainWithinMs = 300;

/** Throws away what stands in the line, until it has been quiet. */
async function drain(channel: Channel): Promise<void> {
  const endMs = performance.now() + drainWithinMs;
  let quietSinceMs = performance.now();
  while (performance.now() < endMs) {
    if (channel.take() !== '') quietSinceMs = performance.now();
    if (performance.now() - quietSinceMs >= quietMs) return;
    await wait(pollMs);
  }
}

/** What was said, line by line; an echo of the question is said by nobody. */
function linesOf(text: string, query: string): readonly string[] {
  return text
    .split(/[\r\n]+/)
    .map((line) => line.trim())
    .filter((line) => line !== '' && line !== query.trim());
}

/** The reply to a query; an empty text when none came in time. */
async function ask(channel: Channel, query: string): Promise<string> {
  await channel.write(Buffer.from(query, 'latin1'));
  const endMs = performance.now() + replyWithinMs;
  let text = '';
  let heardMs = performance.now();
  while (performance.now() < endMs && text.length < 4096) {
    const more = channel.take();
    if (more !== '') heardMs = performance.now();
    text += more;
    if (linesOf(text, query).length > 0 && performance.now() - heardMs >= quietMs) break;
    await wait(pollMs);
  }
  return text;
}

/** A line that could itself be a state: a number or a word for it, unlike the "OK" of some supplies. */
const stateLike = /^[+-]?[\d.]|^(?:on|off)$/i;

/**
 * Whether a reply says off: its last line that is neither an echo nor a mere acknowledgement, or the
 * whole of a reply without lines.
 */
export function saysOff(reply: string, query: string, pattern: RegExp): boolean {
  const lines = linesOf(reply, query);
  const last = lines.at(-1);
  if (last !== undefined && pattern.test(last)) return true;
  const before = lines.at(-2);
  if (last !== undefined && before !== undefined && !stateLike.test(last)) {
    return pattern.test(before);
  }
  return lines.length <= 1 && reply !== '' && pattern.test(reply);
}

/**
 * Null when the supply said off twice in a row; otherwise why not. Twice, each time on a drained
 * line: a single late reply to a question of the dead process could look like the answer.
 */
export async function verifyOff(
  channel: Channel,
  query: string,
  pattern: RegExp,
): Promise<string | null> {
  for (let turn = 0; turn < 2; turn += 1) {
    await drain(channel);
    const reply = await ask(channel, query);
    if (reply === '') return 'it gives no reply';
    if (!saysOff(reply, query, pattern)) {
      return `it answers ${JSON.stringify(reply.trim().slice(0, 60))}, which does not say off`;
    }
  }
  return null;
}
