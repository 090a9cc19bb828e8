/** Asks who stands at a line that was opened anew, before anything is believed or switched there. */

import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { SentinelOffScript } from '../wire/process.ts';
import type { Channel } from './channel.ts';

/** `silent`: nobody answered in time, which another supply would have done. */
export type Met =
  | { readonly kind: 'same' }
  | { readonly kind: 'silent' }
  | { readonly kind: 'other'; readonly says: string };

const pollMs = 5;
const answerWithinMs = 400;
/** A reply that is not the expected one is whole when nothing more came for this long. */
const quietMs = 120;

/** A line that has come to its end is judged at once; what has no end only once it is quiet. */
function holds(text: string, reply: string, whole: boolean): boolean {
  const lines = text.split(/[\r\n\0]+/);
  return (whole ? lines : lines.slice(0, -1)).some((line) => line.trim() === reply.trim());
}

/**
 * Compares the supply's own word with the one that was heard at arming. Without such a word nobody
 * can be told apart, and whoever stands there counts as the same.
 */
export async function meet(
  channel: Channel,
  identity: SentinelOffScript['identity'],
): Promise<Met> {
  if (identity === null) return { kind: 'same' };
  channel.take();
  await channel.write(Buffer.from(identity.query, 'latin1'));
  const endMs = performance.now() + answerWithinMs;
  let text = '';
  let heardMs = performance.now();
  while (performance.now() < endMs) {
    const more = channel.take();
    if (more !== '') heardMs = performance.now();
    text += more;
    if (holds(text, identity.reply, false)) return { kind: 'same' };
    if (text.trim() !== '' && performance.now() - heardMs >= quietMs) break;
    await wait(pollMs);
  }
  if (holds(text, identity.reply, true)) return { kind: 'same' };
  const says = text.trim().slice(0, 80);
  return says === '' ? { kind: 'silent' } : { kind: 'other', says };
}
