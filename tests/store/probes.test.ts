/** Results of probes on disk: kept once, refused without their run, and the latest of each supply. */

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openStoreWriter, type StoreWriter } from '../../daemon/store/door.ts';
import type { ProbeResult } from '../../daemon/wire/probe.ts';
import { aRun } from './a-run.ts';
import { ownFile } from './bench-file.ts';

let store: StoreWriter;
beforeEach(async () => {
  store = await openStoreWriter({ file: ownFile() });
});
afterEach(() => store.close());

function aDrill(runId: string, changes: Partial<ProbeResult> = {}): ProbeResult {
  return {
    runId,
    kind: 'drill',
    tankId: 'one',
    supply: 'MAKER, MODEL, 1',
    verdict: 'passed',
    volts: 0.1,
    amps: 0.06,
    offMs: 300,
    wallMs: 1_000,
    sentence: 'OFF was read back.',
    ...changes,
  };
}

describe('a result', () => {
  it('is refused without its run, and with a figure that is none', async () => {
    await expect(store.probes.record(aDrill('nobody'))).rejects.toMatchObject({ kind: 'invalid' });
    await store.createRun(aRun('first'));
    const broken = aDrill('first', { amps: Number.NaN });
    await expect(store.probes.record(broken)).rejects.toMatchObject({ kind: 'invalid' });
    expect(await store.probes.latest()).toEqual([]);
  });

  it('counts once for its run', async () => {
    await store.createRun(aRun('first'));
    await store.probes.record(aDrill('first'));
    await store.probes.record(aDrill('first', { verdict: 'failed' }));
    expect(await store.probes.latest()).toEqual([aDrill('first')]);
  });

  it('gives way to a later one of the same kind on the same supply', async () => {
    for (const id of ['first', 'second', 'third']) await store.createRun(aRun(id));
    await store.probes.record(aDrill('first'));
    await store.probes.record(aDrill('second', { supply: 'MAKER, MODEL, 2' }));
    await store.probes.record(aDrill('third', { verdict: 'failed' }));
    const latest = await store.probes.latest();
    expect(latest.map(({ runId, verdict }) => [runId, verdict])).toEqual([
      ['second', 'passed'],
      ['third', 'failed'],
    ]);
  });
});

describe('the newest record', () => {
  it('is the latest time of a real run; simulated nights are ahead of the wall clock', async () => {
    expect(await store.probes.newestRecordWallMs()).toBeNull();
    await store.createRun(aRun('real', { simulated: false, armedWallMs: 5_000 }));
    await store.createRun(aRun('dream', { simulated: true, armedWallMs: 9_000 }));
    await store.patchRun('real', { startedWallMs: 6_000, endedWallMs: 7_000 });
    expect(await store.probes.newestRecordWallMs()).toBe(7_000);
  });

  it('is that of the last run: one under a clock far ahead is not held against all later ones', async () => {
    await store.createRun(aRun('ahead', { simulated: false, armedWallMs: 90_000 }));
    await store.createRun(aRun('next', { simulated: false, armedWallMs: 8_000 }));
    expect(await store.probes.newestRecordWallMs()).toBe(8_000);
  });
});
