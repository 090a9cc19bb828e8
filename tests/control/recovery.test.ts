/** After a restart: the open run is closed, OFF is owed and paid, and nothing goes on by itself. */

import { join } from 'node:path';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { outletOf } from '../../daemon/alerts/outlets.ts';
import { alarmMessage } from '../../daemon/alerts/door.ts';
import { recover } from '../../daemon/control/recovery.ts';
import { computerSlept } from '../../daemon/control/tank-faults.ts';
import { faultOf } from '../../daemon/run/faults.ts';
import { readSentinelNotes, type SentinelNote } from '../../daemon/sentinel/door.ts';
import { openStoreWriter, StoreError, type StoreWriter } from '../../daemon/store/door.ts';
import type { Alarm, BootClocks, RunRecord } from '../../daemon/wire/run.ts';
import { aChannel } from '../alerts/quiet-alerts.ts';
import { aRequest, TankBench } from './a-tank.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-recovery-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const aReading = {
  atMs: 3_600_000,
  volts: 0.4,
  amps: 0.5,
  setAmps: 0.5,
  ampHours: 0.48,
  thicknessMicrometres: 15,
  lifecycle: 'holding',
} as const;

/** A run as arming wrote it, for all tests: they differ in what came after. */
let armed: RunRecord | null = null;

async function armedRun(): Promise<RunRecord> {
  const donor = await (await TankBench.open()).started();
  await donor.arm(aRequest());
  const record = donor.tank.run?.record;
  await donor.close();
  if (record === undefined) throw new Error('no run');
  return record;
}

/** A database in which a run stands open, as a process that died leaves it. */
async function leaveOpen(file: string, changes: Partial<RunRecord>): Promise<RunRecord> {
  armed ??= await armedRun();
  const open: RunRecord = { ...armed, simulated: false, ...changes };
  const store = await openStoreWriter({ file });
  await store.createRun({ ...open, startedWallMs: null, lifecycle: 'armed' });
  if (open.startedWallMs !== null) {
    const { startedWallMs, clocks } = open;
    await store.patchRun(open.id, { startedWallMs, clocks, lifecycle: 'holding' });
    store.appendReading(open.id, {
      ...aReading,
      wallMs: open.startedWallMs + 3_600_000,
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
    // It waits for a decision, with what is known of it.
    await on.interrupted.refresh();
    expect(on.interrupted.waiting).toMatchObject([
      {
        runId: open.id,
        tankName: 'Tank one',
        ampHours: 0.48,
        highAmpHours: run?.highAmpHours,
        seenWallMs: startedWallMs + 3_600_000,
        offConfirmed: true,
        earlierRunIds: [],
        hindrance: null,
      },
    ]);
    const [shown] = on.interrupted.waiting;
    const { value = 0, low = 0, high = 0 } = shown?.thicknessMicrometres ?? {};
    expect(low).toBeLessThan(value);
    // The range of the metal takes in the charge that nobody saw.
    expect(high / value).toBeGreaterThan(2);
    expect(shown?.remarks.join(' ')).toContain('passed its target');
    // What goes on is a new run, after the alarm is acknowledged, with the charge carried over.
    expect(await on.arm(aRequest(), { continues: open.id })).toMatchObject({ ok: false });
    await on.tell({ kind: 'acknowledge', alarmId: alarm?.id ?? 0, by: 'x' });
    await on.until('the link', () => on.tank.link.connected);
    const again = await on.arm(aRequest(), { continues: open.id });
    expect(again.ok ? '' : again.reason).toBe('');
    expect(on.tank.run?.record).toMatchObject({ continues: open.id, carriedAmpHours: 0.48 });
    expect(on.tank.run?.state.charge).toMatchObject({
      ampHours: 0.48,
      lowAmpHours: run?.lowAmpHours,
      highAmpHours: run?.highAmpHours,
    });
    // Armed alone decides nothing, and nothing was switched on.
    await on.interrupted.refresh();
    expect(on.interrupted.waiting).toHaveLength(1);
    expect(on.truth().onsReceived).toBe(0);
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

  it('takes a run with a reading for started, however late its row was', async () => {
    const file = join(folder, 'runs.sqlite');
    const open = await leaveOpen(file, { startedWallMs: null });
    const wallMs = Date.now();
    const store = await openStoreWriter({ file });
    store.appendReading(open.id, { ...aReading, atMs: 200, wallMs: wallMs - 3_600_000 });
    await store.close();
    const on = await TankBench.open({ file });
    await recover(new Map([['one', on.tank]]), on.store, [], wallMs);
    expect(await on.store.run(open.id)).toMatchObject({
      lifecycle: 'interrupted',
      startedWallMs: wallMs - 3_600_000,
    });
    expect(firstRun(on).highAmpHours).toBeGreaterThan(0.99 * open.plan.limits.maxAmps);
    expect(on.tank.alarms.standing.map(({ code }) => code)).toEqual(['controlLost']);
    expect((await on.store.interrupted.waiting()).map(({ run }) => run.id)).toEqual([open.id]);
    await on.close();
  });

  it.each([
    ['off', 'stays off when the mains returns'],
    ['on', 'comes back on with the mains: current may have flowed'],
    ['unknown', 'was never tried: current may have flowed'],
  ] as const)('says what a supply does after a power cut: %s', async (afterMains, words) => {
    const file = join(folder, 'runs.sqlite');
    const wallMs = Date.now();
    const open = await leaveOpen(file, { startedWallMs: wallMs - 2 * 3_600_000 });
    const on = await TankBench.open({ file, simulated: false, afterMains });
    // The last reading is an hour old, and the computer was started five minutes ago.
    await recover(new Map([['one', on.tank]]), on.store, [], wallMs, {
      bootedWallMs: wallMs - 300_000,
    });
    const [found = ''] = on.tank.alarms.standing.map((alarm) => alarm.found);
    expect(found).toMatch(/^This computer was started anew in mid-run, as after a power cut\./);
    expect(found).toContain(words);
    expect((await on.store.run(open.id))?.outcome?.reason).toContain('started anew');
    await on.close();
  });

  it('does not call a restart of the program alone a power cut', async () => {
    const file = join(folder, 'runs.sqlite');
    const wallMs = Date.now();
    await leaveOpen(file, { startedWallMs: wallMs - 2 * 3_600_000 });
    const on = await TankBench.open({ file, simulated: false, afterMains: 'on' });
    await recover(new Map([['one', on.tank]]), on.store, [], wallMs, {
      bootedWallMs: wallMs - 86_400_000,
    });
    const [found = ''] = on.tank.alarms.standing.map((alarm) => alarm.found);
    expect(found).toMatch(/^Nightbath was restarted in mid-run\./);
    expect(found).not.toContain('mains');
    await on.close();
  });

  it('bounds the charge by the longest time where the clock went back meanwhile', async () => {
    const file = join(folder, 'runs.sqlite');
    const startedWallMs = Date.now() - 2 * 3_600_000;
    const open = await leaveOpen(file, { startedWallMs });
    const on = await TankBench.open({ file });
    // A board that keeps no time while it is off comes up in the past.
    await recover(new Map([['one', on.tank]]), on.store, [], startedWallMs - 86_400_000);
    const { maxAmps, maxDurationMs } = open.plan.limits;
    expect((await on.store.run(open.id))?.highAmpHours).toBeCloseTo(
      0.48 + (maxAmps * maxDurationMs) / 3_600_000,
      6,
    );
    await on.close();
  });

  describe('whatever became of the wall clock, by the clocks of the computer that nobody sets', () => {
    const hourMs = 3_600_000;
    const minuteMs = 60_000;
    const started = { bootId: 'first', awakeMs: 5 * hourMs, sinceBootMs: 6 * hourMs };
    /** The last reading is from an hour after the start, and `unseenMs` have passed since then. */
    const later = (unseenMs: number, sleptMs = 0) => ({
      bootId: 'first',
      awakeMs: started.awakeMs + hourMs + unseenMs,
      sinceBootMs: started.sinceBootMs + hourMs + unseenMs + sleptMs,
    });

    const anew = (sinceBootMs: number) => ({ bootId: 'second', awakeMs: sinceBootMs, sinceBootMs });
    const longestMinutes = (open: RunRecord): number => open.plan.limits.maxDurationMs / minuteMs;

    /** The bound after such a night, as minutes at the largest current. */
    async function unseenMinutes(
      wallLaterMs: number,
      bootClocks: BootClocks,
      notes: (seenWallMs: number) => readonly SentinelNote[] = () => [],
      changes: Partial<RunRecord> = {},
    ): Promise<{ readonly minutes: number; readonly open: RunRecord }> {
      const file = join(folder, 'runs.sqlite');
      const startedWallMs = Date.now() - 2 * hourMs;
      const times = { armedWallMs: startedWallMs, startedWallMs, clocks: started };
      const open = await leaveOpen(file, { ...times, ...changes });
      const on = await TankBench.open({ file });
      const seenWallMs = startedWallMs + hourMs;
      const tanks = new Map([['one', on.tank]]);
      await recover(tanks, on.store, notes(seenWallMs), seenWallMs + wallLaterMs, {
        bootClocks: () => bootClocks,
      });
      const run = await on.store.run(open.id);
      await on.close();
      const unseenAmpHours = (run?.highAmpHours ?? Number.NaN) - 0.48;
      return { minutes: (60 * unseenAmpHours) / open.plan.limits.maxAmps, open };
    }

    it.each([
      ['stood right', minuteMs, later(minuteMs), 1],
      ['went back by less than nobody looked', minuteMs - 15_000, later(minuteMs), 1],
      ['went back by an hour', minuteMs - hourMs, later(minuteMs), 1],
      ['went forward by an hour', minuteMs + hourMs, later(minuteMs), 1],
      ['stood right over a sleep', 21 * minuteMs, later(minuteMs, 20 * minuteMs), 21],
      ['went back in a sleep', 30_000, later(minuteMs, 20 * minuteMs), 21],
      ['stood right over a new start', 30 * minuteMs, anew(10 * minuteMs), 30],
    ])('which %s', async (_, wallLaterMs, bootClocks, minutes) => {
      expect((await unseenMinutes(wallLaterMs, bootClocks)).minutes).toBeCloseTo(minutes, 6);
    });

    it('which went back while the computer was started anew: the longest time of the run', async () => {
      // Off for hours, perhaps: nothing tells.
      const { minutes, open } = await unseenMinutes(minuteMs, anew(10 * minuteMs));
      expect(minutes).toBeCloseTo(longestMinutes(open), 6);
    });

    it('which went forward, in a container whose clocks began anew: by the wall clock', async () => {
      const contrary = { ...started, awakeMs: 1_000, sinceBootMs: 1_000 };
      expect((await unseenMinutes(5 * minuteMs, contrary)).minutes).toBeCloseTo(5, 6);
    });

    it('which went back before the sentinel had read OFF back: its minute, from its note on', async () => {
      const note = (seenWallMs: number): SentinelNote => ({
        // Half a minute after the last reading, and the clock had been set back by 90 s.
        wallMs: seenWallMs - minuteMs,
        clocks: later(minuteMs / 2),
        cause: 'died',
        found: 'The control process was ended by SIGKILL.',
        tanks: [{ tankId: 'one', offConfirmed: true, message: 'OFF was sent and confirmed.' }],
      });
      const { minutes } = await unseenMinutes(hourMs, later(hourMs), (seenWallMs) => [
        note(seenWallMs),
      ]);
      expect(minutes).toBeCloseTo(1.5, 6);
    });

    it('and what the run had in doubt by then comes on top of what it counted since', async () => {
      const doubt = { ampHours: 0.4, highAmpHours: 0.43 };
      const { minutes, open } = await unseenMinutes(minuteMs, later(minuteMs), () => [], doubt);
      const doubtMinutes = (60 * 0.03) / open.plan.limits.maxAmps;
      expect(minutes).toBeCloseTo(1 + doubtMinutes, 6);
    });
  });

  it('keeps the clocks of the computer with a run, from arming and anew from its start', async () => {
    let awakeMs = 1_000;
    const bootClocks = () => ({ bootId: 'first', awakeMs, sinceBootMs: awakeMs });
    const on = await (await TankBench.open({ bootClocks })).started();
    await on.arm(aRequest());
    const id = on.tank.run?.record.id ?? '';
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    expect((await on.store.run(id))?.clocks).toEqual(bootClocks());
    awakeMs = 8_000;
    expect(await on.onRun('start')).toMatchObject({ ok: true });
    await on.tank.journal.settled();
    expect((await on.store.run(id))?.clocks).toEqual({
      bootId: 'first',
      awakeMs: 8_000,
      sinceBootMs: 8_000,
    });
    await on.close();
  });

  it('takes a sleep out of them: lifted nothing flows, and with its output on the charge has its bound for it', async () => {
    const bootClocks = () => ({ bootId: 'first', awakeMs: 1_000, sinceBootMs: 2_000 });
    const on = await (await TankBench.open({ bootClocks })).started();
    const id = await on.run(aRequest());
    const kept = async () => {
      await on.tank.journal.settled();
      return (await on.store.run(id))?.clocks;
    };
    await on.onRun('lift');
    await on.until('OFF', () => on.tank.output === 'confirmedOff');
    computerSlept(on.tank, 8 * 3_600_000);
    await on.onRun('put-back');
    await on.until('ON', () => on.tank.output === 'on');
    expect(await kept()).toEqual({ ...bootClocks(), sinceBootMs: 2_000 + 8 * 3_600_000 });
    computerSlept(on.tank, 3_600_000);
    await on.over();
    expect(await kept()).toEqual({ ...bootClocks(), sinceBootMs: 2_000 + 9 * 3_600_000 });
    await on.close();
  });

  it('keeps the doubt of a row from before it was kept over a second restart', async () => {
    const file = join(folder, 'runs.sqlite');
    const startedWallMs = Date.now() - 2 * 3_600_000;
    const doubt = { ampHours: 0.4, highAmpHours: 3.4 };
    const open = await leaveOpen(file, { startedWallMs, ...doubt });
    const on = await TankBench.open({ file });
    const seenWallMs = startedWallMs + 3_600_000;
    for (const hours of [1, 2]) {
      await recover(new Map(), on.store, [], seenWallMs + hours * 3_600_000);
      const most = 0.48 + 3 + hours * open.plan.limits.maxAmps;
      expect((await on.store.run(open.id))?.highAmpHours).toBeCloseTo(most, 6);
    }
    await on.close();
  });

  it('has a sleep in its bound once, where the run is cut short after it', async () => {
    let sleptMs = 0;
    const bench: { on: TankBench | null } = { on: null };
    const bootClocks = () => {
      const awakeMs = bench.on?.clock.nowMs() ?? 0;
      return { bootId: 'first', awakeMs, sinceBootMs: awakeMs + sleptMs };
    };
    const on = await TankBench.open({
      simulated: false,
      bootClocks,
      file: join(folder, 'runs.sqlite'),
    });
    bench.on = on;
    await on.started();
    const id = await on.run(aRequest());
    await on.until('the hold', () => on.tank.run?.state.lifecycle === 'holding');
    on.instrument.faults.set('ignoresOff', {}, on.clock.nowMs());
    const amps = on.tank.run?.state.confirmedAmps ?? Number.NaN;
    sleptMs = 8 * 3_600_000;
    computerSlept(on.tank, sleptMs);
    await on.tank.journal.settled();
    await recover(new Map(), on.store, [], on.clock.wallMs(), { bootClocks });
    const run = await on.store.run(id);
    const unseen = (run?.highAmpHours ?? 0) - (run?.ampHours ?? 0);
    expect(unseen).toBeGreaterThan(8 * amps);
    expect(unseen).toBeLessThan(9 * amps);
    on.instrument.faults.clearAll(on.clock.nowMs());
    await on.close();
  });

  it('puts on record what the sentinel found where no tank was under guard', async () => {
    const on = await TankBench.open({ file: join(folder, 'runs.sqlite') });
    const found = 'The control process gave no sign for 5.1 s and was ended.';
    const note = { wallMs: Date.now(), cause: 'hung' as const, found, tanks: [] };
    await recover(new Map([['one', on.tank]]), on.store, [note], Date.now());
    const reader = on.reader();
    expect(reader.recentEvents(5).map(({ message }) => message)).toEqual([found]);
    reader.close();
    expect(on.tank.alarms.standing).toEqual([]);
    await on.close();
  });

  it('calls a person where what the sentinel left cannot be read', async () => {
    const noteFile = join(folder, 'note.json');
    writeFileSync(noteFile, '{"notes":[{');
    const on = await TankBench.open({ file: join(folder, 'runs.sqlite') });
    const notes = readSentinelNotes(noteFile);
    await recover(new Map([['one', on.tank]]), on.store, notes, Date.now());
    const [alarm] = on.tank.alarms.standing;
    expect(alarm?.code).toBe('controlLost');
    expect(alarm?.found).toMatch(/cannot be read.*Look at every supply/);
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

  it('shows what a tank that has left the settings asks for, until somebody takes it on', async () => {
    const file = join(folder, 'runs.sqlite');
    const left = await goneAlarm(file);
    const on = await TankBench.open({ file, ...pushed });
    await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
    await on.started();
    // An own alarm of the same kind is news all the same.
    on.tank.journal.alarm(
      null,
      faultOf('offUnconfirmed', on.clock.nowMs(), 'OFF fails.'),
      'stopped',
    );
    const own = () => on.tank.alarms.standing.find(({ tankId }) => tankId === 'one');
    await on.until('the own one over', () => own()?.clearedWallMs != null);
    const shown = () => on.tank.snapshot().alarms.filter(({ tankId }) => tankId === 'gone');
    // The supply of this tank, which is off, tells nothing of the other one.
    expect(shown()).toMatchObject([
      {
        id: left.id,
        found: 'Tank “gone”, no longer in the settings: Off was not read back.',
        clearedWallMs: null,
      },
    ]);
    const goneDeliveries = async () =>
      (await on.store.outbox.open()).filter(({ alarmId }) => alarmId === left.id);
    expect(await goneDeliveries()).toHaveLength(1);
    const press = { kind: 'acknowledge', alarmId: left.id, by: 'Ada' } as const;
    expect(await on.tell(press)).toEqual({ ok: true });
    await on.tank.journal.settled();
    expect(shown()).toEqual([]);
    expect(on.tank.alarms.quiet).toEqual([]);
    expect(await goneDeliveries()).toEqual([]);
    const reader = on.reader();
    expect(reader.alarms(5).find(({ id }) => id === left.id)).toMatchObject({
      tankId: 'gone',
      found: 'Off was not read back.',
      acknowledgedWallMs: expect.any(Number),
      clearedWallMs: expect.any(Number),
    });
    const [noted] = reader.recentEvents(20).filter(({ code }) => code === 'acknowledged');
    expect(noted).toMatchObject({ tankId: 'gone', message: expect.stringContaining('by Ada') });
    reader.close();
    expect(on.alerts.channels()).toMatchObject([{ waiting: 1 }]);
    await on.close();
  });
});

/** One channel that takes whatever is said. */
const pushed = { channels: [aChannel('push')], send: () => Promise.resolve(null) };

/** Raised on a tank that no bench here has, and said outside on the channel. */
async function goneAlarm(file: string): Promise<Alarm> {
  const store = await openStoreWriter({ file });
  const base = { runId: null, tankId: 'gone', wallMs: Date.now(), code: 'offUnconfirmed' } as const;
  const words = { found: 'Off was not read back.', cause: 'A cable.', remedy: 'Look at it.' };
  const event = { ...base, atMs: null, message: words.found };
  const alarm = { ...base, ...words, priority: 'stopped' as const };
  const { tankId, wallMs } = base;
  const named = { tankId, tankName: 'Gone', simulated: false, run: null };
  const message = alarmMessage('alarm-1', { ...named, tankWallMs: wallMs, wallMs }, alarm, false);
  const { print } = outletOf(aChannel('push'));
  const posting = { message, channels: [{ name: 'push', print }] };
  const stored = await store.raiseAlarm(event, alarm, posting);
  await store.close();
  return stored.alarm;
}

/** A log with interrupted runs as several restarts may leave them, and a tank on it. */
async function withInterrupted(
  changes: readonly (Partial<RunRecord> & { readonly id: string })[],
): Promise<TankBench> {
  const file = join(folder, 'runs.sqlite');
  const donor = await leaveOpen(file, { startedWallMs: null });
  const store = await openStoreWriter({ file });
  await store.patchRun(donor.id, { lifecycle: 'stopped', offConfirmed: true });
  for (const [index, change] of changes.entries()) {
    await store.createRun({
      ...donor,
      startedWallMs: donor.armedWallMs + index,
      armedWallMs: donor.armedWallMs + index,
      lifecycle: 'interrupted',
      offConfirmed: true,
      outcome: { end: 'interrupted', reason: 'Cut short.', faultCode: null },
      ampHours: 0.1,
      lowAmpHours: 0.1,
      highAmpHours: 0.1,
      ...change,
    });
  }
  await store.close();
  const on = await TankBench.open({ file });
  await on.interrupted.refresh();
  return on;
}

const ids = (on: TankBench): readonly string[] => on.interrupted.waiting.map(({ runId }) => runId);

describe('interrupted runs', () => {
  it('are ended one by one with who did it and a note, once each, and nothing is switched', async () => {
    const on = await withInterrupted([{ id: 'night-a' }, { id: 'night-b' }]);
    expect(ids(on)).toEqual(['night-b', 'night-a']);
    const end = { kind: 'end-interrupted', runId: 'night-a', by: 'a test' } as const;
    expect(await on.tell({ ...end, note: ' the leaf fell in ' })).toMatchObject({ ok: true });
    expect(ids(on)).toEqual(['night-b']);
    const reader = on.reader();
    const [event] = reader.events('night-a');
    expect(event).toMatchObject({
      code: 'endedHere',
      message: 'Ended here by a test; kept as interrupted. Note: the leaf fell in',
    });
    expect(on.messages.filter(({ type }) => type === 'interrupted').length).toBeGreaterThan(1);
    expect(reader.run('night-a')).toMatchObject({ lifecycle: 'interrupted' });
    const again = await on.tell({ ...end, note: '' });
    expect(again).toMatchObject({ ok: false, code: 'stale' });
    expect(again.ok ? '' : again.reason).toContain('the leaf fell in');
    expect(await on.tell({ ...end, runId: 'no-such', note: '' })).toMatchObject({
      ok: false,
      code: 'notFound',
    });
    expect(on.truth()).toMatchObject({ onsReceived: 0, outputOn: false });
    reader.close();
    await on.close();
  });

  it('wait no more once the run that carries them on has started, which is on record', async () => {
    const on = await withInterrupted([{ id: 'night-a' }, { id: 'night-b', continues: 'night-a' }]);
    await on.started();
    expect(on.interrupted.waiting).toMatchObject([
      { runId: 'night-b', earlierRunIds: ['night-a'] },
    ]);
    const runId = await on.run(aRequest(), { continues: 'night-b' });
    await on.until('the record', () => on.interrupted.waiting.length === 0);
    const reader = on.reader();
    expect(reader.events('night-b')).toMatchObject([
      { code: 'carriedOn', message: `Carried on as run ${runId}, started by a test.` },
    ]);
    reader.close();
    const late = { kind: 'end-interrupted', runId: 'night-b', by: 'x', note: '' } as const;
    expect(await on.tell(late)).toMatchObject({ ok: false, code: 'stale' });
    // Nor is it carried on twice.
    await on.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await on.over();
    const twice = await on.arm(aRequest(), { continues: 'night-b' });
    expect(twice).toMatchObject({ ok: false, code: 'refused' });
    await on.close();
  });

  it('say what stands in the way: no tank, no bath, a target that is reached', async () => {
    const on = await withInterrupted([]);
    const donor = firstRun(on);
    const bath = { ...donor.plan.bath, id: 'long-gone', name: 'Old bath' };
    const cut = {
      startedWallMs: 1,
      lifecycle: 'interrupted' as const,
      outcome: { end: 'interrupted' as const, reason: 'Cut short.', faultCode: null },
      offConfirmed: true,
    };
    await on.store.createRun({ ...donor, ...cut, id: 'no-tank', tankId: 'two', armedWallMs: 3 });
    await on.store.createRun({
      ...donor,
      ...cut,
      id: 'no-bath',
      armedWallMs: 2,
      plan: { ...donor.plan, bath },
    });
    const { targetChargeAmpHours } = donor.plan;
    await on.store.createRun({
      ...donor,
      ...cut,
      id: 'reached',
      armedWallMs: 1,
      ampHours: targetChargeAmpHours,
    });
    await on.interrupted.refresh();
    const [noTank, noBath, reached] = on.interrupted.waiting;
    expect(noTank).toMatchObject({ runId: 'no-tank', tankName: null });
    expect(noTank?.hindrance).toContain('no tank “two” any more');
    expect(noBath?.remarks.join(' ')).toContain('“Old bath” is not among the baths');
    expect(noBath?.hindrance).toBeNull();
    expect(reached?.remarks).toEqual([
      'It had reached its target: carrying on needs a larger one.',
    ]);
    const end = { kind: 'end-interrupted', runId: 'no-tank', by: 'a test', note: '' } as const;
    expect(await on.tell(end)).toMatchObject({ ok: true });
    await on.close();
  });

  it('of a tank that is gone call a person beside one of a tank that is there, and only once', async () => {
    const file = join(folder, 'runs.sqlite');
    const startedWallMs = Date.now() - 7_200_000;
    await leaveOpen(file, { startedWallMs });
    await leaveOpen(file, { tankId: 'two', id: 'night-two', startedWallMs });
    // Nobody acknowledges, and the second start finds the same again.
    for (let start = 0; start < 2; start += 1) {
      const on = await TankBench.open({ file });
      await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
      await on.tank.journal.settled();
      const found = on.tank.alarms.standing.map((alarm) => alarm.found).toSorted();
      await on.close();
      expect(found).toHaveLength(2);
      expect(found[0]).toContain('restarted in mid-run');
      expect(found[1]).toContain('Nightbath cannot switch its supply off');
    }
  });

  it('of a tank that is gone call a person at each start, until they are ended by hand', async () => {
    const file = join(folder, 'runs.sqlite');
    await leaveOpen(file, {
      tankId: 'two',
      id: 'night-two',
      startedWallMs: Date.now() - 7_200_000,
    });
    const told = async (): Promise<readonly string[]> => {
      const on = await TankBench.open({ file });
      await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
      await on.tank.journal.settled();
      const found = on.tank.alarms.standing.map((alarm) => alarm.found);
      for (const { id } of on.tank.alarms.standing) {
        await on.tell({ kind: 'acknowledge', alarmId: id, by: 'x' });
      }
      if (found.length > 0 && ends) {
        await on.tell({ kind: 'end-interrupted', runId: 'night-two', by: 'x', note: '' });
      }
      expect(on.tank.output).not.toBe('on');
      await on.close();
      return found;
    };
    let ends = false;
    expect((await told()).join(' ')).toContain('the settings have no such tank any more');
    ends = true;
    expect(await told()).toHaveLength(1);
    expect(await told()).toEqual([]);
  });
});

function firstRun(on: TankBench): RunRecord {
  const reader = on.reader();
  const [summary] = reader.runs({ limit: 1 });
  const run = reader.run(summary?.id ?? '');
  reader.close();
  if (run === null) throw new Error('no run');
  return run;
}

describe('recovery on a disk that refuses', () => {
  const refusal = () => Promise.reject(new StoreError('io', 'The disk has an error.'));

  /** A store of which some calls can be broken, and which remembers what it was asked. */
  class BrittleStore {
    broken = true;
    readonly seen: string[] = [];
    readonly #names: readonly string[];

    constructor(...names: readonly string[]) {
      this.#names = names;
    }

    readonly between = (store: StoreWriter): StoreWriter =>
      new Proxy(store, {
        get: (target, name) => {
          const value: unknown = Reflect.get(target, name, target);
          if (typeof value !== 'function') return value;
          return (...given: unknown[]) => {
            const call = String(name);
            this.seen.push(call);
            return this.broken && this.#names.includes(call)
              ? refusal()
              : Reflect.apply(value, target, given);
          };
        },
      });
  }

  async function started(brittle: BrittleStore): Promise<{ on: TankBench; open: RunRecord }> {
    const file = join(folder, 'runs.sqlite');
    const open = await leaveOpen(file, { startedWallMs: Date.now() - 7_200_000 });
    const on = await TankBench.open({ file, between: brittle.between });
    on.instrument.faults.set('outputKey', { on: true }, on.clock.nowMs());
    return { on, open };
  }

  it.each(['patchRun', 'lastReading', 'standingAlarms', 'unsettledRuns', 'raiseAlarm'])(
    'owes the OFF although %s fails, and pays it',
    async (name) => {
      const brittle = new BrittleStore(name);
      const { on } = await started(brittle);
      await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
      on.tank.start();
      await on.until('OFF', () => on.tank.output === 'confirmedOff' && !on.truth().outputOn);
      expect(on.truth()).toMatchObject({ onsReceived: 0 });
      expect(on.truth().offsReceived).toBeGreaterThan(0);
      await on.close();
    },
  );

  it('closes the run in the log once the disk takes writes again, its charge bounded', async () => {
    const brittle = new BrittleStore('patchRun');
    const { on, open } = await started(brittle);
    await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
    on.tank.start();
    await on.until('OFF', () => on.tank.output === 'confirmedOff' && !on.truth().outputOn);
    expect(await on.store.run(open.id)).toMatchObject({ outcome: null, offConfirmed: false });
    brittle.broken = false;
    on.clock.setScale(50);
    const reader = on.reader();
    await on.until('the row', () => {
      const row = reader.run(open.id);
      return row?.lifecycle === 'interrupted' && row.offConfirmed;
    });
    const closed = reader.run(open.id);
    reader.close();
    expect(closed).toMatchObject({ outcome: { end: 'interrupted' } });
    expect(closed?.highAmpHours).toBeGreaterThan(0.48 + open.plan.limits.maxAmps * 0.99);
    expect(await on.store.unsettledRuns()).toEqual([]);
    await on.close();
  });

  it('owes it before the first write is made', async () => {
    const brittle = new BrittleStore();
    const { on } = await started(brittle);
    let owedAt: boolean | null = null;
    const owesOff = on.tank.owesOff.bind(on.tank);
    on.tank.owesOff = (runs) => {
      owedAt ??= !brittle.seen.some((call) =>
        ['patchRun', 'raiseAlarm', 'appendEvent'].includes(call),
      );
      owesOff(runs);
    };
    await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
    expect(brittle.seen.includes('patchRun')).toBe(true);
    expect(owedAt).toBe(true);
    await on.close();
  });
});

describe('a bench that is a guest in the log of another one', () => {
  it('leaves the runs and the alarms of the other one as they are', async () => {
    const file = join(folder, 'runs.sqlite');
    const open = await leaveOpen(file, { startedWallMs: Date.now() - 7_200_000 });
    const on = await TankBench.open({ file });
    // Its own tank has another name than the one of the run.
    await recover(new Map([['bring-up', on.tank]]), on.store, [], Date.now(), { guest: true });
    expect(on.tank.alarms.standing).toEqual([]);
    expect(await on.store.standingAlarms()).toEqual([]);
    expect(await on.store.unsettledRuns()).toMatchObject([{ id: open.id, outcome: null }]);
    // The bench whose log it is finds it as it was left.
    await recover(new Map([['one', on.tank]]), on.store, [], Date.now());
    expect(await on.store.run(open.id)).toMatchObject({ outcome: { end: 'interrupted' } });
    await on.close();
  });
});
