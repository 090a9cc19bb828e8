/** After a restart: the open run is closed, OFF is owed and paid, and nothing goes on by itself. */

import { join } from 'node:path';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { recover } from '../../daemon/control/recovery.ts';
import { openStoreWriter } from '../../daemon/store/door.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { aRequest, TankBench } from './a-tank.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-recovery-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A database in which a run stands open, as a process that died leaves it. */
async function leaveOpen(file: string, changes: Partial<RunRecord>): Promise<RunRecord> {
  const donor = await (await TankBench.open()).started();
  await donor.arm(aRequest());
  const record = donor.tank.run?.record;
  await donor.close();
  if (record === undefined) throw new Error('no run');
  const open: RunRecord = { ...record, simulated: false, ...changes };
  const store = await openStoreWriter({ file });
  await store.createRun({ ...open, startedWallMs: null, lifecycle: 'armed' });
  if (open.startedWallMs !== null) {
    await store.patchRun(open.id, { startedWallMs: open.startedWallMs, lifecycle: 'holding' });
    store.appendReading(open.id, {
      atMs: 3_600_000,
      wallMs: open.startedWallMs + 3_600_000,
      volts: 0.4,
      amps: 0.5,
      setAmps: 0.5,
      ampHours: 0.48,
      thicknessMicrometres: 15,
      lifecycle: 'holding',
    });
  }
  await store.close();
  return open;
}

describe('recovery', () => {
  it('closes a started run as interrupted, pays the OFF, raises an alarm, bounds the charge', async () => {
    const file = join(folder, 'runs.sqlite');
    const startedWallMs = Date.now() - 2 * 3_600_000;
    const open = await leaveOpen(file, { startedWallMs });
    const on = await TankBench.open({ file });
    // The supply was left with its output on.
    on.instrument.faults.set('outputKey', { on: true }, on.clock.nowMs());
    const note = {
      wallMs: Date.now(),
      cause: 'died' as const,
      found: 'The control process was ended by SIGKILL.',
      tanks: [{ tankId: 'one', offConfirmed: true, message: 'OFF was sent and confirmed.' }],
    };
    await recover(new Map([['one', on.tank]]), on.store, [note], Date.now());
    on.tank.start();
    await on.until('OFF', () => on.tank.output === 'confirmedOff' && on.truth().offsReceived > 0);
    await on.tank.journal.settled();
    expect(on.truth()).toMatchObject({ outputOn: false, onsReceived: 0 });
    const reader = on.reader();
    const run = reader.run(open.id);
    expect(run).toMatchObject({
      lifecycle: 'interrupted',
      outcome: { end: 'interrupted', faultCode: 'controlLost' },
      ampHours: 0.48,
      thicknessMicrometres: 15,
    });
    // An hour unseen at the run's largest current, at the most.
    const most = 0.48 + open.plan.limits.maxAmps * 1.01;
    expect(run?.highAmpHours).toBeGreaterThan(0.48 + open.plan.limits.maxAmps * 0.99);
    expect(run?.highAmpHours).toBeLessThan(most);
    const [alarm] = reader.alarms(5);
    expect(alarm).toMatchObject({ code: 'controlLost', acknowledgedWallMs: null });
    expect(alarm?.found).toContain('OFF was sent and confirmed.');
    expect(on.tank.run).toBeNull();
    // What goes on is a new run, after the alarm is acknowledged, with the charge carried over.
    expect(await on.arm(aRequest(), { continues: open.id })).toMatchObject({ ok: false });
    await on.tell({ kind: 'acknowledge', alarmId: alarm?.id ?? 0, by: 'x' });
    await on.until('the link', () => on.tank.link.connected);
    const again = await on.arm(aRequest(), { continues: open.id });
    expect(again.ok ? '' : again.reason).toBe('');
    expect(on.tank.run?.record).toMatchObject({ continues: open.id, carriedAmpHours: 0.48 });
    expect(on.tank.run?.state.charge.ampHours).toBe(0.48);
    reader.close();
    await on.close();
  });

  it('lets a run go that was armed and never started', async () => {
    const file = join(folder, 'runs.sqlite');
    const open = await leaveOpen(file, { startedWallMs: null });
    const on = await TankBench.open({ file });
    await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
    const reader = on.reader();
    expect(reader.run(open.id)).toMatchObject({
      lifecycle: 'stopped',
      outcome: { end: 'stopped' },
    });
    expect(reader.alarms(5)).toEqual([]);
    reader.close();
    await on.close();
  });

  it('keeps an alarm standing that nobody has acknowledged', async () => {
    const file = join(folder, 'runs.sqlite');
    const first = await (await TankBench.open({ file })).started();
    await first.run(aRequest());
    first.instrument.faults.set('openCircuit', {}, first.clock.nowMs());
    await first.over();
    await first.until('the alarm', () => first.tank.alarms.standing.length > 0);
    await first.close();
    const second = await TankBench.open({ file });
    await recover(new Map([['one', second.tank]]), second.store, [], Date.now());
    expect(second.tank.alarms.standing.map((alarm) => alarm.code)).toEqual(['openCircuit']);
    await second.close();
  });
});
