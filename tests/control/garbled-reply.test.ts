/** One digit that changes on its way: no night ends by it, and hardly any charge is miscounted. */

import { afterEach, describe, expect, it } from 'vitest';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

/** A poll of this dialect: mask, volts, amps, at times set-points and event register, output, status. */
const poll =
  /^(\d+);(\d)([\d.]+);(\d)([\d.]+);(?:(\d)([\d.]+);(\d)([\d.]+);(\d+);)?([01]);(\d+)\n$/;

type Spoil = (reply: string) => string;

/** One changed character each, and what a maker would see of it. */
const spoils: readonly (readonly [name: string, spoil: Spoil])[] = [
  ['far too much current', (reply) => reply.replace(/^(\d+;[\d.]+;)\d/, '$19')],
  ['current above the limit', (reply) => reply.replace(/^(\d+;[\d.]+;)\d/, '$14')],
  ['plausibly more current', (reply) => reply.replace(/^(\d+;[\d.]+;)\d/, '$11')],
  ['almost no current', (reply) => reply.replace(/^(\d+;[\d.]+;\d\.)\d/, '$10')],
  ['voltage above the limit', (reply) => reply.replace(/^(\d+;)\d/, '$19')],
  ['almost no voltage', (reply) => reply.replace(/^(\d+;\d\.)\d/, '$10')],
  ['the output off', (reply) => reply.replace(/;1(;\d+\n)$/, ';0$1')],
  ['a protection', (reply) => reply.replace(/;\d+\n$/, ';1024\n')],
  ['another current set-point', (reply) => reply.replace(/^((?:[^;]+;){4}\d\.)\d/, '$19')],
  ['another voltage set-point', (reply) => reply.replace(/^((?:[^;]+;){3})\d/, '$19')],
];

/** Spoils the poll replies that `choose` picks; the count is of what really changed. */
function spoilReplies(on: TankBench, choose: (reply: string) => Spoil | null) {
  const seen = { changed: 0 };
  const { instrument } = on;
  const take = instrument.take.bind(instrument);
  const spoiled = (nowMs: number): string => {
    const reply = take(nowMs);
    if (!poll.test(reply)) return reply;
    const changed = choose(reply)?.(reply) ?? reply;
    if (changed !== reply) seen.changed += 1;
    return changed;
  };
  Object.assign(instrument, { take: spoiled });
  return seen;
}

describe('one changed digit', () => {
  it('of any kind, every few seconds of a night, trips nothing and is not counted', async () => {
    bench = await (await TankBench.open()).started();
    const on = bench;
    const before = on.truth().cellChargeCoulombs;
    let polls = 0;
    const seen = spoilReplies(on, () => {
      polls += 1;
      return polls % 11 === 0 ? (spoils[(polls / 11) % spoils.length]?.[1] ?? null) : null;
    });
    await on.run(aRequest({ target: { kind: 'thickness', micrometres: 8 } }));
    await on.over();
    const run = on.tank.run;
    expect(run?.state.fault).toBeNull();
    expect(run?.state.outcome).toMatchObject({ end: 'reached' });
    expect(on.tank.alarms.standing).toEqual([]);
    expect(seen.changed).toBeGreaterThan(150);
    const coulombs = on.truth().cellChargeCoulombs - before;
    expect(Math.abs(((run?.state.charge.ampHours ?? 0) * 3600) / coulombs - 1)).toBeLessThan(0.001);
    expect(run?.state.charge.gaps).toEqual([]);
  }, 60_000);

  it('while the run is armed or the tank idle calls nobody', async () => {
    bench = await (await TankBench.open({ timeScale: 20 })).started();
    const on = bench;
    let polls = 0;
    const on1: Spoil = (reply) => reply.replace(/;0(;\d+\n)$/, ';1$1');
    const seen = spoilReplies(on, () => ((polls += 1) % 5 === 0 ? on1 : null));
    await on.until('idle polls', () => seen.changed >= 3);
    expect(await on.arm(aRequest())).toMatchObject({ ok: true });
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    const armed = seen.changed;
    await on.until('armed polls', () => seen.changed >= armed + 3);
    expect(on.tank.run?.state.lifecycle).toBe('armed');
    expect(on.tank.alarms.standing).toEqual([]);
  });
});

describe('what is really so', () => {
  it.each([
    ['overCurrent', { factor: 40 }],
    ['overVoltage', { excessVolts: 5 }],
  ] as const)('%s is off within 1.5 s', async (fault, parameters) => {
    bench = await (await TankBench.open({ timeScale: 20 })).started();
    const on = bench;
    await on.run(aRequest());
    await on.until('the ramp', () => (on.tank.run?.state.stageElapsedMs ?? 0) > 20_000);
    const fromMs = on.clock.nowMs();
    on.instrument.faults.set(fault, parameters, fromMs);
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
    await on.until('OFF', () => on.tank.output === 'confirmedOff');
    const off = on.truth().outputChanges.findLast((change) => !change.on);
    expect((off?.atMs ?? Infinity) - fromMs).toBeLessThan(1_500);
  });
});

describe('a supply whose first replies come twice, as its line is opened', () => {
  it.each([1, 2, 3, 4])('is known by its own name afterwards: %i of them', async (count) => {
    // The reply of this dialect has no end of its own: what comes without a pause belongs to it.
    bench = await TankBench.open({ dialect: 'fixed-length' });
    const { instrument, tank } = bench;
    const take = instrument.take.bind(instrument);
    let replies = 0;
    Object.assign(instrument, {
      take: (nowMs: number): string => {
        const bytes = take(nowMs);
        if (bytes === '') return bytes;
        replies += 1;
        return replies <= count ? bytes + bytes : bytes;
      },
    });
    await bench.started();
    expect(tank.link.identity?.text.split('NIGHTBATH')).toHaveLength(2);
  });
});
