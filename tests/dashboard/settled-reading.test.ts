/** The reading that an ammeter is corrected by: settled, and of the current that flows now. */

import { describe, expect, it } from 'vitest';
import { SettledReading } from '../../dashboard/setup/settled-reading.ts';
import { tankSnapshot } from '../web/fixture.ts';

const { facts } = tankSnapshot();
const stepAmps = 0.001;
const bench = () => {
  const settled = new SettledReading();
  let wallMs = 0;
  const see = (amps: number, runId = 'one', output: 'on' | 'confirmedOff' = 'on', id = 'tank') => {
    wallMs += 250;
    return settled.see({ id, facts, output, reading: { wallMs, amps }, run: { id: runId } });
  };
  const again = (amps: number) =>
    settled.see({ id: 'tank', facts, output: 'on', reading: { wallMs, amps }, run: { id: 'one' } });
  return { see, again, amps: () => settled.amps(stepAmps) };
};

describe('a settled reading', () => {
  it('is the mean of the last four, once they agree within a hundredth', () => {
    const on = bench();
    for (const amps of [0, 0.1, 0.3, 0.44, 0.45, 0.451]) {
      on.see(amps);
      expect(on.amps()).toBeNull();
    }
    on.see(0.45);
    // From 0.440 to 0.451 is more than a hundredth.
    expect(on.amps()).toBeNull();
    on.see(0.449);
    expect(on.amps()).toBeCloseTo(0.45, 9);
    on.see(0.3);
    expect(on.amps()).toBeNull();
  });

  it('bears the last digit of a small current', () => {
    const on = bench();
    on.see(0.02);
    for (const amps of [0.02, 0.021, 0.022, 0.02]) on.see(amps);
    expect(on.amps()).toBeCloseTo(0.02075, 9);
  });

  it('counts no reading twice, however often the page is drawn', () => {
    const on = bench();
    on.see(0.45);
    on.see(0.45);
    for (let count = 0; count < 10; count += 1) on.again(0.45);
    expect(on.amps()).toBeNull();
  });

  it.each([
    ['another current begins', ['two', 'on', 'tank'], true],
    ['the output goes off', ['one', 'confirmedOff', 'tank'], false],
    ['another tank is looked at', ['one', 'on', 'shelf'], true],
  ] as const)('begins anew when %s', (_what, [runId, output, id], isOther) => {
    const on = bench();
    for (let count = 0; count < 5; count += 1) on.see(0.45);
    expect(on.amps()).toBeCloseTo(0.45, 9);
    expect(on.see(0.45, runId, output, id)).toBe(isOther);
    expect(on.amps()).toBeNull();
    expect(on.see(0.45, runId, output, id)).toBe(false);
  });
});
