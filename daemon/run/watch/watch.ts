/** Runs every watch rule over a reading; the first that finds something names the fault. */

import type { FaultCode } from '../model.ts';
import { tooLong, tooMuchCharge } from './limits.ts';
import { noCharge } from './no-charge.ts';
import { notFollowing } from './not-following.ts';
import { openCircuit } from './open-circuit.ts';
import { outputFoundOff } from './output-found-off.ts';
import { overCurrent } from './over-current.ts';
import { overVoltage } from './over-voltage.ts';
import { freshMemory, type RuleMemory, type WatchRule, type WatchView } from './rule.ts';
import { setPointChanged } from './set-point-changed.ts';
import { shortCircuit } from './short-circuit.ts';
import { stuckReading } from './stuck-reading.ts';
import { supplyRestarted } from './supply-restarted.ts';
import { supplyTripped } from './supply-tripped.ts';

/** In the order of their say: what explains most comes first. */
export const watchRules: readonly WatchRule[] = [
  overCurrent,
  overVoltage,
  supplyRestarted,
  supplyTripped,
  shortCircuit,
  openCircuit,
  setPointChanged,
  outputFoundOff,
  notFollowing,
  stuckReading,
  noCharge,
  tooLong,
  tooMuchCharge,
];

/** One memory per rule, in the order of the rules. */
export type WatchMemory = readonly RuleMemory[];

export const freshWatch: WatchMemory = watchRules.map(() => freshMemory);

export interface WatchVerdict {
  readonly memory: WatchMemory;
  readonly finding: { readonly code: FaultCode; readonly found: string } | null;
}

const nothing: ReadonlySet<FaultCode> = new Set();

/**
 * Judges one reading by all rules. Every memory moves on, so that no rule misses a reading. What is
 * passed over hides no other finding behind it: neither a fault nor a deadline.
 */
export function watch(
  memory: WatchMemory,
  view: WatchView,
  passedOver: ReadonlySet<FaultCode> = nothing,
): WatchVerdict {
  let finding: WatchVerdict['finding'] = null;
  const next = watchRules.map((rule, index) => {
    const judged = rule.judge(memory[index] ?? freshMemory, view);
    if (judged.found !== null && !passedOver.has(rule.code))
      finding ??= { code: rule.code, found: judged.found };
    return judged.memory;
  });
  return { memory: next, finding };
}
