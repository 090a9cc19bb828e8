/** Weighed runs for tests of ledgers: runs with a plan of the project's own, over and read back as off. */

import type { WeighIn } from '../../daemon/run/weigh-in/model.ts';
import { runRecordSchema, type RunRecord } from '../../daemon/wire/run.ts';
import type { PlanRequest } from '../../daemon/run/model.ts';
import { planned } from '../run/plan-fixtures.ts';
import { armedWallMs } from './a-run.ts';

export const hourMs = 3_600_000;

/** Copper in the shipped still bath, in the beaker: 2.6 A·h in eight hours, unless changed. */
export function aGrownRun(
  id: string,
  changes: Partial<RunRecord> = {},
  request: Partial<PlanRequest> = {},
): RunRecord {
  return runRecordSchema.parse({
    id,
    kind: 'run',
    tankId: 'beaker',
    continues: null,
    carriedAmpHours: 0,
    simulated: true,
    plan: planned({ request }),
    checklist: [],
    armedWallMs,
    clocks: null,
    chargeSeen: null,
    startedWallMs: armedWallMs,
    endedWallMs: armedWallMs + 8 * hourMs,
    lifecycle: 'finished',
    offConfirmed: true,
    outcome: { end: 'reached', reason: 'The target was reached.', faultCode: null },
    ampHours: 2.6,
    lowAmpHours: 2.6,
    highAmpHours: 2.6,
    thicknessMicrometres: 110,
    ...changes,
  });
}

/** 3.00 g more than before, on a balance with steps of 0.01 g. */
export function aWeighIn(changes: Partial<WeighIn> = {}): WeighIn {
  return {
    beforeGrams: 12,
    afterGrams: 15,
    balanceGrams: 0.01,
    hangersWeighed: true,
    calliperMm: 0.01,
    callipers: [],
    note: '',
    ...changes,
  };
}
