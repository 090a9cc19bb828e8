/** What the journal of a tank needs of the rest of control. */

import type { Posting, StoreWriter } from '../store/door.ts';
import type { AlertMessage } from '../wire/alerts.ts';
import type { ControlMessage } from '../wire/command.ts';
import type { TankClock } from './clock.ts';

export interface JournalParts {
  readonly settings: { readonly id: string; readonly name: string };
  readonly rectifier: { readonly simulated: boolean };
  readonly clock: TankClock;
  readonly store: StoreWriter;
  readonly alerts: AlertsOut;
  readonly publish: (message: ControlMessage) => void;
  readonly onSettled: () => void;
}

/** What is said outside, of alarms and of the ends of runs. */
export interface AlertsOut {
  /** Says it at once; the answer is what belongs on disk with its event. */
  post(message: AlertMessage, alarmId: number | null): Posting;
  /** It is on disk, under this alarm. */
  stored(messageId: string, alarmId: number | null): void;
  /** Nothing more is said of this alarm. */
  acknowledged(alarmId: number): void;
  /** The piece was turned, or no run is there to turn it for. */
  noTurnDue(tankId: string): void;
}
