/** Changes, turns and notes through the command desk: on a real tank, log and simulated supply. */

import { afterEach, describe, expect, it } from 'vitest';
import type { RunChange } from '../../daemon/run/change-model.ts';
import type { CommandAnswer } from '../../daemon/wire/command.ts';
import type { Letter } from '../../daemon/alerts/letter.ts';
import { aChannel } from '../alerts/quiet-alerts.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench;
afterEach(() => bench.close());

async function running(options: Parameters<typeof TankBench.open>[0] = {}): Promise<string> {
  bench = await (await TankBench.open({ timeScale: 60, ...options })).started();
  return bench.run(aRequest());
}

function onRun(version?: number) {
  const { run } = bench.tank;
  return {
    tankId: 'one',
    by: 'Maker',
    runId: run?.record.id ?? 'none',
    version: version ?? run?.state.version ?? 0,
  };
}

function change(wanted: RunChange, confirmed = false, version?: number): Promise<CommandAnswer> {
  return bench.tell({ kind: 'change', ...onRun(version), change: wanted, confirmed });
}

const to = (micrometres: number): RunChange => ({
  kind: 'target',
  target: { kind: 'thickness', micrometres },
});

describe('a change', () => {
  it('is looked at first, then confirmed, guarded, recorded and shown', async () => {
    const runId = await running();
    const looked = await bench.tell({ kind: 'look-change', tankId: 'one', change: to(30) });
    expect(looked).toMatchObject({
      ok: true,
      change: { raises: true, sentence: 'Target changed from 20 µm to 30 µm' },
    });
    expect(await change(to(30))).toMatchObject({ ok: false, code: 'refused' });
    const before = bench.guardian.guarded.length;
    expect(await change(to(30), true)).toMatchObject({ ok: true, runId });
    expect(bench.guardian.guarded.length).toBe(before + 1);
    const limits = bench.tank.run?.state.plan.limits;
    expect(bench.guardian.guarded.at(-1)?.maxChargeAmpHours).toBeGreaterThanOrEqual(
      limits?.maxChargeAmpHours ?? Infinity,
    );
    expect(bench.tank.snapshot().run?.targetMicrometres).toBeCloseTo(30, 6);
    await bench.tank.journal.settled();
    const reader = bench.reader();
    expect(reader.run(runId)?.plan.request.target).toEqual({ kind: 'thickness', micrometres: 30 });
    const [kept] = reader.planChanges(runId);
    expect(kept).toMatchObject({
      by: 'Maker',
      planBefore: { request: { target: { micrometres: 20 } } },
    });
    const events = reader.events(runId).map(({ message }) => message);
    expect(events).toContain('Target changed from 20 µm to 30 µm by Maker.');
    reader.close();
  });

  it('of two pages is taken once: the other is told to look again', async () => {
    await running();
    const { version } = onRun();
    const answers = await Promise.all([
      change(to(15), false, version),
      change(to(12), false, version),
    ]);
    expect(answers.filter(({ ok }) => ok)).toHaveLength(1);
    expect(answers.find(({ ok }) => !ok)).toMatchObject({ code: 'stale' });
  });

  it('that the sentinel does not take changes nothing', async () => {
    await running();
    bench.guardian.refuse = 'a sentence';
    const answer = await change(to(30), true);
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
    expect(JSON.stringify(answer)).toContain('nothing was changed');
    expect(bench.tank.run?.record.plan.request.target).toEqual({
      kind: 'thickness',
      micrometres: 20,
    });
  });

  it.each([
    ['above what it was armed for', { kind: 'density', ampsPerDm2: 9 }, 'change.ampsPerDm2'],
    ['of no thickness', to(-1), 'target.micrometres'],
    ['longer than the tank allows', to(5_000), 'tank.maxHours'],
  ] as const)('%s is refused by the field and its bound', async (_name, wanted, field) => {
    await running();
    const answer = await change(wanted, true);
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
    const fields = answer.ok ? [] : answer.problems.map((problem) => problem.field);
    expect(fields).toContain(field);
    expect(bench.tank.output).toBe('on');
  });

  it('is refused where there is no run under way', async () => {
    bench = await (await TankBench.open()).started();
    expect(await change(to(15))).toMatchObject({ ok: false, code: 'stale' });
    const looked = await bench.tell({ kind: 'look-change', tankId: 'one', change: to(15) });
    expect(looked).toMatchObject({ ok: false, code: 'refused' });
  });

  it('takes the run to its new end', async () => {
    await running({ timeScale: 2_000 });
    expect(await change(to(15))).toMatchObject({ ok: true });
    await bench.over();
    expect(bench.tank.snapshot().run?.outcome).toMatchObject({ end: 'reached' });
    expect(bench.tank.snapshot().run?.thicknessMicrometres.value).toBeCloseTo(15, 0);
    expect(bench.truth().outputOn).toBe(false);
  }, 60_000);
});

describe('turns', () => {
  it('reach a person outside, as no alarm, and three times in a row at the most', async () => {
    const sent: Letter[] = [];
    const send = (_channel: string, letter: Letter): Promise<null> => {
      sent.push(letter);
      return Promise.resolve(null);
    };
    const channels = [aChannel('phone'), aChannel('bell', { leastPriority: 'act-soon' })];
    await running({ timeScale: 600, channels, send });
    await bench.tell({ kind: 'turn-every', ...onRun(), everyMinutes: 5 });
    await bench.until('turns missed', () => (bench.tank.snapshot().run?.turning?.missed ?? 0) >= 4);
    await bench.tank.journal.settled();
    const reminders = sent.filter(({ title }) => title.includes('Turn the piece'));
    expect(reminders.map(({ title, priority }) => [title, priority])).toEqual(
      Array.from({ length: 3 }, () => ['Simulated: Turn the piece: Tank one', 'note']),
    );
    expect(reminders.at(-1)?.text).toContain('the last of 3 reminders');
    expect(bench.tank.snapshot().alarms).toEqual([]);
    const reader = bench.reader();
    const rows = reader.deliveries(50).filter(({ kind }) => kind === 'turn');
    expect(rows.map(({ channel }) => channel)).toEqual(['phone', 'phone', 'phone']);
    reader.close();
  });

  it('that were done are not called for any more where the call could not be delivered', async () => {
    const send = (): Promise<string> => Promise.resolve('The network is away.');
    await running({ timeScale: 240, channels: [aChannel('phone')], send });
    const states = (): readonly string[] => {
      const reader = bench.reader();
      const rows = reader.deliveries(50).filter(({ kind }) => kind === 'turn');
      reader.close();
      return rows.map(({ state }) => state);
    };
    await bench.tell({ kind: 'turn-every', ...onRun(), everyMinutes: 5 });
    await bench.until('the call', () => states().includes('waiting'));
    await bench.tell({ kind: 'turned', ...onRun() });
    await bench.until('its end', () => states().includes('withdrawn'));
  });

  it('are set, called due, done, and shown', async () => {
    await running({ timeScale: 240 });
    const set = await bench.tell({ kind: 'turn-every', ...onRun(), everyMinutes: 5 });
    expect(set).toMatchObject({ ok: true });
    await bench.until('the turn', () => bench.tank.snapshot().run?.turning?.isDue === true);
    expect(await bench.tell({ kind: 'turned', ...onRun() })).toMatchObject({ ok: true });
    expect(bench.tank.snapshot().run?.turning).toMatchObject({ isDue: false, done: 1 });
    const refused = await bench.tell({ kind: 'turn-every', ...onRun(), everyMinutes: 1 });
    expect(refused).toMatchObject({
      ok: false,
      reason: 'everyMinutes is 1; it must be a number from 5 to 1440.',
    });
  });
});

describe('a press about turns', () => {
  it('counts though the run has gone on to another stage, once for two that press', async () => {
    await running();
    await bench.tell({ kind: 'turn-every', ...onRun(), everyMinutes: 30 });
    const seen = onRun();
    expect(await bench.tell({ kind: 'lift', ...onRun() })).toMatchObject({ ok: true });
    expect(onRun().version).toBeGreaterThan(seen.version);
    expect(await bench.tell({ kind: 'put-back', ...seen })).toMatchObject({ code: 'stale' });
    const answers = [
      await bench.tell({ kind: 'turned', ...seen }),
      await bench.tell({ kind: 'turned', ...seen }),
      await bench.tell({ kind: 'turn-every', ...seen, everyMinutes: null }),
    ];
    expect(answers).toMatchObject([{ ok: true }, { code: 'stale' }, { code: 'stale' }]);
    expect(bench.tank.snapshot().run?.turning).toMatchObject({ done: 1 });
    const { version } = onRun();
    const ahead = { ...onRun(), version: version + 1 };
    expect(await bench.tell({ kind: 'turned', ...ahead })).toMatchObject({ code: 'stale' });
  });
});

describe('a note', () => {
  it('has the time of its run while that is on the tank, and is told to every page', async () => {
    const runId = await running();
    const note = { text: 'Dull near the stem.', picture: null };
    const answer = await bench.tell({ kind: 'run-note', runId, by: 'Maker', note });
    expect(answer).toMatchObject({ ok: true, note: { by: 'Maker', text: 'Dull near the stem.' } });
    const told = bench.messages.find(
      (message) => message.type === 'event' && message.event.code === 'note',
    );
    expect(told).toMatchObject({ event: { runId, message: 'Note by Maker: Dull near the stem.' } });
    const reader = bench.reader();
    expect(reader.notes(runId)[0]?.atMs).toBeTypeOf('number');
    reader.close();
    const lost = await bench.tell({ kind: 'run-note', runId: 'nobody', by: 'Maker', note });
    expect(lost).toMatchObject({ ok: false, code: 'notFound' });
  });
});
