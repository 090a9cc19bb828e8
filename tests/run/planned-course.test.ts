/** What a plan foresees over the whole run, with the changes in it: against Faraday's law and the plan itself. */

import { describe, expect, it } from 'vitest';
import { plannedCourse, stretchesOf } from '../../daemon/run/planned-course.ts';
import { foreseen } from '../../dashboard/run/planned.ts';
import { flat, idealCopper, pieceOf, planned } from './plan-fixtures.ts';

const hourMs = 3_600_000;

function plan(densityAmpsPerDm2: number, micrometres: number) {
  return planned({
    bath: idealCopper,
    request: {
      piece: pieceOf([flat(0.3)]),
      densityAmpsPerDm2,
      target: { kind: 'thickness', micrometres },
      start: { strikeShare: 0.5, strikeMinutes: 1, rampMinutes: 1 },
    },
  });
}

/**
 * µm an hour at 1 A/dm2, two electrons an atom: 1 A for 1 h on 1 dm2 leaves M Q / (n F) grams; by the
 * density of copper that is a volume on 100 cm2. 63.546 g/mol and 8.96 g/cm3 (CRC Handbook), F (CODATA).
 */
const gramsPerHour = (63.546 * 3600) / (2 * 96_485.33);
const perHour = (gramsPerHour / 8.96 / 100) * 10_000;

describe('a planned course', () => {
  it('ends at the target, at the time of the plan', () => {
    const one = plan(2, 20);
    const course = plannedCourse(stretchesOf(one, [], () => 0));
    expect(course.atMs[0]).toBe(0);
    expect(course.atMs.at(-1)).toBeCloseTo(one.durationMs, 3);
    expect(course.thicknessMicrometres.at(-1)).toBeCloseTo(20, 3);
    expect(course.amps.at(-1)).toBeCloseTo(0.6, 6);
    for (const [index, at] of course.atMs.entries()) {
      expect(at).toBeGreaterThanOrEqual(course.atMs[index - 1] ?? 0);
    }
  });

  it('grows in its hold as fast as Faraday’s law says, before and after a change of density', () => {
    const before = plan(2, 40);
    const after = plan(1, 40);
    const course = plannedCourse(
      stretchesOf(after, [{ atMs: 0.5 * hourMs, planBefore: before }], (atMs) =>
        atMs === 0 ? 0 : 12.5,
      ),
    );
    const rate = (fromMs: number, toMs: number) =>
      ((foreseen(course, toMs).thicknessMicrometres ?? 0) -
        (foreseen(course, fromMs).thicknessMicrometres ?? 0)) /
      ((toMs - fromMs) / hourMs);
    expect(rate(0.2 * hourMs, 0.4 * hourMs)).toBeCloseTo(2 * perHour, 1);
    expect(rate(0.6 * hourMs, 1 * hourMs)).toBeCloseTo(perHour, 1);
    expect(foreseen(course, 0.5 * hourMs + 1).thicknessMicrometres).toBeCloseTo(12.5, 2);
    expect(foreseen(course, 0.5 * hourMs - 1).amps).toBeCloseTo(0.6, 3);
    expect(foreseen(course, 0.5 * hourMs + 1).amps).toBeCloseTo(0.3, 3);
    expect(course.thicknessMicrometres.at(-1)).toBeCloseTo(40, 3);
  });

  it('foresees nothing outside of itself, and nothing of nothing', () => {
    const course = plannedCourse(stretchesOf(plan(2, 20), [], () => 0));
    const nothing = { amps: null, ampHours: null, thicknessMicrometres: null };
    expect(foreseen(course, -1)).toEqual(nothing);
    expect(foreseen(course, 1e12)).toEqual(nothing);
    const empty = { atMs: [], amps: [], ampHours: [], thicknessMicrometres: [] };
    expect(foreseen(empty, 0)).toEqual(nothing);
  });
});
