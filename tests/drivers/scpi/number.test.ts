/** Numbers on the wire. The forms are those of IEEE 488.2 (NR1, NR2, NR3, NRf), from memory. */

import { assert, constantFrom, double, integer, property } from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Setting, ValueQuery } from '../../../drivers/scpi/dialect-schema.ts';
import {
  checkNumber,
  numberOf,
  parseInteger,
  roundToStep,
  settingText,
  showReply,
} from '../../../drivers/scpi/number.ts';

const plain: ValueQuery = { send: 'VOLT?', scale: 1, untilIdle: false, strayBytes: 0 };

function setting(parts: Partial<Setting>): Setting {
  return { send: 'VOLT {v}', digits: 3, scale: 1, ...parts };
}

describe('reading', () => {
  test.each([
    ['3', 3],
    ['+3', 3],
    ['-0.25', -0.25],
    ['3.33', 3.33],
    ['03.33', 3.33],
    ['.5', 0.5],
    ['5.', 5],
    ['+1.234000E+00', 1.234],
    ['1.2e-3', 0.0012],
    ['3.3001V', 3.3001],
    ['0.4500 A', 0.45],
  ])('%s is a number', (text, value) => {
    expect(numberOf(plain, text)).toBeCloseTo(value, 12);
  });

  test.each([
    '',
    ' ',
    'V',
    '1.2.3',
    '1,2',
    '1.2;0.3',
    '2500mV',
    '0x10',
    'Infinity',
    'NaN',
    '1e',
    '--1',
    '0.00**ERROR: -113',
    '1e999',
  ])('%j is not', (text) => {
    expect(() => checkNumber(plain, text)).toThrow(/VOLT\? was answered by .* not a number/);
  });

  // SCPI-1999 volume 1, 7.2.1.4 and 7.2.1.5: infinity 9.9E37, not a number 9.91E37; from memory.
  test.each(['9.9E37', '+9.90000E+37', '-9.9E37', '9.91E37'])('%s is no reading', (text) => {
    expect(() => checkNumber(plain, text)).not.toThrow();
    expect(() => numberOf(plain, text)).toThrow('no reading');
  });

  test('a pattern takes its group, and a scale its factor', () => {
    const query = { ...plain, pattern: '^(\\d{4})$', scale: 0.01 };
    expect(numberOf(query, '1234')).toBeCloseTo(12.34, 12);
    expect(() => checkNumber(query, '123')).toThrow('not a number');
  });

  test('a register is a whole number of 16 bits', () => {
    expect(parseInteger('+1024')).toBe(1024);
    expect(parseInteger('0')).toBe(0);
    expect(parseInteger('1.5')).toBeNull();
    expect(parseInteger('-1')).toBeNull();
    expect(parseInteger('65536')).toBeNull();
  });

  test('a reply is shown on one line, without control characters, cut short', () => {
    expect(showReply('a\nb\x00\xff')).toBe('"a\\nb\\u0000\\xff"');
    expect(showReply('x'.repeat(500)).length).toBeLessThan(70);
    expect(showReply('\0'.repeat(500)).length).toBeLessThan(130);
  });
});

describe('writing', () => {
  test('digits are fixed, and padded where the dialect says so', () => {
    expect(settingText(setting({}), 1.234)).toBe('VOLT 1.234');
    expect(settingText(setting({ digits: 0, scale: 0.1, width: 3 }), 1.2)).toBe('VOLT 012');
    expect(settingText(setting({ send: 'VSET1:{v}', digits: 2, width: 5 }), 1.2)).toBe(
      'VSET1:01.20',
    );
    expect(settingText(setting({ digits: 4 }), 1e-4)).toBe('VOLT 0.0001');
  });

  test('5.1 V stays 5.1 V, though 5.1 * 100 is 509.99999999999994', () => {
    expect(settingText(setting({ digits: 2 }), roundToStep(5.1, 0.01))).toBe('VOLT 5.10');
  });

  test('a rounded value is a whole number of steps and at most half a step away', () => {
    const steps = constantFrom(0.0001, 0.001, 0.005, 0.01, 0.1);
    assert(
      property(double({ min: 0, max: 60, noNaN: true }), steps, (value, step) => {
        const rounded = roundToStep(value, step);
        expect(Math.abs(rounded - value)).toBeLessThanOrEqual(step / 2 + 1e-9);
        const count = rounded / step;
        expect(Math.abs(count - Math.round(count))).toBeLessThan(1e-6);
      }),
    );
  });

  test('what is written is read back as the same number', () => {
    assert(
      property(integer({ min: 0, max: 60_000 }), (steps) => {
        const value = roundToStep(steps * 0.001, 0.001);
        const text = settingText(setting({ send: '{v}' }), value);
        expect(numberOf(plain, text)).toBe(value);
      }),
    );
  });
});
