/** A corrected ammeter: a whole night under it counts the charge that a true meter would have counted. */

import { afterEach, describe, expect, it } from 'vitest';
import { factorOf } from '../../dashboard/setup/found.ts';
import type { CommandAnswer } from '../../daemon/wire/command.ts';
import { aRequest, TankBench, type TankOptions } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

describe('a supply that shows 3 % too little', () => {
  it('runs a night to its target without a false trip, and passes less charge of its own for it', async () => {
    // The simulated supply is right; a factor makes as if 1.03 A flowed where it shows 1.00 A. It
    // then has to pass 1/1.03 of the charge, by its own account, for the same target.
    const factor = 1.03;
    bench = await (await TankBench.open({ ammeterFactor: factor })).started();
    await bench.run(aRequest());
    await bench.over();
    const run = bench.tank.snapshot().run;
    expect(run?.outcome).toMatchObject({ end: 'reached' });
    const ownAmpHours = bench.truth().chargeCoulombs / 3600;
    expect((run?.ampHours ?? 0) / ownAmpHours).toBeCloseTo(factor, 2);
  });

  it('is never set above the hard limit in true amperes', async () => {
    bench = await (await TankBench.open({ ammeterFactor: 1.25 })).started();
    const { maxAmps } = bench.tank.settings;
    const supply = bench.tank.facts.supply;
    expect(supply.maxAmps).toBeGreaterThan(maxAmps);
    await bench.run(aRequest());
    expect(bench.truth().highestSetAmps).toBeLessThanOrEqual(maxAmps / 1.25 + 1e-9);
  });
});

describe('a steady current for the meter', () => {
  const error = { ampsShare: -0.04 };

  async function flowing(amps: number, options: TankOptions = {}): Promise<TankBench> {
    // The clock stands nearly still while it is read.
    const on = await (
      await TankBench.open({ simulated: false, timeScale: 1, ...options })
    ).started();
    bench = on;
    on.instrument.faults.set('meterError', error, on.clock.nowMs());
    const answer = await meter(on, amps);
    if (!answer.ok) throw new Error(answer.reason);
    await on.until('the current', () => Math.abs(on.truth().amps - amps) < 0.02 && shown(on) > 0.3);
    return on;
  }

  const meter = (on: TankBench, amps?: number): Promise<CommandAnswer> =>
    on.tell({
      kind: 'probe',
      tankId: 'one',
      by: 'a test',
      probe: 'meter',
      ...(amps !== undefined && { amps }),
    });

  const shown = (on: TankBench): number => on.tank.snapshot().reading?.amps ?? 0;

  it('shows what a meter is out by, and true amperes once that is corrected', async () => {
    const on = await flowing(0.45);
    // The reference meter in series is right: it shows what truly flows.
    expect(shown(on)).toBeCloseTo(0.96 * 0.45, 2);
    const factor = factorOf(on.truth().amps, shown(on), 1);
    expect(factor).toBeCloseTo(1 / 0.96, 2);
    await on.tell({ kind: 'stop', tankId: 'one', by: 'a test' });
    expect(on.truth().outputOn).toBe(false);
    await on.close();
    const corrected = await flowing(0.45 * 1.04, { ammeterFactor: factor });
    expect(shown(corrected) / corrected.truth().amps).toBeCloseTo(1, 1);
    expect(Math.abs(shown(corrected) / corrected.truth().amps - 1)).toBeLessThan(0.01);
  });

  it('goes off by itself, counts for no check, and is guarded and recorded like any run', async () => {
    const on = await (await TankBench.open({ simulated: false })).started();
    bench = on;
    const answer = await meter(on, 0.45);
    const runId = answer.ok ? (answer.runId ?? '') : '';
    await on.over();
    expect(on.truth()).toMatchObject({ outputOn: false, onsReceived: 1 });
    expect(on.truth().highestSetAmps).toBeLessThanOrEqual(0.4501);
    expect(on.guardian.calls).toEqual(['guard one', 'release one']);
    const reader = on.reader();
    expect(reader.run(runId)).toMatchObject({ kind: 'probe', outcome: { end: 'reached' } });
    reader.close();
    const checks = await on.tell({ kind: 'checks', tankId: 'one' });
    const circuit = checks.ok ? checks.checks?.checks.find(({ id }) => id === 'continuity') : null;
    expect(circuit).toMatchObject({ state: 'unknown' });
  });

  it.each([
    [undefined, /amps is missing; it must be a number from 0\.3 to 2\.94 A\.$/],
    [0.1, /amps is 0\.1; it must be .*: too little tells no error of a meter\.$/],
    [3, /amps is 3; it must be .* A: more leaves no room below the limits of the tank\.$/],
    [Number.NaN, /amps is NaN; it must be/],
  ])('of %s A is refused by its field and bound, and switches nothing on', async (amps, words) => {
    const on = await (await TankBench.open({ simulated: false })).started();
    bench = on;
    const answer = await meter(on, amps);
    expect(answer).toMatchObject({ ok: false, code: 'invalid', problems: [{ field: 'amps' }] });
    expect(answer.ok ? '' : answer.reason).toMatch(words);
    expect(on.truth().onsReceived).toBe(0);
  });

  it.each(['continuity', 'drill'] as const)(
    'is no %s: a current for that is refused',
    async (kind) => {
      const on = await (await TankBench.open({ simulated: false })).started();
      bench = on;
      const command = {
        kind: 'probe',
        tankId: 'one',
        by: 'a test',
        probe: kind,
        amps: 0.45,
      } as const;
      const answer = await on.tell(command);
      expect(answer).toMatchObject({ ok: false, code: 'invalid', problems: [{ field: 'amps' }] });
      expect(answer.ok ? '' : answer.reason).toMatch(/^amps is 0\.45; it must be left out/);
      expect(on.truth().onsReceived).toBe(0);
    },
  );
});
