/** Faults of the supply itself: its switch, its regulation, its panel and its meters. */

import { anytime, between, current, forLong, logBetween, once, running, switched } from './row.ts';
import type { Row } from './row.ts';

/** The rows of the group `supply`, in the catalogue's order. */
export const supply: readonly Row[] = [
  [
    'ignoresOn',
    'grave',
    ['armed', 'starting', 'lifted'],
    [],
    forLong,
    switched('ignoresOn', () => ({})),
  ],
  [
    'ignoresOff',
    'grave',
    [...current, 'offReceived'],
    ['off'],
    logBetween(1_000, 60_000),
    switched('ignoresOff', () => ({})),
  ],
  ['ignoresSet', 'grave', anytime, [], forLong, switched('ignoresSet', () => ({}))],
  [
    'restart',
    'grave',
    anytime,
    ['wild'],
    once,
    ({ instrument, host, random, cable }) => {
      const keepsOutput = random.uniform() < 0.5;
      const bootMs = between(random, 20, 3_000);
      instrument.faults.set('restart', { keepsOutput, bootMs }, host.nowMs);
      cable.pump();
      return null;
    },
  ],
  [
    'currentRunsAway',
    'grave',
    current,
    ['wild'],
    forLong,
    switched('overCurrent', ({ random }) => ({ factor: between(random, 1.2, 3) })),
  ],
  [
    'voltageRunsAway',
    'grave',
    current,
    ['wild'],
    forLong,
    switched('overVoltage', ({ random }) => ({ excessVolts: between(random, 0.5, 5) })),
  ],
  [
    'knob',
    'grave',
    [...current, 'armed', 'lifted'],
    ['wild'],
    once,
    ({ instrument, host, random, tank }) => {
      const amps = (tank?.run?.state.confirmedAmps ?? 0.2) * between(random, 0.3, 1.6);
      const turned = random.uniform() < 0.7 ? { amps } : { volts: between(random, 0.2, 5) };
      instrument.faults.set('knob', turned, host.nowMs);
      return null;
    },
  ],
  [
    'outputKey',
    'grave',
    anytime,
    [],
    once,
    ({ instrument, host }) => {
      instrument.faults.set('outputKey', {}, host.nowMs);
      return null;
    },
  ],
  [
    'stuckMeter',
    'grave',
    [...running, 'starting'],
    ['meter', 'charge'],
    logBetween(20_000, 600_000),
    switched('stuckReading', () => ({})),
  ],
  [
    'noReading',
    'grave',
    anytime,
    ['meter', 'charge', 'line'],
    forLong,
    switched('badReading', ({ random }) => ({
      text: ['9.9E37', '9.91E37', 'NAN', 'INF', '', '-', '1e999'][random.whole(7)] ?? '9.9E37',
    })),
  ],
  [
    'deadMeter',
    'grave',
    ['on', 'striking', 'holding'],
    ['meter', 'charge'],
    forLong,
    switched('badReading', () => ({ text: '0.000' })),
  ],
  [
    'driftingMeter',
    'grave',
    ['on', 'striking', 'holding'],
    ['meter', 'charge'],
    logBetween(60_000, 6_000_000),
    switched('driftingMeter', ({ random }) => ({ ampsSharePerHour: between(random, -0.2, 0.2) })),
  ],
  [
    'weldedRelay',
    'grave',
    [...current, 'offReceived'],
    ['off'],
    logBetween(1_000, 60_000),
    switched('saysOff', () => ({ meterToo: false })),
  ],
  [
    'hiddenCurrent',
    'grave',
    current,
    ['off', 'hidden', 'charge', 'meter'],
    logBetween(1_000, 60_000),
    switched('saysOff', () => ({ meterToo: true })),
  ],
];
