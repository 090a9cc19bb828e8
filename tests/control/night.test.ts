/** Whole nights on a simulated supply in hurried time, judged by the supply's own truth. */

import { afterEach, describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

async function open(options: Parameters<typeof TankBench.open>[0] = {}): Promise<TankBench> {
  bench = await (await TankBench.open(options)).started();
  return bench;
}

/** The whole demo night as it is shipped. */
const demo = demoPlanRequest('one', 'acid-copper-still');

describe('a night', () => {
  it.each(['scpi-subsystem', 'scpi-channel-list', 'vset-iset', 'fixed-length'] as const)(
    'ends at its target by itself in %s, with the charge that really flowed',
    async (dialect) => {
      const on = await open({ dialect });
      const before = on.truth().cellChargeCoulombs;
      const runId = await on.run(dialect === 'scpi-subsystem' ? demo : aRequest());
      await on.over();
      const truth = on.truth();
      const run = on.tank.run;
      expect(run?.state.outcome).toMatchObject({ end: 'reached' });
      const coulombs = truth.cellChargeCoulombs - before;
      const counted = (run?.state.charge.ampHours ?? 0) * 3600;
      expect(Math.abs(counted / coulombs - 1)).toBeLessThan(0.001);
      const target = (run?.state.plan.targetChargeAmpHours ?? 0) * 3600;
      expect(Math.abs(coulombs / target - 1)).toBeLessThan(0.005);
      // Nothing above the hard limits, one ON, and no alarm in a night without faults.
      expect(truth.highestSetAmps).toBeLessThanOrEqual(3);
      expect(truth.highestSetVolts).toBeLessThanOrEqual(6);
      expect(truth.onsReceived).toBe(1);
      expect(on.tank.alarms.standing).toEqual([]);
      const reader = on.reader();
      const stored = reader.run(runId);
      expect(stored).toMatchObject({ lifecycle: 'finished', outcome: { end: 'reached' } });
      expect(stored?.ampHours).toBe(run?.state.charge.ampHours);
      // The recorded intervals add up to the total, and never fall.
      let last = 0;
      let count = 0;
      let falls = 0;
      for (const page of reader.allReadings(runId)) {
        for (const row of page) {
          if (!(row.ampHours >= last)) falls += 1;
          last = row.ampHours;
          count += 1;
        }
      }
      expect(falls).toBe(0);
      expect(count).toBeGreaterThan(dialect === 'scpi-subsystem' ? 60_000 : 3_000);
      expect(Math.abs(last / (stored?.ampHours ?? 0) - 1)).toBeLessThan(1e-4);
      reader.close();
      expect(on.guardian.calls).toEqual(['guard one', 'release one']);
    },
    120_000,
  );
});

const faults = [
  ['overCurrent', { factor: 2 }, ['overCurrent', 'supplyTripped']],
  [
    'overVoltage',
    { excessVolts: 4 },
    ['overVoltage', 'supplyTripped', 'overCurrent', 'notFollowing'],
  ],
  ['shortCircuit', {}, ['shortCircuit']],
  ['openCircuit', {}, ['openCircuit']],
  ['contactResistance', { ohms: 40 }, ['notFollowing', 'openCircuit']],
  ['knob', { amps: 0.05 }, ['setPointChanged']],
  ['outputKey', { on: false }, ['outputFoundOff']],
  ['restart', {}, ['supplyRestarted', 'outputFoundOff', 'silence']],
  ['stuckReading', {}, ['stuckReading']],
  ['badReading', {}, ['silence']],
  ['mute', {}, ['silence']],
  ['garble', {}, ['silence', 'programRefused']],
  ['endlessLine', {}, ['silence']],
  ['wrongIdentity', {}, []],
] as const;

describe('a fault in a night', () => {
  it.each(faults)(
    '%s ends in the right fault, with OFF and an alarm',
    async (name, parameters, codes) => {
      const on = await open({ timeScale: 200 });
      const runId = await on.run(aRequest());
      // Along the ramp the set-point is sent anew each second, which undoes a turned knob by itself.
      const when = name === 'knob' ? 'holding' : 'ramping';
      await on.until(when, () => {
        const state = on.tank.run?.state;
        return state?.lifecycle === when && state.stageElapsedMs > 20_000;
      });
      const offs = on.truth().offsReceived;
      on.instrument.faults.set(name, parameters, on.clock.nowMs());
      if (codes.length === 0) {
        // A name is asked for only when the line comes up: in mid-run it changes nothing.
        await on.until('the hold', () => on.tank.run?.state.lifecycle === 'holding');
        expect(on.tank.run?.state.fault).toBeNull();
        return;
      }
      await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
      expect(codes).toContain(on.tank.run?.state.fault?.code);
      on.instrument.faults.clearAll(on.clock.nowMs());
      await on.over();
      const truth = on.truth();
      expect(truth.outputOn).toBe(false);
      expect(truth.offsReceived).toBeGreaterThan(offs);
      expect(truth.onsReceived).toBe(1);
      await on.until('the alarm', () => on.tank.alarms.standing.length > 0);
      const reader = on.reader();
      expect(reader.run(runId)?.outcome).toMatchObject({ end: 'tripped' });
      expect(reader.alarms(10).map((alarm) => alarm.code)).toContain(
        on.tank.run?.state.fault?.code,
      );
      reader.close();
    },
  );

  it('of a supply that ignores OFF is not believed, and calls a person', async () => {
    const on = await open({ timeScale: 20 });
    await on.run(aRequest());
    on.instrument.faults.set('ignoresOff', {}, on.clock.nowMs());
    const stopped = await on.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    expect(stopped).toMatchObject({ ok: true, offConfirmed: false });
    await on.until('the alarm', () =>
      on.tank.alarms.standing.some((alarm) => alarm.code === 'offUnconfirmed'),
    );
    expect(on.tank.output).not.toBe('confirmedOff');
    expect(on.guardian.calls).toEqual(['guard one']);
    on.instrument.faults.clearAll(on.clock.nowMs());
    await on.over();
    expect(on.truth().outputOn).toBe(false);
    expect(on.guardian.calls).toEqual(['guard one', 'release one']);
  });

  it('of a relay that has welded is not believed either', async () => {
    const on = await open({ timeScale: 20 });
    const start = { strikeShare: 0.3, strikeMinutes: 0.2, rampMinutes: 3 };
    await on.run(aRequest({ start }));
    await on.until('the ramp', () => on.tank.run?.state.lifecycle === 'ramping', 15_000);
    on.instrument.faults.set('saysOff', {}, on.clock.nowMs());
    expect(await on.tell({ kind: 'stop', tankId: 'one', by: 'x' })).toMatchObject({
      offConfirmed: false,
    });
    expect(on.tank.output).not.toBe('confirmedOff');
    on.instrument.faults.clearAll(on.clock.nowMs());
    await on.over();
  });
});

describe('what keeps a run from being started', () => {
  it('a sentinel that cannot guard: no ON is ever sent', async () => {
    const on = await open({ refuseGuard: 'The port is held by another program.' });
    expect(await on.arm(aRequest())).toMatchObject({ ok: true });
    await on.over();
    expect(on.tank.run?.state.outcome).toMatchObject({
      end: 'stopped',
      reason: expect.stringMatching(/nothing is switched on: The port is held/),
    });
    // A refusal for whoever arms: nothing was on, and nobody is woken.
    expect(on.tank.alarms.standing).toEqual([]);
    expect(on.truth()).toMatchObject({ onsReceived: 0, outputOn: false });
  });

  it('a supply that ignores ON: the run trips and nothing is believed', async () => {
    const on = await open();
    on.instrument.faults.set('ignoresOn', {}, on.clock.nowMs());
    await on.arm(aRequest());
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    await on.onRun('start');
    await on.over();
    expect(on.tank.run?.state.fault?.code).toBe('outputRefused');
  });

  it('a supply that ignores set-points: arming fails', async () => {
    const on = await open();
    on.instrument.faults.set('ignoresSet', {}, on.clock.nowMs());
    await on.arm(aRequest());
    await on.over();
    expect(on.tank.run?.state.fault?.code).toBe('programRefused');
    expect(on.truth().onsReceived).toBe(0);
  });
});

describe('a reply that is lost', () => {
  it('at the start or at putting back is asked for again, and no ON is sent meanwhile', async () => {
    const on = await open({ timeScale: 20 });
    await on.arm(aRequest());
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    for (const press of ['start', 'put-back'] as const) {
      const onsBefore = on.truth().onsReceived;
      on.instrument.faults.set('mute', {}, on.clock.nowMs());
      expect(await on.onRun(press)).toMatchObject({ ok: true });
      const healMs = on.clock.nowMs() + 700;
      await on.until('a lost reply', () => on.clock.nowMs() > healMs);
      expect(on.truth().onsReceived).toBe(onsBefore);
      on.instrument.faults.clearAll(on.clock.nowMs());
      await on.until('the output to be on', () => on.tank.output === 'on');
      expect(on.tank.run?.state.fault).toBeNull();
      expect(on.truth().onsReceived).toBe(onsBefore + 1);
      await on.onRun('lift');
      await on.until('the lift', () => on.tank.output === 'confirmedOff');
    }
  });

  it('leaves what was turned at the panel before the start without effect', async () => {
    const on = await open({ timeScale: 20 });
    await on.arm(aRequest());
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    on.instrument.faults.set('knob', { amps: 2.9, volts: 5.9 }, on.clock.nowMs());
    let answer = await on.onRun('start');
    // Where it was seen before the press, the limits are being written anew, and the press says so.
    if (!answer.ok) {
      expect(answer).toMatchObject({ reason: expect.stringContaining('have not been read back') });
      await on.until('the limits to be read back', () => on.tank.snapshot().run?.ready);
      answer = await on.onRun('start');
    }
    expect(answer).toMatchObject({ ok: true });
    await on.until('the output to be on', () => on.tank.output === 'on');
    const laterMs = on.clock.nowMs() + 3_000;
    await on.until('a while', () => on.clock.nowMs() > laterMs);
    expect(on.truth()).toMatchObject({ outputOn: true });
    expect(on.truth().setAmps).toBeLessThan(1);
    expect(on.truth().setVolts).toBeLessThan(5.5);
    expect(on.tank.run?.state.fault).toBeNull();
  });
});

describe('a stop', () => {
  it.each(['arming', 'starting', 'running'] as const)(
    'while %s leaves the output off',
    async (when) => {
      const on = await open({ timeScale: 20 });
      await on.arm(aRequest());
      if (when !== 'arming') {
        await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
        await on.onRun('start');
      }
      if (when === 'running') await on.until('on', () => on.tank.output === 'on');
      const stops = await Promise.all([
        on.tell({ kind: 'stop', tankId: 'one', by: 'one' }),
        on.tell({ kind: 'stop', tankId: 'one', by: 'another' }),
      ]);
      expect(stops).toEqual([
        { ok: true, offConfirmed: true },
        { ok: true, offConfirmed: true },
      ]);
      await on.over();
      expect(on.tank.run?.state.lifecycle).toBe('stopped');
      // Long after, nothing that was asked for before has reached the supply.
      const laterMs = on.clock.nowMs() + 2_000;
      await on.until('two seconds', () => on.clock.nowMs() > laterMs);
      expect(on.truth().outputOn).toBe(false);
      expect(on.tank.output).toBe('confirmedOff');
    },
  );

  it('at the end of the process interrupts the run and confirms OFF', async () => {
    const on = await open({ timeScale: 20 });
    const runId = await on.run(aRequest());
    expect(await on.tank.close('Nightbath was shut down.')).toBe(true);
    expect(on.truth().outputOn).toBe(false);
    await on.tank.journal.settled();
    const reader = on.reader();
    expect(reader.run(runId)?.outcome).toMatchObject({ end: 'interrupted' });
    reader.close();
  });
});

describe('a store that fails in mid-run', () => {
  it('trips the run with OFF, and the alarm reaches the pages all the same', async () => {
    const on = await open({ maxPages: 90, timeScale: 2_000 });
    const armed = await on.arm(aRequest());
    expect(armed).toMatchObject({ ok: true });
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    await on.onRun('start');
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped', 30_000);
    expect(on.tank.run?.state.fault?.code).toBe('databaseLost');
    await on.over();
    expect(on.truth().outputOn).toBe(false);
    await on.until('the alarm', () =>
      on.tank.alarms.standing.some((alarm) => alarm.code === 'databaseLost'),
    );
  });
});
