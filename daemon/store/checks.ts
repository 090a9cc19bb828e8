/** Checks what callers hand in, and says what is wrong by field, value and bound. */

import * as z from 'zod/mini';
import { alertMessageSchema } from '../wire/alerts.ts';
import { probeResultSchema, type ProbeResult } from '../wire/probe.ts';
import { alarmSchema, eventRowSchema, runRecordSchema, type RunRecord } from '../wire/run.ts';
import type { NewAlarm, NewEvent, Posting, RunPatch } from './door.ts';
import { StoreError } from './errors.ts';

const newEventSchema = z.omit(eventRowSchema, { id: true });
const newAlarmSchema = z.omit(alarmSchema, {
  id: true,
  acknowledgedWallMs: true,
  clearedWallMs: true,
});
const postingSchema = z.strictObject({
  message: alertMessageSchema,
  channels: z.array(z.strictObject({ name: z.string(), print: z.string() })),
});
const runPatchSchema = z.partial(
  z.pick(runRecordSchema, {
    startedWallMs: true,
    clocks: true,
    endedWallMs: true,
    offConfirmed: true,
    lifecycle: true,
    outcome: true,
    ampHours: true,
    lowAmpHours: true,
    highAmpHours: true,
    chargeSeen: true,
    thicknessMicrometres: true,
  }),
);

function boundOf(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case 'invalid_type':
      return `must be ${issue.expected}`;
    case 'invalid_value':
      return `must be one of ${issue.values.map(String).join(', ')}`;
    case 'too_small':
      return `must be ${issue.inclusive === false ? 'more than' : 'at least'} ${issue.minimum}`;
    case 'too_big':
      return `must be ${issue.inclusive === false ? 'less than' : 'at most'} ${issue.maximum}`;
    case 'unrecognized_keys':
      return `must not have ${issue.keys.join(', ')}`;
    case 'invalid_format':
      return issue.pattern === undefined
        ? `must be ${issue.format}`
        : `must match ${issue.pattern}`;
    case 'not_multiple_of':
    case 'invalid_union':
    case 'invalid_key':
    case 'invalid_element':
    case 'custom':
      return issue.message === '' ? 'is not valid' : issue.message;
    default:
      return 'is not valid';
  }
}

/** The first few things wrong, as one sentence part: "plan.areaDm2.low is NaN, must be number". */
export function describeIssues(issues: readonly z.core.$ZodIssue[]): string {
  const parts = issues.slice(0, 3).map((issue) => {
    const field = issue.path.length === 0 ? 'it' : issue.path.map(String).join('.');
    const value = issue.input === undefined ? '' : ` is ${shown(issue.input)},`;
    return `${field}${value} ${boundOf(issue)}`;
  });
  const more = issues.length > 3 ? `; and ${issues.length - 3} more` : '';
  return parts.join('; ') + more;
}

function shown(value: unknown): string {
  if (typeof value === 'number') return String(value);
  return (JSON.stringify(value) ?? String(value)).slice(0, 80);
}

function checked<T>(schema: z.ZodMiniType<T>, value: unknown, what: string): T {
  const result = schema.safeParse(value, { reportInput: true });
  if (result.success) return result.data;
  throw new StoreError(
    'invalid',
    `${what} was refused: ${describeIssues(result.error.issues)}. Nothing was stored.`,
  );
}

export function checkedRun(run: RunRecord): RunRecord {
  return checked(runRecordSchema, run, 'The run');
}

export function checkedPatch(patch: RunPatch): RunPatch {
  checked(runPatchSchema, patch, 'The change of a run');
  return patch;
}

export function checkedProbe(result: ProbeResult): ProbeResult {
  return checked(probeResultSchema, result, 'The result of a probe');
}

export function checkedEvent(event: NewEvent): NewEvent {
  return checked(newEventSchema, event, 'The event');
}

export function checkedAlarm(alarm: NewAlarm): NewAlarm {
  return checked(newAlarmSchema, alarm, 'The alarm');
}

export function checkedPosting(posting: Posting): Posting {
  return checked(postingSchema, posting, 'The message');
}

/** A whole number within bounds, both allowed. Throws a `StoreError` of kind `invalid`. */
export function checkedWhole(name: string, value: number, least: number, most: number): number {
  if (Number.isInteger(value) && value >= least && value <= most) return value;
  throw new StoreError(
    'invalid',
    `${name} is ${value}; it must be a whole number from ${least} to ${most}.`,
  );
}

/** A finite number. Throws a `StoreError` of kind `invalid`. */
export function checkedFinite(name: string, value: number): number {
  if (Number.isFinite(value)) return value;
  throw new StoreError('invalid', `${name} is ${value}; it must be a finite number.`);
}
