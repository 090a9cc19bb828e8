/** The three other languages of the simulated supply, each as a written exchange. */

import { describe, expect, it } from 'vitest';
import { quiet, Talk } from './harness.ts';

function fresh(): Talk {
  return new Talk({ personality: 'fixed-length', meter: quiet });
}

describe('the channel-list language', () => {
  const none = '+0,"No error"';
  it.each([
    ['VOLT 1.234,(@1)', 'VOLT? (@1)', '+1.234000E+00', none],
    ['SOURCE:VOLTAGE 12.5, (@1)', 'VOLT? (@1)', '+1.250000E+01', none],
    ['CURR 0.05,(@1)', 'CURR? (@1)', '+5.000000E-02', none],
    ['', 'VOLT? (@1)', '+0.000000E+00', none],
    ['', 'VOLT? MAX,(@1)', '+2.000000E+01', none],
    ['', 'CURR? MAX,(@1)', '+3.000000E+00', none],
    ['OUTP ON,(@1)', 'OUTP? (@1)', '1', none],
    ['', 'MEAS:VOLT? (@1)', '+0.000000E+00', none],
    ['', 'MEAS:CURR:DC? (@1)', '+0.000000E+00', none],
    ['VOLT:PROT 5,(@1)', 'VOLT:PROT? (@1)', '+5.000000E+00', none],
    ['CURR:PROT:STAT ON,(@1)', 'CURR:PROT:STAT? (@1)', '1', none],
    ['', 'CURR:PROT:STAT? (@1)', '0', none],
    ['OUTP:PROT:CLE (@1)', '*OPC?', '1', none],
    ['VOLT 1,(@1:1)', 'VOLT? (@1)', '+1.000000E+00', none],
    ['', '*IDN?', 'NIGHTBATH,SIM-20-3C,SIM0002,2.1', none],
    // The channel is not optional, other channels do not exist, units are not understood.
    ['', 'VOLT 1', '', '-109,"Missing parameter"'],
    ['', 'VOLT?', '', '-109,"Missing parameter"'],
    ['', 'MEAS:VOLT?', '', '-109,"Missing parameter"'],
    ['', 'VOLT 1,(@2)', '', '-224,"Illegal parameter value"'],
    ['', 'VOLT 1,(@1,2)', '', '-224,"Illegal parameter value"'],
    ['', 'VOLT 1,1', '', '-104,"Data type error"'],
    ['', 'VOLT 2500mV,(@1)', '', '-138,"Suffix not allowed"'],
    ['', 'VOLT 21,(@1)', '', '-222,"Data out of range"'],
    ['', 'CURR:PROT 1,(@1)', '', '-113,"Undefined header"'],
    // One command a line: the whole line is refused.
    ['', '*OPC?;*OPC?', '', '-102,"Syntax error;one command a line"'],
    ['VOLT 2,(@1)', 'VOLT 1,(@1);CURR 1,(@1)', '', '-102,"Syntax error;one command a line"'],
  ])('after %j, %j answers %j and leaves %s', (before, message, reply, error) => {
    const talk = new Talk({ personality: 'scpi-channel-list', meter: quiet });
    if (before !== '') expect(talk.ask(before)).toBe('');
    expect(talk.ask(message)).toBe(reply);
    expect(talk.ask('SYST:ERR?')).toBe(error);
  });

  it('obeys nothing of a line that it refuses', () => {
    const talk = new Talk({ personality: 'scpi-channel-list' });
    talk.tell('VOLT 2,(@1)', 'VOLT 1,(@1);OUTP ON,(@1)');
    expect(talk.ask('VOLT? (@1)')).toBe('+2.000000E+00');
    expect(talk.truth.outputOn).toBe(false);
  });

  it('ends replies with CR LF and keeps replies in order when asked too fast', () => {
    const talk = new Talk({ personality: 'scpi-channel-list' });
    expect(talk.raw('*OPC?\nOUTP? (@1)\r\n')).toBe('1\r\n0\r\n');
  });
});

describe('the VSET and ISET language', () => {
  it.each([
    ['VSET 1.2340', 'VSET?', '1.23', '0'],
    ['vset 12', 'VSET?', '12.00', '0'],
    ['ISET 0.4500', 'ISET?', '0.450', '0'],
    ['OUT 1', 'OUT?', '1', '0'],
    ['', 'VOUT?', '0.00', '0'],
    ['', 'IOUT?', '0.000', '0'],
    ['OVSET 5', 'OVSET?', '5.00', '0'],
    ['', 'STS?', '0', '0'],
    ['', 'ID?', 'NIGHTBATH-SIM-18-10-SIM0003', '0'],
    ['', '', '', '0'],
    // Errors: 1 unknown, 2 not a number, 3 out of range.
    ['', 'FOO?', '', '1'],
    ['', 'VSET', '', '2'],
    ['', 'VSET?1', '', '1'],
    ['', 'MEAS:VOLT?', '', '1'],
    ['', 'VSET 1V', '', '2'],
    ['', 'VSET 1e1', '', '2'],
    ['VSET 3', 'VSET 18.1', '', '3'],
    ['', 'ISET -1', '', '3'],
    ['', 'OUT 2', '', '3'],
  ])('after %j, %j answers %j and error %s', (before, message, reply, error) => {
    const talk = new Talk({ personality: 'vset-iset', meter: quiet });
    if (before !== '') expect(talk.ask(before)).toBe('');
    expect(talk.ask(message)).toBe(reply);
    expect(talk.ask('ERR?')).toBe(error);
    expect(talk.ask('ERR?')).toBe('0');
  });

  it('ends replies with CR LF, and tells regulation and trips in STS', () => {
    const talk = new Talk({ personality: 'vset-iset', meter: quiet });
    expect(talk.raw('OUT?\r\n')).toBe('0\r\n');
    talk.tell('VSET 2', 'ISET 0.1', 'OUT 1');
    talk.wait(500);
    expect(talk.ask('STS?')).toBe('2');
    expect(talk.ask('IOUT?')).toBe('0.100');
    talk.tell('VSET 0.05');
    talk.wait(500);
    expect(talk.ask('STS?')).toBe('1');
    talk.tell('VSET 2', 'OVSET 0.1');
    talk.wait(500);
    expect(talk.ask('STS?')).toBe('4');
    talk.tell('OUT 1');
    expect(talk.ask('ERR?')).toBe('4');
    talk.tell('OUT 0', 'OVSET 5', 'OUT 1');
    expect(talk.ask('STS?')).toBe('2');
  });

  it('reports a line that was too long with its own code', () => {
    const talk = new Talk({ personality: 'vset-iset' });
    talk.raw(`${'9'.repeat(600)}\r\n`);
    expect(talk.ask('ERR?')).toBe('5');
  });
});

describe('the fixed-length language', () => {
  it('answers exactly five characters and no terminator', () => {
    const talk = fresh();
    talk.tell('VSET1:01.20', 'ISET1:0.450');
    expect(talk.raw('VSET1?')).toBe('01.20');
    expect(talk.raw('ISET1?')).toBe('0.450');
    expect(talk.raw('VOUT1?')).toBe('00.00');
    expect(talk.raw('IOUT1?')).toBe('0.000');
    expect(talk.raw('*IDN?')).toBe('NIGHTBATH,SIM-31-5F,SIM0004,4.0');
  });

  it('answers the status as one raw byte', () => {
    const talk = fresh();
    expect(talk.raw('STATUS?').charCodeAt(0)).toBe(1);
    talk.tell('VSET1:02.00', 'ISET1:0.100', 'OUT1');
    talk.wait(500);
    expect(talk.raw('STATUS?').charCodeAt(0)).toBe(64);
    talk.tell('VSET1:00.05', 'OVP1');
    talk.wait(500);
    expect(talk.raw('STATUS?').charCodeAt(0)).toBe(128 + 64 + 1);
    talk.tell('OUT0', 'OCP1', 'OVP0');
    expect(talk.raw('STATUS?').charCodeAt(0)).toBe(32 + 1);
  });

  it('drops commands that come within 50 ms of the last one', () => {
    const talk = fresh();
    talk.instrument.receive('VSET1:05.00', 1000);
    talk.instrument.receive('VSET1:06.00', 1040);
    talk.instrument.receive('VSET1:07.00', 1050);
    expect(talk.instrument.truth(1100).setVolts).toBe(7);
    expect(talk.instrument.truth(1100).receivedCount).toBe(2);
  });

  it('knows a command by its pattern even in pieces, and a short one by the pause after it', () => {
    const talk = fresh();
    talk.instrument.receive('VSET', 1000);
    talk.instrument.receive('1:03.3', 1010);
    talk.instrument.receive('0', 1020);
    expect(talk.instrument.truth(1021).setVolts).toBe(3.3);
    talk.instrument.receive('VSET1:4.5', 2000);
    expect(talk.instrument.truth(2010).setVolts).toBe(3.3);
    expect(talk.instrument.truth(2040).setVolts).toBe(4.5);
  });

  it('throws away what a pause shows to be no command', () => {
    const talk = fresh();
    talk.instrument.receive('VSET1:', 1000);
    expect(talk.instrument.truth(1100).setVolts).toBe(0);
    talk.instrument.receive('OUT1', 1200);
    expect(talk.instrument.truth(1300).outputOn).toBe(true);
    // Bytes ahead of a command spoil it: this supply does not like an empty line.
    talk.instrument.receive('\nOUT0', 1400);
    expect(talk.instrument.truth(1500).outputOn).toBe(true);
    expect(talk.instrument.truth(1500).offsReceived).toBe(0);
    talk.instrument.receive('OUT0', 1600);
    expect(talk.instrument.truth(1700).outputOn).toBe(false);
  });

  it('ignores set-points out of range without a word', () => {
    const talk = fresh();
    talk.tell('VSET1:10.00', 'VSET1:31.01', 'ISET1:1.000', 'ISET1:5.001');
    expect(talk.raw('VSET1?')).toBe('10.00');
    expect(talk.raw('ISET1?')).toBe('1.000');
    expect(talk.truth.highestSetVolts).toBe(10);
    expect(talk.truth.highestSetAmps).toBe(1);
  });
});
