/** The campaign of simulated nights, the kept ones, and proof that a night is the same each time. */

import { execFile } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { beforeAll, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const kept = readdirSync(new URL('regressions', import.meta.url)).filter((name) =>
  name.endsWith('.json'),
);
/** Nights in a run of all tests; `npm run nights` makes as many as are asked for. */
const nights = 1_000;

async function run(...args: string[]): Promise<{ code: number; out: string }> {
  const command = ['tests/nights/run.js', ...args];
  try {
    const env = { ...process.env, NIGHTBATH_NIGHTS_BUILT: '1' };
    const options = { cwd: root, env, maxBuffer: 64 * 1024 * 1024 };
    const { stdout } = await promisify(execFile)(process.execPath, command, options);
    return { code: 0, out: stdout };
  } catch (error) {
    if (!(error instanceof Error) || !('stdout' in error)) throw error;
    return { code: 1, out: `${String(error.stdout)}\n${error.message}` };
  }
}

beforeAll(async () => {
  const builder = new URL('build.js', import.meta.url).href;
  ((await import(builder)) as { build: () => void }).build();
});

describe('simulated nights', () => {
  it(`keep every promise, ${nights} of them`, async () => {
    const { out } = await run('--runs', String(nights), '--json');
    const summary = JSON.parse(out.split('\n')[0] ?? '');
    const { failures, gaps, edges: _, ...figures } = summary;
    process.stdout.write(`${JSON.stringify(figures)}\n`);
    expect(failures).toEqual([]);
    expect(gaps).toEqual([]);
    expect(summary).toMatchObject({ nights, violations: 0, falseTrips: 0 });
    expect(summary.faultlessNights).toBeGreaterThan(0.15 * nights);
    expect(summary.targetsReached).toBeGreaterThan(0.3 * nights);
  });

  it('are the same each time, to the last line of their record', async () => {
    const seeds = ['3', '6', '27'];
    const once = (): Promise<{ out: string }[]> =>
      Promise.all(seeds.map((seed) => run('--replay', seed)));
    const [first, second] = await Promise.all([once(), once()]);
    for (const { out } of first) expect(out).toMatch(/Hash [0-9a-f]{8}/);
    expect(second).toEqual(first);
  });

  it('know every guard by the text that stands in the compiled program', async () => {
    const { code, out } = await run('--mutants', '--list');
    expect(code, out.slice(-2_000)).toBe(0);
    expect(out).toMatch(/^(?:[3-9]\d|\d{3}) guards/m);
  });

  describe('that once broke a promise', () => {
    let replayed: Awaited<ReturnType<typeof run>>;

    beforeAll(async () => {
      replayed = await run('--kept');
    }, 20 * 60_000);

    it.each(kept)('%s keeps them all', (name) => {
      const own = replayed.out.split('\n').find((line) => line.startsWith(`${name}: `));
      expect(own, replayed.out.slice(-8_000)).toMatch(/: 0 broken promises, hash [0-9a-f]{8}$/);
    });

    it('bring the run of all of them to a good end', () => {
      expect(replayed.code, replayed.out.slice(-8_000)).toBe(0);
    });
  });
});
