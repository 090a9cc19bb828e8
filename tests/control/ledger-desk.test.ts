/** Ledgers at the command desk of a bench with a tank: plans go by what was taken over, and by nothing else. */

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { LedgerEntry } from '../../daemon/wire/ledger.ts';
import { aWeighIn } from '../store/a-weigh-in.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench;
beforeEach(async () => {
  bench = await (await TankBench.open()).started();
});
afterEach(() => bench.close());

const by = 'Mara (control) at 192.0.2.7';

function add(entry: LedgerEntry, atWallMs: number | null = null, tankId = 'one') {
  const { bathId } = aRequest();
  return bench.tell({ kind: 'ledger-add', tankId, bathId, by, atWallMs, entry });
}

const temperature = { kind: 'temperature', celsius: 21, note: '' } as const;
const efficiency = (value: number): LedgerEntry => ({
  kind: 'efficiency',
  value,
  uncertainty: 0.01,
  weighIns: 3,
  note: '',
});

/** What a run that is armed now was planned with. */
async function plannedWith() {
  expect(await bench.arm(aRequest())).toMatchObject({ ok: true });
  const { efficiency: planned } = bench.tank.run?.state.plan.bath ?? bench.tank.bath;
  await bench.until('ready', () => bench.tank.snapshot().run?.ready === true);
  expect(await bench.onRun('disarm')).toMatchObject({ ok: true });
  await bench.until('off', () => bench.tank.output === 'confirmedOff');
  return planned;
}

describe('an efficiency from weigh-ins', () => {
  it('is planned with once it was taken over for this bath of this tank, and no more once undone', async () => {
    const file = await plannedWith();
    await add(efficiency(0.9), null, 'another');
    expect(await plannedWith()).toEqual(file);
    const answer = await add(efficiency(0.93));
    expect(await plannedWith()).toEqual({
      value: 0.93,
      uncertainty: 0.01,
      source: expect.stringContaining(`3 weigh-ins, taken over by ${by}`),
    });
    const entryId = answer.ok ? (answer.entry?.id ?? 0) : 0;
    const back = { kind: 'ledger-change', entryId, version: 1, by, atWallMs: null } as const;
    expect(await bench.tell({ ...back, entry: null })).toMatchObject({ ok: true });
    expect(await plannedWith()).toEqual(file);
  });
});

describe('an entry', () => {
  it('is dated by the clock of its tank where no time is given, and says who made it', async () => {
    const answer = await add(temperature);
    expect(answer).toMatchObject({ ok: true, entry: { by, version: 1, entry: temperature } });
    const at = answer.ok ? (answer.entry?.atWallMs ?? 0) : 0;
    expect(at).toBeGreaterThanOrEqual(Math.min(Date.now() - 60_000, bench.clock.wallMs()));
  });

  it('far in the future is refused by value and bound', async () => {
    const ahead = Math.max(Date.now(), bench.clock.wallMs()) + 3 * 24 * 3_600_000;
    expect(await add(temperature, ahead)).toMatchObject({
      ok: false,
      code: 'invalid',
      problems: [
        { field: 'atWallMs', value: new Date(ahead).toISOString(), bound: expect.any(String) },
      ],
    });
  });

  it('that was changed meanwhile is told with who did it, and an unknown one is not found', async () => {
    await add(temperature);
    const change = { kind: 'ledger-change', entryId: 1, by, atWallMs: null, entry: null } as const;
    await bench.tell({ ...change, version: 1 });
    expect(await bench.tell({ ...change, version: 1 })).toMatchObject({
      ok: false,
      code: 'stale',
      reason: expect.stringContaining(by),
    });
    expect(await bench.tell({ ...change, entryId: 7, version: 1 })).toMatchObject({
      code: 'notFound',
    });
  });

  it('is made once for one key', async () => {
    const { bathId } = aRequest();
    const place = { tankId: 'one', bathId, by, atWallMs: null };
    const command = { kind: 'ledger-add', ...place, entry: temperature } as const;
    const first = await bench.tell(command, 'press');
    expect(await bench.tell(command, 'press')).toEqual(first);
  });
});

describe('a weigh-in', () => {
  it('of a run that is not in the log is not found', async () => {
    const command = { kind: 'weigh-in', runId: 'nobody', version: 0, by } as const;
    expect(
      await bench.tell({ ...command, weighIn: { ...aWeighIn(), callipers: [] } }),
    ).toMatchObject({
      ok: false,
      code: 'notFound',
    });
  });

  it('takes the mass before while the run is only armed', async () => {
    const armed = await bench.arm(aRequest());
    const runId = armed.ok ? (armed.runId ?? '') : '';
    const weighIn = { ...aWeighIn({ afterGrams: null }), callipers: [] };
    await bench.until('ready', () => bench.tank.snapshot().run?.ready === true);
    const command = { kind: 'weigh-in', runId, version: 0, by, weighIn } as const;
    expect(await bench.tell(command)).toMatchObject({ ok: true, weighIn: { version: 1, by } });
    expect(bench.tank.run?.state.lifecycle).toBe('armed');
  });
});
