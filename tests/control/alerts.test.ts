/** What a tank says outside: alarms and the ends of runs, on disk with their events, and without a disk. */

import { afterEach, describe, expect, it } from 'vitest';
import type { Letter } from '../../daemon/alerts/letter.ts';
import { faultOf } from '../../daemon/run/faults.ts';
import { StoreError, type StoreWriter } from '../../daemon/store/door.ts';
import { aChannel } from '../alerts/quiet-alerts.ts';
import { aRequest, TankBench, type TankOptions } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

const channels = [aChannel('phone'), aChannel('bell', { leastPriority: 'stopped' })];

async function opened(options: TankOptions = {}) {
  const sent: { channel: string; letter: Letter }[] = [];
  const send = (channel: string, letter: Letter) => {
    sent.push({ channel, letter });
    return Promise.resolve(null);
  };
  bench = await (await TankBench.open({ channels, send, ...options })).started();
  return { on: bench, sent };
}

describe('a trip', () => {
  it('is told on every channel at once, and stands in the outbox with its alarm', async () => {
    const { on, sent } = await opened({ timeScale: 20 });
    await on.run(aRequest());
    on.instrument.faults.set('openCircuit', {}, on.clock.nowMs());
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
    expect(sent.map(({ channel }) => channel).toSorted()).toEqual(['bell', 'phone']);
    expect(sent[0]?.letter).toMatchObject({
      priority: 'stopped',
      title: 'Simulated: Open circuit: Tank one',
    });
    expect(sent[0]?.letter.text).toContain('The run was stopped and OFF was sent to the supply.');
    await on.over();
    const listed = () => {
      const reader = on.reader();
      const rows = reader.deliveries(10);
      reader.close();
      return rows;
    };
    await on.until('the marks', () => listed().every(({ state }) => state === 'repeating'));
    const rows = listed();
    // One message on two channels: the end of this run is told by its alarm, and by nothing else.
    expect(rows.map(({ channel, kind, state }) => [channel, kind, state])).toEqual([
      ['bell', 'alarm', 'repeating'],
      ['phone', 'alarm', 'repeating'],
    ]);
    expect(new Set(rows.map(({ messageId }) => messageId))).toEqual(new Set([sent[0]?.letter.id]));
    const [alarm] = on.tank.snapshot().alarms;
    await on.tell({ kind: 'acknowledge', alarmId: alarm?.id ?? 0, by: 'a test' });
    await on.until('the outbox', () => listed().every(({ state }) => state === 'delivered'));
  });

  it('is told although the disk takes nothing', async () => {
    const broken = () => Promise.reject(new StoreError('io', 'The disk has an error.'));
    let dead = false;
    const between = (store: StoreWriter): StoreWriter =>
      new Proxy(store, {
        get(target, name: keyof StoreWriter) {
          if (dead && (name === 'raiseAlarm' || name === 'appendEvent')) return broken;
          const value: unknown = target[name];
          return typeof value === 'function' ? value.bind(target) : value;
        },
      });
    const { on, sent } = await opened({ timeScale: 20, between });
    await on.run(aRequest());
    dead = true;
    on.instrument.faults.set('openCircuit', {}, on.clock.nowMs());
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
    expect(sent.map(({ channel }) => channel).toSorted()).toEqual(['bell', 'phone']);
    expect(await on.store.outbox.open()).toEqual([]);
    // Healed, the disk gets the alarm with its message, and that it was delivered.
    dead = false;
    await on.until('the alarm on disk', () => (on.tank.snapshot().alarms[0]?.id ?? 0) > 0, 30_000);
    await on.until('the deliveries', () => {
      const reader = on.reader();
      const rows = reader.deliveries(10);
      reader.close();
      return rows.length >= 2 && rows.every(({ deliveries }) => deliveries === 1);
    });
  });
});

describe('the same alarm again', () => {
  it('is one alarm and one message until it is acknowledged and over', async () => {
    // A log that works again for long enough takes its alarm away: here it stays.
    const { on, sent } = await opened({ idleScale: 1 });
    const fault = () => faultOf('databaseLost', on.clock.nowMs(), 'The disk is full.');
    for (let n = 0; n < 5; n += 1) on.tank.journal.alarm(null, fault(), 'act-soon');
    await on.tank.journal.settled();
    expect(on.tank.snapshot().alarms.map(({ code }) => code)).toEqual(['databaseLost']);
    expect(sent).toHaveLength(1);
    const reader = on.reader();
    // Each of the five stands in the log all the same.
    const events = reader.recentEvents(50).filter(({ code }) => code === 'databaseLost');
    expect(events).toHaveLength(5);
    expect(reader.alarms(10)).toHaveLength(1);
    reader.close();
    // A graver one is news.
    on.tank.journal.alarm(null, fault(), 'stopped');
    await on.until('it on disk', () => on.tank.snapshot().alarms.every(({ id }) => id > 0));
    expect(on.tank.snapshot().alarms).toHaveLength(2);
    for (const { id } of on.tank.snapshot().alarms) {
      await on.tell({ kind: 'acknowledge', alarmId: id, by: 'a test' });
    }
    // Somebody has taken it on while it goes on; once it has ended, the next one is news.
    expect(on.tank.alarms.quiet).toHaveLength(2);
    on.tank.journal.alarm(null, fault(), 'act-soon');
    expect(on.tank.snapshot().alarms).toEqual([]);
    for (const alarm of on.tank.alarms.quiet) on.tank.journal.clear(alarm);
    on.tank.journal.alarm(null, fault(), 'act-soon');
    expect(on.tank.snapshot().alarms).toHaveLength(1);
  });
});

describe('the end of a run', () => {
  it('is told when the target is reached, to those who want to hear of it', async () => {
    const { on, sent } = await opened();
    await on.run(aRequest({ target: { kind: 'thickness', micrometres: 5 } }));
    await on.over();
    expect(sent.map(({ channel, letter }) => [channel, letter.title])).toEqual([
      ['phone', 'Simulated: Finished: Tank one'],
    ]);
    expect(sent[0]?.letter.text).toMatch(/0\.00\d mm of 0\.005 mm/);
    const reader = on.reader();
    await on.until('the mark', () => reader.deliveries(5)[0]?.state === 'delivered');
    expect(reader.deliveries(5)).toMatchObject([
      { channel: 'phone', kind: 'run-end', state: 'delivered', tries: 1 },
    ]);
    reader.close();
  });

  it('is told when somebody stops it, and not when nothing was begun', async () => {
    const { on, sent } = await opened({ timeScale: 20 });
    await on.arm(aRequest());
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    await on.onRun('disarm');
    await on.until('the end', () => on.tank.output === 'confirmedOff');
    expect(sent).toEqual([]);
    await on.run(aRequest());
    await on.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    await on.over();
    expect(sent.map(({ letter }) => [letter.title, letter.priority])).toEqual([
      ['Simulated: Stopped: Tank one', 'note'],
    ]);
  });

  it('is told when the process ends under it', async () => {
    const { on, sent } = await opened({ timeScale: 20 });
    await on.run(aRequest());
    await on.tank.close('Nightbath was shut down.');
    await on.tank.journal.settled();
    expect(sent.map(({ letter }) => [letter.title, letter.priority])).toEqual([
      ['Simulated: Interrupted: Tank one', 'act-soon'],
    ]);
  });
});

describe('commands about alerts', () => {
  it('send a test, and make the bench ready once its code is typed', async () => {
    const { on, sent } = await opened();
    expect(on.alerts.readiness()).toMatchObject({ outsideChannels: 2, confirmed: false });
    const answer = await on.tell({ kind: 'alert-test', channel: 'phone', by: 'a test' });
    expect(answer).toMatchObject({ ok: true, message: expect.stringContaining('Sent on "phone"') });
    const code = /code (\d{4})/.exec(sent[0]?.letter.title ?? '')?.[1] ?? '';
    const wrong = code === '1234' ? '4321' : '1234';
    const missed = await on.tell({ kind: 'alert-confirm', code: wrong, by: 'a test' });
    expect(missed).toMatchObject({ ok: false, code: 'notFound' });
    // Taken by the channel is not arrived: only the code says that.
    expect(on.alerts.readiness().confirmed).toBe(false);
    const confirmed = await on.tell({ kind: 'alert-confirm', code, by: 'a test' });
    expect(confirmed).toEqual({ ok: true, message: '"phone" works: the test arrived.' });
    expect(await on.tell({ kind: 'alert-readiness' })).toMatchObject({
      readiness: { outsideChannels: 2, confirmed: true },
    });
    const listed = await on.tell({ kind: 'alert-channels' });
    expect(listed).toMatchObject({
      channels: [
        { name: 'phone', target: 'https://push.example/…', waiting: 0, lastError: null },
        { name: 'bell', confirmedWallMs: null },
      ],
    });
  });

  it('say why a test was not taken, and which channels there are', async () => {
    const send = () => Promise.resolve('The address answered 503.');
    bench = await (await TankBench.open({ channels, send })).started();
    expect(await bench.tell({ kind: 'alert-test', channel: 'phone', by: 'x' })).toMatchObject({
      ok: false,
      code: 'refused',
      reason: '"phone": The address answered 503.',
    });
    expect(await bench.tell({ kind: 'alert-test', channel: 'pager', by: 'x' })).toMatchObject({
      ok: false,
      code: 'notFound',
      reason: 'There is no channel "pager". Known: "phone", "bell".',
    });
  });
});
