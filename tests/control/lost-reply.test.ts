/** One reply that is lost, at every place after a start, in every dialect, in real time: no false trip, one ON. */

import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import type { FaultName } from '../../drivers/simulated/faults.ts';
import { aRequest, TankBench } from './a-tank.ts';

const places = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12];

/** Makes exactly the n-th reply from now on vanish on its way. */
function loseReply(bench: TankBench, n: number): { readonly lost: boolean } {
  const { faults } = bench.instrument;
  const get = faults.get.bind(faults) as (name: FaultName) => unknown;
  const seen = { count: 0, lost: false };
  const counting = (name: FaultName): unknown => {
    if (name !== 'dropReplies') return get(name);
    seen.count += 1;
    if (seen.count !== n) return get(name);
    seen.lost = true;
    return { probability: 1 };
  };
  Object.assign(faults, { get: counting });
  return seen;
}

async function startWithLoss(
  dialect: 'scpi-subsystem' | 'scpi-channel-list' | 'vset-iset' | 'fixed-length',
  n: number,
): Promise<{ n: number; lost: boolean; output: string; fault: string | null; ons: number }> {
  const bench = await TankBench.open({ dialect, timeScale: 1, realTime: true });
  try {
    await bench.started();
    await bench.arm(aRequest());
    await bench.until('the run to be ready', () => bench.tank.snapshot().run?.ready);
    const loss = loseReply(bench, n);
    await bench.onRun('start');
    await bench.until(
      'the output to be on, or the end',
      () => (bench.tank.output === 'on' && loss.lost) || bench.tank.run?.state.outcome != null,
    );
    // Long enough for a silence to be found.
    await wait(4_000);
    const { state } = bench.tank.run ?? {};
    return {
      n,
      lost: loss.lost,
      output: bench.tank.output,
      fault: state?.fault === null ? null : `${state?.fault.code}: ${state?.fault.found}`,
      ons: bench.truth().onsReceived,
    };
  } finally {
    await bench.close();
  }
}

describe('a start in which one reply is lost', () => {
  it.each(['scpi-subsystem', 'scpi-channel-list', 'vset-iset', 'fixed-length'] as const)(
    'comes on once in %s, wherever the reply is lost',
    async (dialect) => {
      const seen = await Promise.all(places.map((n) => startWithLoss(dialect, n)));
      expect(seen).toEqual(
        places.map((n) => ({ n, lost: true, output: 'on', fault: null, ons: 1 })),
      );
    },
    60_000,
  );
});
