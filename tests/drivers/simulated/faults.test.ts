/** Every fault, alone: what it does to the truth, to the meters and to the line. */

import { describe, expect, it } from 'vitest';
import { faultNames, type FaultName } from '../../../drivers/simulated/faults.ts';
import { quiet, Talk } from './harness.ts';

/** A supply that pushes 0.3 A through a covered piece. */
function running(): Talk {
  const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet, latencyMs: 4 });
  talk.tell('*CLS', 'VOLT 2', 'CURR 0.3', 'OUTP ON');
  return talk.wait(2000);
}

function readings(talk: Talk): [number, number] {
  const [volts, amps] = talk.ask('MEAS:VOLT?;:MEAS:CURR?').split(';').map(Number);
  return [volts ?? Number.NaN, amps ?? Number.NaN];
}

type Check = (talk: Talk) => void;

const checks: Readonly<Record<FaultName, Check>> = {
  overCurrent: (talk) => {
    talk.instrument.faults.set('overCurrent', { factor: 2 });
    talk.wait(2000);
    expect(talk.truth.amps).toBeCloseTo(0.6, 6);
    expect(readings(talk)[1]).toBeCloseTo(0.6, 6);
    expect(talk.ask('CURR?')).toBe('0.3000');
  },
  overVoltage: (talk) => {
    talk.tell('VOLT 0.5');
    talk.instrument.faults.set('overVoltage', { excessVolts: 0.4 });
    talk.wait(2000);
    expect(talk.truth.volts).toBeCloseTo(0.9, 6);
    expect(talk.truth.amps).toBeGreaterThan(1);
    expect(readings(talk)[0]).toBeCloseTo(0.9, 6);
    expect(talk.ask('VOLT?')).toBe('0.500');
  },
  shortCircuit: (talk) => {
    talk.instrument.faults.set('shortCircuit', { ohms: 0.01 });
    talk.wait(100);
    const { volts, amps, cellAmps } = talk.truth;
    expect(amps).toBeCloseTo(0.3, 6);
    expect(volts).toBeLessThan(0.3 * 0.05 + 1e-9);
    expect(cellAmps).toBeLessThan(0.01);
    expect(readings(talk)[0]).toBeLessThan(0.02);
    // The charge that the piece gets is no longer what the supply counts.
    const before = talk.truth;
    talk.wait(60_000);
    expect(talk.truth.chargeCoulombs - before.chargeCoulombs).toBeCloseTo(18, 1);
    expect(talk.truth.cellChargeCoulombs - before.cellChargeCoulombs).toBeLessThan(1);
  },
  openCircuit: (talk) => {
    talk.instrument.faults.set('openCircuit');
    talk.wait(100);
    expect(talk.truth.amps).toBe(0);
    expect(readings(talk)).toEqual([2, 0]);
    expect(talk.ask('STAT:QUES:COND?')).toBe('2');
  },
  contactResistance: (talk) => {
    const before = talk.truth.volts;
    talk.instrument.faults.set('contactResistance', { ohms: 1.5 });
    talk.wait(100);
    expect(talk.truth.volts - before).toBeCloseTo(0.45, 6);
  },
  anodeFilm: (talk) => {
    const before = talk.truth.volts;
    talk.instrument.faults.set('anodeFilm', { ohmsPerHour: 1 });
    talk.wait(1.8e6);
    expect(talk.truth.volts - before).toBeCloseTo(0.3 * 0.5, 3);
  },
  reverseEmf: (talk) => {
    const before = talk.truth.volts;
    talk.instrument.faults.set('reverseEmf', { volts: 0.4 });
    talk.wait(100);
    expect(talk.truth.volts - before).toBeCloseTo(0.4, 6);
    talk.tell('OUTP OFF');
    talk.wait(5000);
    expect(readings(talk)).toEqual([0.4, 0]);
  },
  knob: (talk) => {
    talk.instrument.faults.set('knob', { amps: 0.5 });
    talk.wait(2000);
    expect(talk.ask('CURR?;:VOLT?')).toBe('0.5000;2.000');
    expect(talk.truth.amps).toBeCloseTo(0.5, 6);
    // Nobody sent it, so it is not among what was accepted from the line.
    expect(talk.truth.highestSetAmps).toBe(0.3);
  },
  outputKey: (talk) => {
    talk.instrument.faults.set('outputKey');
    expect(talk.ask('OUTP?')).toBe('0');
    expect(talk.truth.offsReceived).toBe(0);
    expect(talk.truth.outputChanges.at(-1)?.cause).toBe('panel');
    talk.instrument.faults.set('outputKey', { on: true });
    expect(talk.ask('OUTP?')).toBe('1');
  },
  restart: (talk) => {
    talk.instrument.faults.set('restart', { bootMs: 400 });
    expect(talk.truth.outputOn).toBe(false);
    expect(talk.ask('*IDN?')).toBe('');
    talk.wait(500);
    expect(talk.ask('*ESR?')).toBe('128');
    expect(talk.ask('OUTP?;:VOLT?')).toBe('0;0.000');
    expect(talk.truth.restarts).toBe(1);
  },
  ignoresOff: (talk) => {
    talk.instrument.faults.set('ignoresOff');
    expect(talk.ask('OUTP OFF;OUTP?')).toBe('1');
    expect(talk.truth).toMatchObject({ outputOn: true, offsReceived: 1 });
  },
  ignoresOn: (talk) => {
    talk.tell('OUTP OFF');
    talk.instrument.faults.set('ignoresOn');
    expect(talk.ask('OUTP ON;OUTP?')).toBe('0');
    expect(talk.truth.outputOn).toBe(false);
  },
  ignoresSet: (talk) => {
    talk.instrument.faults.set('ignoresSet');
    expect(talk.ask('CURR 0.1;VOLT 1;CURR?;VOLT?')).toBe('0.3000;2.000');
    expect(talk.ask('SYST:ERR?')).toBe('0,"No error"');
  },
  saysOff: (talk) => {
    talk.instrument.faults.set('saysOff');
    expect(talk.ask('OUTP OFF;OUTP?;:STAT:QUES:COND?')).toBe('0;0');
    talk.wait(1000);
    expect(talk.truth.outputOn).toBe(true);
    expect(readings(talk)[1]).toBeCloseTo(0.3, 6);
    talk.instrument.faults.set('saysOff', { meterToo: true });
    expect(readings(talk)).toEqual([0, 0]);
    expect(talk.truth.amps).toBeCloseTo(0.3, 6);
    // Healed, the relay follows what was commanded meanwhile.
    talk.instrument.faults.clear('saysOff');
    expect(talk.truth.outputOn).toBe(false);
  },
  stuckReading: (talk) => {
    talk.instrument.faults.set('stuckReading');
    const before = readings(talk);
    talk.tell('CURR 0.1');
    talk.wait(2000);
    expect(talk.truth.amps).toBeCloseTo(0.1, 6);
    expect(readings(talk)).toEqual(before);
  },
  badReading: (talk) => {
    talk.instrument.faults.set('badReading');
    expect(talk.ask('MEAS:CURR?')).toBe('9.9E37');
    talk.instrument.faults.set('badReading', { text: 'NAN' });
    expect(talk.ask('MEAS:VOLT?')).toBe('NAN');
    expect(talk.ask('CURR?')).toBe('0.3000');
  },
  meterError: (talk) => {
    talk.instrument.faults.set('meterError', { ampsShare: -0.1 });
    talk.wait(1_000);
    expect(readings(talk)[1]).toBeCloseTo(0.27, 4);
    expect(talk.truth.amps).toBeCloseTo(0.3, 6);
  },
  driftingMeter: (talk) => {
    talk.instrument.faults.set('driftingMeter', { ampsSharePerHour: 0.1 });
    talk.wait(3.6e6);
    expect(readings(talk)[1]).toBeCloseTo(0.33, 4);
    expect(talk.truth.amps).toBeCloseTo(0.3, 6);
  },
  mute: (talk) => {
    talk.instrument.faults.set('mute');
    expect(talk.ask('OUTP?')).toBe('');
    talk.ask('OUTP OFF');
    expect(talk.truth.outputOn).toBe(false);
    talk.tell('OUTP ON');
    talk.instrument.faults.set('mute', { deaf: true });
    talk.ask('OUTP OFF');
    expect(talk.truth).toMatchObject({ outputOn: true, offsReceived: 1 });
  },
  dropReplies: (talk) => {
    talk.instrument.faults.set('dropReplies', { probability: 0.5 });
    let heard = 0;
    for (let index = 0; index < 200; index += 1) if (talk.ask('OUTP?') === '1') heard += 1;
    expect(heard).toBeGreaterThan(70);
    expect(heard).toBeLessThan(130);
  },
  garble: (talk) => {
    talk.instrument.faults.set('garble');
    for (let index = 0; index < 50; index += 1) {
      expect(talk.raw('*IDN?\n')).not.toBe('NIGHTBATH,SIM-30-5,SIM0001,1.0\n');
    }
    expect(talk.ask('SYST:ERR?')).not.toBe('0,"No error"');
  },
  splitReplies: (talk) => {
    talk.instrument.faults.set('splitReplies', { gapMs: 30 });
    talk.instrument.receive('*IDN?\n', talk.nowMs);
    const early = talk.instrument.take(talk.nowMs + 4);
    expect(early.length).toBeGreaterThan(0);
    expect(early.length).toBeLessThan(31);
    const late = talk.instrument.take(talk.nowMs + 34);
    expect(early + late).toBe('NIGHTBATH,SIM-30-5,SIM0001,1.0\n');
  },
  doubleReplies: (talk) => {
    talk.instrument.faults.set('doubleReplies');
    expect(talk.raw('OUTP?\n')).toBe('1\n1\n');
  },
  echo: (talk) => {
    talk.instrument.faults.set('echo');
    expect(talk.raw('OUTP?\n')).toBe('OUTP?\n1\n');
    expect(talk.raw('VOLT 2\n')).toBe('VOLT 2\n');
  },
  unsolicited: (talk) => {
    const text = '**ERROR: -113,"Undefined header"';
    talk.instrument.faults.set('unsolicited');
    expect(talk.instrument.take(talk.nowMs)).toBe(`${text}\n`);
    expect(talk.raw('OUTP?\n')).toBe('1\n');
    talk.instrument.faults.set('unsolicited', { text: 'BOO', everyMs: 1000 });
    talk.wait(2500);
    expect(talk.instrument.take(talk.nowMs)).toBe('BOO\nBOO\nBOO\n');
    talk.instrument.faults.set('unsolicited', { text: 'BOO', insideReply: true });
    expect(talk.raw('VOLT?\n')).toBe('2.0BOO\n00\n');
  },
  endlessLine: (talk) => {
    talk.instrument.faults.set('endlessLine', { bytesPerSecond: 1000 });
    talk.instrument.receive('OUTP?\n', talk.nowMs);
    talk.wait(2000);
    const bytes = talk.instrument.take(talk.nowMs);
    expect(bytes).toHaveLength(2000);
    expect(bytes).not.toContain('\n');
    expect(talk.instrument.nextDueMs()).toBeGreaterThan(talk.nowMs);
    talk.instrument.faults.clear('endlessLine');
    expect(talk.ask('OUTP?')).toBe('1');
  },
  lateReplies: (talk) => {
    talk.instrument.faults.set('lateReplies');
    expect(talk.ask('VOLT?')).toBe('');
    expect(talk.ask('CURR?')).toBe('2.000');
    expect(talk.ask('OUTP?')).toBe('0.3000');
    talk.instrument.faults.clear('lateReplies');
    expect(talk.ask('VOLT?')).toBe('2.000');
  },
  slow: (talk) => {
    talk.instrument.faults.set('slow', { extraMs: 700 });
    const askedMs = talk.nowMs + 1;
    expect(talk.ask('OUTP?')).toBe('1');
    expect(talk.nowMs - askedMs).toBe(704);
  },
  wrongIdentity: (talk) => {
    talk.instrument.faults.set('wrongIdentity', { text: 'OTHER,THING,0,0' });
    expect(talk.ask('*IDN?')).toBe('OTHER,THING,0,0');
  },
};

describe('a fault', () => {
  it.each(faultNames)('%s does what it says, and is gone when it is cleared', (name) => {
    const talk = running();
    checks[name](talk);
    talk.instrument.faults.clearAll();
    expect(talk.instrument.faults.active()).toEqual([]);
    // Healed: a fresh start behaves as if nothing had been.
    talk.wait(1000);
    talk.tell('OUTP OFF', '*RST', 'OUTP:PROT:CLE', 'VOLT 2', 'CURR 0.3', 'OUTP ON');
    talk.wait(2000);
    expect(talk.ask('*IDN?')).toBe('NIGHTBATH,SIM-30-5,SIM0001,1.0');
    expect(readings(talk)[1]).toBeCloseTo(0.3, 6);
    expect(talk.truth).toMatchObject({ regulation: 'constantCurrent', trips: [] });
  });

  it('comes in company', () => {
    const talk = running();
    talk.instrument.faults.set('slow', { extraMs: 100 });
    talk.instrument.faults.set('doubleReplies');
    talk.instrument.faults.set('badReading');
    expect(talk.raw('MEAS:CURR?\n')).toBe('9.9E37\n9.9E37\n');
    expect(talk.truth.faults).toEqual(['badReading', 'doubleReplies', 'slow']);
  });

  it('refuses parameters out of bounds by name and leaves things as they were', () => {
    const { faults } = running().instrument;
    expect(() => faults.set('dropReplies', { probability: 1.5 })).toThrow(
      /dropReplies\.probability/u,
    );
    expect(() => faults.set('shortCircuit', { ohms: Number.NaN })).toThrow(/shortCircuit\.ohms/u);
    expect(() => faults.setUnchecked('slow', { extraMs: 'long' })).toThrow(RangeError);
    expect(() => faults.setUnchecked('slow', { other: 1 })).toThrow(/slow/u);
    expect(() => faults.set('wrongIdentity', { text: 'two\nlines' })).toThrow(/one line/u);
    expect(faults.active()).toEqual([]);
  });
});

describe('a restart', () => {
  it('can keep the output and the set-points and still tells that it happened', () => {
    const talk = running();
    talk.ask('*ESR?');
    talk.instrument.faults.set('restart', { keepsOutput: true, bootMs: 0 });
    expect(talk.truth).toMatchObject({ outputOn: true, setAmps: 0.3 });
    expect(talk.ask('*ESR?')).toBe('128');
  });

  it('follows the option of the instrument unless told otherwise', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', restartKeepsOutput: true });
    talk.tell('VOLT 1', 'CURR 0.1', 'OUTP ON');
    talk.instrument.faults.set('restart');
    expect(talk.truth.outputOn).toBe(true);
    talk.instrument.faults.set('restart', { keepsOutput: false });
    expect(talk.truth.outputOn).toBe(false);
  });

  it('loses what was on its way in both directions', () => {
    const talk = running();
    talk.instrument.receive('OUTP?\nVOLT 2', talk.nowMs);
    talk.instrument.faults.set('restart', { bootMs: 10 });
    talk.wait(20);
    expect(talk.raw('.5\nOUTP?\n')).toBe('0\n');
  });

  it('keeps the set-points of a supply that remembers them', () => {
    const talk = new Talk({ personality: 'fixed-length' });
    talk.tell('VSET1:02.00', 'ISET1:0.300', 'OUT1');
    talk.instrument.faults.set('restart', { bootMs: 10 });
    talk.wait(100);
    expect(talk.raw('VSET1?')).toBe('02.00');
    expect(talk.truth.outputOn).toBe(false);
  });
});
