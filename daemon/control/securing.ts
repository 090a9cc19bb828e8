/** Before anything can be started: the run's row is on disk, and the sentinel holds the way to OFF. */

import type { Rectifier } from '../../drivers/contract.ts';
import type { FaultCode, RunInput } from '../run/model.ts';
import { isFinal } from '../run/state.ts';
import type { StoreWriter } from '../store/door.ts';
import type { RunRecord } from '../wire/run.ts';
import type { TankClock } from './clock.ts';
import type { Guardian, GuardTaken } from './guardian.ts';
import { boundsOf } from './report.ts';
import type { ActiveRun } from './snapshot.ts';
import type { Tank } from './tank.ts';

interface SecuringParts {
  readonly store: StoreWriter;
  readonly guardian: Guardian;
  readonly rectifier: Rectifier;
}

/** Sees to it for the run that is on the tank, and tells its machine; one that is off it by then hears nothing. */
export async function secure(tank: Tank, run: ActiveRun, parts: SecuringParts): Promise<void> {
  const secured = await secureRun(run.record, parts, tank.clock, {
    recorded: () => {
      run.recorded = true;
      // It may be over already: the row must not say otherwise.
      if (isFinal(run.state.lifecycle)) tank.journal.update(run);
    },
    guarded: (taken) => (run.guard = taken),
  });
  if (tank.run === run) tank.feed(secured);
}

/** Hands the sentinel the way to OFF and the bounds of a run; rejects with the reason where it cannot. */
export function guardRun(
  record: RunRecord,
  { guardian, rectifier }: Pick<SecuringParts, 'guardian' | 'rectifier'>,
): Promise<GuardTaken> {
  return guardian.guard(record.tankId, rectifier.offScript, boundsOf(record));
}

interface Secured {
  /** The row is on disk. */
  readonly recorded: () => void;
  /** The sentinel holds the way to OFF. */
  readonly guarded: (taken: GuardTaken) => void;
}

/** The next input of the run: `made-durable`, or the fault that keeps it from being started. */
async function secureRun(
  record: RunRecord,
  { store, guardian, rectifier }: SecuringParts,
  clock: TankClock,
  { recorded, guarded }: Secured,
): Promise<RunInput> {
  try {
    await store.createRun(record);
    recorded();
  } catch (error) {
    return faultFrom('databaseLost', error, clock);
  }
  try {
    const taken = await guardRun(record, { guardian, rectifier });
    guarded(taken);
  } catch (error) {
    // Nothing is on yet: this is a refusal for whoever arms, and no alarm for anybody else.
    const why = error instanceof Error ? error.message : String(error);
    const reason = `The sentinel cannot guard this tank, so nothing is switched on: ${why}`;
    return { kind: 'disarm', atMs: clock.nowMs(), reason };
  }
  return { kind: 'made-durable', atMs: clock.nowMs() };
}

function faultFrom(code: FaultCode, error: unknown, clock: TankClock): RunInput {
  const found = error instanceof Error ? error.message : String(error);
  return { kind: 'fault', atMs: clock.nowMs(), code, found };
}
