/** What a watch rule sees and answers; each rule is a pure judgement with a small memory. */

import type { FaultCode, RunLimits, RunReading } from '../model.ts';

/** Kept between readings: since when a condition stands, and three numbers that the rule may use. */
export interface RuleMemory {
  readonly sinceMs: number | null;
  readonly mark: number;
  readonly count: number;
  readonly level: number;
}

export const freshMemory: RuleMemory = { sinceMs: null, mark: 0, count: 0, level: 0 };

/** One reading of a powered run, with what was asked of the supply. */
export interface WatchView {
  readonly reading: RunReading;
  readonly limits: RunLimits;
  /** The set-point that the supply confirmed last. */
  readonly setAmps: number;
  /**
   * The highest and the lowest of what was confirmed, what has been asked for since, and what either
   * replaced within `settlingMs`: a current on its way from one set-point to the next is between them.
   */
  readonly mostSetAmps: number;
  readonly leastSetAmps: number;
  readonly setVolts: number;
  readonly stepAmps: number;
  readonly stepVolts: number;
  /** Time since the output was confirmed on, ms. */
  readonly onForMs: number;
  /** Time since the set-point last changed, ms. */
  readonly settledForMs: number;
  /** True while the paint may still be covering: low current is then no fault. */
  readonly striking: boolean;
  readonly ampHours: number;
  readonly highAmpHours: number;
  readonly runForMs: number;
}

export interface Judgement {
  readonly memory: RuleMemory;
  /** What was found, as a sentence with the number and its bound; null when all is well. */
  readonly found: string | null;
}

export interface WatchRule {
  readonly code: FaultCode;
  judge(memory: RuleMemory, view: WatchView): Judgement;
}

/** A reading may still show the set-point, or the output, of this long ago, ms. */
export const settlingMs = 1_500;

export const well: Judgement = { memory: freshMemory, found: null };

/** The same memory in which nothing stands; at nearly every reading nothing did. */
function cleared(memory: RuleMemory): RuleMemory {
  return memory.sinceMs === null ? memory : { ...memory, sinceMs: null };
}

/** Trips once the condition has stood for `holdMs` without a break; one good reading clears it. */
export function standing(
  memory: RuleMemory,
  view: WatchView,
  holdMs: number,
  condition: string | null,
): Judgement {
  if (condition === null) return { memory: cleared(memory), found: null };
  const sinceMs = memory.sinceMs ?? view.reading.atMs;
  const stoodMs = view.reading.atMs - sinceMs;
  return { memory: { ...memory, sinceMs }, found: stoodMs >= holdMs ? condition : null };
}

/** Trips at the n-th reading in a row that shows the condition. */
export function repeated(memory: RuleMemory, times: number, condition: string | null): Judgement {
  if (condition === null) {
    return { memory: memory.count === 0 ? memory : { ...memory, count: 0 }, found: null };
  }
  const count = memory.count + 1;
  return { memory: { ...memory, count }, found: count >= times ? condition : null };
}

export function amps(value: number): string {
  return `${value.toFixed(3)} A`;
}

export function volts(value: number): string {
  return `${value.toFixed(3)} V`;
}
