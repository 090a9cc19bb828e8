/** Random replies: every call ends in a value or a typed error, soon, and the driver lives on. */

import { array, assert, asyncProperty, constantFrom, oneof, string } from 'fast-check';
import { describe, expect, test } from 'vitest';
import { RectifierError, type Rectifier } from '../../drivers/contract.ts';
import { createRectifier } from '../../drivers/registry.ts';
import { createInstrument } from '../../drivers/simulated/instrument.ts';
import { personalities, type Personality } from '../../drivers/simulated/model.ts';
import type { Instrument } from '../../drivers/link/in-process.ts';
import { dialect } from './dialects.ts';
import { VirtualClock } from './virtual-clock.ts';

/** Passes everything on, but answers from a list of random texts while there are any. */
class Babbler implements Instrument {
  texts: string[] = [];
  readonly #instrument: Instrument;

  constructor(instrument: Instrument) {
    this.#instrument = instrument;
  }

  receive(bytes: string, nowMs: number): void {
    this.#instrument.receive(bytes, nowMs);
  }

  nextDueMs(): number | null {
    return this.#instrument.nextDueMs();
  }

  take(nowMs: number): string {
    const bytes = this.#instrument.take(nowMs);
    return bytes === '' ? '' : (this.texts.shift() ?? bytes);
  }
}

const anyByte = Array.from({ length: 256 }, (_, byte) => String.fromCharCode(byte));
const text = oneof(
  string({ unit: constantFrom(...anyByte), maxLength: 700 }),
  string({ unit: constantFrom('0', '1', '9', '.', ';', '+', 'E', '-', '\n', '\r'), maxLength: 40 }),
  constantFrom('1;2;3\n', '9.9E37\n', '**ERROR: -113,"x"\n', '0\n0\n', '', '1e999\n', '\0\0\0\n'),
);

async function survives(call: Promise<unknown>): Promise<void> {
  const startMs = performance.now();
  try {
    await call;
  } catch (error) {
    expect(error).toBeInstanceOf(RectifierError);
  }
  // The wall time of a call in virtual time is its work; the bound allows for a busy machine.
  expect(performance.now() - startMs).toBeLessThan(1000);
}

async function babbling(personality: Personality) {
  const clock = new VirtualClock();
  const instrument = createInstrument({ personality });
  const babbler = new Babbler(instrument);
  const rectifier: Rectifier = await createRectifier({
    driver: 'scpi',
    dialect: dialect(personality),
    link: { kind: 'in-process', instrument: babbler },
    clock,
    expectIdentity: null,
    hardLimits: { maxVolts: 6, maxAmps: 2 },
    simulated: true,
  });
  return { clock, babbler, rectifier, truth: () => instrument.truth(clock.nowMs()) };
}

describe.each(personalities)('%s', (personality) => {
  test('survives random replies to any call, and works when they end', async () => {
    const { clock, babbler, rectifier, truth } = await babbling(personality);
    const calls: (() => Promise<unknown>)[] = [
      () => rectifier.read(),
      () => rectifier.program({ volts: 3, amps: 0.25 }),
      () => rectifier.on(),
      () => rectifier.off(),
      () => rectifier.connect(),
    ];
    await rectifier.connect();
    await assert(
      asyncProperty(array(text, { maxLength: 12 }), constantFrom(...calls), async (texts, call) => {
        babbler.texts = texts;
        const startMs = clock.nowMs();
        await survives(call());
        expect(clock.nowMs() - startMs).toBeLessThan(10_000);
        babbler.texts = [];
        if (!rectifier.isConnected) await rectifier.connect();
        const reading = await rectifier.read();
        expect(Number.isFinite(reading.volts) && Number.isFinite(reading.amps)).toBe(true);
      }),
      { numRuns: 300 },
    );
    expect(await rectifier.off()).toMatchObject({ confirmed: true });
    expect(truth().highestSetVolts).toBeLessThanOrEqual(6);
    expect(truth().highestSetAmps).toBeLessThanOrEqual(2);
  });
});
