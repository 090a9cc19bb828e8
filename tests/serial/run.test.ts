/** A whole run over a real line: the supply's own truth against what was recorded. */

import { describe, expect } from 'vitest';
import { metals } from '../../daemon/chemistry/metals.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { benchTest, shortPlan, until } from './test-bench.ts';

/** Faraday's law written out, independent of the project's own: grams to micrometres on a flat piece. */
function flatThicknessMicrometres(coulombs: number, areaMm2: number, efficiency: number): number {
  // CODATA 2018: F = 96485.33212 C/mol. CIAAW 2021: M(Cu) = 63.546 g/mol. Handbook: 8.96 g/cm3.
  const grams = (63.546 * coulombs * efficiency) / (2 * 96_485.332_12);
  return (grams / 8.96 / (areaMm2 / 100)) * 1e4;
}

/** A plan of a few seconds, for what is not about its charge. */
const briefPlan = () => shortPlan({ target: { kind: 'charge', ampHours: 0.45 * (8 / 3600) } });

/**
 * How far a count may be off, as a share of the charge that flowed: so far, or what the run declares
 * not to know by itself, where a busy machine was late to switch off or to look; never beyond 3 %.
 */
function allowed(share: number, run: RunRecord | null | undefined, trueCoulombs: number): number {
  const doubtAmpHours = (run?.highAmpHours ?? 0) - (run?.lowAmpHours ?? 0);
  return Math.max(share, Math.min(0.03, (doubtAmpHours * 3600) / trueCoulombs));
}

const lines = [
  { line: 'pty', dialect: 'scpi-subsystem' },
  { line: 'tcp', dialect: 'scpi-subsystem' },
  { line: 'pty', dialect: 'vset-iset' },
] as const;

// Real time passes in these: they wait side by side, each on a bench of its own.
describe.concurrent('a whole run', () => {
  benchTest.for(lines)(
    'reaches its target over $line in $dialect',
    async ({ line, dialect }, { startBench }) => {
      const bench = await startBench({ line, dialect });
      const before = await bench.supply.truth();
      const runId = await bench.run(shortPlan());
      const seen = new Set<string>();
      const shown = await until(
        'the end of the run',
        () => {
          const run = bench.snapshot?.run;
          if (run !== null && run !== undefined) seen.add(run.lifecycle);
          return run?.outcome !== null && bench.snapshot?.output === 'confirmedOff' ? run : null;
        },
        60_000,
      );
      expect(shown.outcome).toMatchObject({ end: 'reached' });
      expect([...seen]).toEqual(
        expect.arrayContaining(['striking', 'ramping', 'holding', 'finished']),
      );

      const truth = await bench.supply.truth();
      expect(truth.outputOn).toBe(false);
      const trueCoulombs = truth.cellChargeCoulombs - before.cellChargeCoulombs;
      const recorded = await until('the run in the log', () => {
        const run = bench.reader.run(runId);
        return run?.outcome === null || run === undefined ? null : run;
      });
      const charge = recorded?.ampHours ?? 0;
      console.log(
        `${line} ${dialect}: true ${(trueCoulombs / 3.6).toFixed(4)} mAh, recorded ${(charge * 1000).toFixed(4)} mAh, ` +
          `off by ${((charge * 3600) / trueCoulombs - 1) * 100} %`,
      );
      const off = Math.abs((charge * 3600) / trueCoulombs - 1);
      expect(off).toBeLessThan(allowed(0.005, recorded, trueCoulombs));
      expect(trueCoulombs).toBeGreaterThan((recorded?.lowAmpHours ?? Infinity) * 3600 * 0.995);
      expect(trueCoulombs).toBeLessThan((recorded?.highAmpHours ?? 0) * 3600 * 1.005);

      const { efficiency } = recorded?.plan.bath ?? { efficiency: { value: Number.NaN } };
      const expected = flatThicknessMicrometres(charge * 3600, 3_000, efficiency.value);
      const thickness = recorded?.thicknessMicrometres ?? 0;
      expect(Math.abs(thickness / expected - 1)).toBeLessThan(0.001);
      const grown = flatThicknessMicrometres(trueCoulombs, 3_000, efficiency.value);
      expect(Math.abs(thickness / grown - 1)).toBeLessThan(allowed(0.006, recorded, trueCoulombs));
      expect(metals['copper-II'].valence).toBe(2);

      // No set-point above the tank's limits ever reached the supply.
      expect(truth.highestSetAmps).toBeLessThanOrEqual(3);
      expect(truth.highestSetVolts).toBeLessThanOrEqual(6);
      // Readings are written in batches, so the last ones may come after the end of the run.
      const readings = await until('the last reading', () => {
        const found = bench.reader.readings(runId, 0, 1_000);
        return Math.abs((found.at(-1)?.ampHours ?? 0) - charge) < 5e-6 ? found : null;
      });
      expect(readings.length).toBeGreaterThan(50);
    },
  );

  benchTest(
    'is closed in order by SIGTERM: output off, confirmed, exit 0',
    async ({ startBench }) => {
      const bench = await startBench({ line: 'pty' });
      const runId = await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 0.5 } }));
      await until('some current', async () => (await bench.supply.truth())?.cellAmps);
      expect(await bench.shutDown('SIGTERM')).toBe(0);
      const truth = await bench.supply.truth();
      expect(truth.outputOn).toBe(false);
      expect(truth.offsReceived).toBeGreaterThan(0);
      expect(bench.reader.run(runId)?.outcome).toMatchObject({ end: 'interrupted' });
    },
  );

  benchTest(
    'can be carried on as a new run that is linked to the old one',
    async ({ startBench }) => {
      const bench = await startBench({ line: 'pty' });
      const plan = shortPlan({ target: { kind: 'charge', ampHours: 0.45 * (12 / 3600) } });
      const first = await bench.run(plan);
      await until('some charge', () => (bench.snapshot?.run?.ampHours ?? 0) > 0.45 * (3 / 3600));
      const stopped = await bench.tell({ kind: 'stop', tankId: 'one', by: 'test' });
      expect(stopped).toMatchObject({ ok: true, offConfirmed: true });
      await bench.ended();
      const carried = await until('the stopped run in the log', () => {
        const run = bench.reader.run(first);
        // Its charge is final once the output is confirmed off.
        return run?.outcome?.end === 'stopped' && bench.snapshot?.output === 'confirmedOff'
          ? run
          : null;
      });
      const second = await bench.run(plan, first);
      await bench.ended();
      const run = await until('the second run in the log', () => {
        const found = bench.reader.run(second);
        return found?.outcome === null ? null : found;
      });
      expect(run).toMatchObject({ continues: first, outcome: { end: 'reached' } });
      expect(run?.carriedAmpHours).toBe(bench.reader.run(first)?.ampHours);
      expect(run?.carriedAmpHours).toBeCloseTo(carried?.ampHours ?? 0, 5);
      const truth = await bench.supply.truth();
      const trueCoulombs = truth.cellChargeCoulombs;
      const off = Math.abs(((run?.ampHours ?? 0) * 3600) / trueCoulombs - 1);
      expect(off).toBeLessThan(allowed(0.01, run, trueCoulombs));
    },
  );

  benchTest('can be lifted and put back', async ({ startBench }) => {
    const bench = await startBench({ line: 'pty' });
    const id = await bench.run(briefPlan());
    await until('the ramp', () => bench.snapshot?.run?.lifecycle === 'ramping');
    const version = bench.snapshot?.run?.version ?? 0;
    const on = { tankId: 'one', by: 'test', runId: id } as const;
    expect(await bench.tell({ kind: 'lift', ...on, version: version - 1 })).toMatchObject({
      ok: false,
      code: 'stale',
    });
    expect(await bench.tell({ kind: 'lift', ...on, version })).toMatchObject({ ok: true });
    await until('the output to be off', () => bench.snapshot?.output === 'confirmedOff');
    expect((await bench.supply.truth()).outputOn).toBe(false);
    const lifted = bench.snapshot?.run;
    expect(lifted?.lifecycle).toBe('lifted');
    expect(
      await bench.tell({ kind: 'put-back', ...on, version: lifted?.version ?? 0 }),
    ).toMatchObject({ ok: true });
    const shown = await bench.ended();
    expect(shown.run?.outcome).toMatchObject({ end: 'reached' });
  });
});
