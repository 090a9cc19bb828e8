/** Faults of the line between daemon and supply. */

import type { RandomStream } from '../../../drivers/simulated/random.ts';
import {
  anytime,
  between,
  forLong,
  logBetween,
  once,
  running,
  spoilNext,
  switched,
} from './row.ts';
import type { Begin, Row } from './row.ts';

/** One bit of one byte turns, as noise on a cable does it. */
function turnBit(bytes: string, random: RandomStream): string {
  const at = random.whole(bytes.length);
  const turned = bytes.charCodeAt(at) ^ (1 << random.whole(8));
  return bytes.slice(0, at) + String.fromCharCode(turned) + bytes.slice(at + 1);
}

function loseByte(bytes: string, random: RandomStream): string {
  const at = random.whole(bytes.length);
  return bytes.slice(0, at) + bytes.slice(at + 1);
}

/** Noise that leaves a number a number: one digit of the next reply reads as another. */
function otherDigit(bytes: string, random: RandomStream): string {
  const places = [...bytes.matchAll(/\d/g)].map(({ index }) => index);
  const at = places[random.whole(Math.max(1, places.length))];
  if (at === undefined) return bytes;
  const digit = (Number(bytes[at]) + 1 + random.whole(9)) % 10;
  return `${bytes.slice(0, at)}${digit}${bytes.slice(at + 1)}`;
}

const unplugged: Begin = ({ cable }) => {
  cable.unplug();
  return () => cable.plug();
};

/** For a moment there is nothing, then another supply of the same kind, and at the end the first again. */
const exchanged: Begin = ({ cable, instrument, host, random }) => {
  cable.unplug();
  instrument.faults.set('wrongIdentity', {}, host.nowMs);
  let ended = false;
  host.after(between(random, 150, 1_200), () => {
    if (!ended) cable.plug();
  });
  return () => {
    ended = true;
    cable.unplug();
    instrument.faults.clear('wrongIdentity', host.nowMs);
    host.after(between(random, 100, 1_000), () => cable.plug());
  };
};

/** The rows of the group `serial`, in the catalogue's order. */
export const serial: readonly Row[] = [
  ['replyLost', 'benign', anytime, [], once, spoilNext(() => '')],
  ['replyTurned', 'benign', anytime, [], once, spoilNext(turnBit)],
  ['replyShort', 'benign', anytime, [], once, spoilNext(loseByte)],
  ['replyTwice', 'benign', anytime, [], once, spoilNext((bytes) => bytes + bytes)],
  ['replyMisread', 'benign', anytime, [], once, spoilNext(otherDigit)],
  [
    'replyHeld',
    'benign',
    anytime,
    [],
    once,
    ({ cable, random }) => {
      // Long enough to be given up, so that it answers the question after its own.
      cable.holdNextMs = between(random, 150, 600);
      return null;
    },
  ],
  [
    'strayError',
    'benign',
    running,
    [],
    once,
    switched('unsolicited', ({ random }) => ({ insideReply: random.uniform() < 0.5 })),
  ],
  [
    'replySplit',
    'benign',
    anytime,
    [],
    logBetween(1_000, 60_000),
    switched('splitReplies', ({ random }) => ({ gapMs: between(random, 2, 30) })),
  ],
  [
    'repliesLost',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('dropReplies', ({ random }) => ({ probability: between(random, 0.1, 1) })),
  ],
  [
    'repliesGarbled',
    'grave',
    anytime,
    ['line', 'meter', 'charge'],
    logBetween(2_000, 60_000),
    switched('garble', ({ random }) => ({ probability: between(random, 0.1, 1) })),
  ],
  [
    'repliesLate',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('lateReplies', () => ({})),
  ],
  [
    'repliesTwice',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('doubleReplies', () => ({})),
  ],
  [
    'repliesSlow',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('slow', ({ random }) => ({ extraMs: between(random, 50, 2_000) })),
  ],
  ['echo', 'grave', anytime, ['line'], logBetween(2_000, 100_000), switched('echo', () => ({}))],
  ['endlessLine', 'grave', anytime, ['line'], forLong, switched('endlessLine', () => ({}))],
  [
    'cutReply',
    'grave',
    anytime,
    ['line'],
    forLong,
    ({ cable, random }) => {
      cable.cutReplyAfter = random.whole(6);
      return () => {
        cable.cutReplyAfter = null;
      };
    },
  ],
  [
    'mute',
    'grave',
    anytime,
    ['line'],
    forLong,
    switched('mute', ({ random }) => ({ deaf: random.uniform() < 0.5 })),
  ],
  ['unplugged', 'grave', anytime, ['line'], logBetween(200, 120_000), unplugged],
  ['otherDevice', 'grave', anytime, ['line'], logBetween(2_000, 100_000), exchanged],
  [
    'writeNeverTold',
    'grave',
    anytime,
    ['line'],
    forLong,
    ({ cable, random }) => {
      cable.writes = random.uniform() < 0.5 ? 'neverTold' : 'swallowed';
      return () => {
        cable.writes = 'sound';
      };
    },
  ],
];
