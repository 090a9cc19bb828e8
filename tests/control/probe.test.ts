/** Probes on a simulated supply: what they find, that they are runs like any other, and what is kept of them. */

import { afterEach, describe, expect, it } from 'vitest';
import type { CheckId } from '../../daemon/run/checks/model.ts';
import type { ProbeKind } from '../../daemon/run/probe-model.ts';
import { ProbeBook, supplyOf } from '../../daemon/control/probe-book.ts';
import { openStoreWriter } from '../../daemon/store/door.ts';
import type { CommandAnswer } from '../../daemon/wire/command.ts';
import { aRequest, TankBench, type TankOptions } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

async function open(options: TankOptions = {}): Promise<TankBench> {
  bench = await (await TankBench.open({ simulated: false, ...options })).started();
  return bench;
}

const ask = (on: TankBench, probe: ProbeKind): Promise<CommandAnswer> =>
  on.tell({ kind: 'probe', tankId: 'one', by: 'a test', probe });

/** Runs a probe to its end; the id of its run. */
async function probed(on: TankBench, kind: ProbeKind): Promise<string> {
  const answer = await ask(on, kind);
  if (!answer.ok) throw new Error(answer.reason);
  await on.over();
  await on.tank.journal.settled();
  return answer.runId ?? '';
}

async function check(on: TankBench, id: CheckId) {
  const answer = await on.tell({ kind: 'checks', tankId: 'one' });
  return answer.ok ? answer.checks?.checks.find((one) => one.id === id) : undefined;
}

describe('a continuity check', () => {
  it.each(['scpi-subsystem', 'scpi-channel-list', 'vset-iset', 'fixed-length'] as const)(
    'finds a closed circuit in %s at a low current, and leaves the output off',
    async (dialect) => {
      const on = await open({ dialect });
      const id = await probed(on, 'continuity');
      expect(on.tank.run?.state.probe?.finding).toMatchObject({ verdict: 'closed' });
      expect(await check(on, 'continuity')).toMatchObject({ state: 'ok' });
      const truth = on.truth();
      expect(truth).toMatchObject({ outputOn: false, onsReceived: 1 });
      // 2 % of this tank's 3 A, or five times what the meter counts as none.
      expect(truth.highestSetAmps).toBeLessThanOrEqual(0.1001);
      expect(truth.highestSetVolts).toBeLessThanOrEqual(2);
      expect(on.guardian.calls).toEqual(['guard one', 'release one']);
      expect(on.tank.alarms.standing).toEqual([]);
      const reader = on.reader();
      expect(reader.run(id)).toMatchObject({
        kind: 'probe',
        lifecycle: 'finished',
        offConfirmed: true,
        outcome: { end: 'reached' },
      });
      expect(reader.readings(id, 0, 100).length).toBeGreaterThan(3);
      reader.close();
    },
  );

  it.each([
    ['openCircuit', 'open', /Open: 0\.\d+ A at 2\.0/],
    ['shortCircuit', 'shorted', /Shorted: 0\.06\d A at 0\.00/],
  ] as const)('finds %s, and a start is then refused', async (fault, verdict, words) => {
    const on = await open();
    on.instrument.faults.set(fault, {}, on.clock.nowMs());
    await probed(on, 'continuity');
    expect(on.tank.run?.state.probe?.finding).toMatchObject({ verdict });
    expect(on.tank.alarms.standing).toEqual([]);
    const found = await check(on, 'continuity');
    expect(found).toMatchObject({ state: 'failing', weight: 'hard' });
    expect(found?.sentence).toMatch(words);
    await on.arm(aRequest());
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    expect(await on.onRun('start')).toMatchObject({ ok: false, code: 'refused' });
    expect(on.truth().onsReceived).toBe(1);
  });
});

describe('a limits drill', () => {
  it('sees the trip and OFF, and counts for this supply', async () => {
    const on = await open();
    expect(await check(on, 'drill')).toMatchObject({ state: 'unknown' });
    const offs = on.truth().offsReceived;
    await probed(on, 'drill');
    const finding = on.tank.run?.state.probe?.finding;
    expect(finding).toMatchObject({ verdict: 'passed' });
    expect(finding?.offMs).toBeLessThan(1_500);
    expect(on.truth()).toMatchObject({ outputOn: false, onsReceived: 1 });
    expect(on.truth().offsReceived).toBeGreaterThan(offs);
    expect(await check(on, 'drill')).toMatchObject({ state: 'ok' });
  });

  it('fails on a supply that ignores OFF, which calls a person as in any run', async () => {
    const on = await open({ timeScale: 20 });
    await ask(on, 'drill');
    await on.until('the output to be on', () => on.tank.output === 'on');
    on.instrument.faults.set('ignoresOff', {}, on.clock.nowMs());
    await on.until('the alarm', () => on.tank.alarms.standing.length > 0);
    expect(on.tank.alarms.standing[0]?.code).toBe('offUnconfirmed');
    on.instrument.faults.clearAll(on.clock.nowMs());
    await on.over();
    expect(await check(on, 'drill')).toMatchObject({ state: 'failing' });
  });

  it('is not rewritten by an OFF that is pressed later', async () => {
    const on = await open();
    await probed(on, 'drill');
    const before = await check(on, 'drill');
    const events = on.messages.filter((one) => one.type === 'event').length;
    await on.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    await on.over();
    expect(on.truth().offsReceived).toBeGreaterThan(1);
    expect(await check(on, 'drill')).toEqual(before);
    const later = on.messages.filter((one) => one.type === 'event').slice(events);
    expect(later.map(({ event }) => event.code)).not.toContain('probe-failed');
    expect(later.map(({ event }) => event.code)).not.toContain('probe-passed');
  });

  it('is remembered by the next process', async () => {
    const on = await open();
    await probed(on, 'drill');
    await on.store.close();
    const store = await openStoreWriter({ file: on.file });
    const book = new ProbeBook(store);
    await book.load();
    // Two supplies that tell no serial number are told apart by their tanks.
    const { tank } = on;
    const { identity } = tank.link;
    const silent = { id: 'two', link: { identity: { ...identity, serial: '' } } } as typeof tank;
    expect(supplyOf(tank)).toBe('NIGHTBATH, SIM-30-5, SIM0001');
    expect(supplyOf(silent)).toBe('NIGHTBATH, SIM-30-5, on two');
    expect(book.drill('NIGHTBATH, SIM-30-5, SIM0001')).toMatchObject({ passed: true });
    expect(book.drill('NIGHTBATH, SIM-30-5, SIM0002')).toBeNull();
    expect(book.newestRecordWallMs).toBeGreaterThan(0);
    await store.close();
  });
});

describe('a probe', () => {
  it('never comes between: refused while a run is armed, and while one is under way', async () => {
    const on = await open();
    await on.arm(aRequest());
    expect(await ask(on, 'continuity')).toMatchObject({ ok: false, code: 'busy' });
    await on.onRun('disarm');
    await on.over();
    await on.run(aRequest());
    expect(await ask(on, 'drill')).toMatchObject({ ok: false, code: 'busy' });
    expect(on.tank.run?.record.kind).toBe('run');
    expect(on.tank.output).toBe('on');
  });

  it('keeps a run from being armed while it looks, and can be stopped', async () => {
    const on = await open({ timeScale: 1 });
    await ask(on, 'continuity');
    expect(await on.arm(aRequest())).toMatchObject({ ok: false, code: 'busy' });
    await on.until('current', () => on.tank.output === 'on');
    expect(await on.tell({ kind: 'stop', tankId: 'one', by: 'a test' })).toMatchObject({
      ok: true,
      offConfirmed: true,
    });
    expect(on.truth().outputOn).toBe(false);
    // Cut short, it has found nothing.
    expect(await check(on, 'continuity')).toMatchObject({ state: 'unknown' });
  });

  it('is over: the farewell of its page leaves the next run alone, and a bare stop does not', async () => {
    const on = await open({ timeScale: 20 });
    const steady = await on.tell({
      kind: 'probe',
      tankId: 'one',
      by: 'a test',
      probe: 'meter',
      amps: 0.45,
    });
    const own = { runId: steady.ok ? (steady.runId ?? '') : '' };
    expect(own.runId).not.toBe('');
    await on.until('current', () => on.tank.output === 'on');
    const stop = { kind: 'stop', tankId: 'one', by: 'a test' } as const;
    expect(await on.tell({ ...stop, ...own })).toEqual({ ok: true, offConfirmed: true });
    await on.over();
    const runId = await on.run(aRequest());
    expect(await on.tell({ ...stop, ...own })).toMatchObject({ ok: false, code: 'stale' });
    expect(on.tank.run).toMatchObject({ record: { id: runId }, state: { outcome: null } });
    expect(on.truth().outputOn).toBe(true);
    expect(await on.tell(stop)).toEqual({ ok: true, offConfirmed: true });
    expect(on.truth().outputOn).toBe(false);
  });

  it('switches nothing on where the sentinel cannot guard it', async () => {
    const on = await open({ refuseGuard: 'no descriptor' });
    await ask(on, 'continuity');
    await on.until('the end', () => on.tank.run?.state.lifecycle === 'stopped');
    expect(on.truth()).toMatchObject({ outputOn: false, onsReceived: 0 });
    expect(on.tank.alarms.standing).toEqual([]);
  });

  it('cannot be carried on as a run', async () => {
    const on = await open();
    const id = await probed(on, 'continuity');
    const answer = await on.arm(aRequest(), { continues: id });
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
  });
});
