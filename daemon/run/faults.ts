/** What each fault means and what to do about it, in the maker's words. The code is the identity. */

import type { Fault, FaultCode } from './model.ts';

interface FaultWords {
  readonly title: string;
  readonly cause: string;
  readonly remedy: string;
}

/** Remedies start with what is safe to do first. The output is already off when they are read. */
export const faultWords: Readonly<Record<FaultCode, FaultWords>> = {
  overCurrent: {
    title: 'Too much current',
    cause: 'More current flowed than the run allows: a short, or a supply that does not regulate.',
    remedy:
      'Look for metal touching metal in the bath and at the leads. Check the supply into a resistor before the next run.',
  },
  overVoltage: {
    title: 'Too much voltage',
    cause:
      'The voltage rose above the limit: a poor contact, a used-up or filmed anode, or too little bath.',
    remedy:
      'Check the contact at the piece, the anode and its area, and that both are well covered by the bath.',
  },
  openCircuit: {
    title: 'Open circuit',
    cause:
      'Voltage stands but no current flows: a lead is off, the piece or the anode is out of the bath, or the paint does not conduct.',
    remedy:
      'Check the leads, the hanger and the contact. Measure the paint from the contact to the far end.',
  },
  shortCircuit: {
    title: 'Short circuit',
    cause: 'Current flows with almost no voltage: the piece or its lead touches the anode.',
    remedy: 'Part the piece and the anode, look for fallen wire, and tie the leads down.',
  },
  notFollowing: {
    title: 'Current does not follow',
    cause:
      'The measured current stays away from the set-point: the supply has reached its voltage limit, or something else sets it.',
    remedy:
      'Check the contact, the anode and the paint. If the voltage is at its limit, the circuit has too much resistance.',
  },
  noCharge: {
    title: 'No charge accumulating',
    cause: 'The run has been on for a while, yet hardly any charge has passed.',
    remedy: 'Check that the output is really on and that the piece is connected and in the bath.',
  },
  setPointChanged: {
    title: 'Set-point changed at the supply',
    cause:
      'The supply reads back another set-point than the one it was given: a knob was turned, or another program talks to it.',
    remedy: 'Leave the front panel alone during a run. Lock it if the supply can.',
  },
  outputFoundOff: {
    title: 'Output found off',
    cause:
      'The supply says that its output is off although it was switched on: its key was pressed, or it switched itself off.',
    remedy: 'Ask who pressed the key. Look at the supply’s own display for a message.',
  },
  outputFoundOn: {
    title: 'Output on that nothing asked for',
    cause:
      'The supply shows an output that is on, or current that flows, while it should be off: its key was pressed, another program talks to it, or its relay does not open.',
    remedy:
      'Look at the bench. If the output does not go off, switch the supply off by hand and part the leads.',
  },
  supplyRestarted: {
    title: 'Supply restarted',
    cause:
      'The supply was switched on again in mid-run: a mains dip, a loose plug, or its own reset.',
    remedy:
      'Check the mains lead and the socket. Its settings may be back at the maker’s defaults.',
  },
  supplyTripped: {
    title: 'Supply tripped',
    cause: 'A protection inside the supply switched the output off.',
    remedy: 'Find what raised the current or the voltage, then clear the trip at the supply.',
  },
  stuckReading: {
    title: 'Reading is stuck',
    cause:
      'The set-point moved but the measured values have not changed by a digit: the meter or the link repeats itself.',
    remedy: 'Switch the supply off and on. If it happens again, do not leave it alone.',
  },
  silence: {
    title: 'Supply does not answer',
    cause: 'No valid reading came for too long: the cable, the adapter, or the supply itself.',
    remedy:
      'Switch the supply off by hand if the output is not confirmed off. Then check cable and adapter.',
  },
  tooLong: {
    title: 'Longest time reached',
    cause: 'The run has taken longer than its plan allows.',
    remedy:
      'Compare the charge with the plan: the current was lower than planned for part of the night.',
  },
  tooMuchCharge: {
    title: 'Largest charge reached',
    cause: 'More charge may have passed than the plan allows.',
    remedy: 'Measure the piece before going on.',
  },
  clockGap: {
    title: 'The computer was asleep',
    cause: 'Time passed in which nothing was measured; the output is assumed to have stayed on.',
    remedy: 'Measure the piece. Switch the computer’s sleep off before the next night.',
  },
  programRefused: {
    title: 'Supply refused a setting',
    cause: 'A set-point was refused, or was read back as something else.',
    remedy: 'Check the dialect and the supply’s limits in the settings.',
  },
  outputRefused: {
    title: 'Output would not switch on',
    cause: 'The supply did not confirm that its output is on.',
    remedy: 'Look at the supply’s display: a standing protection, an interlock or a locked panel.',
  },
  wrongDevice: {
    title: 'Another device answers',
    cause: 'The device on this line is not the supply that the run was started with.',
    remedy: 'Check which supply is plugged in where; use the by-id path in the settings.',
  },
  controlLost: {
    title: 'The control process was lost',
    cause: 'The program that runs the tank died or hung and was replaced.',
    remedy: 'Check that the output is off. Keep the log and report what happened.',
  },
  databaseLost: {
    title: 'The log cannot be written',
    cause: 'The database failed: a full disk, a removed drive, or a damaged file.',
    remedy: 'Make room or replace the drive. What was recorded until then is kept.',
  },
  databaseDamaged: {
    title: 'The log was damaged',
    cause:
      'The file did not hold together: a failing disk, a copy made while it was written, or a power cut on a disk that does not keep what it has confirmed.',
    remedy:
      'Nothing is lost that can still be read: the damaged file is kept. Stop Nightbath and restore the newest backup (nightbath restore). Have an eye on that disk.',
  },
  sentinelLost: {
    title: 'Nobody is watching',
    cause:
      'The sentinel, which switches off when the control process dies, cannot guard this tank or hangs.',
    remedy:
      'Start Nightbath anew. If that does not help, see whether another program holds the port.',
  },
  offUnconfirmed: {
    title: 'Cannot confirm that the output is off',
    cause: 'OFF was sent but the supply has not confirmed it.',
    remedy: 'Go to the bench now and switch the supply off by hand.',
  },
  paintNotCovering: {
    title: 'The paint is not covering',
    cause: 'The first stage is long over, yet the current still does not reach its set-point.',
    remedy: 'Add a contact, recoat thin places, and start again at a low current.',
  },
  bathTooWarm: {
    title: 'Bath too warm',
    cause:
      'The bath is warmer than the limit set for it: a heater that stays on, sun on the tank, or much current in little bath.',
    remedy:
      'Switch the heater off and let the bath cool. Check the sensor with a thermometer of its own.',
  },
  bathTooCold: {
    title: 'Bath too cold',
    cause:
      'The bath is colder than the limit set for it: the heater is off, or the room cooled down.',
    remedy: 'Check the heater and the room. A cold bath deposits more coarsely, and less evenly.',
  },
  levelTooLow: {
    title: 'Bath too low',
    cause: 'The bath stands below its mark: it leaks, or water has evaporated.',
    remedy:
      'Look for a leak first. See that the piece is still covered, and top up with distilled water while no current flows.',
  },
  levelTooHigh: {
    title: 'Bath too high',
    cause: 'The bath stands above its mark: something was added, or the sensor has slipped.',
    remedy: 'See that nothing runs over, and that leads and clips are clear of the bath.',
  },
  sensorMissing: {
    title: 'A sensor is missing',
    cause: 'A sensor of the bath sends nothing, or nothing that is a number in its range.',
    remedy: 'Check its cable and its supply. Until it is back, nobody watches what it measured.',
  },
};

/** A fault with its words, from its code and the sentence that says what was found. */
export function faultOf(code: FaultCode, atMs: number, found: string): Fault {
  const { cause, remedy } = faultWords[code];
  return { code, atMs, found, cause, remedy };
}
