/** I2 and I15: what must be so at the end of the night, when faults are healed and time has passed. */

import { isFinal, isPowered } from '../../../daemon/run/state.ts';
import type { Charge } from './charge.ts';
import type { Evidence } from './evidence.ts';
import type { OnDisk } from './on-disk.ts';
import type { Telling } from './telling.ts';

interface Others {
  readonly telling: Telling;
  readonly disk: OnDisk;
  readonly charge: Charge;
}

/** Judges control, the supply and the file of a night that is healed. */
export function judgeHealed(evidence: Evidence, { telling, disk, charge }: Others): void {
  const { parts, record, faults } = evidence;
  const { control, instrument, host, limits } = parts;
  const truth = instrument.truth(host.nowMs);
  const tank = control()?.tank ?? null;
  if (tank === null) {
    record.violated('I15', 'Control is not there although every fault is healed.');
    return;
  }
  const run = tank.run;
  const off = tank.output === 'confirmedOff' && !truth.outputOn;
  const lifecycle = run?.state.lifecycle ?? null;
  const over = lifecycle === null || isFinal(lifecycle) || lifecycle === 'armed';
  // Without a run nothing is switched: a key pressed at the panel is the maker's own business.
  const stray = run === null && truth.outputOn && telling.alarmCodes.has('outputFoundOn');
  const pressed = stray && faults.all.some(({ kind }) => kind.name === 'outputKey');
  const wanted = run !== null && isPowered(run.state.lifecycle) && truth.outputOn;
  const healthy = wanted || pressed;
  if (!(off && (over || lifecycle === 'lifted')) && !healthy) {
    record.violated(
      'I15',
      `healed, yet the run is ${lifecycle ?? 'none'}, control says ${tank.output}, the supply is ${truth.outputOn ? 'on' : 'off'}.`,
    );
  }
  if (truth.highestSetAmps > limits.maxAmps + 1e-9) {
    record.violated('I2', `A set-point of ${truth.highestSetAmps} A reached the supply.`);
  }
  if (truth.highestSetVolts > limits.maxVolts + 1e-9) {
    record.violated('I2', `A set-point of ${truth.highestSetVolts} V reached the supply.`);
  }
  disk.judgeFile();
  charge.judgeInterrupted();
}
