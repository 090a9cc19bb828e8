/** The budgets of a run in figures for a person: rounded to the side that promises nothing. */

import { describe, expect, it } from 'vitest';
import { maxSilenceMsFor, reactionOf, timingFor } from '../../daemon/control/timing.ts';
import { aPlan } from '../run/a-run.ts';

function reaction(cycleMs: number, askedCycleMs: number, hungOffMs: number | null = 1_050) {
  const plan = aPlan();
  const limits = { ...plan.limits, maxSilenceMs: maxSilenceMsFor(cycleMs) };
  const timing = timingFor(cycleMs, askedCycleMs);
  return reactionOf({ plan: { ...plan, limits }, timing }, hungOffMs);
}

describe('how fast a bench acts', () => {
  it('is four readings a second, two seconds of silence, three to the alarm, on a quick supply', () => {
    expect(reaction(250, 250)).toEqual({
      readsPerSecond: 4,
      slowedBySupply: false,
      silentOffSeconds: 2,
      hungOffSeconds: 1.1,
      offAlarmSeconds: 3,
    });
  });

  it('follows a supply that is slower than what was asked for', () => {
    expect(reaction(500, 250, 1_850)).toEqual({
      readsPerSecond: 2,
      slowedBySupply: true,
      silentOffSeconds: 3.5,
      hungOffSeconds: 1.9,
      offAlarmSeconds: 3,
    });
  });

  it('is slow without blame where the settings ask for no more', () => {
    expect(reaction(1_000, 1_000)).toMatchObject({
      readsPerSecond: 1,
      slowedBySupply: false,
      silentOffSeconds: 7,
    });
  });

  it('never names a time that is shorter than it is', () => {
    // Three a second: 7 cycles are 2,333.3 ms.
    expect(reaction(1000 / 3, 1000 / 3)).toMatchObject({
      readsPerSecond: 3,
      silentOffSeconds: 2.4,
    });
    expect(reaction(300, 250, 3.2 * 375)).toMatchObject({
      readsPerSecond: 3.3,
      silentOffSeconds: 2.1,
      hungOffSeconds: 1.2,
    });
  });

  it('has no figure for a hang where the supply is in the process that hangs', () => {
    expect(reaction(250, 250, null).hungOffSeconds).toBeNull();
  });
});
