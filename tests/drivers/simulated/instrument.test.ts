/** The instrument as a whole: options, determinism, meters, truth, and a long run. */

import { describe, expect, it } from 'vitest';
import { createInstrument } from '../../../drivers/simulated/instrument.ts';
import { keptCommands, personalities } from '../../../drivers/simulated/model.ts';
import { Talk } from './harness.ts';

function exchange(seed: number): string {
  const talk = new Talk({ personality: 'scpi-subsystem', seed });
  talk.instrument.faults.set('garble', { probability: 0.2 });
  talk.instrument.faults.set('dropReplies', { probability: 0.2 });
  talk.tell('VOLT 2', 'CURR 0.3', 'OUTP ON');
  let all = '';
  for (let index = 0; index < 200; index += 1) {
    all += talk.wait(250).raw('MEAS:VOLT?;:MEAS:CURR?\n');
  }
  return all;
}

/**
 * Twenty noisy readings of a settled current, with or without a fault that draws random numbers.
 */
function shownAmps(withFault: boolean): string[] {
  const talk = new Talk({ personality: 'scpi-subsystem', seed: 3 });
  if (withFault) talk.instrument.faults.set('splitReplies', { gapMs: 1 });
  talk.tell('VOLT 2', 'CURR 0.3', 'OUTP ON');
  talk.wait(5000);
  return Array.from({ length: 20 }, () => talk.ask('MEAS:CURR?'));
}

function chargeAfterBirthAt(bornMs: number): number {
  const instrument = createInstrument({ personality: 'scpi-subsystem', bornMs });
  instrument.receive('VOLT 1;CURR 0.1;:OUTP ON\n', bornMs + 10);
  return instrument.truth(bornMs + 100_010).chargeCoulombs;
}

describe('a seed', () => {
  it('reproduces every byte, and another seed gives others', () => {
    expect(exchange(7)).toBe(exchange(7));
    expect(exchange(7)).not.toBe(exchange(8));
  });

  it('leaves the noise alone when line faults draw from their own stream', () => {
    expect(shownAmps(true)).toEqual(shownAmps(false));
    expect(new Set(shownAmps(false)).size).toBeGreaterThan(1);
  });
});

describe('the meters', () => {
  it('show noise of the size that was asked for, on the steps of the supply', () => {
    const talk = new Talk({
      personality: 'scpi-subsystem',
      meter: { noiseVolts: 0.01, noiseAmps: 0.005 },
    });
    talk.tell('VOLT 2', 'CURR 0.5', 'OUTP ON');
    talk.wait(2000);
    const shown = Array.from({ length: 2000 }, () => Number(talk.ask('MEAS:CURR?')));
    const mean = shown.reduce((sum, amps) => sum + amps, 0) / shown.length;
    const variance = shown.reduce((sum, amps) => sum + (amps - mean) ** 2, 0) / shown.length;
    // Standard error of the mean 0.11 mA, of the deviation 0.08 mA: five of each.
    expect(Math.abs(mean - 0.5)).toBeLessThan(6e-4);
    expect(Math.abs(Math.sqrt(variance) - 0.005)).toBeLessThan(4e-4);
    for (const amps of shown)
      expect(Math.abs(amps * 1e4 - Math.round(amps * 1e4))).toBeLessThan(1e-6);
  });

  it('never move the truth', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: { noiseAmps: 1 } });
    talk.tell('VOLT 2', 'CURR 0.5', 'OUTP ON');
    talk.wait(2000).ask('MEAS:CURR?');
    expect(talk.truth.amps).toBe(0.5);
  });

  it('lag a new set-point first-order', () => {
    const talk = new Talk({
      personality: 'scpi-subsystem',
      settlingMs: 100,
      latencyMs: 0,
      meter: { noiseAmps: 0 },
    });
    talk.tell('VOLT 5', 'CURR 0.1', 'OUTP ON');
    talk.wait(5000).tell('CURR 0.3');
    talk.wait(99);
    // One time constant after the set: 0.3 - 0.2 / e.
    expect(Number(talk.ask('MEAS:CURR?'))).toBeCloseTo(0.3 - 0.2 / Math.E, 4);
  });
});

describe('options', () => {
  it.each([
    [{ seed: -1 }, /seed is -1; it must be from 0/u],
    [{ seed: Number.NaN }, /seed is NaN/u],
    [{ latencyMs: -5 }, /latencyMs is -5/u],
    [{ settlingMs: 0 }, /settlingMs is 0/u],
    [{ cell: { areaDm2: 0 } }, /cell\.areaDm2 is 0/u],
    [{ cell: { bathSiemensPerMetre: Number.POSITIVE_INFINITY } }, /cell\.bathSiemensPerMetre/u],
    [{ meter: { noiseAmps: -1 } }, /meter\.noiseAmps is -1/u],
    [{ limits: { maxAmps: 0 } }, /limits\.maxAmps is 0/u],
  ] as const)('%j are refused by name, value and bound', (options, message) => {
    expect(() => createInstrument({ personality: 'scpi-subsystem', ...options })).toThrow(message);
  });

  it('refuse a personality and a paint that do not exist', () => {
    // @ts-expect-error: the command line hands over whatever was typed.
    expect(() => createInstrument({ personality: 'other' })).toThrow(/"other"; it must be one of/u);
    const paint: unknown = 'tar';
    // @ts-expect-error: the same for the paint.
    expect(() => createInstrument({ personality: 'vset-iset', cell: { paint } })).toThrow(
      /cell\.paint is "tar"/u,
    );
  });

  it('change the limits of a model', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', limits: { maxAmps: 2 } });
    expect(talk.ask('CURR? MAX')).toBe('2.0000');
    expect(talk.ask('CURR?')).toBe('2.0000');
    talk.tell('*CLS', 'CURR 2.1');
    expect(talk.ask('SYST:ERR?')).toBe('-222,"Data out of range"');
  });

  it.each(personalities)('leave a %s supply off, plain and quiet at birth', (personality) => {
    const instrument = createInstrument({ personality });
    expect(instrument.nextDueMs()).toBeNull();
    expect(instrument.take(0)).toBe('');
    expect(instrument.truth(0)).toMatchObject({ outputOn: false, amps: 0, chargeCoulombs: 0 });
  });
});

describe('the truth', () => {
  it('counts and remembers what came, with its time, and forgets the oldest in the end', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.tell('VOLT 1', 'CURR 0.5', 'CURR 0.2', 'OUTP ON', 'OUTP OFF', 'OUTP OFF');
    expect(talk.truth).toMatchObject({
      receivedCount: 6,
      offsReceived: 2,
      onsReceived: 1,
      highestSetVolts: 1,
      highestSetAmps: 0.5,
      lastOffMs: 6,
    });
    expect(talk.truth.received[1]).toEqual({ atMs: 2, text: 'CURR 0.5' });
    for (let index = 0; index < 5 * keptCommands; index += 1) talk.ask('OUTP?');
    expect(talk.truth.received).toHaveLength(keptCommands);
    expect(talk.truth.receivedSets).toHaveLength(6);
    expect(talk.truth.receivedCount).toBe(6 + 5 * keptCommands);
  });

  it('does not let time run backwards', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', latencyMs: 0 });
    talk.tell('VOLT 1', 'CURR 0.1', 'OUTP ON');
    const { chargeCoulombs } = talk.instrument.truth(10_000);
    talk.instrument.receive('CURR 0.2\n', 5000);
    expect(talk.instrument.truth(9000).chargeCoulombs).toBe(chargeCoulombs);
    expect(talk.instrument.truth(11_000).chargeCoulombs).toBeGreaterThan(chargeCoulombs);
  });

  it('does not depend on when the clock began', () => {
    expect(chargeAfterBirthAt(0)).toBeCloseTo(0.1 * (100 - 0.025), 9);
    expect(chargeAfterBirthAt(123_456_789)).toBeCloseTo(chargeAfterBirthAt(0), 6);
    expect(chargeAfterBirthAt(-5000)).toBeCloseTo(chargeAfterBirthAt(0), 9);
  });
});

describe('a long run', () => {
  it.each(personalities)('of a %s supply passes with its charge right', (personality) => {
    // Fifty minutes of polls and set-points that creep, without a look at the wall clock.
    const talk = new Talk({ personality });
    const words = {
      'scpi-subsystem': [['VOLT 2', 'OUTP ON'], (amps: string) => `CURR ${amps}`, 'MEAS:CURR?'],
      'scpi-channel-list': [
        ['VOLT 2,(@1)', 'OUTP ON,(@1)'],
        (amps: string) => `CURR ${amps},(@1)`,
        'MEAS:CURR? (@1)',
      ],
      'vset-iset': [['VSET 2', 'OUT 1'], (amps: string) => `ISET ${amps}`, 'IOUT?'],
      'fixed-length': [['VSET1:02.00', 'OUT1'], (amps: string) => `ISET1:${amps}`, 'IOUT1?'],
    } as const;
    const [start, set, ask] = words[personality];
    talk.tell(...start);
    let counted = 0;
    let lastMs = talk.nowMs;
    let lastAmps = 0;
    for (let poll = 0; poll < 2000; poll += 1) {
      talk.tell(set((0.3 + poll / 20_000).toFixed(3)));
      talk.wait(1500);
      const amps = Number(talk.ask(ask));
      counted += (((lastAmps + amps) / 2) * (talk.nowMs - lastMs)) / 1000;
      lastMs = talk.nowMs;
      lastAmps = amps;
    }
    const { chargeCoulombs } = talk.truth;
    expect(Math.abs(counted / chargeCoulombs - 1)).toBeLessThan(0.002);
  });
});

describe('hanging another piece', () => {
  it('gives the cell the new area and its paint, and keeps the charge that has passed', () => {
    const instrument = createInstrument({ personality: 'scpi-subsystem', cell: { areaDm2: 0.3 } });
    const send = (text: string, atMs: number) => instrument.receive(`${text}\n`, atMs);
    send('VOLT 5', 100);
    send('CURR 0.5', 200);
    send('OUTP ON', 300);
    expect(() => instrument.hang({ areaDm2: 1 }, 3_600_000)).toThrow(
      'only while the output is off',
    );
    send('OUTP OFF', 3_600_300);
    const before = instrument.truth(3_601_000);
    instrument.hang({ areaDm2: 1, paint: 'copper' }, 3_602_000);
    const after = instrument.truth(3_603_000);
    expect(before.effectiveAreaDm2).toBeCloseTo(0.3, 6);
    expect(after.areaDm2).toBeCloseTo(1, 9);
    expect(after.coveredFraction).toBeLessThan(0.1);
    expect(after.cellChargeCoulombs).toBe(before.cellChargeCoulombs);
    expect(before.cellChargeCoulombs).toBeCloseTo(0.5 * 3_600, 0);
    expect(() => instrument.hang({ areaDm2: -1 }, 3_604_000)).toThrow('areaDm2');
  });
});
