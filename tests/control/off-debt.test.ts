/** OFF that nobody confirmed: owed, asked for again, told, and remembered by the log across restarts. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { recover } from '../../daemon/control/recovery.ts';
import { aRequest, TankBench, type TankOptions } from './a-tank.ts';

let folder: string;
const open: TankBench[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-debt-'));
});
afterEach(async () => {
  for (const bench of open.splice(0)) {
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.close();
  }
  rmSync(folder, { recursive: true, force: true });
});

/** A supply without an over-current protection of its own. */
const unprotected = { dialect: 'vset-iset' } as const;

async function tankOn(file: string, options: TankOptions = {}): Promise<TankBench> {
  const bench = await TankBench.open({ file, simulated: false, timeScale: 20, ...options });
  open.push(bench);
  return bench;
}

function codes(bench: TankBench): readonly string[] {
  return bench.tank.alarms.standing.map((alarm) => alarm.code);
}

describe('a run that ended without a confirmed OFF', () => {
  it('is unsettled in the log, and the next process owes its OFF, tells, and settles it', async () => {
    const file = join(folder, 'runs.sqlite');
    const first = await (await tankOn(file)).started();
    const runId = await first.run(aRequest());
    first.instrument.faults.set('ignoresOff', {}, first.clock.nowMs());
    await first.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    await first.until('the stop', () => first.tank.run?.state.lifecycle === 'stopped');
    // The process ends without ever having seen the output off.
    expect(await first.tank.close('The test ends it.')).toBe(false);
    await first.store.close();

    const second = await tankOn(file);
    const unsettled = await second.store.unsettledRuns();
    expect(unsettled).toMatchObject([{ id: runId, lifecycle: 'stopped', offConfirmed: false }]);
    second.instrument.faults.set('outputKey', { on: true }, second.clock.nowMs());
    second.instrument.faults.set('ignoresOff', {}, second.clock.nowMs());
    await recover(new Map([['one', second.tank]]), second.store, [], Date.now() + 3_600_000);
    second.tank.start();
    // The first process had called a person over it at its end, and that stands.
    expect(codes(second)).toEqual(expect.arrayContaining(['offUnconfirmed', 'controlLost']));
    await second.until('the line', () => second.tank.link.connected);
    expect(second.tank.output).toBe('unknown');
    expect(await second.arm(aRequest())).toMatchObject({ ok: false, code: 'refused' });
    expect(await second.store.unsettledRuns()).toHaveLength(1);

    second.instrument.faults.clearAll(second.clock.nowMs());
    await second.until('OFF', () => second.tank.output === 'confirmedOff');
    await second.tank.journal.settled();
    expect(second.truth().outputOn).toBe(false);
    expect(await second.store.unsettledRuns()).toEqual([]);
    const record = await second.store.run(runId);
    expect(record).toMatchObject({ outcome: { end: 'stopped' }, offConfirmed: true });
    // It may have flowed for that hour at the largest current.
    const most = record?.plan.limits.maxAmps ?? 0;
    expect((record?.highAmpHours ?? 0) - (record?.ampHours ?? 0)).toBeGreaterThan(0.9 * most);
  });

  it('bounds what flowed from its end on, though readings were stored until the process died', async () => {
    const file = join(folder, 'runs.sqlite');
    const first = await (await tankOn(file)).started();
    const runId = await first.run(aRequest());
    await first.until('current', () => (first.tank.run?.state.charge.ampHours ?? 0) > 0.001);
    first.instrument.faults.set('ignoresOff', {}, first.clock.nowMs());
    await first.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    const stoppedMs = first.clock.nowMs();
    await first.until('two minutes', () => first.clock.nowMs() - stoppedMs > 120_000);
    await first.tank.journal.settled();
    const last = await first.store.lastReading(runId);
    const left = await first.store.run(runId);
    expect(last?.lifecycle).toBe('stopped');
    expect((last?.atMs ?? 0) - (left?.chargeSeen?.atMs ?? 0)).toBeGreaterThan(60_000);
    // Killed here, and started again in this very moment.
    const wallMs = first.clock.wallMs();
    const trueAmpHours = first.truth().chargeCoulombs / 3_600;
    await recover(new Map(), first.store, [], wallMs);
    const record = await first.store.run(runId);
    expect(record?.ampHours).toBeLessThan(0.9 * trueAmpHours);
    expect(record?.highAmpHours).toBeGreaterThan(trueAmpHours);
    const most = record?.plan.limits.maxAmps ?? 0;
    const unseenHours = (wallMs - (left?.chargeSeen?.wallMs ?? 0)) / 3_600_000;
    expect(record?.highAmpHours).toBeCloseTo((record?.ampHours ?? 0) + most * unseenHours, 9);
    await first.tank.close('The test ends it.');
  });

  it('bounds it by what the looks at OFF found, those at the end of the process too', async () => {
    const file = join(folder, 'runs.sqlite');
    const bench = await (await tankOn(file, unprotected)).started();
    const runId = await bench.run(aRequest());
    await bench.until('current', () => (bench.tank.run?.state.charge.ampHours ?? 0) > 0.001);
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    bench.instrument.faults.set('overCurrent', { factor: 10 }, bench.clock.nowMs());
    // Before any reading can show it.
    const offsBefore = bench.truth().offsReceived;
    expect(await bench.tank.close('The test ends it.')).toBe(false);
    await bench.tank.journal.settled();
    const record = await bench.store.run(runId);
    expect(record).toMatchObject({ lifecycle: 'interrupted', offConfirmed: false });
    const flows = bench.truth().amps;
    expect(flows).toBeGreaterThan(record?.plan.limits.maxAmps ?? Number.NaN);
    expect(record?.chargeSeen?.mostAmps).toBeCloseTo(flows, 2);
    // Tried a few times and no more: nothing goes on asking behind the back of whoever ends it.
    const offs = bench.truth().offsReceived;
    expect(offs - offsBefore).toBeLessThan(30);
    await bench.clock.sleep(5_000);
    expect(bench.truth().offsReceived).toBe(offs);
  });

  it('is not bounded anew from long ago where OFF is asked for again after it was settled', async () => {
    const file = join(folder, 'runs.sqlite');
    const bench = await (await tankOn(file, { idleScale: 2_000 })).started();
    const runId = await bench.run(aRequest());
    await bench.until('current', () => (bench.tank.run?.state.charge.ampHours ?? 0) > 0.001);
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    const offMs = bench.clock.nowMs();
    await bench.until('ten minutes', () => bench.clock.nowMs() - offMs > 600_000);
    const before = await bench.store.run(runId);
    // Each failed OFF is written down: at that pace they come faster than a busy disk takes them.
    bench.clock.setScale(1);
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('it to be found', () => bench.tank.output !== 'confirmedOff');
    await bench.tank.journal.settled();
    await recover(new Map(), bench.store, [], bench.clock.wallMs());
    const record = await bench.store.run(runId);
    expect(record?.offConfirmed).toBe(false);
    const most = record?.plan.limits.maxAmps ?? 0;
    const grown = (record?.highAmpHours ?? 0) - (before?.highAmpHours ?? 0);
    expect(grown).toBeLessThan((most * 10) / 3_600);
  });

  it('bounds it by what the looks of the next process find', async () => {
    const file = join(folder, 'runs.sqlite');
    const bench = await (await tankOn(file, unprotected)).started();
    const runId = await bench.run(aRequest());
    await bench.until('current', () => (bench.tank.run?.state.charge.ampHours ?? 0) > 0.001);
    await bench.tank.journal.settled();
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    bench.instrument.faults.set('overCurrent', { factor: 10 }, bench.clock.nowMs());
    // Killed here: the next process has the same supply, the same log, and no run.
    bench.tank.run = null;
    await recover(new Map([['one', bench.tank]]), bench.store, [], bench.clock.wallMs());
    const fromMs = bench.clock.nowMs();
    await bench.until('a minute', () => bench.clock.nowMs() - fromMs > 60_000);
    const flows = bench.truth().amps;
    // Kept for the start after the next, should this one die as well.
    await bench.tank.journal.settled();
    const kept = await bench.store.run(runId);
    expect((kept?.chargeSeen?.mostAmps ?? 0) / flows).toBeCloseTo(1, 1);
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    await bench.tank.journal.settled();
    const record = await bench.store.run(runId);
    expect(flows).toBeGreaterThan(record?.plan.limits.maxAmps ?? Number.NaN);
    const trueAmpHours = bench.truth().chargeCoulombs / 3_600;
    expect(trueAmpHours).toBeGreaterThan(flows / 60);
    expect(record?.offConfirmed).toBe(true);
    expect(record?.highAmpHours).toBeGreaterThan(trueAmpHours);
    expect(record?.highAmpHours).toBeLessThan(1.5 * trueAmpHours);
  });

  it('ends the process with "not confirmed" while an OFF is owed', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('the output to be seen', () => bench.tank.output === 'on');
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    const stopped = await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    expect(stopped).toMatchObject({ offConfirmed: false });
    expect(await bench.tank.close('The test ends it.')).toBe(false);
  });
});

describe('an output that comes on without a run', () => {
  const key = (bench: TankBench): void =>
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());

  it('is the maker’s own business, and told', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    key(bench);
    await bench.until('the call', () => codes(bench).includes('outputFoundOn'));
    await bench.clock.sleep(3_000);
    expect(bench.truth()).toMatchObject({ outputOn: true });
  });

  it('is switched off where this process had owed an OFF: the supply may have lied of it', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    key(bench);
    await bench.until('the output to be seen', () => bench.tank.output === 'on');
    bench.tank.owesOff([]);
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    key(bench);
    await bench.until('it to be on', () => bench.truth().outputOn);
    await bench.until('OFF again', () => !bench.truth().outputOn);
    expect(codes(bench)).toContain('outputFoundOn');
  });
});

describe('a run that stays unsettled over several restarts', () => {
  it('is bounded from the same moment each time, and by the OFF of the sentinel where there was one', async () => {
    const file = join(folder, 'runs.sqlite');
    const bench = await (await tankOn(file)).started();
    const runId = await bench.run(aRequest());
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await bench.over();
    await bench.tank.journal.settled();
    const before = await bench.store.run(runId);
    const hour = 3_600_000;
    const endedWallMs = before?.endedWallMs ?? 0;
    const most = before?.plan.limits.maxAmps ?? 0;
    const doubt = async (): Promise<number> => {
      const record = await bench.store.run(runId);
      return (record?.highAmpHours ?? 0) - (record?.ampHours ?? 0);
    };
    const tanks = new Map([['one', bench.tank]]);
    for (const hours of [1, 2, 3]) {
      await bench.store.patchRun(runId, { offConfirmed: false });
      const last = await bench.store.lastReading(runId);
      const seen = last?.wallMs ?? endedWallMs;
      await recover(tanks, bench.store, [], seen + hours * hour);
      expect(await doubt()).toBeGreaterThan(hours * most * 0.99);
      expect(await doubt()).toBeLessThan(hours * most * 1.02);
      // The OFF that this restart owes is settled before the next one begins.
      await bench.until('the debt to be paid', () => bench.tank.output === 'confirmedOff');
      await bench.tank.journal.settled();
    }
  });

  it('ends its doubt where the sentinel read back the OFF', async () => {
    const file = join(folder, 'runs.sqlite');
    const bench = await (await tankOn(file)).started();
    const runId = await bench.run(aRequest());
    await bench.until('a reading', () => bench.tank.run?.state.charge.ampHours);
    await bench.store.patchRun(runId, { offConfirmed: false });
    const last = await bench.store.lastReading(runId);
    const wallMs = last?.wallMs ?? 0;
    const note = {
      wallMs: wallMs + 1_000,
      cause: 'died' as const,
      found: 'The control process was ended by SIGKILL.',
      tanks: [{ tankId: 'one', offConfirmed: true, message: 'OFF was sent and confirmed.' }],
    };
    await recover(new Map(), bench.store, [note], wallMs + 10 * 3_600_000);
    const record = await bench.store.run(runId);
    const most = record?.plan.limits.maxAmps ?? 0;
    expect((record?.highAmpHours ?? 0) - (record?.ampHours ?? 0)).toBeLessThan(most * 0.02);
  });
});

describe('a process that died around a start', () => {
  it('owes the OFF also of a run whose start had not reached the disk', async () => {
    const file = join(folder, 'runs.sqlite');
    const first = await (await tankOn(file)).started();
    await first.arm(aRequest());
    await first.until('the run to be ready', () => first.tank.snapshot().run?.ready);
    const record = await first.store.run(first.tank.run?.record.id ?? '');
    expect(record).toMatchObject({ startedWallMs: null, offConfirmed: false });
    // The file as a kill leaves it: what comes after is not written.
    await first.store.close();

    const second = await tankOn(file);
    second.instrument.faults.set('outputKey', { on: true }, second.clock.nowMs());
    await recover(new Map([['one', second.tank]]), second.store, [], Date.now());
    expect(second.tank.output).toBe('unknown');
    second.tank.start();
    await second.until('OFF', () => second.tank.output === 'confirmedOff');
    expect(second.truth()).toMatchObject({ outputOn: false, onsReceived: 0 });
    await second.tank.journal.settled();
    expect(await second.store.unsettledRuns()).toEqual([]);
  });

  it('owes the OFF of every tank that the sentinel could not confirm, with an alarm', async () => {
    const bench = await tankOn(join(folder, 'runs.sqlite'));
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    const note = {
      wallMs: Date.now(),
      cause: 'died' as const,
      found: 'The control process was ended by SIGKILL.',
      tanks: [{ tankId: 'one', offConfirmed: false, message: 'OFF was sent; nothing answered.' }],
    };
    await recover(new Map([['one', bench.tank]]), bench.store, [note], Date.now());
    expect(codes(bench)).toEqual(['controlLost']);
    expect(bench.tank.alarms.standing[0]?.found).toContain('nothing answered');
    bench.tank.start();
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    expect(bench.truth().outputOn).toBe(false);
  });
});

describe('a stop without a run', () => {
  it('is asked for again until it is confirmed, and calls a person', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('the output to be seen', () => bench.tank.output === 'on');
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    expect(bench.tank.output).toBe('unknown');
    await bench.until('the person to be called', () => codes(bench).includes('offUnconfirmed'));
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    expect(bench.truth().outputOn).toBe(false);
  });

  it('waits before an attempt only when another has just failed', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    await bench.run(aRequest());
    const before = bench.clock.nowMs();
    const stopped = await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    expect(stopped).toMatchObject({ offConfirmed: true });
    expect(bench.clock.nowMs() - before).toBeLessThan(300);
  });
});

describe('a protection that has latched in the supply', () => {
  it.each(['scpi-subsystem', 'scpi-channel-list'] as const)(
    'is reset when the next run is armed, and never by ON itself, in %s',
    async (dialect) => {
      const bench = await TankBench.open({ dialect, timeScale: 20 });
      open.push(bench);
      await bench.started();
      await bench.run(aRequest());
      bench.instrument.faults.set('overVoltage', { excessVolts: 4 }, bench.clock.nowMs());
      await bench.over();
      bench.instrument.faults.clearAll(bench.clock.nowMs());
      await bench.until('the latch', () => bench.truth().trips.length > 0);
      await bench.until('the alarm', () => bench.tank.alarms.standing.length > 0);
      for (const alarm of bench.tank.alarms.standing) {
        await bench.tell({ kind: 'acknowledge', alarmId: alarm.id, by: 'x' });
      }
      await bench.run(aRequest());
      expect(bench.truth().trips).toEqual([]);
      expect(bench.tank.run?.state.fault).toBeNull();
    },
  );
});

describe('an output that nobody asked for', () => {
  it('is told once per spell where there is no run, and nothing is switched', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('the alarm', () => codes(bench).includes('outputFoundOn'));
    const laterMs = bench.clock.nowMs() + 2_000;
    await bench.until('two seconds', () => bench.clock.nowMs() > laterMs);
    expect(codes(bench)).toEqual(['outputFoundOn']);
    expect(bench.truth().outputOn).toBe(true);
    bench.instrument.faults.set('outputKey', { on: false }, bench.clock.nowMs());
    await bench.until('off', () => bench.tank.output === 'confirmedOff');
    const [first] = bench.tank.alarms.standing;
    await bench.tell({ kind: 'acknowledge', alarmId: first?.id ?? 0, by: 'x' });
    expect(codes(bench)).toEqual([]);
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('the second alarm', () => codes(bench).length === 1);
    expect(bench.tank.alarms.standing[0]?.id).not.toBe(first?.id);
  });

  it('is switched off, with an alarm, after a run that had ended well', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    const runId = await bench.run(aRequest());
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await bench.over();
    const { offsReceived } = bench.truth();
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('the alarm', () => codes(bench).includes('outputFoundOn'));
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    expect(bench.truth().outputOn).toBe(false);
    expect(bench.truth().offsReceived).toBeGreaterThan(offsReceived);
    await bench.tank.journal.settled();
    expect(await bench.store.run(runId)).toMatchObject({
      outcome: { end: 'stopped' },
      offConfirmed: true,
    });
  });

  it('does not count as off while current flows, whatever the supply says of it', async () => {
    const bench = await (await tankOn(join(folder, 'runs.sqlite'))).started();
    await bench.run(aRequest({ start: { strikeShare: 0.3, strikeMinutes: 0.2, rampMinutes: 3 } }));
    await bench.until('the ramp', () => bench.tank.run?.state.lifecycle === 'ramping');
    bench.instrument.faults.set('saysOff', {}, bench.clock.nowMs());
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await bench.until('a person', () => codes(bench).includes('offUnconfirmed'));
    expect(bench.tank.output).not.toBe('confirmedOff');
    expect(bench.truth().outputOn).toBe(true);
    await bench.tell({
      kind: 'acknowledge',
      alarmId: bench.tank.alarms.standing[0]?.id ?? 0,
      by: 'x',
    });
    expect(await bench.arm(aRequest())).toMatchObject({ ok: false, code: 'refused' });
  });
});
