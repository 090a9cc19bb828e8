/** What a tank is given: its settings, its supply, and the ways out of it. */

import type { Rectifier } from '../../drivers/contract.ts';
import type { Bath } from '../chemistry/model.ts';
import type { Plan } from '../run/model.ts';
import type { TankSettings } from '../settings/model.ts';
import type { StoreWriter } from '../store/door.ts';
import type { ControlMessage } from '../wire/command.ts';
import type { TankClock } from './clock.ts';
import type { Guardian } from './guardian.ts';
import type { AlertsOut } from './journal-parts.ts';
import type { OpenSensor } from './sensor-desk.ts';
import type { ActiveRun } from './snapshot.ts';

export interface TankNeeds {
  readonly settings: TankSettings;
  readonly bath: Bath;
  readonly rectifier: Rectifier;
  readonly clock: TankClock;
  readonly store: StoreWriter;
  readonly guardian: Guardian;
  /** What is said outside. */
  readonly alerts: AlertsOut;
  readonly publish: (message: ControlMessage) => void;
  /** Shows a simulated bath the piece that is planned for it; nothing on a real one. */
  readonly hang: (plan: Plan) => void;
  /** Called when current flows for the first time, once that is on its way to the log. */
  readonly onStarted: (run: ActiveRun) => void;
  /** Called when runs of a former process have been settled in the log. */
  readonly onSettled: () => void;
  /** How its sensors are come to; left out, over the lines in its settings. */
  readonly openSensor?: OpenSensor | undefined;
  /** Called after each completed tick. */
  readonly judged: (tankId: string) => void;
}
