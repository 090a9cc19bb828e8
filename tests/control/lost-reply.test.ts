/** One reply that is lost, that comes twice, or that an error line comes before, at every place after a start: no false trip, one ON. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStoreWriter, type StoreWriter } from '../../daemon/store/door.ts';
import type { FaultName } from '../../drivers/simulated/faults.ts';
import { aRequest, TankBench } from './a-tank.ts';

/** All that races here races on the clock of the simulation, at any pace; replies take no real time. */
const pace = 8;

const places = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12];

let folder: string;
let store: StoreWriter;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-replies-'));
  store = await openStoreWriter({ file: join(folder, 'runs.sqlite') });
});
afterAll(async () => {
  await store.close();
  rmSync(folder, { recursive: true, force: true });
});

type Harm = 'lost' | 'beaten to it by an old error' | 'sent twice';

/** The start was taken: what is asked from here on belongs to it. */
function isStarted({ tank }: TankBench): boolean {
  return tank.run !== null && tank.run.state.lifecycle !== 'armed';
}

/** Makes exactly the n-th reply from the start on come twice. */
function doubleReply(bench: TankBench, n: number): { readonly done: boolean } {
  const take = bench.instrument.take.bind(bench.instrument);
  const seen = { count: 0, done: false };
  const doubled = (nowMs: number): string => {
    const bytes = take(nowMs);
    if (bytes === '' || !isStarted(bench)) return bytes;
    seen.count += 1;
    if (seen.count !== n) return bytes;
    seen.done = true;
    return bytes + bytes;
  };
  Object.assign(bench.instrument, { take: doubled });
  return seen;
}

/** Makes exactly the n-th reply from the start on vanish on its way, or come after an error line. */
function harmReply(bench: TankBench, n: number, harm: Harm): { readonly done: boolean } {
  if (harm === 'sent twice') return doubleReply(bench, n);
  const { faults } = bench.instrument;
  const get = faults.get.bind(faults) as (name: FaultName) => unknown;
  const seen = { count: 0, done: false };
  const counting = (name: FaultName): unknown => {
    if (name !== 'dropReplies' || !isStarted(bench)) return get(name);
    seen.count += 1;
    if (seen.count !== n) return get(name);
    seen.done = true;
    if (harm === 'lost') return { probability: 1 };
    faults.set('unsolicited', {}, bench.clock.nowMs());
    return get(name);
  };
  Object.assign(faults, { get: counting });
  return seen;
}

async function startWithHarm(
  dialect: 'scpi-subsystem' | 'scpi-channel-list' | 'vset-iset' | 'fixed-length',
  n: number,
  harm: Harm,
): Promise<{ n: number; done: boolean; output: string; fault: string | null; ons: number }> {
  const bench = await TankBench.open({
    dialect,
    store,
    timeScale: pace,
    idleScale: pace,
    realTime: true,
  });
  try {
    await bench.started();
    await bench.arm(aRequest());
    await bench.until('the run to be ready', () => bench.tank.snapshot().run?.ready);
    const harmed = harmReply(bench, n, harm);
    await bench.onRun('start');
    await bench.until(
      'the output to be on, or the end',
      () => (bench.tank.output === 'on' && harmed.done) || bench.tank.run?.state.outcome != null,
    );
    // Long enough for a silence to be found.
    await bench.clock.sleep(4_000);
    const { state } = bench.tank.run ?? {};
    return {
      n,
      done: harmed.done,
      output: bench.tank.output,
      fault: state?.fault === null ? null : `${state?.fault.code}: ${state?.fault.found}`,
      ons: bench.truth().onsReceived,
    };
  } finally {
    await bench.close();
  }
}

const cases = [
  ['lost', 'scpi-subsystem'],
  ['lost', 'scpi-channel-list'],
  ['lost', 'vset-iset'],
  ['lost', 'fixed-length'],
  ['sent twice', 'scpi-subsystem'],
  ['sent twice', 'scpi-channel-list'],
  ['sent twice', 'vset-iset'],
  ['sent twice', 'fixed-length'],
  ['beaten to it by an old error', 'scpi-subsystem'],
  ['beaten to it by an old error', 'scpi-channel-list'],
] as const;

describe('a start in which one reply suffers', () => {
  it.each(cases)(
    'comes on once though it is %s in %s, wherever that happens',
    async (harm, dialect) => {
      const seen = await Promise.all(places.map((n) => startWithHarm(dialect, n, harm)));
      expect(seen).toEqual(
        places.map((n) => ({ n, done: true, output: 'on', fault: null, ons: 1 })),
      );
    },
    60_000,
  );
});
