/** The parts of a simulated night that faults may reach for. */

import type { SimulatedInstrument } from '../../drivers/simulated/instrument.ts';
import type { RandomStream } from '../../drivers/simulated/random.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import type { Cable } from './cable.ts';
import type { Disk } from './disk.ts';
import type { Outside } from './outside.ts';
import type { Host } from './host.ts';
import type { Person } from './person.ts';
import type { Sentinel } from './sentinel.ts';

/** Moments of a night at which a fault may begin. */
export type Moment =
  | 'boot'
  | 'arming'
  | 'armed'
  | 'starting'
  | 'onWanted'
  | 'onReceived'
  | 'on'
  | 'striking'
  | 'ramping'
  | 'holding'
  | 'trickling'
  | 'lifted'
  | 'offReceived'
  | 'ended';

/** What a fault may do to a night. */
export interface World {
  readonly host: Host;
  readonly instrument: SimulatedInstrument;
  readonly cable: Cable;
  readonly disk: Disk;
  readonly outside: Outside;
  readonly sentinel: Sentinel;
  readonly person: Person;
  readonly random: RandomStream;
  /** Control's view of the tank; null while there is none. Faults look at it for their size only. */
  readonly tank: Tank | null;
  /** The computer is down; nothing runs on it and nothing sleeps. */
  readonly isOff: boolean;
  /** The control process ends at once, in whatever it is doing. */
  killControl(cause: 'died' | 'hung', found: string): void;
  /** All processes of the computer end, and it comes up again after so long. */
  reboot(downMs: number): void;
  /** The sentinel ends; control sees that, and a service manager starts both anew after so long. */
  loseSentinel(downMs: number, controlToo: boolean): void;
}
