/** Changed settings in control: what is noted, and that they are taken over only while nothing runs. */

import { writeFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { SettingsDesk } from '../../daemon/control/settings-desk.ts';
import { BenchFolder, benchToml } from '../settings/bench-folder.ts';
import { aRequest, TankBench } from './a-tank.ts';

const folder = new BenchFolder();
let bench: TankBench;
beforeEach(async () => {
  writeFileSync(folder.file, benchToml);
  bench = await (await TankBench.open({ settingsFile: folder.file })).started();
});
afterEach(() => bench.close());

const take = () => bench.tell({ kind: 'take-settings', by: 'Ada (control)' });
const startsAnew = () => bench.notices.filter((notice) => notice === 'starts anew').length;
const notes = async () => {
  await bench.tank.journal.settled();
  const events = bench.reader().recentEvents(100);
  return events.filter(({ code }) => code === 'settings');
};

describe('changed settings', () => {
  it('are noted in the log without a run, and among the events of one that is under way', async () => {
    await bench.tell({ kind: 'settings-note', note: 'Settings: studio changed, by Ada.' });
    expect(await notes()).toMatchObject([
      { runId: null, message: 'Settings: studio changed, by Ada.' },
    ]);
    const runId = await bench.run(aRequest());
    await bench.tell({ kind: 'settings-note', note: 'Settings: web changed, by Ada.' });
    expect((await notes())[0]).toMatchObject({ runId, message: 'Settings: web changed, by Ada.' });
  });

  it('are not taken over while a run is on, and the run goes on as it was', async () => {
    await bench.run(aRequest());
    const before = bench.tank.run?.state.version;
    expect(await take()).toMatchObject({
      ok: false,
      code: 'refused',
      reason: expect.stringContaining('A run is on'),
    });
    expect([startsAnew(), bench.tank.output]).toEqual([0, 'on']);
    expect(bench.tank.run?.state.version).toBe(before);
  });

  it('are not taken over while the OFF of a run that has ended is not read back', async () => {
    await bench.run(aRequest());
    bench.clock.setScale(60);
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    void bench.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    await bench.until('the stop', () => bench.tank.run?.state.lifecycle === 'stopped');
    expect(bench.tank.output).not.toBe('confirmedOff');
    expect(bench.tank.snapshot().awaitsOff).toBe(true);
    expect(await take()).toMatchObject({
      ok: false,
      code: 'refused',
      reason: expect.stringContaining('Tank one is not read back as off'),
    });
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    expect(startsAnew()).toBe(0);
    expect(await take()).toMatchObject({ ok: true });
    expect(startsAnew()).toBe(1);
  });

  it('are not taken over while an OFF is owed from before this start', async () => {
    bench.instrument.faults.set('ignoresOff', {}, bench.clock.nowMs());
    bench.tank.owesOff([]);
    expect(await take()).toMatchObject({ ok: false, code: 'refused' });
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.until('OFF', () => !bench.tank.awaitsOff);
  });

  it('hold back a run where the line of its tank waits to be used, until it is as it was', async () => {
    await bench.arm(aRequest());
    await bench.until('the run to be ready', () => bench.tank.snapshot().run?.ready);
    const tcp = 'link = { kind = "tcp", host = "192.0.2.7", port = 5025 }';
    writeFileSync(folder.file, benchToml.replace('link = { kind = "in-process" }', tcp));
    const refused = {
      ok: false,
      code: 'refused',
      reason: expect.stringContaining('The line to the supply of Tank one was changed'),
    };
    expect(await bench.onRun('start')).toMatchObject(refused);
    expect(await bench.onRun('disarm')).toMatchObject({ ok: true });
    expect(await bench.arm(aRequest())).toMatchObject(refused);
    await bench.until('OFF', () => bench.tank.output === 'confirmedOff');
    // What is no line may wait.
    writeFileSync(folder.file, benchToml.replace('maxAmps = 3', 'maxAmps = 2.5'));
    expect(await bench.arm(aRequest())).toMatchObject({ ok: true });
  });

  it('leave a bench that can be used where the sentinel does not end it', async () => {
    const tanks = new Map([['one', bench.tank]]);
    const deaf = { tanks, file: folder.file, env: process.env, startAnew: () => undefined };
    const desk = new SettingsDesk({ ...deaf, endsWithinMs: 50 });
    expect(desk.take('Ada')).toMatchObject({ ok: true });
    expect(desk.leaving).toBe(true);
    await bench.until('the end of waiting', () => !desk.leaving);
    expect((await notes())[0]?.message).toContain('were not taken over');
  });

  it('are not taken over where they cannot be used', async () => {
    writeFileSync(folder.file, benchToml.replace('maxAmps = 3', 'maxAmps = 0'));
    const answer = await take();
    expect(answer).toMatchObject({ ok: false, code: 'invalid' });
    expect(answer.ok ? [] : answer.problems).toMatchObject([{ field: 'tanks[0].maxAmps' }]);
    expect(startsAnew()).toBe(0);
  });

  it('are taken over where nothing runs; from then on nothing is switched on any more', async () => {
    expect(await take()).toMatchObject({ ok: true });
    expect(startsAnew()).toBe(1);
    expect(await bench.arm(aRequest())).toMatchObject({ ok: false, code: 'unavailable' });
    expect(await bench.tell({ kind: 'stop', tankId: 'one', by: 'Ada' })).toMatchObject({
      ok: true,
    });
    expect((await notes())[0]?.message).toBe('The settings were taken over by Ada (control).');
  });
});
