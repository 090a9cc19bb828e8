/** One turned bit anywhere in a reply, now and then through a night, in every dialect: no trip, and the charge is right. */

import { afterEach, describe, expect, it } from 'vitest';
import { Chance } from '../fuzz/random.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

/** Turns one bit of about every nth reply; two in a row are left to the line's other defences. */
function turnBits(on: TankBench, seed: number, every: number) {
  const chance = new Chance(seed);
  const seen = { turned: 0 };
  const take = on.instrument.take.bind(on.instrument);
  let since = 0;
  const turned = (nowMs: number): string => {
    const bytes = take(nowMs);
    since += bytes === '' ? 0 : 1;
    if (bytes === '' || since < every / 2 || chance.next() > 2 / every) return bytes;
    since = 0;
    seen.turned += 1;
    const at = chance.below(bytes.length);
    const byte = String.fromCharCode(bytes.charCodeAt(at) ^ (1 << chance.below(8)));
    return bytes.slice(0, at) + byte + bytes.slice(at + 1);
  };
  Object.assign(on.instrument, { take: turned });
  return seen;
}

describe('a turned bit', () => {
  it.each([
    ['scpi-subsystem', 1],
    ['scpi-channel-list', 2],
    ['vset-iset', 3],
    ['fixed-length', 4],
  ] as const)(
    'now and then through a night in %s ends nothing',
    async (dialect, seed) => {
      bench = await (await TankBench.open({ dialect })).started();
      const on = bench;
      const before = on.truth().cellChargeCoulombs;
      const seen = turnBits(on, seed, 60);
      await on.run(aRequest({ target: { kind: 'thickness', micrometres: 3 } }));
      await on.over();
      const { fault, outcome, charge } = on.tank.run?.state ?? {};
      expect(fault).toBeNull();
      expect(outcome).toMatchObject({ end: 'reached' });
      expect(on.tank.alarms.standing).toEqual([]);
      expect(seen.turned).toBeGreaterThan(10);
      const coulombs = on.truth().cellChargeCoulombs - before;
      expect(Math.abs(((charge?.ampHours ?? 0) * 3600) / coulombs - 1)).toBeLessThan(0.005);
    },
    90_000,
  );
});

/** Puts other bytes in place of one reply to a question, once it may be; counts how often, and tells when first, it is asked after that. */
function spoilOne(on: TankBench, question: string, bytes: string, mayBe = () => true) {
  const seen = { spoilt: false, askedAfter: 0, spoiltAtMs: Number.NaN, askedAtMs: Number.NaN };
  let last = '';
  const receive = on.instrument.receive.bind(on.instrument);
  const take = on.instrument.take.bind(on.instrument);
  Object.assign(on.instrument, {
    receive: (sent: string, nowMs: number): void => {
      last = sent.trim();
      if (last === question && seen.spoilt) {
        seen.askedAfter += 1;
        if (seen.askedAfter === 1) seen.askedAtMs = nowMs;
      }
      receive(sent, nowMs);
    },
    take: (nowMs: number): string => {
      const reply = take(nowMs);
      if (reply === '' || last !== question || seen.spoilt || !mayBe()) return reply;
      seen.spoilt = true;
      seen.spoiltAtMs = nowMs;
      return bytes;
    },
  });
  return seen;
}

describe('a protection that one answer alone reports', () => {
  it.each([
    ['of a reading by itself', false],
    ['of the look after a current that had jumped', true],
  ])('%s ends nothing', async (_when, jumps) => {
    bench = await (await TankBench.open({ dialect: 'vset-iset', timeScale: 200 })).started();
    const on = bench;
    await on.run(aRequest());
    await on.until('the ramp', () => on.tank.run?.state.lifecycle === 'ramping', 30_000);
    // A step of the current: no alarm, and the one thing that is asked after in any night.
    const step = jumps ? spoilOne(on, 'IOUT?', '0.060\r\n') : { spoilt: true };
    // The bit of its over-voltage protection, beside the one of constant current.
    let answers = 0;
    const mayBe = (): boolean => step.spoilt && (answers += 1) > (jumps ? 1 : 0);
    const status = spoilOne(on, 'STS?', '6\r\n', mayBe);
    await on.until('what follows', () => status.askedAfter > 3);
    expect(on.tank.run?.state.fault).toBeNull();
    expect(on.tank.alarms.standing).toEqual([]);
    // Asked for once more at once, not at the next turn: a look of its own.
    expect(status.askedAtMs - status.spoiltAtMs).toBeLessThan(on.tank.cycleMs / 2);
  });
});
