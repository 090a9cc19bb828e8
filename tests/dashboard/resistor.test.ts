/** A resistor on the leads bears what it is asked to bear, or nothing flows. Joule's law: P = I²R. */

import { describe, expect, it } from 'vitest';
import { heatWatts, resistorProblem } from '../../dashboard/setup/resistor.ts';

describe('a steady current through a resistor', () => {
  it('turns I²R into heat', () => {
    // Worked by hand: 0.2025 A² through 5 and 30 ohms; 1.5 A is the usual share of a 10 A tank.
    expect([heatWatts(0.45, 5), heatWatts(0.45, 30), heatWatts(1.5, 30)]).toEqual([
      expect.closeTo(1.0125, 9),
      expect.closeTo(6.075, 9),
      expect.closeTo(67.5, 9),
    ]);
  });

  it('is refused in words where the resistor does not bear it', () => {
    expect(resistorProblem(0.45, { ohms: 30, watts: 2 }, 30)).toMatch(
      /^0\.45 A turns 6\.1 W .*2 W/,
    );
    expect(resistorProblem(0.45, { ohms: 30, watts: 10 }, 30)).toBe('');
    expect(resistorProblem(0.45, { ohms: 5, watts: 2 }, 30)).toBe('');
    expect(resistorProblem(2, { ohms: 5, watts: 19.9 }, 30)).not.toBe('');
    expect(resistorProblem(2, { ohms: 5, watts: 20 }, 30)).toBe('');
  });

  it('is refused where the voltage of the tank cannot drive it', () => {
    expect(resistorProblem(0.45, { ohms: 30, watts: 10 }, 6)).toMatch(/13\.5 V .*6 V/);
  });

  it.each([
    [Number.NaN, 2],
    [5, Number.NaN],
    [0, 2],
    [5, -1],
  ])('asks for both: %s ohms and %s W', (ohms, watts) => {
    expect(resistorProblem(0.45, { ohms, watts }, 30)).toMatch(/^Enter the ohms/);
  });
});
