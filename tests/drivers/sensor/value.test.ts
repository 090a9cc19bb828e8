/** Which lines of a sensor are a number that stands for itself, and which are not. */

import { describe, expect, test } from 'vitest';
import { sensorNumber } from '../../../drivers/sensor/value.ts';

describe('a line of a sensor', () => {
  test.each([
    ['23.5', 23.5],
    ['  +23.50\r', 23.5],
    ['-4', -4],
    ['23.5 C', 23.5],
    ['23.5\xb0C', 23.5],
    // The degree sign of a sketch that writes UTF-8, as it looks byte by byte.
    ['23.5 \xc2\xb0C', 23.5],
    ['T=23.5', 23.5],
    ['bath: 23.5 C', 23.5],
    ['81 %', 81],
    ['112 mm\0', 112],
  ])('%j is %d', (line, value) => {
    expect(sensorNumber(line)).toBe(value);
  });

  test.each([
    '',
    'nan',
    'inf',
    '1e3',
    '23.5 24.5',
    '23,5',
    '0x17',
    '23.5.1',
    '--5',
    '9'.repeat(79),
    'Temperature of the bath now=23.5',
    '\xff\xfe23.5',
    '23.5 degrees',
  ])('%j is none', (line) => {
    expect(sensorNumber(line)).toBeNull();
  });
});
