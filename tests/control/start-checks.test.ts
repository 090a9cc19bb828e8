/** A start is judged in control, by the bench as it is then, and what was said for it is on record. */

import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { tankChecksSchema, type TankChecks } from '../../daemon/wire/checks.ts';
import type { CommandAnswer } from '../../daemon/wire/command.ts';
import { aRequest, TankBench, type TankOptions } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

async function armed(options: TankOptions = {}): Promise<TankBench> {
  const opened = await (await TankBench.open({ simulated: false, ...options })).started();
  bench = opened;
  const answer = await opened.arm(aRequest());
  if (!answer.ok) throw new Error(answer.reason);
  await opened.until('the run to be ready', () => opened.tank.snapshot().run?.ready);
  return opened;
}

async function checksOf(on: TankBench): Promise<TankChecks> {
  const answer = await on.tell({ kind: 'checks', tankId: 'one' });
  if (!answer.ok) throw new Error(answer.reason);
  return tankChecksSchema.parse(answer.checks);
}

const fields = (answer: CommandAnswer): readonly string[] =>
  answer.ok ? [] : answer.problems.map(({ field }) => field);

const tested = () => ({
  outsideChannels: 1,
  confirmed: true,
  confirmedWallMs: 1,
  sentence: 'Confirmed today.',
});

describe('the checks of a real supply', () => {
  it('show everything at once, with what software cannot do and what has to be typed', async () => {
    const on = await armed();
    const { checks, caution, phrase } = await checksOf(on);
    const states = Object.fromEntries(checks.map(({ id, state }) => [id, state]));
    expect(states).toEqual({
      link: 'ok',
      output: 'ok',
      setPoints: 'ok',
      log: 'ok',
      continuity: 'unknown',
      drill: 'unknown',
      alerts: 'failing',
      protections: 'ok',
      mains: 'ok',
      errors: 'ok',
      clock: 'ok',
    });
    expect(caution).toMatch(/mains timer or a contactor/);
    expect(phrase).toBe('nobody will be called');
  });

  it('ask for a look at a supply that nobody tried in a power cut', async () => {
    const on = await armed({ afterMains: 'unknown' });
    const seen = ['continuity', 'drill'] as const;
    const attended = true;
    const answer = await on.start({ acknowledged: [...seen], attended });
    expect(fields(answer)).toEqual(['checks.mains']);
    expect(await on.start({ acknowledged: [...seen, 'mains'], attended })).toMatchObject({
      ok: true,
    });
  });

  it('follow what changes at the bench', async () => {
    const on = await armed();
    on.instrument.faults.set('mute', {}, on.clock.nowMs());
    await on.until('the line to be lost', () => !on.tank.link.connected);
    const { checks } = await checksOf(on);
    expect(checks.find(({ id }) => id === 'link')).toMatchObject({ state: 'failing' });
    expect(await on.start({ acknowledged: ['continuity', 'drill'], attended: true })).toMatchObject(
      { ok: false },
    );
    expect(on.truth().onsReceived).toBe(0);
  });
});

describe('how fast the bench acts', () => {
  it('is told of the armed run as it was frozen then', async () => {
    const on = await armed();
    const reaction = {
      readsPerSecond: 4,
      slowedBySupply: false,
      silentOffSeconds: 2,
      hungOffSeconds: 1.1,
      offAlarmSeconds: 3,
    };
    expect((await checksOf(on)).reaction).toEqual(reaction);
    Object.assign(on.tank.settings, { pollHz: 1 });
    expect((await checksOf(on)).reaction).toEqual(reaction);
    await on.onRun('disarm');
    expect((await checksOf(on)).reaction).toBeNull();
  });

  it('says that the supply is what slows it', async () => {
    const on = await armed({ dialect: 'fixed-length' });
    expect((await checksOf(on)).reaction).toMatchObject({
      readsPerSecond: 2,
      slowedBySupply: true,
      silentOffSeconds: 3.5,
      offAlarmSeconds: 3,
    });
  });

  it('is not told where there is no run', async () => {
    const on = await (await TankBench.open({ simulated: false })).started();
    bench = on;
    expect((await checksOf(on)).reaction).toBeNull();
  });
});

describe('the output', () => {
  it('is not shown with a current from before it went off', async () => {
    bench = await (await TankBench.open({ simulated: false })).started();
    const on = bench;
    await on.tell({ kind: 'probe', tankId: 'one', by: 'a test', probe: 'drill' });
    await on.until('the end', () => on.tank.run?.state.outcome != null);
    await on.until('OFF', () => on.tank.output === 'confirmedOff');
    const { checks } = await checksOf(on);
    const output = checks.find(({ id }) => id === 'output')?.sentence ?? '';
    expect(output).toMatch(/^Read back as off(?:\.|; 0\.00\d A)/);
  });
});

describe('a start', () => {
  it('names everything that stands in its way, and switches nothing on', async () => {
    const on = await armed();
    const answer = await on.start({});
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
    expect(fields(answer)).toEqual(['checks.continuity', 'checks.drill', 'checks.alerts']);
    expect(on.truth().onsReceived).toBe(0);
    // It stays armed: the same run starts once these are seen to.
    expect(await on.start({ acknowledged: ['continuity', 'drill'], attended: true })).toMatchObject(
      { ok: true },
    );
  });

  it('is refused where the disk has no room, whatever is said', async () => {
    const on = await armed({ freeMegabytes: 3 });
    const answer = await on.onRun('start');
    expect(fields(answer)).toEqual(['checks.log']);
    expect(JSON.stringify(answer)).toMatch(/Only 3 MB/);
    expect(on.truth().onsReceived).toBe(0);
  });

  it('is refused where the log takes no write in that moment', async () => {
    const full = { now: false };
    const on = await armed({
      between: (store) =>
        new Proxy(store, {
          get: (target, name) => {
            const value: unknown = Reflect.get(target, name, target);
            if (typeof value !== 'function') return value;
            if (name === 'appendEvent' && full.now) {
              return () => Promise.reject(new Error('The disk is full.'));
            }
            return (...given: unknown[]): unknown => Reflect.apply(value, target, given);
          },
        }),
    });
    full.now = true;
    const answer = await on.onRun('start');
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
    expect(JSON.stringify(answer)).toMatch(/disk is full/);
    expect(on.truth().onsReceived).toBe(0);
  });

  it('is refused where the disk took so long that nobody waits any more', async () => {
    const slow = { now: false };
    const on = await armed({
      between: (store) =>
        new Proxy(store, {
          get: (target, name) => {
            const value: unknown = Reflect.get(target, name, target);
            if (typeof value !== 'function') return value;
            return async (...given: unknown[]): Promise<unknown> => {
              if (name === 'appendEvent' && slow.now) await wait(4_200);
              return Reflect.apply(value, target, given);
            };
          },
        }),
    });
    slow.now = true;
    const answer = await on.onRun('start');
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
    expect(JSON.stringify(answer)).toMatch(/press again/);
    expect(on.truth().onsReceived).toBe(0);
  });

  it('left alone without a tested alert needs the sentence, and keeps who typed it', async () => {
    const on = await armed();
    const acknowledged = ['continuity', 'drill'] as const;
    expect(fields(await on.start({ acknowledged: [...acknowledged] }))).toEqual(['checks.alerts']);
    const wrong = await on.start({ acknowledged: [...acknowledged], confirmation: 'yes' });
    expect(fields(wrong)).toEqual(['checks.alerts']);
    const typed = 'Nobody will be called.';
    const right = await on.start({
      acknowledged: [...acknowledged],
      confirmation: typed,
      by: 'Ines',
    });
    expect(right).toMatchObject({ ok: true });
    await on.tank.journal.settled();
    const reader = on.reader();
    const events = reader.events(on.tank.run?.record.id ?? '');
    reader.close();
    const said = events.find(({ code }) => code === 'unattendedConfirmed')?.message;
    expect(said).toContain('Ines typed "Nobody will be called."');
    const checked = events.findIndex(({ code }) => code === 'checked');
    expect(events[checked]?.message).toMatch(/Set aside: circuit; limits drill\./);
    expect(checked).toBeLessThan(events.findIndex(({ code }) => code === 'started'));
  });

  it('needs no sentence where a tested alert calls somebody', async () => {
    const on = await armed({ alertReadiness: tested });
    expect((await checksOf(on)).phrase).toBeNull();
    expect(await on.start({ acknowledged: ['continuity', 'drill'] })).toMatchObject({ ok: true });
  });
});

describe('a simulated supply', () => {
  it('starts without further ado, and says in its log what was skipped', async () => {
    const on = await armed({ simulated: true });
    expect((await checksOf(on)).caution).toBeNull();
    expect(await on.start({})).toMatchObject({ ok: true });
    const reader = on.reader();
    const events = reader.events(on.tank.run?.record.id ?? '');
    reader.close();
    expect(events.find(({ code }) => code === 'checked')?.message).toMatch(/skipped/);
  });

  it('starts its demo although a reminder is set while it is about to', async () => {
    bench = await (await TankBench.open()).started();
    const on = bench;
    const { journal } = on.tank;
    const committed = journal.committed.bind(journal);
    const answers: unknown[] = [];
    journal.committed = async (...given) => {
      const { record, state } = on.tank.run ?? {};
      const onRun = {
        tankId: 'one',
        by: 'x',
        runId: record?.id ?? '',
        version: state?.version ?? 0,
      };
      if (answers.length === 0 && given[1] === 'checked') {
        answers.push(await on.tell({ kind: 'turn-every', ...onRun, everyMinutes: 30 }));
      }
      return committed(...given);
    };
    expect(await on.tell({ kind: 'demo', tankId: 'one', by: 'x' })).toMatchObject({ ok: true });
    await on.until('the start', () => on.tank.run?.state.lifecycle === 'striking');
    expect(answers).toMatchObject([{ ok: true }]);
    expect(on.tank.snapshot().run?.turning).toMatchObject({ everyMinutes: 30 });
    await on.until('current', () => on.truth().outputOn);
  });

  it('runs its demo through the same gate', async () => {
    bench = await (await TankBench.open({ freeMegabytes: 3 })).started();
    const on = bench;
    expect(await on.tell({ kind: 'demo', tankId: 'one', by: 'a test' })).toMatchObject({
      ok: true,
    });
    await on.until('it to be let go', () => on.tank.run?.state.lifecycle === 'stopped');
    expect(on.truth().onsReceived).toBe(0);
  });
});
