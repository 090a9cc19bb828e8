/** What the run asked of the supply, in order; an OFF voids everything that was asked before it. */

import { RectifierError, type RectifierErrorKind } from '../../drivers/contract.ts';
import type { RunEffect, RunInput } from '../run/model.ts';
import type { TankClock } from './clock.ts';
import type { ActiveRun } from './snapshot.ts';
import type { SupplyLink } from './supply-link.ts';

type Asked = Extract<RunEffect, { kind: 'program' | 'switch-on' }>;
export type Action = Asked & { readonly epoch: number };

const unansweredKinds: ReadonlySet<RectifierErrorKind> = new Set([
  'timeout',
  'garbled',
  'overflow',
  'closed',
  'notOpen',
]);

export class ActionQueue {
  #waiting: Action[] = [];
  #epoch = 0;

  get epoch(): number {
    return this.#epoch;
  }

  push(action: Action): void {
    this.#waiting.push(action);
  }

  /** An OFF was sent: nothing that was asked for before it may reach the supply after it. */
  cancel(): void {
    this.#epoch += 1;
    this.#waiting = [];
  }

  next(): Action | null {
    const action = this.#waiting.shift() ?? null;
    return action !== null && action.epoch === this.#epoch ? action : null;
  }
}

/**
 * Does on the supply what the run asked for; the answer is the next input to the run. Null where an
 * OFF overtook it: that is no failure, and it has been answered already.
 */
export async function performAction(
  action: Action,
  link: SupplyLink,
  run: ActiveRun | null,
  clock: TankClock,
): Promise<RunInput | null> {
  try {
    if (action.kind === 'switch-on') {
      const { sentAtMs } = await link.on();
      return { kind: 'on-confirmed', atMs: clock.nowMs(), sentAtMs };
    }
    const { amps, volts } = action;
    const protection = action.withProtection ? { ...protectionOf(run), resetTrips: true } : {};
    const set = await link.program({ amps, volts, ...protection });
    const atMs = clock.nowMs();
    return { kind: 'programmed', atMs, amps: set.amps ?? amps, volts: set.volts ?? volts };
  } catch (error) {
    link.note(error);
    if (error instanceof RectifierError && error.kind === 'preempted') return null;
    const reason = error instanceof Error ? error.message : String(error);
    const atMs = clock.nowMs();
    if (action.kind === 'switch-on') return { kind: 'on-failed', atMs, reason };
    // A set-point that was not answered is no refusal: the run asks again, or trips on the silence.
    const unanswered = error instanceof RectifierError && unansweredKinds.has(error.kind);
    return { kind: unanswered ? 'reading-missing' : 'program-failed', atMs, reason };
  }
}

/** The levels that the supply can hold by itself; a supply without them is left alone. */
function protectionOf(run: ActiveRun | null): {
  overVoltageVolts?: number;
  overCurrentAmps?: number;
} {
  const limits = run?.state.plan.limits;
  return {
    ...(limits?.overVoltageVolts == null ? {} : { overVoltageVolts: limits.overVoltageVolts }),
    ...(limits?.overCurrentAmps == null ? {} : { overCurrentAmps: limits.overCurrentAmps }),
  };
}
