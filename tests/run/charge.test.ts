/** The charge count: exact where it can be known, declared where it cannot. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  addMeasurement,
  beginStretch,
  declareUnseen,
  endStretch,
  glimpse,
  nothingCarried,
  openLedger,
  type ChargeLedger,
} from '../../daemon/run/charge.ts';

const bound = { setAmps: 2, gapBoundMs: 1_500 };
const found = (amps: number) => ({ amps, setAmps: 2, stepAmps: 0.001 });

function run(points: readonly (readonly [atMs: number, amps: number])[]): ChargeLedger {
  let ledger = beginStretch(openLedger(nothingCarried), 0);
  for (const [atMs, amps] of points) ledger = addMeasurement(ledger, { atMs, amps, ...bound });
  return ledger;
}

describe('the charge ledger', () => {
  it('counts an ampere-hour at one ampere in an hour', () => {
    const points = Array.from({ length: 3_600 }, (_, index) => [(index + 1) * 1_000, 1] as const);
    const ledger = run(points);
    expect(ledger.ampHours).toBeCloseTo(1, 12);
    expect(ledger.gaps).toEqual([]);
  });

  it('is exact for a straight ramp, as the trapezoid rule is', () => {
    // 0 to 1 A over an hour is half an ampere-hour.
    const points = Array.from(
      { length: 3_601 },
      (_, index) => [index * 1_000, index / 3_600] as const,
    );
    let ledger = openLedger(nothingCarried);
    for (const [atMs, amps] of points) ledger = addMeasurement(ledger, { atMs, amps, ...bound });
    expect(ledger.ampHours).toBeCloseTo(0.5, 9);
  });

  it('declares a long stretch with nothing as the least and the set-point as the most', () => {
    const ledger = run([
      [1_000, 1],
      [11_000, 1],
    ]);
    expect(ledger.gaps).toHaveLength(1);
    expect(ledger.ampHours).toBeCloseTo(11 / 3_600, 12);
    expect(ledger.lowAmpHours).toBeCloseTo(1 / 3_600, 12);
    expect(ledger.highAmpHours).toBeCloseTo(1 / 3_600 + (2 * 10) / 3_600, 12);
  });

  it('counts until OFF was sent, and bounds it by the last reading and the confirmation', () => {
    const off = { askedAtMs: 1_200, sentAtMs: 1_200, confirmedAtMs: 1_300, ...bound };
    const ledger = endStretch(run([[1_000, 1]]), off);
    expect(ledger.ampHours).toBeCloseTo(1.2 / 3_600, 12);
    expect(ledger.lowAmpHours).toBeCloseTo(1 / 3_600, 12);
    expect(ledger.highAmpHours).toBeCloseTo(1.3 / 3_600, 12);
    expect(ledger.gaps).toEqual([]);
    expect(endStretch(ledger, { ...off, sentAtMs: 9_000, confirmedAtMs: 9_000 })).toBe(ledger);
  });

  it('declares a gap when OFF was long in being confirmed', () => {
    const ledger = endStretch(run([[1_000, 1]]), {
      askedAtMs: 1_250,
      sentAtMs: 1_250,
      confirmedAtMs: 11_000,
      ...bound,
    });
    expect(ledger.ampHours).toBeCloseTo(1.25 / 3_600, 12);
    expect(ledger.highAmpHours).toBeCloseTo(1 / 3_600 + (2 * 10) / 3_600, 12);
    expect(ledger.gaps).toHaveLength(1);
  });

  it('declares a gap where an earlier OFF may have been obeyed, however long a gap is elsewhere', () => {
    const off = { askedAtMs: 1_200, sentAtMs: 4_600, confirmedAtMs: 4_700, ...bound };
    const ledger = endStretch(run([[1_000, 1]]), { ...off, gapBoundMs: 6_000 });
    expect(ledger.lowAmpHours).toBeCloseTo(1 / 3_600, 12);
    expect(ledger.highAmpHours).toBeCloseTo(1 / 3_600 + (2 * 3.7) / 3_600, 12);
    expect(ledger.gaps).toMatchObject([{ fromMs: 1_000, toMs: 4_700, lowAmpHours: 0 }]);
  });

  it('counts nothing for time that the clock did not see, and bounds it', () => {
    const ledger = declareUnseen(run([[1_000, 1]]), 1_000, 3_600_000, 2);
    expect(ledger.ampHours).toBeCloseTo(1 / 3_600, 12);
    expect(ledger.highAmpHours - ledger.ampHours).toBeCloseTo(2, 12);
  });

  it('bounds it by what flowed last where that was above the set-point', () => {
    const ledger = declareUnseen(run([[1_000, 6]]), 1_000, 3_600_000, 2);
    expect(ledger.highAmpHours - ledger.ampHours).toBeCloseTo(6, 12);
    const none = declareUnseen(beginStretch(openLedger(nothingCarried), 0), 0, 3_600_000, 2);
    expect(none.highAmpHours).toBeCloseTo(2, 12);
  });

  it('bounds by what a look between measurements found beyond the set-point, until the next one', () => {
    const seen = glimpse(glimpse(run([[1_000, 1]]), found(6)), found(5));
    expect(seen).toMatchObject({ ampHours: 1 / 3_600, highAmpHours: 1 / 3_600, gaps: [] });
    const off = { askedAtMs: 1_200, sentAtMs: 1_900, confirmedAtMs: 2_000, ...bound };
    const ended = endStretch(seen, off);
    expect(ended.highAmpHours).toBeCloseTo((1 + 6) / 3_600, 12);
    expect(ended.gaps).toMatchObject([{ fromMs: 1_000, toMs: 2_000, lowAmpHours: 0 }]);
    const measured = addMeasurement(seen, { atMs: 2_000, amps: 1, ...bound });
    expect(measured.highAmpHours).toBeCloseTo((1 + 6) / 3_600, 12);
    expect(measured.gaps).toHaveLength(1);
    const slept = declareUnseen(seen, 1_000, 3_600_000, 2);
    expect(slept.highAmpHours - slept.ampHours).toBeCloseTo(6, 12);
    const later = addMeasurement(measured, { atMs: 3_000, amps: 1, ...bound });
    expect(later.gaps).toHaveLength(1);
    expect(later.highAmpHours - measured.highAmpHours).toBeCloseTo(1 / 3_600, 12);
  });

  it('takes no look for one that its set-point allows, or while no stretch is open', () => {
    const ledger = run([[1_000, 1]]);
    expect(glimpse(ledger, found(2.09))).toBe(ledger);
    const closed = openLedger(nothingCarried);
    expect(glimpse(closed, found(6))).toBe(closed);
  });

  it('takes no look for one that is two digits above its set-point, was measured, or is no number', () => {
    const small = { setAmps: 0.01, stepAmps: 0.001 };
    const ledger = run([[1_000, 0.01]]);
    expect(glimpse(ledger, { amps: 0.012, ...small })).toBe(ledger);
    expect(glimpse(ledger, { amps: 0.013, ...small }).glimpsedAmps).toBe(0.013);
    const measured = run([[1_000, 6]]);
    expect(glimpse(measured, found(6))).toBe(measured);
    expect(glimpse(measured, found(6.1)).glimpsedAmps).toBe(6.1);
    const fresh = beginStretch(openLedger(nothingCarried), 0);
    expect(glimpse(fresh, found(3)).glimpsedAmps).toBe(3);
    for (const amps of [Number.POSITIVE_INFINITY, Number.NaN, -6]) {
      expect(glimpse(ledger, found(amps))).toBe(ledger);
    }
  });

  it('never falls, never leaves its bounds, never turns into no number', () => {
    const point = fc.tuple(
      fc.integer({ min: 0, max: 20_000 }),
      fc.double({ min: -1, max: 5, noNaN: true }),
    );
    fc.assert(
      fc.property(fc.array(point, { maxLength: 60 }), (steps) => {
        let ledger = beginStretch(openLedger(nothingCarried), 0);
        let atMs = 0;
        for (const [stepMs, amps] of steps) {
          atMs += stepMs;
          const next = addMeasurement(ledger, { atMs, amps, ...bound });
          expect(next.ampHours).toBeGreaterThanOrEqual(ledger.ampHours);
          expect(next.lowAmpHours).toBeLessThanOrEqual(next.ampHours + 1e-12);
          expect(next.highAmpHours).toBeGreaterThanOrEqual(next.ampHours - 1e-12);
          ledger = next;
        }
      }),
    );
  });

  it('adds its gaps up to the difference of its bounds', () => {
    const ledger = run([
      [1_000, 1],
      [5_000, 0.5],
      [5_500, 1],
      [12_000, 1.5],
    ]);
    const lost = ledger.gaps.reduce((sum, gap) => sum + gap.highAmpHours - gap.lowAmpHours, 0);
    expect(ledger.highAmpHours - ledger.lowAmpHours).toBeCloseTo(lost, 12);
  });
});

describe('a stretch of which nothing was measured', () => {
  const hours = (ms: number): number => ms / 3_600_000;

  it('from ON to OFF counts nothing, and may have been the set-point throughout', () => {
    const begun = beginStretch(openLedger(nothingCarried), 1_000);
    const end = { askedAtMs: 1_100, sentAtMs: 1_100, confirmedAtMs: 1_250, ...bound };
    const ledger = endStretch(begun, end);
    expect(ledger).toMatchObject({ ampHours: 0, lowAmpHours: 0 });
    expect(ledger.highAmpHours).toBeCloseTo(2 * hours(250), 12);
    expect(ledger.gaps).toEqual([
      { fromMs: 1_000, toMs: 1_250, lowAmpHours: 0, highAmpHours: ledger.highAmpHours },
    ]);
  });

  it('before the first reading finds the output off may have been the set-point throughout', () => {
    const begun = beginStretch(openLedger(nothingCarried), 1_000);
    const found = addMeasurement(begun, { atMs: 1_300, amps: 0, cut: true, ...bound });
    expect(found).toMatchObject({ ampHours: 0, lowAmpHours: 0 });
    expect(found.highAmpHours).toBeCloseTo(2 * hours(300), 12);
    // The next reading still finds it off: there is no more to declare.
    const again = addMeasurement(found, { atMs: 1_550, amps: 0, cut: true, ...bound });
    expect(again.highAmpHours).toBe(found.highAmpHours);
    expect(again.gaps).toHaveLength(1);
  });

  it('in a run is bounded by what was seen last where the output is found off', () => {
    const ledger = addMeasurement(run([[1_000, 1]]), { atMs: 1_250, amps: 0, cut: true, ...bound });
    expect(ledger.ampHours).toBeCloseTo(hours(1_125), 12);
    expect(ledger.lowAmpHours).toBeCloseTo(hours(1_000), 12);
    expect(ledger.highAmpHours).toBeCloseTo(hours(1_250), 12);
  });
});
