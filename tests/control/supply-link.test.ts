/** The engine's own word at the line: no set-point above the tank's limits, no reading without numbers. */

import { describe, expect, it, vi } from 'vitest';
import { realClock } from '../../daemon/control/clock.ts';
import { SupplyLink } from '../../daemon/control/supply-link.ts';
import type { Rectifier, RectifierReading, SetPoints } from '../../drivers/contract.ts';

const reading: RectifierReading = {
  volts: 1,
  amps: 0.5,
  outputOn: true,
  regulation: 'constantCurrent',
  supplyTrips: [],
  setVolts: null,
  setAmps: null,
  restarted: false,
};

/** A driver of the maker's own that checks nothing. */
function trustingDriver(read: RectifierReading = reading) {
  const program = vi.fn(({ volts, amps }: SetPoints) =>
    Promise.resolve({ volts, amps, overVoltageVolts: null, overCurrentAmps: null }),
  );
  const rectifier = { program, read: () => Promise.resolve(read) } as unknown as Rectifier;
  const link = new SupplyLink(rectifier, realClock, { maxAmps: 2, maxVolts: 6 });
  return { link, program };
}

describe('a set-point', () => {
  it.each([
    [{ volts: 6.001, amps: 1 }, 'A voltage set-point of 6.001 V is not between 0 and the limit'],
    [{ volts: 3, amps: 2.001 }, 'A current set-point of 2.001 A is not between 0 and the limit'],
    [{ volts: Number.NaN, amps: 1 }, 'NaN V'],
    [{ volts: 3, amps: Number.POSITIVE_INFINITY }, 'Infinity A'],
    [{ volts: -1, amps: 1 }, '-1 V'],
  ])('%j never reaches the driver', async (setPoints, message) => {
    const { link, program } = trustingDriver();
    await expect(link.program(setPoints)).rejects.toThrow(message);
    expect(program).not.toHaveBeenCalled();
  });

  it('at the limits does', async () => {
    const { link } = trustingDriver();
    expect(await link.program({ volts: 6, amps: 2 })).toMatchObject({ volts: 6, amps: 2 });
  });
});

describe('a reading', () => {
  it.each([[{ amps: Number.NaN }], [{ volts: Number.POSITIVE_INFINITY }]])(
    'with %j is none',
    async (changes) => {
      const { link } = trustingDriver({ ...reading, ...changes });
      await expect(link.read()).rejects.toMatchObject({ kind: 'garbled' });
    },
  );
});

describe('how fast the supply answers', () => {
  it('is the median of its last readings, and nothing before the first', async () => {
    let nowMs = 0;
    const clock = { ...realClock, nowMs: () => nowMs };
    let takesMs = 40;
    const read = () => {
      nowMs += takesMs;
      return Promise.resolve(reading);
    };
    const link = new SupplyLink({ read } as unknown as Rectifier, clock, {
      maxAmps: 2,
      maxVolts: 6,
    });
    expect(link.answerMs).toBeNull();
    await link.read();
    expect(link.answerMs).toBe(40);
    // One that is slow once is not slow; one that has become slow is.
    takesMs = 900;
    await link.read();
    takesMs = 40;
    await link.read();
    expect(link.answerMs).toBe(40);
    takesMs = 300;
    for (let more = 0; more < 9; more += 1) await link.read();
    expect(link.answerMs).toBe(300);
  });
});
