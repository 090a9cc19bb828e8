/** Judges a sensor of the bath beside a run: with patience, with hysteresis, each finding told once. */

import type { FaultCode } from './model.ts';

/** What a limit, or a sensor that falls silent, does to a run. */
export type SensorAction = 'alarm' | 'trip';

export interface SensorLimit {
  readonly value: number;
  readonly action: SensorAction;
}

export interface SensorRule {
  readonly id: string;
  /** In the maker's words, for sentences. */
  readonly name: string;
  readonly kind: 'temperature' | 'level';
  readonly unit: string;
  readonly low: SensorLimit | null;
  readonly high: SensorLimit | null;
  /** A value has to come back inside a limit by this much before it counts as well again. */
  readonly hysteresis: number;
  /** Without a value for this long the sensor is missing, ms. */
  readonly staleAfterMs: number;
  /** What a missing sensor does; by itself it stops no run. */
  readonly missing: SensorAction;
}

/** Where a sensor stands: `well` while nothing is wrong with it. */
export type SensorState = 'well' | 'low' | 'high' | 'missing';

export interface SensorMemory {
  readonly state: SensorState;
  /** Since when, and in how many samples, the value is beyond a limit. */
  readonly beyond: 'low' | 'high' | null;
  readonly sinceMs: number;
  readonly samples: number;
  /** When the last sample that was counted came; the start of the watch before the first. */
  readonly heardMs: number;
}

export interface SensorFinding {
  readonly code: FaultCode;
  readonly action: SensorAction;
  readonly found: string;
  /** How `found` begins whenever this sensor is found so: several of one kind share a code. */
  readonly subject: string;
}

/** One sample beyond a limit may be a bad line; so many of them over so long are not. */
const holdMs = 10_000;
const holdSamples = 3;

const codes = {
  temperature: { low: 'bathTooCold', high: 'bathTooWarm' },
  level: { low: 'levelTooLow', high: 'levelTooHigh' },
} as const satisfies Record<SensorRule['kind'], Record<'low' | 'high', FaultCode>>;

/** A watch that begins now. */
export function freshSensor(nowMs: number): SensorMemory {
  return { state: 'well', beyond: null, sinceMs: nowMs, samples: 0, heardMs: nowMs };
}

/**
 * Looks at the latest sample, or at its absence; times are on one clock, ms. A finding is given when
 * it begins, and again only after the sensor has been well in between.
 */
export function judgeSensor(
  memory: SensorMemory,
  rule: SensorRule,
  sample: { readonly value: number; readonly atMs: number } | null,
  nowMs: number,
): { readonly memory: SensorMemory; readonly finding: SensorFinding | null } {
  const isNew = sample !== null && sample.atMs > memory.heardMs;
  if (!isNew)
    return nowMs - memory.heardMs > rule.staleAfterMs ? lost(memory, rule, nowMs) : same(memory);
  const heard = { ...memory, heardMs: sample.atMs };
  const side = sideOf(heard, rule, sample.value);
  if (side === null) return same({ ...freshSensor(sample.atMs), heardMs: sample.atMs });
  const begun =
    heard.beyond === side ? heard : { ...heard, beyond: side, sinceMs: sample.atMs, samples: 0 };
  const next = { ...begun, samples: begun.samples + 1 };
  const stood = sample.atMs - next.sinceMs >= holdMs && next.samples >= holdSamples;
  if (!stood) return same(next.state === 'missing' ? { ...next, state: 'well' } : next);
  if (next.state === side) return same(next);
  return { memory: { ...next, state: side }, finding: beyondLimit(rule, side, sample.value) };
}

function same(memory: SensorMemory): { memory: SensorMemory; finding: null } {
  return { memory, finding: null };
}

function lost(memory: SensorMemory, rule: SensorRule, nowMs: number) {
  const missing: SensorMemory = { ...memory, state: 'missing', beyond: null, samples: 0 };
  if (memory.state === 'missing') return same(missing);
  const seconds = Math.round((nowMs - memory.heardMs) / 1000);
  const bound = Math.round(rule.staleAfterMs / 1000);
  const subject = `${rule.name} has sent no value`;
  const found = `${subject} for ${seconds} s; the bound is ${bound} s.`;
  return {
    memory: missing,
    finding: { code: 'sensorMissing' as const, action: rule.missing, found, subject },
  };
}

/** Beyond which limit a value lies. One that was found beyond has to come back by the hysteresis. */
function sideOf(
  memory: SensorMemory,
  { low, high, hysteresis }: SensorRule,
  value: number,
): 'low' | 'high' | null {
  const room = (side: 'low' | 'high'): number => (memory.state === side ? hysteresis : 0);
  if (low !== null && value < low.value + room('low')) return 'low';
  if (high !== null && value > high.value - room('high')) return 'high';
  return null;
}

function beyondLimit(rule: SensorRule, side: 'low' | 'high', value: number): SensorFinding {
  const limit = rule[side];
  const than = side === 'low' ? 'below' : 'above';
  const subject = `${rule.name} reads `;
  const found = `${subject}${value} ${rule.unit}, ${than} the limit of ${limit?.value} ${rule.unit}.`;
  return { code: codes[rule.kind][side], action: limit?.action ?? 'alarm', found, subject };
}
