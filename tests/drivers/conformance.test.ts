/** The conformance kit against every shipped dialect on the simulated supply, and a real device. */

import { describe, expect, test } from 'vitest';
import { conformanceCases } from '../../drivers/conformance/cases.ts';
import { planCases, type ConformanceCase, type Deviation } from '../../drivers/conformance/kit.ts';
import { createRectifier, systemClock, type RectifierSpec } from '../../drivers/registry.ts';
import { personalities, type Personality } from '../../drivers/simulated/model.ts';
import type { Dialect } from '../../drivers/scpi/dialect-schema.ts';
import { dialect, shippedDialects } from './dialects.ts';
import { createSimulatedHarness } from './simulated-harness.ts';

/** What a dialect cannot do, and why. */
const deviations: Record<Personality, readonly Deviation[]> = {
  'scpi-subsystem': [],
  'scpi-channel-list': [],
  'vset-iset': [],
  'fixed-length': [
    {
      id: 'line-echo',
      reason: 'without a terminator an echo cannot be told from a reply',
    },
  ],
};

test('every shipped dialect is a shape of the simulated supply', () => {
  expect(shippedDialects).toEqual([...personalities].toSorted());
});

describe.each(personalities)('%s', (personality) => {
  const planned = planCases(conformanceCases, {
    simulated: true,
    deviations: deviations[personality],
    createHarness: () => createSimulatedHarness(personality),
  });
  for (const { name, run, notApplicable } of planned) {
    test(name, async () => {
      expect(notApplicable).toBeNull();
      await run();
    });
  }
});

/** The device that the environment names, if it names one. */
function connectedDevice(): { dialect: Dialect; link: RectifierSpec['link'] } | null {
  const tty = process.env['RECTIFIER_TTY'];
  const tcp = process.env['RECTIFIER_TCP'];
  if (tty === undefined && tcp === undefined) return null;
  const name = process.env['RECTIFIER_DIALECT'];
  if (name === undefined || !shippedDialects.includes(name)) {
    throw new Error(
      `RECTIFIER_DIALECT is ${name}; it must be one of ${shippedDialects.join(', ')}`,
    );
  }
  if (tty !== undefined) {
    return { dialect: dialect(name), link: { kind: 'serial', path: tty, baudRate: null } };
  }
  const { hostname, port } = new URL(`tcp://${tcp}`);
  return { dialect: dialect(name), link: { kind: 'tcp', host: hostname, port: Number(port) } };
}

const device = connectedDevice();
if (device !== null) {
  describe('the connected device', () => {
    const planned = planCases(conformanceCases, {
      simulated: false,
      deviations: [],
      createHarness: () =>
        Promise.resolve({
          clock: systemClock,
          bench: null,
          gentle: { volts: 1, amps: 0.05 },
          makeRectifier: (expectIdentity = null) =>
            createRectifier({
              ...device,
              driver: 'scpi',
              clock: systemClock,
              expectIdentity,
              hardLimits: { maxVolts: 2, maxAmps: 0.1 },
              simulated: false,
            }),
        }),
    });
    for (const { name, run, notApplicable } of planned) {
      if (notApplicable === null) test(name, run);
      else test.skip(`not applicable: ${name} (${notApplicable})`, run);
    }
  });
}

describe('the kit itself', () => {
  const passing: ConformanceCase = {
    id: 'passing',
    name: 'passes',
    needs: 'device',
    run: () => Promise.resolve(),
  };
  const failing: ConformanceCase = {
    id: 'failing',
    name: 'fails',
    needs: 'bench',
    run: () => Promise.reject(new Error('it does')),
  };
  const simulated = {
    simulated: true,
    createHarness: () => createSimulatedHarness('scpi-subsystem'),
  };

  test('a declared deviation must fail, or is stale', async () => {
    const [stale, held] = planCases([passing, failing], {
      ...simulated,
      deviations: [
        { id: 'passing', reason: 'it once failed' },
        { id: 'failing', reason: 'it cannot' },
      ],
    });
    await expect(stale?.run()).rejects.toThrow('remove it');
    await expect(held?.run()).resolves.toBeUndefined();
    expect(held?.name).toBe('deviates: fails (it cannot)');
  });

  test('a deviation from no case is refused', () => {
    const deviation = { id: 'nothing', reason: 'none' };
    expect(() => planCases([passing], { ...simulated, deviations: [deviation] })).toThrow(
      '"nothing"',
    );
  });

  test('a case that needs a bench is named as not applicable on a device', () => {
    const planned = planCases([passing, failing], {
      ...simulated,
      simulated: false,
      deviations: [],
    });
    expect(planned.map(({ notApplicable }) => notApplicable === null)).toEqual([true, false]);
  });

  test('ids of cases are unique', () => {
    const ids = conformanceCases.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
  });
});
