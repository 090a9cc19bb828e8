/** Numbers as the pages write them. */

import { describe, expect, it } from 'vitest';
import * as format from '../../dashboard/format.ts';

const text = ({ text: number, unit }: format.Figure): string => `${number} ${unit}`;

describe('an estimated thickness', () => {
  it.each([
    [0, '0.0 µm'],
    [0.04, '0.0 µm'],
    [0.96, '1.0 µm'],
    [4.72, '4.7 µm'],
    [9.96, '10 µm'],
    [87.4, '87 µm'],
    [99.4, '99 µm'],
    [99.6, '100 µm'],
    [134.9988, '135 µm'],
    [152, '150 µm'],
    [996, '995 µm'],
    [998, '1.00 mm'],
    [1352, '1.35 mm'],
    [12_300, '12.5 mm'],
    [Number.NaN, '– µm'],
  ])('%d µm is written as %s', (micrometres, written) => {
    expect(text(format.thickness(micrometres))).toBe(written);
  });

  it('has a range that names the unit once, or both where they differ', () => {
    expect(format.thicknessRange(78.3, 99.2)).toBe('78 to 99 µm');
    expect(format.thicknessRange(900, 1100)).toBe('900 µm to 1.10 mm');
  });

  it('is set against a target written as it was asked for', () => {
    expect(format.targetThickness(135)).toBe('135 µm');
    expect(format.targetThickness(135.00000001)).toBe('135 µm');
    expect(format.targetThickness(86.882)).toBe('87 µm');
    expect(format.targetThickness(1250)).toBe('1.25 mm');
  });
});

describe('other numbers', () => {
  it('give a mass three digits', () => {
    expect(text(format.mass(2.5876))).toBe('2.59 g');
    expect(text(format.mass(0.99951))).toBe('1.00 g');
    expect(text(format.mass(0))).toBe('0 g');
    expect(text(format.mass(143.26))).toBe('143 g');
  });

  it('keep the width of a current, a voltage and a charge', () => {
    expect(text(format.amps(0.6071))).toBe('0.607 A');
    expect(text(format.amps(12.3456))).toBe('12.35 A');
    expect(text(format.volts(1.684))).toBe('1.68 V');
    expect(text(format.ampHours(4.1689))).toBe('4.17 A·h');
    expect(text(format.ampHours(123.45))).toBe('123.5 A·h');
  });

  it('never show what is not a number', () => {
    expect(text(format.amps(Number.NaN))).toBe('– A');
    expect(format.threeDigits(Number.POSITIVE_INFINITY)).toBe('–');
    expect(format.duration(Number.NaN)).toBe('–');
  });
});

describe('times', () => {
  it.each([
    [400, '0 s'],
    [59_000, '59 s'],
    [59_700, '1 min'],
    [3_570_000, '1 h 00 min'],
    [11_280_000, '3 h 08 min'],
    [-5, '0 s'],
  ])('a duration of %d ms is %s', (ms, written) => {
    expect(format.duration(ms)).toBe(written);
  });

  it('are on the clock of this device, to the minute or the second', () => {
    const at = new Date(2026, 10, 25, 6, 41, 3).getTime();
    expect(format.clock(at)).toBe('06:41');
    expect(format.clockSeconds(at)).toBe('06:41:03');
    expect(format.day(at)).toBe('25 Nov 2026');
    expect(format.elapsed(26_847_999)).toBe('7:27:27');
  });
});

describe("the daemon's sentences", () => {
  it('get their squares, and keep a number with its unit', () => {
    expect(format.pretty('Holding at 1.5 A/dm2. Done in about 3 h 08 min.')).toBe(
      'Holding at 1.5\u00a0A/dm². Done in about 3\u00a0h\u00a008\u00a0min.'.replace(
        'h\u00a008',
        'h 08',
      ),
    );
  });
});
