/**
 * Over-voltage and over-current protection: they switch off, say so, and stay off until cleared.
 */

import { describe, expect, it } from 'vitest';
import { quiet, Talk } from './harness.ts';

describe('protections with a level', () => {
  it('over-voltage trips within one step, sets its bit, and latches until cleared', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    talk.tell('VOLT 5', 'CURR 0.1', 'VOLT:PROT 1', 'VOLT:PROT:STAT ON', 'OUTP ON');
    talk.wait(1000);
    expect(talk.ask('OUTP?;:VOLT:PROT:TRIP?;:STAT:QUES:COND?')).toBe('1;0;1');
    // The contact goes bad: constant current pushes the voltage up to the protection.
    talk.instrument.faults.set('contactResistance', { ohms: 20 });
    const sinceMs = talk.nowMs;
    talk.wait(200);
    expect(talk.truth.outputOn).toBe(false);
    expect(talk.truth.outputChanges.at(-1)).toMatchObject({ on: false, cause: 'trip' });
    expect((talk.truth.outputChanges.at(-1)?.atMs ?? 0) - sinceMs).toBeLessThanOrEqual(5);
    expect(talk.ask('OUTP?;:VOLT:PROT:TRIP?;:STAT:QUES:COND?')).toBe('0;1;512');
    talk.instrument.faults.clear('contactResistance');
    talk.ask('OUTP ON');
    expect(talk.ask('OUTP?')).toBe('0');
    talk.ask('OUTP:PROT:CLE');
    expect(talk.ask('OUTP?;:VOLT:PROT:TRIP?;:STAT:QUES:COND?')).toBe('0;0;0');
    talk.ask('OUTP ON');
    expect(talk.ask('OUTP?')).toBe('1');
  });

  it('over-current trips after its delay and not before', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    talk.tell('VOLT 5', 'CURR 0.1', 'CURR:PROT 0.12', 'CURR:PROT:STAT ON', 'OUTP ON');
    talk.wait(60_000);
    expect(talk.truth.outputOn).toBe(true);
    talk.instrument.faults.set('overCurrent', { factor: 1.5 });
    const sinceMs = talk.nowMs;
    talk.wait(1000);
    const tripped = talk.truth.outputChanges.at(-1);
    expect(tripped).toMatchObject({ on: false, cause: 'trip' });
    // The current passes 0.12 A after 25 ms x ln(0.05 / 0.03) = 13 ms; then the delay of 20 ms
    // runs.
    expect((tripped?.atMs ?? 0) - sinceMs).toBeGreaterThan(30);
    expect((tripped?.atMs ?? 0) - sinceMs).toBeLessThan(50);
    expect(talk.ask('CURR:PROT:TRIP?;:STAT:QUES:COND?')).toBe('1;1024');
    expect(talk.truth.trips).toEqual(['overCurrent']);
  });

  it('does not trip at the level itself', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    talk.tell('VOLT 5', 'CURR 0.1', 'CURR:PROT 0.1', 'CURR:PROT:STAT ON', 'OUTP ON');
    talk.wait(60_000);
    expect(talk.truth.outputOn).toBe(true);
  });

  it('has a fixed over-current limit in the hardware of the VSET language', () => {
    const talk = new Talk({ personality: 'vset-iset', meter: quiet });
    talk.tell('VSET 18', 'ISET 8', 'OUT 1');
    talk.wait(1000);
    expect(talk.ask('STS?')).toBe('2');
    talk.instrument.faults.set('overCurrent', { factor: 2 });
    talk.wait(1000);
    expect(talk.ask('STS?')).toBe('8');
    expect(talk.truth.outputOn).toBe(false);
  });
});

// STATe of CURRent:PROTection and VOLTage:PROTection stands in the SOURce subsystem of SCPI-1999,
// volume 2; that a Boolean is answered by 1 or 0, in volume 1; from memory.
describe('protections whose level acts only while they are switched on', () => {
  const states = 'VOLT:PROT:STAT?;:CURR:PROT:STAT?';
  const runaway = (talk: Talk): void => {
    talk.instrument.faults.set('overCurrent', { factor: 2 });
    talk.wait(1000);
  };

  it('are off after power-on, after *RST and after a restart, and told apart', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    expect(talk.ask(states)).toBe('0;0');
    talk.tell('CURR:PROT:STAT ON');
    expect(talk.ask(states)).toBe('0;1');
    talk.tell('SOURce:VOLTage:PROTection:STATe 1');
    expect(talk.ask(states)).toBe('1;1');
    talk.tell('CURR:PROT:STAT OFF');
    expect(talk.ask(states)).toBe('1;0');
    talk.tell('CURR:PROT:STAT ON', '*RST');
    expect(talk.ask(states)).toBe('0;0');
    talk.tell('CURR:PROT:STAT ON', 'VOLT:PROT:STAT ON');
    talk.instrument.faults.set('restart', { bootMs: 100 });
    talk.wait(200);
    expect(talk.ask(states)).toBe('0;0');
    expect(talk.truth).toMatchObject({ tripVolts: null, tripAmps: null });
  });

  it('do not switch off while they are off, and do as soon as they are on', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    talk.tell('VOLT 5', 'CURR 0.1', 'CURR:PROT 0.12', 'VOLT:PROT 1', 'OUTP ON');
    expect(talk.truth).toMatchObject({ tripVolts: null, tripAmps: null, overCurrentAmps: 0.12 });
    runaway(talk);
    expect(talk.truth.outputOn).toBe(true);
    expect(talk.truth.amps).toBeCloseTo(0.2, 6);
    talk.tell('CURR:PROT:STAT ON');
    expect(talk.truth).toMatchObject({ tripVolts: null, tripAmps: 0.12 });
    talk.wait(100);
    expect(talk.truth).toMatchObject({ outputOn: false, trips: ['overCurrent'] });
  });

  it('do not switch off any more once they are switched off', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    talk.tell('VOLT 5', 'CURR 0.1', 'CURR:PROT 0.12', 'CURR:PROT:STAT ON', 'OUTP ON');
    talk.tell('CURR:PROT:STAT OFF');
    runaway(talk);
    expect(talk.truth.outputOn).toBe(true);
    const other = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    other.tell('VOLT 5', 'CURR 0.1', 'VOLT:PROT 1', 'VOLT:PROT:STAT ON', 'OUTP ON');
    other.tell('VOLT:PROT:STAT OFF');
    other.instrument.faults.set('contactResistance', { ohms: 20 });
    other.wait(1000);
    expect(other.truth.outputOn).toBe(true);
    expect(other.truth.volts).toBeGreaterThan(1);
    other.tell('VOLT:PROT:STAT ON');
    other.wait(100);
    expect(other.truth).toMatchObject({ outputOn: false, trips: ['overVoltage'] });
  });

  it('are none of the other supplies: their levels act at once', () => {
    const talk = new Talk({ personality: 'vset-iset', meter: quiet });
    talk.tell('OVSET 2');
    expect(talk.truth).toMatchObject({ overVoltageEnabled: true, tripVolts: 2 });
  });
});

describe('over-current protection that is only on or off', () => {
  it.each([
    [
      'scpi-channel-list',
      ['VOLT 5,(@1)', 'CURR 0.1,(@1)', 'OUTP ON,(@1)'],
      'CURR:PROT:STAT ON,(@1)',
    ],
    ['fixed-length', ['VSET1:05.00', 'ISET1:0.100', 'OUT1'], 'OCP1'],
  ] as const)(
    'trips a %s supply soon after it reaches its set current',
    (personality, start, enable) => {
      const talk = new Talk({ personality, meter: quiet });
      talk.tell(...start);
      talk.wait(10_000);
      expect(talk.truth.outputOn).toBe(true);
      talk.tell(enable);
      expect(talk.truth.outputOn).toBe(true);
      talk.wait(300);
      expect(talk.truth.outputOn).toBe(false);
      expect(talk.truth.trips).toEqual(['overCurrent']);
    },
  );

  it('leaves a supply alone that stays below its set current', () => {
    const talk = new Talk({ personality: 'scpi-channel-list', meter: quiet });
    talk.tell('VOLT 0.2,(@1)', 'CURR 2,(@1)', 'CURR:PROT:STAT ON,(@1)', 'OUTP ON,(@1)');
    talk.wait(60_000);
    expect(talk.truth.regulation).toBe('constantVoltage');
    expect(talk.truth.outputOn).toBe(true);
  });

  it('is cleared in the fixed-length language by switching off', () => {
    const talk = new Talk({ personality: 'fixed-length', meter: quiet });
    talk.tell('VSET1:05.00', 'ISET1:0.100', 'OCP1', 'OUT1');
    talk.wait(500);
    talk.tell('OUT1');
    expect(talk.truth.outputOn).toBe(false);
    talk.tell('OCP0', 'OUT0', 'OUT1');
    talk.wait(500);
    expect(talk.truth.outputOn).toBe(true);
  });

  it('over-voltage of the fixed-length language trips when regulation fails', () => {
    const talk = new Talk({ personality: 'fixed-length', meter: quiet });
    talk.tell('VSET1:01.00', 'ISET1:4.000', 'OVP1', 'OUT1');
    talk.wait(1000);
    expect(talk.truth.outputOn).toBe(true);
    talk.instrument.faults.set('overVoltage', { excessVolts: 3 });
    talk.wait(1000);
    expect(talk.truth.trips).toEqual(['overVoltage']);
  });
});
