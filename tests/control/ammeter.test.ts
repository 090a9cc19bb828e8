/** A corrected ammeter: a whole night under it counts the charge that a true meter would have counted. */

import { afterEach, describe, expect, it } from 'vitest';
import { aRequest, TankBench } from './a-tank.ts';

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
