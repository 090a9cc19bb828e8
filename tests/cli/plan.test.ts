/** `nightbath plan`: figures of a plain piece checked by hand, refusals, and bad requests. */

import { afterAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import { CliBench } from './terminal.ts';

const bench = new CliBench(
  (await import('../settings/bench-folder.ts')).benchToml.replace(
    'trial-dialect',
    'scpi-subsystem',
  ),
);
afterAll(() => bench.remove());

const request = {
  tankId: 'one',
  bathId: 'trial-copper',
  paint: 'copper',
  densityAmpsPerDm2: 1.5,
  target: { kind: 'thickness', micrometres: 100 },
  trickle: null,
  piece: {
    name: 'Ball',
    areaUncertainty: 0.1,
    parts: [
      { kind: 'ball', label: 'ball', count: 1, platedFraction: 1, sizes: { diameterMm: 20 } },
    ],
  },
};

const plan = (body: unknown, ...args: string[]) =>
  bench.run(['plan', '-', ...args], JSON.stringify(body));

describe('nightbath plan', () => {
  it('prints a plan in words and ends with 0', async () => {
    const { code, output, complaints } = await plan(request);
    expect([code, complaints]).toEqual([0, '']);
    expect(output).toContain('Ball, 1 part');
    expect(output).toContain('Tank one (simulated), Trial copper');
    // A sphere of 20 mm: pi d^2 = 1256.6 mm2.
    expect(output).toMatch(/area +0\.126 dm2/);
    for (const stage of ['strike', 'ramp', 'hold'])
      expect(output).toMatch(new RegExp(`^  ${stage} `, 'm'));
    expect(output).toContain('It can be started');
  });

  it('prints the same plan as JSON, and its mass is that of the shell', async () => {
    const { code, output } = await plan(request, '--json');
    expect(code).toBe(0);
    const result = planResultSchema.parse(JSON.parse(output));
    if (!result.ok) throw new Error('The plan was refused.');
    // Shell between spheres of 10 and 10.1 mm, copper of 8.96 g/cm3 (the density in metals.ts).
    const shellMm3 = ((4 * Math.PI) / 3) * (10.1 ** 3 - 10 ** 3);
    const grams = (shellMm3 / 1000) * result.plan.metal.densityGramsPerCm3;
    expect(result.plan.massGrams.value).toBeCloseTo(grams, 6);
    expect(result.plan.tank).toMatchObject({
      simulated: true,
      maxAmps: 3,
      maxVolts: 6,
      maxHours: 14,
    });
    expect(result.plan.tank.supply.maxAmps).toBe(5);
  });

  it('takes the only tank when the file names none, and --tank before the file', async () => {
    const { tankId: _, ...without } = request;
    expect((await plan(without)).code).toBe(0);
    const other = await plan(request, '--tank', 'tow');
    expect(other.code).toBe(1);
    expect(other.complaints).toContain('tankId is "tow"; it must be one of one.');
  });

  it('prints a plan that refuses, with the reason, and ends with 1', async () => {
    const { code, output } = await plan({ ...request, densityAmpsPerDm2: 15 });
    expect(code).toBe(1);
    expect(output).toContain('Cannot start:');
    expect(output).toContain('It cannot be started as it is.');
  });

  it('names an unknown bath with the known and the likely one', async () => {
    const { code, complaints } = await plan({ ...request, bathId: 'trial-coper' });
    expect(code).toBe(1);
    expect(complaints).toContain('Did you mean "trial-copper"?');
  });

  it.each([
    [{ ...request, densityAmpsPerDm2: -1 }, 'densityAmpsPerDm2'],
    [{ ...request, densityAmpsPerDm2: '1.5' }, 'densityAmpsPerDm2'],
    [{ ...request, target: { kind: 'thickness', micrometres: 0 } }, 'target.micrometres'],
    [{ ...request, colour: 'red' }, 'colour'],
    [{ ...request, piece: { ...request.piece, parts: [] } }, 'piece.parts'],
    [[], 'The request'],
    [null, 'The request'],
    [7, 'The request'],
  ])('refuses %j and names %s', async (body, field) => {
    const { code, output, complaints } = await plan(body);
    expect([code, output]).toEqual([1, '']);
    expect(complaints).toContain(field);
    const json = await plan(body, '--json');
    const result = z.object({ ok: z.literal(false) }).parse(JSON.parse(json.output));
    expect([json.code, result.ok]).toEqual([1, false]);
  });

  it('refuses sizes that no piece has, by field, value and bound', async () => {
    const parts = [{ ...request.piece.parts[0], sizes: { diameterMm: -3 } }];
    const { code, complaints } = await plan({ ...request, piece: { ...request.piece, parts } });
    expect(code).toBe(1);
    expect(complaints).toContain('-3');
  });

  it('says so when the file is missing, or is not JSON', async () => {
    const missing = await bench.run(['plan', `${bench.path}/none.json`]);
    expect([missing.code, missing.complaints]).toEqual([
      1,
      expect.stringContaining('cannot be read'),
    ]);
    const nonsense = await bench.run(['plan', '-'], '{ "piece": ');
    expect([nonsense.code, nonsense.complaints]).toEqual([
      1,
      expect.stringContaining('is not JSON'),
    ]);
  });
});
