/** Messages on their way in virtual time, over channels that a test plays, and what is kept of them. */

import { describe, expect, it } from 'vitest';
import { digestOf, type Letter } from '../../daemon/alerts/letter.ts';
import { Messenger, type Outlet } from '../../daemon/alerts/messenger.ts';
import type { DeliveryMark, OpenDelivery } from '../../daemon/store/door.ts';
import type { AlertMessage } from '../../daemon/wire/alerts.ts';

const startWallMs = Date.UTC(2026, 0, 10, 21, 0, 0);
const minuteMs = 60_000;

const phone: Outlet = { name: 'phone', print: 'p1', leastPriority: 'note' };
const mail: Outlet = { name: 'mail', print: 'm1', leastPriority: 'note' };
const bell: Outlet = { name: 'bell', print: 'b1', leastPriority: 'stopped' };

let last = 0;
function aMessage(changes: Partial<AlertMessage> = {}): AlertMessage {
  last += 1;
  return {
    id: `m-${last}`,
    kind: 'alarm',
    priority: 'stopped',
    tankId: 'beaker',
    createdWallMs: startWallMs,
    title: 'Open circuit: Beaker by the window',
    text: 'Found: no current.',
    code: null,
    ...changes,
  };
}

interface Sent {
  readonly atMs: number;
  readonly channel: string;
  readonly letter: Letter;
}

/** A messenger whose clock only moves when the test says so. */
class Desk {
  nowMs = 0;
  wallMs = startWallMs;
  readonly sent: Sent[] = [];
  readonly marks: { id: string; channel: string; mark: DeliveryMark }[] = [];
  /** Why each channel fails; a promise is one that takes its time. */
  readonly failing = new Map<string, string | Promise<string | null>>();
  readonly messenger: Messenger;

  constructor(outlets: readonly Outlet[] = [phone]) {
    this.messenger = new Messenger({
      outlets,
      send: (channel, letter) => {
        this.sent.push({ atMs: this.nowMs, channel, letter });
        return Promise.resolve(this.failing.get(channel) ?? null);
      },
      outbox: {
        mark: (id, channel, mark) => {
          this.marks.push({ id, channel, mark });
          return Promise.resolve();
        },
      },
      clock: { nowMs: () => this.nowMs, wallMs: () => this.wallMs },
      chance: () => 0.5,
    });
  }

  async pass(durationMs: number, stepMs = 1_000): Promise<void> {
    const endMs = this.nowMs + durationMs;
    await settle();
    while (this.nowMs < endMs) {
      this.nowMs += stepMs;
      this.wallMs += stepMs;
      this.messenger.pump();
      await settle();
    }
  }

  times(channel: string): number[] {
    return this.sent.filter((one) => one.channel === channel).map(({ atMs }) => atMs / 1000);
  }

  lastMark(id: string, channel: string): DeliveryMark | undefined {
    return this.marks.findLast((one) => one.id === id && one.channel === channel)?.mark;
  }
}

async function settle(): Promise<void> {
  for (let turn = 0; turn < 12; turn += 1) await Promise.resolve();
}

describe('a grave message', () => {
  it('goes out on all channels in the same turn', () => {
    const desk = new Desk([phone, mail, bell]);
    desk.messenger.post(aMessage(), -1);
    expect(desk.sent.map(({ channel, atMs }) => [channel, atMs])).toEqual([
      ['phone', 0],
      ['mail', 0],
      ['bell', 0],
    ]);
  });

  it('is repeated until it is acknowledged, then stops, on every channel', async () => {
    const desk = new Desk([phone, mail]);
    const message = aMessage();
    desk.messenger.post(message, -1);
    desk.messenger.stored(message.id, 7);
    await desk.pass(26 * minuteMs);
    expect(desk.times('phone')).toEqual([0, 120, 300, 600, 1500]);
    expect(desk.times('mail')).toEqual(desk.times('phone'));
    expect(desk.sent.at(-1)?.letter).toMatchObject({
      id: message.id,
      saying: 4,
      title: 'Still: Open circuit: Beaker by the window',
    });
    desk.messenger.acknowledged(7);
    await desk.pass(60 * minuteMs, 10_000);
    expect(desk.times('phone')).toHaveLength(5);
    expect(desk.lastMark(message.id, 'mail')).toMatchObject({
      state: 'delivered',
      dueWallMs: null,
    });
    expect(desk.messenger.waitingOn('phone')).toBe(0);
  });

  it('is tried again while a channel is away, and the others do not wait for it', async () => {
    const desk = new Desk([phone, mail]);
    desk.failing.set('phone', 'The name does not resolve.');
    const message = aMessage();
    desk.messenger.post(message, -1);
    desk.messenger.stored(message.id, 7);
    await desk.pass(90_000);
    expect(desk.times('phone')).toEqual([0, 5, 20, 80]);
    expect(desk.times('mail')).toEqual([0]);
    expect(desk.lastMark(message.id, 'phone')).toMatchObject({
      state: 'waiting',
      tries: 4,
      failures: 4,
      deliveries: 0,
      dueWallMs: startWallMs + 380_000,
      lastError: 'The name does not resolve.',
    });
    desk.failing.clear();
    await desk.pass(5 * minuteMs);
    expect(desk.lastMark(message.id, 'phone')).toMatchObject({ deliveries: 1, lastError: null });
  });

  it('does not wait behind an ordinary one that hangs', async () => {
    const desk = new Desk();
    desk.failing.set('phone', new Promise(() => undefined));
    desk.messenger.post(aMessage({ priority: 'note', kind: 'run-end' }), null);
    await desk.pass(2_000);
    desk.failing.clear();
    const grave = aMessage();
    desk.messenger.post(grave, -1);
    expect(desk.sent.at(-1)).toMatchObject({ atMs: 2_000, letter: { id: grave.id } });
  });

  it('is sent although the disk never takes it', async () => {
    const desk = new Desk();
    desk.messenger.post(aMessage(), -1);
    await desk.pass(3 * minuteMs);
    expect(desk.times('phone')).toEqual([0, 120]);
    // There is no row that could be marked.
    expect(desk.marks).toEqual([]);
    desk.messenger.acknowledged(-1);
    await desk.pass(30 * minuteMs, 10_000);
    expect(desk.times('phone')).toHaveLength(2);
  });

  it('that was delivered before the disk had it is put down as delivered', async () => {
    const desk = new Desk();
    const message = aMessage();
    desk.messenger.post(message, -1);
    await desk.pass(1_000);
    desk.messenger.stored(message.id, 9);
    expect(desk.lastMark(message.id, 'phone')).toMatchObject({ state: 'repeating', deliveries: 1 });
  });

  it('acknowledged before the disk had it is withdrawn there', async () => {
    const desk = new Desk();
    desk.failing.set('phone', 'refused');
    const message = aMessage();
    desk.messenger.post(message, -4);
    await desk.pass(1_000);
    desk.messenger.acknowledged(-4);
    desk.messenger.stored(message.id, 9);
    expect(desk.lastMark(message.id, 'phone')).toMatchObject({
      state: 'withdrawn',
      dueWallMs: null,
    });
    await desk.pass(10 * minuteMs);
    expect(desk.times('phone')).toEqual([0]);
  });

  it('keeps its times when the wall clock is set by an hour', async () => {
    const desk = new Desk();
    const message = aMessage();
    desk.messenger.post(message, -1);
    await desk.pass(60_000);
    desk.wallMs += 60 * minuteMs;
    await desk.pass(5 * minuteMs);
    desk.wallMs -= 120 * minuteMs;
    await desk.pass(6 * minuteMs);
    expect(desk.times('phone')).toEqual([0, 120, 300, 600]);
  });
});

describe('priorities', () => {
  it('keep lesser messages from a channel that does not want them', () => {
    const desk = new Desk([phone, bell]);
    const posting = desk.messenger.post(aMessage({ priority: 'act-soon' }), -1);
    expect(posting.channels).toEqual([{ name: 'phone', print: 'p1' }]);
    expect(desk.sent.map(({ channel }) => channel)).toEqual(['phone']);
  });
});

describe('many messages', () => {
  const note = () => aMessage({ priority: 'note', kind: 'run-end', title: `End ${last}` });

  it('nine go out one by one, ten at once become one', async () => {
    const nine = new Desk();
    for (let n = 0; n < 9; n += 1) nine.messenger.post(note(), null);
    await nine.pass(1_000);
    // The first leaves with its posting; a digest would need the tenth.
    expect(nine.sent).toHaveLength(9);

    const twelve = new Desk();
    const posted = Array.from({ length: 12 }, note);
    for (const message of posted) {
      twelve.messenger.post(message, null);
      twelve.messenger.stored(message.id, null);
    }
    await twelve.pass(1_000);
    const [first, digest, ...more] = twelve.sent.map(({ letter }) => letter);
    expect(first?.id).toBe(posted[0]?.id);
    expect(digest).toMatchObject({
      id: `${posted[1]?.id}-and-10`,
      title: '11 messages within a short time',
    });
    for (const { id } of posted.slice(1)) expect(digest?.text).toContain(`(${id})`);
    expect(more).toEqual([]);
    for (const { id } of posted) {
      expect(twelve.lastMark(id, 'phone')).toMatchObject({ state: 'delivered', tries: 1 });
    }
    expect(twelve.messenger.waitingOn('phone')).toBe(0);
  });

  it('a stream of them is held after the ninth and comes as one; a grave one never is', async () => {
    const desk = new Desk();
    const grave: AlertMessage[] = [];
    for (let n = 0; n < 30; n += 1) {
      desk.messenger.post(note(), null);
      if (n % 10 === 5) {
        grave.push(aMessage());
        desk.messenger.post(grave.at(-1) ?? note(), -n);
      }
      await desk.pass(5_000);
    }
    const alone = desk.sent.filter(
      ({ letter }) => letter.priority === 'note' && !letter.id.includes('-and-'),
    );
    expect(alone).toHaveLength(9);
    const digests = () =>
      desk.sent
        .filter(({ letter }) => letter.id.includes('-and-'))
        .map(({ atMs, letter }) => [atMs / 1000, letter.title]);
    // The nineteenth makes ten that wait; the eleven after it wait for their own ten minutes.
    expect(digests()).toEqual([[90, '10 messages within a short time']]);
    for (const { id } of grave) {
      const times = desk.sent.filter(({ letter }) => letter.id === id).map(({ atMs }) => atMs);
      expect(times[0], id).toBe(grave.findIndex((one) => one.id === id) * 50_000 + 25_000);
    }
    await desk.pass(12 * minuteMs, 5_000);
    expect(digests().slice(1)).toEqual([[690, '11 messages within a short time']]);
  });
});

describe('a digest', () => {
  it('lists twenty, and counts the others', () => {
    const many = Array.from({ length: 23 }, (_, at) =>
      aMessage({ priority: 'note', createdWallMs: startWallMs + at }),
    );
    const { title, text } = digestOf(many, startWallMs);
    expect(title).toBe('23 messages within a short time');
    expect(text.split('\n').slice(19, 21)).toEqual([
      expect.stringContaining(`(${many[19]?.id})`),
      'and 3 more on the page',
    ]);
    expect(digestOf(many.slice(3), startWallMs).text).not.toContain('more on the page');
  });
});

describe('a restart', () => {
  const left = (changes: Partial<OpenDelivery> = {}): OpenDelivery => ({
    message: aMessage(),
    alarmId: 3,
    channel: 'phone',
    state: 'waiting',
    tries: 0,
    failures: 0,
    deliveries: 0,
    dueWallMs: startWallMs,
    triedWallMs: null,
    deliveredWallMs: null,
    lastError: null,
    ...changes,
  });

  it('sends at once what was written and not sent, and goes on with its repeats', async () => {
    const desk = new Desk();
    desk.wallMs = startWallMs + 30_000;
    const delivery = left();
    desk.messenger.restore([delivery]);
    expect(desk.sent[0]?.letter.id).toBe(delivery.message.id);
    await desk.pass(5 * minuteMs);
    // Counted from when it was first to be said, 30 s before this process.
    expect(desk.times('phone')).toEqual([0, 90, 270]);
  });

  it('says again at its time what was delivered before', async () => {
    const desk = new Desk();
    desk.wallMs = startWallMs + 100_000;
    const mark = { state: 'repeating', tries: 1, deliveries: 1 } as const;
    desk.messenger.restore([left({ ...mark, dueWallMs: startWallMs + 120_000 })]);
    await desk.pass(60_000);
    expect(desk.times('phone')).toEqual([20]);
    expect(desk.sent[0]?.letter.saying).toBe(1);
  });

  it('tells that a message comes late', async () => {
    const desk = new Desk();
    desk.wallMs = startWallMs + 8 * 60 * minuteMs;
    desk.messenger.restore([left()]);
    expect(desk.sent[0]?.letter.text).toContain('This comes late');
  });

  it('goes on trying what seems to be months old, as from a clock that was not set', async () => {
    const desk = new Desk();
    const delivery = left({ message: aMessage({ createdWallMs: 0 }) });
    desk.failing.set('phone', 'No network.');
    desk.messenger.restore([delivery]);
    await desk.pass(60 * minuteMs, 5_000);
    expect(desk.lastMark(delivery.message.id, 'phone')?.state).toBe('waiting');
    desk.failing.clear();
    await desk.pass(10 * minuteMs, 5_000);
    expect(desk.lastMark(delivery.message.id, 'phone')?.deliveries).toBeGreaterThan(0);
  });

  it('leaves what is for a channel it does not know to a process that knows it', () => {
    const delivery = left({ channel: 'old pager' });
    const other = new Desk();
    other.messenger.restore([delivery]);
    expect([other.sent, other.marks]).toEqual([[], []]);
    // A bench that names no channel at all judges nothing, however old it is.
    const bare = new Desk([]);
    bare.wallMs = startWallMs + 900 * 60 * minuteMs;
    bare.messenger.restore([delivery]);
    expect(bare.marks).toEqual([]);
  });

  it('sends no reminder to turn a piece whose run ended with the last process', () => {
    const desk = new Desk();
    const delivery = left({ message: aMessage({ kind: 'turn', priority: 'note' }) });
    desk.messenger.restore([delivery]);
    expect(desk.sent).toEqual([]);
    expect(desk.lastMark(delivery.message.id, 'phone')).toMatchObject({
      state: 'withdrawn',
      dueWallMs: null,
    });
  });

  it('withdraws a reminder to turn the piece once none is due, on that tank alone', async () => {
    const desk = new Desk();
    desk.failing.set('phone', 'The network is away.');
    const turn = { kind: 'turn', priority: 'note' } as const;
    const [mine, other] = [aMessage(turn), aMessage({ ...turn, tankId: 'jar' })];
    for (const message of [mine, other]) {
      desk.messenger.post(message, null);
      desk.messenger.stored(message.id, null);
    }
    await desk.pass(10_000);
    desk.messenger.noTurnDue('beaker');
    desk.failing.delete('phone');
    const before = desk.sent.length;
    await desk.pass(30 * minuteMs, 10_000);
    expect(desk.sent.slice(before).map(({ letter }) => letter.id)).toEqual([other.id]);
    expect(desk.lastMark(mine.id, 'phone')).toMatchObject({ state: 'withdrawn', dueWallMs: null });
    expect(desk.lastMark(other.id, 'phone')).toMatchObject({ state: 'delivered' });
  });

  it('closes after a day what was for a channel that is gone', () => {
    const desk = new Desk();
    desk.wallMs = startWallMs + 25 * 60 * minuteMs;
    const delivery = left({ channel: 'old pager' });
    desk.messenger.restore([delivery]);
    expect(desk.sent).toEqual([]);
    expect(desk.lastMark(delivery.message.id, 'old pager')).toMatchObject({
      state: 'withdrawn',
      dueWallMs: null,
      lastError: 'The channel is not in the settings any more.',
    });
  });

  it('is not put off by a clock that was set back', async () => {
    const desk = new Desk();
    desk.wallMs = startWallMs - 5 * 60 * minuteMs;
    desk.messenger.restore([left()]);
    await desk.pass(15 * minuteMs);
    expect(desk.times('phone').length).toBeGreaterThan(0);
  });
});
