/** Sensor curves: live values join what the log knows, and a curve fills its picture. */

import { describe, expect, it } from 'vitest';
import { curvePoints, withLive } from '../../dashboard/sensors.ts';
import type { LiveSensor, SensorTrace } from '../../daemon/wire/sensors.ts';

const about = { id: 'bath', name: 'Bath', kind: 'temperature', unit: '°C' } as const;
const trace: SensorTrace = { ...about, atMs: [0, 5_000, 10_000], values: [20, 22, 21] };
const live: LiveSensor = { ...about, value: 23, state: 'well', message: '', low: null, high: 28 };

describe('a live value', () => {
  it('joins its curve once the last point is five seconds old', () => {
    expect(withLive([trace], [live], 14_000)).toEqual([trace]);
    const [grown] = withLive([trace], [live], 15_000);
    expect(grown?.atMs).toEqual([0, 5_000, 10_000, 15_000]);
    expect(grown?.values).toEqual([20, 22, 21, 23]);
  });

  it('begins a curve, and adds nothing while there is none', () => {
    expect(withLive([], [live], 250)).toEqual([{ ...about, atMs: [250], values: [23] }]);
    expect(withLive([], [{ ...live, value: null }], 250)).toEqual([]);
    expect(withLive([trace], undefined, 60_000)).toEqual([trace]);
  });
});

describe('a curve', () => {
  it('runs from its least at the foot to its most at the top, over the time of the run', () => {
    expect(curvePoints(trace, 20_000)).toBe('0.0,60.0 150.0,4.0 300.0,32.0');
  });

  it('of one value lies in the middle', () => {
    const flat = { ...trace, values: [20, 20, 20] };
    expect(curvePoints(flat, 10_000)).toBe('0.0,32.0 300.0,32.0 600.0,32.0');
  });
});
