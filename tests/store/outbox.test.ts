/** The outbox on real files: written with its event or not at all, marked, restored, confirmed. */

import Database from 'better-sqlite3';
import { describe, expect, onTestFinished, test } from 'vitest';
import { openStoreReader, openStoreWriter, StoreError } from '../../daemon/store/door.ts';
import type { DeliveryMark, Posting } from '../../daemon/store/door.ts';
import { openDatabase } from '../../daemon/store/database.ts';
import { migrations } from '../../daemon/store/migrations.ts';
import type { AlertMessage } from '../../daemon/wire/alerts.ts';
import { aRun, anAlarm, anEvent } from './a-run.ts';
import { ownFile } from './bench-file.ts';

const wallMs = Date.UTC(2026, 0, 10, 22, 0, 0);

function aMessage(id: string, changes: Partial<AlertMessage> = {}): AlertMessage {
  return {
    id,
    kind: 'alarm',
    priority: 'stopped',
    tankId: 'beaker',
    createdWallMs: wallMs,
    title: 'Open circuit: Beaker by the window',
    text: 'Found: no current.',
    code: null,
    ...changes,
  };
}

function aPosting(id: string, changes: Partial<AlertMessage> = {}): Posting {
  const channels = [
    { name: 'phone', print: 'p1' },
    { name: 'mail', print: 'm1' },
  ];
  return { message: aMessage(id, changes), channels };
}

const delivered: DeliveryMark = {
  state: 'repeating',
  tries: 2,
  failures: 0,
  deliveries: 1,
  dueWallMs: wallMs + 120_000,
  triedWallMs: wallMs + 6_000,
  deliveredWallMs: wallMs + 6_000,
  lastError: null,
};

async function open(file = ownFile()) {
  const failures: string[] = [];
  const writer = await openStoreWriter({ file });
  writer.onFailure((reason) => failures.push(reason));
  const reader = openStoreReader(file);
  onTestFinished(async () => {
    reader.close();
    await writer.close().catch(() => undefined);
  });
  await writer.createRun(aRun('night-1'));
  return { writer, reader, file, failures };
}

describe('a message of an alarm', () => {
  test('is written with it, a row for each channel, due at once', async () => {
    const { writer, reader } = await open();
    const { alarm } = await writer.raiseAlarm(
      anEvent('night-1'),
      anAlarm('night-1'),
      aPosting('a-1'),
    );
    const rows = await writer.outbox.open();
    expect(rows.map(({ channel }) => channel)).toEqual(['phone', 'mail']);
    expect(rows[0]).toEqual({
      message: aMessage('a-1'),
      alarmId: alarm.id,
      channel: 'phone',
      state: 'waiting',
      tries: 0,
      failures: 0,
      deliveries: 0,
      dueWallMs: wallMs,
      triedWallMs: null,
      deliveredWallMs: null,
      lastError: null,
    });
    expect(reader.deliveries(10).map(({ channel, state }) => [channel, state])).toEqual([
      ['mail', 'waiting'],
      ['phone', 'waiting'],
    ]);
  });

  test('is not there when its alarm was refused, and the other way round', async () => {
    const { writer, reader } = await open();
    const unknown = writer.raiseAlarm(anEvent('nobody'), anAlarm('nobody'), aPosting('a-1'));
    await expect(unknown).rejects.toBeInstanceOf(StoreError);
    expect(await writer.outbox.open()).toEqual([]);
    const tooLong = aPosting('a-2', { title: 'x'.repeat(201) });
    const refused = writer.raiseAlarm(anEvent('night-1'), anAlarm('night-1'), tooLong);
    await expect(refused).rejects.toThrow('message.title');
    expect(reader.alarms(5)).toEqual([]);
    expect(reader.events('night-1')).toEqual([]);
  });

  test('written twice under one id is there once', async () => {
    const { writer } = await open();
    await writer.appendEvent(anEvent('night-1'), aPosting('a-1'));
    await writer.appendEvent(anEvent('night-1'), aPosting('a-1'));
    expect(await writer.outbox.open()).toHaveLength(2);
  });

  test('ends with the acknowledgement of its alarm, in the same commit', async () => {
    const { writer, reader } = await open();
    const { alarm } = await writer.raiseAlarm(
      anEvent('night-1'),
      anAlarm('night-1'),
      aPosting('a-1'),
    );
    await writer.raiseAlarm(anEvent('night-1'), anAlarm('night-1'), aPosting('a-2'));
    await writer.outbox.mark('a-1', 'phone', delivered);
    await writer.acknowledgeAlarm(alarm.id, wallMs + 60_000);
    const states = reader.deliveries(10).map((one) => [one.messageId, one.channel, one.state]);
    expect(states).toEqual([
      ['a-2', 'mail', 'waiting'],
      ['a-2', 'phone', 'waiting'],
      ['a-1', 'mail', 'withdrawn'],
      ['a-1', 'phone', 'delivered'],
    ]);
    expect((await writer.outbox.open()).map(({ message }) => message.id)).toEqual(['a-2', 'a-2']);
  });

  test('the tables hold one row for a message and a channel, and one message for an event', async () => {
    const { writer, file } = await open();
    await writer.raiseAlarm(anEvent('night-1'), anAlarm('night-1'), aPosting('a-1'));
    const db = new Database(file);
    onTestFinished(() => void db.close());
    const again = `INSERT INTO outbox (message, channel, print, state) SELECT message, channel, print, state FROM outbox`;
    expect(() => db.exec(again)).toThrow('UNIQUE');
    const other = `INSERT INTO messages (id, event_id, kind, priority, created_wall_ms, title, text)
      SELECT 'other', event_id, kind, priority, created_wall_ms, title, text FROM messages`;
    expect(() => db.exec(other)).toThrow('UNIQUE');
  });
});

describe('a delivery', () => {
  test('is marked, and what is settled is not open any more', async () => {
    const { writer, reader } = await open();
    await writer.outbox.post(aPosting('a-1', { kind: 'test', code: '4711' }));
    await writer.outbox.mark('a-1', 'phone', delivered);
    await writer.outbox.mark('a-1', 'mail', { ...delivered, state: 'given-up', dueWallMs: null });
    const left = await writer.outbox.open();
    expect(left).toEqual([
      {
        message: aMessage('a-1', { kind: 'test', code: '4711' }),
        alarmId: null,
        channel: 'phone',
        ...delivered,
      },
    ]);
    // What is in the log of deliveries does not hold the code or the text.
    expect(Object.keys(reader.deliveries(1)[0] ?? {})).not.toContain('code');
  });

  test('of a test is listed without its code, which only the message itself tells', async () => {
    const { writer, reader } = await open();
    const title = 'Test alert, code 4711';
    await writer.outbox.post(aPosting('a-1', { kind: 'test', title, code: '4711' }));
    await writer.outbox.post(aPosting('a-2', { title: 'Current low, 4711 mA' }));
    const [still] = (await writer.outbox.open()).filter(({ message }) => message.id === 'a-1');
    expect(still?.message.title).toBe(title);
    expect(reader.deliveries(10).map((one) => one.title)).toEqual([
      'Current low, 4711 mA',
      'Current low, 4711 mA',
      'Test alert, code ····',
      'Test alert, code ····',
    ]);
  });

  test('is listed in pages, the latest first', async () => {
    const { writer, reader } = await open();
    for (const id of ['a-1', 'a-2', 'a-3']) await writer.outbox.post(aPosting(id));
    const first = reader.deliveries(4);
    const second = reader.deliveries(4, first.at(-1)?.id);
    expect([...first, ...second].map(({ messageId }) => messageId)).toEqual([
      'a-3',
      'a-3',
      'a-2',
      'a-2',
      'a-1',
      'a-1',
    ]);
  });

  test('whose mark the disk refuses is no failure of the log', async () => {
    const { writer, failures, file } = await open();
    await writer.outbox.post(aPosting('a-1'));
    const db = new Database(file);
    onTestFinished(() => void db.close());
    db.exec('BEGIN EXCLUSIVE');
    await expect(writer.outbox.mark('a-1', 'phone', delivered)).rejects.toBeInstanceOf(StoreError);
    db.exec('ROLLBACK');
    expect(failures).toEqual([]);
  });
});

describe('a test that arrived', () => {
  test('is confirmed by its code, for the address that it went to', async () => {
    const { writer, reader } = await open();
    const channels = [{ name: 'phone', print: 'p2' }];
    const message = aMessage('t-1', { kind: 'test', code: '4711' });
    await writer.outbox.post({ message, channels });
    expect(await writer.outbox.confirm('0815', wallMs, 0)).toBeNull();
    expect(await writer.outbox.confirm('4711', wallMs, wallMs + 1)).toBeNull();
    expect(await writer.outbox.confirm('4711', wallMs + 9, 0)).toEqual({
      channel: 'phone',
      print: 'p2',
    });
    const history = {
      channel: 'phone',
      triedWallMs: null,
      lastError: null,
      deliveredWallMs: null,
      confirmedWallMs: wallMs + 9,
      confirmedPrint: 'p2',
    };
    expect(await writer.outbox.channels()).toEqual([history]);
    expect(reader.channelHistory()).toEqual([history]);
    expect(await writer.outbox.open()).toEqual([]);
  });
});

test('a file of version 3 keeps its alarms and takes messages', async () => {
  const file = ownFile();
  const before = openDatabase(file, {
    onNotice: () => undefined,
    migrations: migrations.slice(0, 3),
  });
  before.db.exec(`
    INSERT INTO events (tank_id, wall_ms, code, message) VALUES ('beaker', 5, 'silence', 'Mute.');
    INSERT INTO alarms (event_id, tank_id, wall_ms, priority, code, found, cause, remedy)
      VALUES (1, 'beaker', 5, 'stopped', 'silence', 'a', 'b', 'c');`);
  before.close();
  const { writer, reader } = await open(file);
  expect(reader.alarms(5)).toHaveLength(1);
  expect(reader.alarms(5, 1)).toEqual([]);
  expect(await writer.standingAlarms()).toHaveLength(1);
  await writer.raiseAlarm(anEvent('night-1'), anAlarm('night-1'), aPosting('a-1'));
  expect(await writer.outbox.open()).toHaveLength(2);
});
