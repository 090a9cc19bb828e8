/** Status registers in three layouts, and the physics that a claim must not contradict. */

import { describe, expect, test } from 'vitest';
import { claimsOf, judgeRegulation, stateOf, tripsOf } from '../../../drivers/scpi/status.ts';
import { dialect } from '../dialects.ts';

function claims(name: string, replies: Record<string, string>) {
  const entries = dialect(name).status.filter(({ send }) => send in replies);
  return claimsOf(entries, new Map(Object.entries(replies)));
}

function told(name: string, replies: Record<string, string>) {
  return [...claims(name, replies)].toSorted();
}

const holding = { outputOn: true, volts: 1.2, amps: 0.5, setVolts: 4, setAmps: 0.5 };

describe('layouts', () => {
  test.each([
    ['0', ['off']],
    ['1', ['constantCurrent']],
    ['2', ['constantVoltage']],
    ['3', ['unregulated']],
    ['512', ['off', 'overVoltage']],
    ['+1024', ['off', 'overCurrent']],
    ['1552', ['off', 'overCurrent', 'overTemperature', 'overVoltage']],
  ])('the questionable register with CV in bit 1 and CC in bit 0: %s', (reply, meanings) => {
    expect(told('scpi-subsystem', { 'STAT:QUES:COND?': reply })).toEqual(meanings);
  });

  test('operation and questionable registers together', () => {
    const of = (operation: string, questionable: string) =>
      told('scpi-channel-list', {
        'STAT:OPER:COND? (@1)': operation,
        'STAT:QUES:COND? (@1)': questionable,
      });
    expect(of('+256', '+0')).toEqual(['constantVoltage']);
    expect(of('+1024', '+0')).toEqual(['constantCurrent']);
    expect(of('+1280', '+0')).toEqual(['unregulated']);
    expect(of('+0', '+3')).toEqual(['overCurrent', 'overVoltage']);
  });

  test('one raw byte', () => {
    expect(told('fixed-length', { 'STATUS?': '\x41' })).toEqual(['constantVoltage']);
    expect(told('fixed-length', { 'STATUS?': '\xe0' })).toEqual(['constantCurrent']);
    expect(told('fixed-length', { 'STATUS?': '\x01' })).toEqual(['off']);
  });

  test('every value of the raw byte is either on or off', () => {
    const { output } = dialect('fixed-length').ops;
    if (output === undefined) throw new Error('the dialect has no output query');
    for (let byte = 0; byte < 256; byte += 1) {
      const bitSix = Math.floor(byte / 64) % 2 === 1;
      expect(stateOf(output, String.fromCharCode(byte)), `byte ${byte}`).toBe(bitSix);
    }
  });

  test('trips are told apart from regulation', () => {
    const found = claims('vset-iset', { 'STS?': '14' });
    expect(tripsOf(found).toSorted()).toEqual(['overCurrent', 'overVoltage']);
    expect(found.has('constantCurrent')).toBe(true);
  });
});

describe('regulation', () => {
  const shape = dialect('scpi-subsystem');
  const judge = (reply: string, measured: Partial<typeof holding>) =>
    judgeRegulation(
      claims('scpi-subsystem', { 'STAT:QUES:COND?': reply }),
      { ...holding, ...measured },
      shape,
    );

  test('a claim that the measured values bear out is believed', () => {
    expect(judge('1', {})).toBe('constantCurrent');
    expect(judge('2', { volts: 4, amps: 0.2 })).toBe('constantVoltage');
    expect(judge('0', { outputOn: false, volts: 0.3, amps: 0 })).toBe('off');
    expect(judge('3', {})).toBe('unregulated');
  });

  test('a swapped pair of bits is unknown, not the opposite', () => {
    expect(judge('2', {})).toBe('unknown');
    expect(judge('1', { volts: 4, amps: 0.2 })).toBe('unknown');
  });

  test('an output that is off while current flows, or on while the register says off, is unknown', () => {
    expect(judge('0', { outputOn: false, amps: 0.4 })).toBe('unknown');
    expect(judge('1', { outputOn: false, amps: 0 })).toBe('unknown');
    expect(judge('0', {})).toBe('unknown');
  });

  test('without set-points to compare, the claim stands', () => {
    const measured = { outputOn: true, volts: 1, amps: 0.3, setVolts: null, setAmps: null };
    const found = claims('scpi-subsystem', { 'STAT:QUES:COND?': '1' });
    expect(judgeRegulation(found, measured, shape)).toBe('constantCurrent');
  });

  test('no claim at all is unknown', () => {
    expect(judgeRegulation(new Set(), holding, shape)).toBe('unknown');
  });
});
