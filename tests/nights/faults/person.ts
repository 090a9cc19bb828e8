/** What people do at the page, at the bench and at the panel. */

import { between, forLong, logBetween, once, running, type Row } from './row.ts';

/** The rows of the group `operator`, in the catalogue's order. */
export const person: readonly Row[] = [
  [
    'doubleClick',
    'benign',
    ['boot'],
    [],
    forLong,
    ({ person: hands }) => hands.misbehave('doubleClick'),
  ],
  ['staleTab', 'benign', ['boot'], [], forLong, ({ person: hands }) => hands.misbehave('staleTab')],
  [
    'twoBrowsers',
    'benign',
    ['boot'],
    [],
    forLong,
    ({ person: hands }) => hands.misbehave('twoBrowsers'),
  ],
  ['unitSlip', 'benign', ['boot'], [], forLong, ({ person: hands }) => hands.misbehave('unitSlip')],
  [
    'usedByHand',
    'grave',
    ['boot'],
    [],
    logBetween(8_000, 90_000),
    (world) => {
      const { instrument, host, random, cable } = world;
      const press = (on: boolean): void => {
        instrument.faults.set('outputKey', { on }, host.nowMs);
        cable.pump();
      };
      const volts = between(random, 1, 3);
      instrument.faults.set('knob', { volts, amps: between(random, 0.1, 0.5) }, host.nowMs);
      press(true);
      return () => press(false);
    },
    // What is on in a run is the run's own, and stays so where control was lost over it.
    ({ tank, instrument, host }) => tank?.run == null && !instrument.glance(host.nowMs).outputOn,
  ],
  [
    'stopDuringArm',
    'grave',
    ['arming', 'starting', 'onReceived'],
    [],
    once,
    ({ person: hands }) => {
      hands.stop();
      return null;
    },
  ],
  [
    'stopsByHand',
    'benign',
    [...running, 'trickling', 'lifted'],
    [],
    once,
    ({ person: hands }) => {
      hands.stop();
      return null;
    },
  ],
  [
    'liftsByHand',
    'benign',
    [...running, 'trickling'],
    [],
    once,
    ({ person: hands, random }) => {
      hands.liftFor(between(random, 3_000, 60_000));
      return null;
    },
  ],
  [
    'stopBeforeOn',
    'grave',
    ['onWanted'],
    [],
    once,
    ({ person: hands }) => {
      hands.stop();
      return null;
    },
  ],
];
