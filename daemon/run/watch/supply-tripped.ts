/** A protection inside the supply has tripped. */

import { well, type WatchRule } from './rule.ts';

const names: Readonly<Record<string, string>> = {
  overVoltage: 'over-voltage',
  overCurrent: 'over-current',
  overPower: 'over-power',
  overTemperature: 'over-temperature',
};

export const supplyTripped: WatchRule = {
  code: 'supplyTripped',
  judge(memory, view) {
    const trips = view.reading.supplyTrips;
    if (trips.length === 0) return well;
    const list = trips.map((trip) => names[trip] ?? trip).join(' and ');
    return { memory, found: `The supply reports its ${list} protection.` };
  },
};
