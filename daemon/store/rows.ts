/** Rows of the tables as the documents of the wire, checked on the way out. */

import type * as z from 'zod/mini';
import {
  bootClocksSchema,
  chargeSeenSchema,
  runRecordSchema,
  runSummarySchema,
  type RunRecord,
  type RunSummary,
} from '../wire/run.ts';
import { describeIssues } from './checks.ts';
import { StoreError } from './errors.ts';

export interface RunColumns {
  readonly id: string;
  readonly kind: string;
  readonly tank_id: string;
  readonly continues: string | null;
  readonly carried_amp_hours: number;
  readonly simulated: number;
  readonly plan: string;
  readonly checklist: string;
  readonly piece_name: string;
  readonly bath_name: string;
  readonly target_micrometres: number;
  readonly armed_wall_ms: number;
  readonly started_wall_ms: number | null;
  readonly ended_wall_ms: number | null;
  readonly lifecycle: string;
  readonly off_confirmed: number;
  readonly outcome_end: string | null;
  readonly outcome_reason: string | null;
  readonly outcome_fault_code: string | null;
  readonly amp_hours: number;
  readonly low_amp_hours: number;
  readonly high_amp_hours: number;
  readonly thickness_micrometres: number;
  readonly clocks: string | null;
  readonly charge_seen: string | null;
}

function outcomeOf(row: Omit<RunColumns, 'plan' | 'checklist'>): unknown {
  if (row.outcome_end === null) return null;
  return {
    end: row.outcome_end,
    reason: row.outcome_reason,
    faultCode: row.outcome_fault_code,
  };
}

/** Throws a `StoreError` of kind `unreadable` naming the run when the row is not a run of this version. */
export function toRunRecord(row: RunColumns): RunRecord {
  const { plan, checklist } = parsedJson(row);
  const result = runRecordSchema.safeParse({
    id: row.id,
    kind: row.kind,
    tankId: row.tank_id,
    continues: row.continues,
    carriedAmpHours: row.carried_amp_hours,
    simulated: row.simulated === 1,
    plan,
    checklist,
    armedWallMs: row.armed_wall_ms,
    startedWallMs: row.started_wall_ms,
    clocks: keptOf(bootClocksSchema, row.clocks),
    endedWallMs: row.ended_wall_ms,
    lifecycle: row.lifecycle,
    offConfirmed: row.off_confirmed === 1,
    outcome: outcomeOf(row),
    ampHours: row.amp_hours,
    lowAmpHours: row.low_amp_hours,
    highAmpHours: row.high_amp_hours,
    chargeSeen: keptOf(chargeSeenSchema, row.charge_seen),
    thicknessMicrometres: row.thickness_micrometres,
  });
  if (result.success) return result.data;
  throw unreadable(row.id, describeIssues(result.error.issues));
}

/** Spoiled, they are as good as not kept: no run is lost for them. */
function keptOf<T>(schema: z.ZodMiniType<T>, text: string | null): T | null {
  if (text === null) return null;
  try {
    return schema.parse(JSON.parse(text));
  } catch {
    return null;
  }
}

function parsedJson(row: RunColumns): { plan: unknown; checklist: unknown } {
  try {
    const plan: unknown = JSON.parse(row.plan);
    const checklist: unknown = JSON.parse(row.checklist);
    return { plan, checklist };
  } catch (error) {
    throw unreadable(row.id, String(error));
  }
}

function unreadable(id: string, why: string): StoreError {
  return new StoreError('unreadable', `The stored run ${id} cannot be read: ${why}.`);
}

/** What a line of the log needs of a run. */
export const summaryColumnsOfRun =
  'id, kind, tank_id, continues, simulated, piece_name, bath_name, target_micrometres, ' +
  'armed_wall_ms, started_wall_ms, ended_wall_ms, lifecycle, outcome_end, outcome_reason, ' +
  'outcome_fault_code, amp_hours, thickness_micrometres';

/** A line of the log; never reads the plan. */
export function toRunSummary(row: Omit<RunColumns, 'plan' | 'checklist'>): RunSummary {
  const result = runSummarySchema.safeParse({
    id: row.id,
    kind: row.kind,
    tankId: row.tank_id,
    simulated: row.simulated === 1,
    pieceName: row.piece_name,
    bathName: row.bath_name,
    armedWallMs: row.armed_wall_ms,
    startedWallMs: row.started_wall_ms,
    endedWallMs: row.ended_wall_ms,
    lifecycle: row.lifecycle,
    outcome: outcomeOf(row),
    ampHours: row.amp_hours,
    thicknessMicrometres: row.thickness_micrometres,
    targetMicrometres: row.target_micrometres,
    continues: row.continues,
  });
  if (result.success) return result.data;
  throw unreadable(row.id, describeIssues(result.error.issues));
}

/** Columns named as the wire names them, so that a row is the document. */
export const eventColumns =
  'id, run_id AS runId, tank_id AS tankId, at_ms AS atMs, wall_ms AS wallMs, code, message';

export const alarmColumns =
  'id, run_id AS runId, tank_id AS tankId, wall_ms AS wallMs, priority, code, found, cause, ' +
  'remedy, acknowledged_wall_ms AS acknowledgedWallMs, cleared_wall_ms AS clearedWallMs';
