/** Faults of the computer and its processes. */

import { anytime, between, current, logBetween, once, switched, type Row } from './row.ts';

/** The rows of the group `host`, in the catalogue's order. */
export const hostFaults: readonly Row[] = [
  [
    'shortStall',
    'benign',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.stall(between(random, 20, 400));
      return null;
    },
  ],
  [
    'longStall',
    'grave',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.stall(between(random, 400, 10_000));
      return null;
    },
  ],
  [
    'killed',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.killControl('died', 'The control process was ended by SIGKILL.');
      return null;
    },
  ],
  [
    'stopped',
    'grave',
    anytime,
    [],
    once,
    ({ host }) => {
      // Stopped for good: only whoever kills it ends this.
      host.stall(600_000);
      return null;
    },
  ],
  [
    'killedWhileStuckOn',
    'grave',
    current,
    ['off'],
    logBetween(5_000, 60_000),
    (world) => {
      // Nobody's OFF is obeyed for a while: the sentinel gives up, and the next control process has it.
      const end = switched('ignoresOff', () => ({}))(world);
      world.killControl('died', 'The control process was ended by SIGKILL.');
      return end;
    },
  ],
  [
    'killedWhileOffIsIgnored',
    'grave',
    current,
    ['off'],
    logBetween(5_000, 60_000),
    (world) => {
      // A run that is over, on a supply that does not obey: what flows on is seen by a process that dies.
      const end = switched('ignoresOff', () => ({}))(world);
      if (end === null) return null;
      let isObeyed = false;
      world.person.stop();
      world.host.after(between(world.random, 1_500, 20_000), () => {
        if (!isObeyed) world.killControl('died', 'The control process was ended by SIGKILL.');
      });
      return () => {
        isObeyed = true;
        end();
      };
    },
  ],
  [
    'suspended',
    'grave',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.suspend(1_000 * (8 * 3_600) ** random.uniform());
      return null;
    },
    ({ isOff }) => !isOff,
  ],
  [
    'rebooted',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.reboot(between(world.random, 8_000, 90_000));
      return null;
    },
  ],
  [
    'powerCut',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      const downMs = between(world.random, 10_000, 90_000);
      const back = { keepsOutput: false, bootMs: downMs / 2 };
      world.instrument.faults.set('restart', back, world.host.nowMs);
      world.reboot(downMs);
      return null;
    },
  ],
];
