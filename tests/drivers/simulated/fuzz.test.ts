/** Anything may come down the line: the supply must neither throw nor hang nor leave its limits. */

import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createInstrument } from '../../../drivers/simulated/instrument.ts';
import { personalities } from '../../../drivers/simulated/model.ts';
import { parseUnit, splitOutside } from '../../../drivers/simulated/language/message.ts';
import { Talk } from './harness.ts';

const byte = fc.integer({ min: 0, max: 255 }).map((code) => String.fromCharCode(code));
const noise = fc.array(byte, { maxLength: 60 }).map((bytes) => bytes.join(''));
const pieces = fc.constantFrom(
  ...'VOLT CURR OUTP MEAS PROT STAT SYST:ERR? *ESE *IDN : ; ? , ( ) @ (@1) " \' 1 .5 E - +'.split(
    ' ',
  ),
  ...'#H MAX ON OFF mV 1e999 VSET1: ISET1: OUT1 OUT0 STATUS? 01.20 0.450'.split(' '),
  ' ',
  '\r',
  '\n',
);
const almost = fc.array(pieces, { maxLength: 25 }).map((parts) => parts.join(''));
const chunk = fc.tuple(fc.oneof(noise, almost), fc.integer({ min: 0, max: 500 }));

describe('random bytes', () => {
  it.each(personalities)('never upset a %s supply', (personality) => {
    fc.assert(
      fc.property(fc.array(chunk, { maxLength: 12 }), (chunks) => {
        const instrument = createInstrument({ personality });
        let nowMs = 0;
        for (const [bytes, pauseMs] of chunks) {
          instrument.receive(bytes, nowMs);
          nowMs += pauseMs;
          const reply = instrument.take(nowMs);
          expect(reply.length).toBeLessThan(20_000);
        }
        const { highestSetVolts, highestSetAmps, setVolts, amps } = instrument.truth(nowMs);
        expect(highestSetVolts).toBeLessThanOrEqual(31);
        expect(highestSetAmps).toBeLessThanOrEqual(10);
        expect(Number.isFinite(setVolts) && Number.isFinite(amps)).toBe(true);
      }),
      { numRuns: 400, seed: 20 },
    );
  });

  it.each([
    ['scpi-subsystem', '*IDN?\n'],
    ['scpi-channel-list', '*IDN?\n'],
    ['vset-iset', 'ID?\r\n'],
  ] as const)('leave a %s supply ready for the next whole line', (personality, identify) => {
    fc.assert(
      fc.property(fc.oneof(noise, almost), (bytes) => {
        const talk = new Talk({ personality });
        talk.raw(bytes);
        talk.wait(5000).raw('\n');
        expect(talk.raw(identify)).toMatch(/^NIGHTBATH/u);
      }),
      { numRuns: 200, seed: 21 },
    );
  });
});

describe('the message parser', () => {
  it('gives a unit or an error for any text, and splits without losing a character', () => {
    fc.assert(
      fc.property(fc.oneof(noise, almost, fc.string({ maxLength: 200 })), (text) => {
        const units = splitOutside(text, ';');
        expect(units.join(';')).toBe(text);
        for (const unit of units) {
          const parsed = parseUnit(unit);
          expect('code' in parsed || parsed.header.mnemonics.length > 0).toBe(true);
        }
      }),
      { numRuns: 3000, seed: 22 },
    );
  });

  it('reads back any number that JavaScript writes', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (double) => {
        // A minus in front of a zero is not written.
        const value = double === 0 ? 0 : double;
        const parsed = parseUnit(`VOLT ${value}`);
        expect(parsed).toMatchObject({ parameters: [{ kind: 'number', value, unit: '' }] });
      }),
      { numRuns: 1000, seed: 23 },
    );
  });

  it('is not slowed down by long runs of one character', () => {
    for (const character of ['A', ':', ';', '(', '"', ' ', '1', '.', 'E', '#', '*', '?', ',']) {
      const parsed = parseUnit(`VOLT${character.repeat(500)} ${character.repeat(500)}`);
      expect(typeof parsed).toBe('object');
    }
  });
});
