/** What the sentinel is told of a tank with each beat, and of a run when it is armed. */

import type { RunBounds, TankReport } from '../wire/process.ts';
import type { RunRecord } from '../wire/run.ts';
import { holdsOutput } from './snapshot.ts';
import type { Tank } from './tank.ts';

export function reportOf(tank: Tank): TankReport {
  const { run, output, lastReading } = tank;
  const state = run !== null && holdsOutput(run) ? run.state : null;
  const reading = output === 'confirmedOff' ? null : (lastReading?.reading ?? null);
  return {
    tankId: tank.id,
    runId: state === null ? null : (run?.record.id ?? null),
    output,
    switchedOn: tank.link.switchedOn,
    amps: reading?.amps ?? null,
    askedAmps: state?.commandedAmps ?? null,
    askedVolts: state?.plan.limits.setVolts ?? null,
    readAmps: reading?.setAmps ?? null,
    readVolts: reading?.setVolts ?? null,
  };
}

/** The charge that is carried over has flowed in another run. */
export function boundsOf({ id, plan, carriedAmpHours }: RunRecord): RunBounds {
  const { maxAmps, maxVolts, maxDurationMs, maxChargeAmpHours } = plan.limits;
  return {
    runId: id,
    maxAmps,
    maxVolts,
    maxDurationMs,
    maxChargeAmpHours: maxChargeAmpHours - carriedAmpHours,
  };
}
