/** What the command desk refuses, and in which words; and that a repeated press does nothing twice. */

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { tankSnapshotSchema } from '../../daemon/wire/bench.ts';
import { commandAnswerSchema } from '../../daemon/wire/command.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench;
beforeEach(async () => {
  // Slow enough that no run is over before a busy machine gets to the next line of its test.
  bench = await (await TankBench.open({ timeScale: 60 })).started();
});
afterEach(() => bench.close());

describe('arming', () => {
  it.each([
    ['a density ten times too high', { densityAmpsPerDm2: 15.5 }, /0\.1 A\/in2 would be 1\.55/],
    [
      'a piece that is too large for the tank',
      {
        piece: {
          ...aRequest().piece,
          parts: [
            {
              kind: 'measured',
              label: 'plate',
              count: 1,
              platedFraction: 1,
              sizes: { areaMm2: 60_000 },
            },
          ],
        },
      },
      /3 A/,
    ],
    [
      'a stone that gives off a poison',
      { piece: { ...aRequest().piece, materials: [{ id: 'foul-stone' }] } },
      /Foul stone.*a poison/,
    ],
    ['a target that takes too long', { target: { kind: 'time', hours: 40 } }, /14 h/],
    ['a target of no number', { target: { kind: 'thickness', micrometres: Number.NaN } }, /NaN/],
    ['a negative mass', { target: { kind: 'mass', grams: -1 } }, /-1/],
    ['a bath that is not there', { bathId: 'moon-dust' }, /moon-dust/],
    ['a tank that is another', { tankId: 'two' }, /two/],
  ] as const)('refuses %s with the number and its bound', async (_name, changes, words) => {
    const answer = await bench.arm(aRequest(changes));
    expect(commandAnswerSchema.parse(answer)).toMatchObject({ ok: false });
    expect(JSON.stringify(answer)).toMatch(words);
    expect(bench.tank.run).toBeNull();
    expect(bench.truth()).toMatchObject({ onsReceived: 0, outputOn: false });
  });

  it('names each item of the checklist that is open', async () => {
    const answer = await bench.arm(aRequest(), { checklist: ['polarity', 'tray'] });
    expect(answer).toMatchObject({ ok: false, code: 'invalid' });
    const fields = answer.ok ? [] : answer.problems.map((one) => one.field);
    expect(fields).toEqual([
      'checklist.contact',
      'checklist.leads',
      'checklist.sealed',
      'checklist.air',
    ]);
  });

  it('refuses a second run on a busy tank, whoever asks', async () => {
    await bench.run(aRequest());
    expect(await bench.arm(aRequest())).toMatchObject({ ok: false, code: 'busy' });
    expect(await bench.tell({ kind: 'demo', tankId: 'one', by: 'x' })).toMatchObject({
      code: 'busy',
    });
    expect(bench.truth().onsReceived).toBe(1);
  });

  it('refuses while an output is on that it knows nothing of', async () => {
    bench.instrument.faults.set('outputKey', { on: true }, bench.clock.nowMs());
    await bench.until('the output to be seen', () => bench.tank.output === 'on');
    expect(await bench.arm(aRequest())).toMatchObject({ ok: false, code: 'refused' });
    const stopped = await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    expect(stopped).toMatchObject({ ok: true, offConfirmed: true });
    expect(bench.truth().outputOn).toBe(false);
  });

  it('refuses while a trip is not acknowledged, and accepts after', async () => {
    await bench.run(aRequest());
    bench.instrument.faults.set('openCircuit', {}, bench.clock.nowMs());
    await bench.over();
    await bench.until('the alarm', () => bench.tank.alarms.standing.length > 0);
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    expect(await bench.arm(aRequest())).toMatchObject({ ok: false, code: 'refused' });
    const alarmId = bench.tank.alarms.standing[0]?.id ?? 0;
    const acknowledge = { kind: 'acknowledge', alarmId, by: 'x' } as const;
    expect(await bench.tell(acknowledge)).toEqual({ ok: true });
    // The alarm is over by now; a second press of it still is none on nothing.
    expect(await bench.tell(acknowledge)).toEqual({ ok: true });
    expect(await bench.arm(aRequest())).toMatchObject({ ok: true });
  });

  it('refuses to carry on from a run that is not there', async () => {
    const answer = await bench.arm(aRequest(), { continues: 'never-was' });
    expect(answer).toMatchObject({ ok: false, code: 'notFound' });
  });

  it('carries a run on once, with the bounds of its charge', async () => {
    const first = await bench.run(aRequest());
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await bench.over();
    await bench.store.patchRun(first, { lowAmpHours: 0.01, ampHours: 0.02, highAmpHours: 0.05 });
    // One that is let go before its start takes nothing with it.
    expect(await bench.arm(aRequest(), { continues: first })).toMatchObject({ ok: true });
    await bench.onRun('disarm');
    await bench.over();
    const second = await bench.run(aRequest(), { continues: first });
    expect(bench.tank.run?.record).toMatchObject({ lowAmpHours: 0.01, highAmpHours: 0.05 });
    const { ampHours, lowAmpHours, highAmpHours } = bench.tank.run?.state.charge ?? {
      ampHours: 0,
      lowAmpHours: 0,
      highAmpHours: 0,
    };
    expect(ampHours - lowAmpHours).toBeGreaterThanOrEqual(0.01 - 1e-9);
    expect(highAmpHours - ampHours).toBeGreaterThanOrEqual(0.03 - 1e-9);
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await bench.over();
    const again = await bench.arm(aRequest(), { continues: first });
    expect(again).toMatchObject({ ok: false, code: 'refused' });
    expect(again.ok ? '' : again.reason).toContain(second);
    expect(await bench.arm(aRequest(), { continues: second })).toMatchObject({ ok: true });
  });
});

describe('arming by the clock', () => {
  it('solves the density from the hour of arming, not from the one at which the page asked', async () => {
    const nowWallMs = bench.tank.clock.wallMs();
    const due = new Date(nowWallMs + 6 * 3_600_000).toISOString().slice(0, 16).replace('T', ' ');
    const target = {
      kind: 'done-by',
      goal: { kind: 'thickness', micrometres: 80 },
      localTime: due,
      timeZone: 'UTC',
      nowWallMs: nowWallMs - 3 * 3_600_000,
    } as const;
    const answer = await bench.arm(aRequest({ target }));
    expect(answer.ok ? '' : answer.reason).toBe('');
    const plan = bench.tank.run?.record.plan;
    const armed = plan?.request.target;
    expect(armed?.kind === 'done-by' ? armed.nowWallMs : 0).toBeGreaterThanOrEqual(nowWallMs);
    const endWallMs = plan?.doneBy?.endWallMs ?? 0;
    expect(endWallMs).toBeGreaterThan(nowWallMs + 5.5 * 3_600_000);
    expect(endWallMs).toBeLessThanOrEqual(plan?.doneBy?.dueWallMs ?? 0);
  });
});

describe('commands on a run', () => {
  it('refuses a version that has passed, and a run that is another', async () => {
    await bench.run(aRequest());
    const version = bench.tank.run?.state.version ?? 0;
    expect(await bench.onRun('lift', version - 1)).toMatchObject({ ok: false, code: 'stale' });
    const other = { kind: 'lift', tankId: 'one', by: 'x', runId: 'other', version } as const;
    expect(await bench.tell(other)).toMatchObject({ ok: false, code: 'stale' });
    expect(await bench.onRun('put-back')).toMatchObject({ ok: false, code: 'refused' });
    expect(bench.tank.output).toBe('on');
  });

  it('does nothing twice for the same key', async () => {
    const request = aRequest();
    const armed = await bench.arm(request);
    await bench.until('the run to be ready', () => bench.tank.snapshot().run?.ready);
    const run = bench.tank.run;
    const start = {
      kind: 'start',
      tankId: 'one',
      by: 'x',
      runId: run?.record.id ?? '',
      version: run?.state.version ?? 0,
    } as const;
    const [first, second] = await Promise.all([
      bench.tell(start, 'same'),
      bench.tell(start, 'same'),
    ]);
    expect(first).toEqual(second);
    expect(armed).toMatchObject({ ok: true });
    await bench.until('the output to be on', () => bench.tank.output === 'on');
    expect(bench.truth().onsReceived).toBe(1);
  });

  it('knows tanks by name', async () => {
    const answer = await bench.tell({ kind: 'stop', tankId: 'nine', by: 'x' });
    expect(answer).toMatchObject({ ok: false, code: 'notFound' });
    expect(JSON.stringify(answer)).toContain('Known tanks: one');
  });

  it('lets an armed run go', async () => {
    await bench.arm(aRequest());
    expect(await bench.onRun('disarm')).toMatchObject({ ok: true });
    await bench.over();
    expect(bench.truth()).toMatchObject({ onsReceived: 0, outputOn: false });
  });
});

describe('a snapshot', () => {
  it('fits its schema in every state that a run goes through', async () => {
    const seen = new Set<string>();
    const look = (): void => {
      const snapshot = tankSnapshotSchema.parse(bench.tank.snapshot());
      seen.add(snapshot.run?.lifecycle ?? 'none');
    };
    look();
    const start = { strikeShare: 0.3, strikeMinutes: 0.5, rampMinutes: 0.5 };
    await bench.run(aRequest({ start, target: { kind: 'charge', ampHours: 0.02 } }));
    look();
    await bench.until('ramp', () => (look(), bench.tank.run?.state.lifecycle === 'ramping'));
    expect(await bench.onRun('lift')).toMatchObject({ ok: true });
    look();
    await bench.until('off', () => bench.tank.output === 'confirmedOff');
    expect(await bench.onRun('put-back')).toMatchObject({ ok: true });
    await bench.until('the end', () => (look(), bench.tank.run?.state.outcome !== null), 30_000);
    look();
    expect([...seen]).toEqual(
      expect.arrayContaining(['none', 'striking', 'ramping', 'lifted', 'holding', 'finished']),
    );
  });
});

describe('who asked for it', () => {
  const mara = 'Mara (control) at 192.0.2.7';

  function events(runId: string) {
    const reader = bench.reader();
    try {
      return reader.events(runId);
    } finally {
      reader.close();
    }
  }

  it('stands in the events of the run, for each thing that was done and for none that was refused', async () => {
    const id = await bench.run(aRequest());
    const of = (kind: 'lift' | 'put-back', version = bench.tank.run?.state.version ?? 0) =>
      bench.tell({ kind, tankId: 'one', by: mara, runId: id, version });
    expect(await of('put-back')).toMatchObject({ ok: false });
    expect(await of('lift')).toMatchObject({ ok: true });
    await bench.until('the output to be off', () => bench.tank.output === 'confirmedOff');
    expect(await of('put-back')).toMatchObject({ ok: true });
    await bench.tell({ kind: 'stop', tankId: 'one', by: 'Rowan (stop) at 192.0.2.8' });
    await bench.over();
    await bench.tank.journal.settled();
    const told = events(id).map(({ message }) => message);
    expect(told.filter((message) => / by /.test(message))).toEqual([
      'Armed by a test.',
      expect.stringContaining('Start by a test.'),
      `Lifted by ${mara}.`,
      `Put back by ${mara}.`,
      'Stopped by Rowan (stop) at 192.0.2.8.',
    ]);
  });

  it('and who came in meanwhile stand among the events, of runs under way only', async () => {
    const note = 'A sign-in from 192.0.2.7 was refused.';
    expect(await bench.tell({ kind: 'access-note', note })).toEqual({ ok: true });
    const id = await bench.run(aRequest());
    await bench.tell({ kind: 'access-note', note });
    await bench.tell({ kind: 'stop', tankId: 'one', by: mara });
    await bench.over();
    await bench.tell({ kind: 'access-note', note });
    await bench.tank.journal.settled();
    expect(events(id).filter(({ message }) => message === note)).toHaveLength(1);
  });

  it('is told of an alarm too, beside the run that it is about', async () => {
    const id = await bench.run(aRequest());
    bench.instrument.faults.set('openCircuit', {}, bench.clock.nowMs());
    await bench.over();
    await bench.until('the alarm', () => (bench.tank.alarms.standing[0]?.id ?? -1) > 0);
    const alarmId = bench.tank.alarms.standing[0]?.id ?? 0;
    await bench.tell({ kind: 'acknowledge', alarmId, by: mara });
    await bench.tank.journal.settled();
    expect(events(id).at(-1)?.message).toBe(`Alarm acknowledged by ${mara}: Open circuit.`);
  });
});
