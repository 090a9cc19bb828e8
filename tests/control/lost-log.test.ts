/** A bench whose log cannot be opened, or was replaced: what may have been left on goes off, and a person is told. */

import { join } from 'node:path';
import { mkdirSync, writeFileSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import { openLog } from '../../daemon/control/log-opening.ts';
import { isDamageOnRecord, recover, recoverBlind } from '../../daemon/control/recovery.ts';
import { damageIsTold, lostLog, openStoreWriter, StoreError } from '../../daemon/store/door.ts';
import { ownFolder } from '../store/bench-file.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

const found = 'Cannot open the database: the disk is full.';

describe('a bench without a log', () => {
  it('pays the OFF, shows the alarm at once, and lets nothing be switched on', async () => {
    const lost = lostLog(new StoreError('diskFull', found));
    const on = await TankBench.open({ simulated: false, between: () => lost });
    bench = on;
    on.instrument.faults.set('outputKey', { on: true }, on.clock.nowMs());
    const tanks = new Map([['one', on.tank]]);
    await recover(tanks, on.store, [], Date.now());
    recoverBlind(tanks, { kind: 'lost', found });
    on.tank.start();
    await on.until('OFF', () => on.tank.output === 'confirmedOff');
    expect(on.truth()).toMatchObject({ outputOn: false, onsReceived: 0 });
    const [alarm] = on.tank.snapshot().alarms;
    expect(alarm).toMatchObject({ code: 'databaseLost', found });
    expect(await on.interrupted.refresh()).toBeUndefined();
    expect(on.interrupted.waiting).toEqual([]);
    for (const { id } of on.tank.snapshot().alarms) {
      await on.tell({ kind: 'acknowledge', alarmId: id, by: 'x' });
    }
    const armed = await on.arm(aRequest());
    if (armed.ok) await on.over();
    expect(on.tank.run?.state.outcome?.end ?? 'never armed').not.toBe('reached');
    expect(on.truth().onsReceived).toBe(0);
  });
});

describe('a log that was replaced', () => {
  it('leaves an OFF owed on every tank, and says where the old one is', async () => {
    const on = await TankBench.open({ simulated: false });
    bench = on;
    on.instrument.faults.set('outputKey', { on: true }, on.clock.nowMs());
    const tanks = new Map([['one', on.tank]]);
    await recover(tanks, on.store, [], Date.now());
    recoverBlind(tanks, { kind: 'damaged', found: 'It is kept as old.damaged.' });
    on.tank.start();
    await on.until('OFF', () => on.tank.output === 'confirmedOff');
    expect(on.truth().outputOn).toBe(false);
    expect(on.tank.snapshot().alarms).toMatchObject([
      { code: 'databaseDamaged', found: 'It is kept as old.damaged.', priority: 'act-soon' },
    ]);
    expect(await isDamageOnRecord(tanks, on.store)).toBe(true);
    const more = new Map([...tanks, ['two', on.tank] as const]);
    expect(await isDamageOnRecord(more, on.store)).toBe(false);
    // The alarm of a trip may have stood in it: somebody has looked before the next run.
    await on.until('the line', () => on.tank.link.connected);
    await on.until('OFF', () => on.tank.output === 'confirmedOff');
    expect(await on.arm(aRequest())).toMatchObject({
      reason: 'An alarm on this tank is not acknowledged yet.',
    });
    const [alarm] = on.tank.snapshot().alarms;
    await on.tell({ kind: 'acknowledge', alarmId: alarm?.id ?? 0, by: 'the maker' });
    expect(await on.arm(aRequest())).toMatchObject({ ok: true });
  });
});

describe('opening the log', () => {
  it('goes on without one where the disk or its rights are at fault, and names the file', async () => {
    const folder = ownFolder();
    writeFileSync(join(folder, 'notes'), 'not a folder');
    const file = join(folder, 'notes', 'bench.db');
    const notices: string[] = [];
    const { store, trouble } = await openLog(file, (line) => notices.push(line));
    expect(trouble?.kind).toBe('lost');
    expect(trouble?.found).toContain(file);
    expect(notices).toEqual([trouble?.found]);
    await expect(store.unsettledRuns()).resolves.toEqual([]);
    await expect(store.standingAlarms()).resolves.toEqual([]);
    await expect(store.run('x')).resolves.toBeNull();
    const event = { runId: null, tankId: 'one', atMs: null, wallMs: 1, code: 'x', message: 'x' };
    await expect(store.appendEvent(event)).rejects.toThrow(file);
    await store.close();
  });

  it('tells of a damaged one at each start until its alarms are on record, and of a sound one nothing', async () => {
    const file = join(ownFolder(), 'bench.db');
    writeFileSync(file, 'This is a shopping list. '.repeat(400));
    const first = await openLog(file, () => undefined);
    expect(first.trouble).toMatchObject({ kind: 'damaged' });
    expect(first.trouble?.found).toContain('.damaged-');
    await first.store.close();
    const second = await openLog(file, () => undefined);
    expect(second.trouble).toEqual(first.trouble);
    const alarm = { runId: null, tankId: 'one', wallMs: 1, code: 'databaseDamaged' };
    await second.store.raiseAlarm(
      { ...alarm, atMs: null, message: 'The log was damaged.' },
      { ...alarm, priority: 'act-soon', cause: 'x', remedy: 'x', found: 'x' },
    );
    await second.store.close();
    const again = await openLog(file, () => undefined);
    expect(again.trouble).toEqual(first.trouble);
    await again.store.close();
    damageIsTold(file);
    const third = await openLog(file, () => undefined);
    expect(third.trouble).toBeNull();
    expect((await third.store.standingAlarms()).map(({ code }) => code)).toEqual([alarm.code]);
    await third.store.close();
  });

  it('keeps the start back from a file that another one holds, or that is not ours', async () => {
    const folder = ownFolder();
    const file = join(folder, 'bench.db');
    const store = await openStoreWriter({ file });
    await expect(openLog(file, () => undefined)).rejects.toMatchObject({ kind: 'busy' });
    await store.close();
    mkdirSync(join(folder, 'other'));
    const { default: Database } = await import('better-sqlite3');
    const other = new Database(join(folder, 'other', 'bench.db'));
    other.exec('CREATE TABLE recipes (name TEXT)');
    other.close();
    const foreign = openLog(join(folder, 'other', 'bench.db'), () => undefined);
    await expect(foreign).rejects.toMatchObject({ kind: 'foreign' });
  });
});
