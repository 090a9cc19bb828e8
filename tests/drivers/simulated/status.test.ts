/** The registers behind `*ESR?`, `*STB?` and STATus (from memory of IEEE 488.2 and SCPI-1999). */

import { describe, expect, it } from 'vitest';
import { Talk } from './harness.ts';

function fresh(): Talk {
  return new Talk({ personality: 'scpi-subsystem' });
}

describe('the standard event status register', () => {
  it('holds power-on at birth, once', () => {
    const talk = fresh();
    expect(talk.ask('*ESR?')).toBe('128');
    expect(talk.ask('*ESR?')).toBe('0');
  });

  it.each([
    ['BAD', '32'],
    ['VOLT 99', '16'],
    ['*OPC', '1'],
    ['BAD;VOLT 99;*OPC', '49'],
  ])('after %s reads %s and is empty then', (message, value) => {
    const talk = fresh();
    talk.ask('*ESR?');
    talk.ask(message);
    expect(talk.ask('*ESR?')).toBe(value);
    expect(talk.ask('*ESR?')).toBe('0');
  });

  it('sets the query error bit for an interrupted query', () => {
    const talk = fresh();
    talk.ask('*ESR?');
    talk.instrument.receive('*IDN?\n*OPC?\n', talk.nowMs);
    talk.wait(50);
    talk.instrument.take(talk.nowMs);
    expect(talk.ask('*ESR?')).toBe('4');
  });

  it('sets the device error bit for an overrun', () => {
    const talk = fresh();
    talk.ask('*ESR?');
    talk.raw(`${'X'.repeat(600)}\n`);
    expect(talk.ask('*ESR?')).toBe('8');
  });

  it('is cleared by *CLS together with the queue, while masks stay', () => {
    const talk = fresh();
    talk.tell('*ESE 60', '*SRE 32', 'STAT:QUES:ENAB 3', 'BAD', '*CLS');
    expect(talk.ask('*ESR?')).toBe('0');
    expect(talk.ask('SYST:ERR?')).toBe('0,"No error"');
    expect(talk.ask('*ESE?;*SRE?;:STAT:QUES:ENAB?')).toBe('60;32;3');
  });

  it('answers *OPC? with 1 and sets no bit for it', () => {
    const talk = fresh();
    talk.ask('*ESR?');
    expect(talk.ask('*OPC?')).toBe('1');
    expect(talk.ask('*ESR?')).toBe('0');
  });
});

describe('the status byte', () => {
  it('shows a waiting error in bit 2', () => {
    const talk = fresh();
    talk.tell('*CLS', 'BAD');
    expect(talk.ask('*STB?')).toBe('4');
    talk.ask('SYST:ERR?');
    expect(talk.ask('*STB?')).toBe('0');
  });

  it('shows enabled events in bit 5 and the enabled summary in bit 6', () => {
    const talk = fresh();
    talk.tell('*CLS', '*ESE 1', '*OPC');
    expect(talk.ask('*STB?')).toBe('32');
    talk.ask('*SRE 32');
    expect(talk.ask('*STB?')).toBe('96');
    // Reading the byte clears nothing.
    expect(talk.ask('*STB?')).toBe('96');
    talk.ask('*ESR?');
    expect(talk.ask('*STB?')).toBe('0');
  });

  it('shows a reply that waits in the same message in bit 4', () => {
    const talk = fresh();
    talk.ask('*CLS');
    expect(talk.ask('*OPC?;*STB?')).toBe('1;16');
  });

  it('ignores bit 6 in its own mask and rounds masks', () => {
    const talk = fresh();
    talk.tell('*SRE 255', '*ESE 3.6');
    expect(talk.ask('*SRE?;*ESE?')).toBe('191;4');
  });

  it('shows questionable events in bit 3 when they are enabled', () => {
    const talk = fresh();
    talk.tell('*CLS', 'VOLT 2', 'CURR 0.1', 'OUTP ON');
    talk.wait(200).ask('STAT:QUES:COND?');
    expect(talk.ask('*STB?')).toBe('0');
    talk.ask('STAT:QUES:ENAB 1');
    expect(talk.ask('*STB?')).toBe('8');
  });
});

describe('SCPI status groups', () => {
  it('tell regulation now in the condition and what has come up in the event', () => {
    const talk = fresh();
    talk.tell('VOLT 2', 'CURR 0.1');
    expect(talk.ask('STAT:QUES:COND?')).toBe('0');
    talk.tell('OUTP ON');
    talk.wait(500);
    expect(talk.ask('STAT:QUES:COND?')).toBe('1');
    talk.tell('VOLT 0.05');
    talk.wait(500);
    expect(talk.ask('STAT:QUES:COND?')).toBe('2');
    talk.tell('OUTP OFF');
    expect(talk.ask('STAT:QUES:COND?')).toBe('0');
    expect(talk.ask('STAT:QUES:EVEN?')).toBe('3');
    expect(talk.ask('STAT:QUES?')).toBe('0');
  });

  it('keep the OPERation group and its masks', () => {
    const talk = fresh();
    talk.ask('STAT:OPER:ENAB 65535;:STAT:QUES:ENAB 7');
    expect(talk.ask('STAT:OPER:ENAB?;:STAT:QUES:ENAB?;:STAT:OPER:COND?')).toBe('65535;7;0');
    talk.ask('STAT:PRES');
    expect(talk.ask('STAT:OPER:ENAB?;:STAT:QUES:ENAB?')).toBe('0;0');
  });

  it('use layout C in the channel-list language: 256, 1024, and trips in QUEStionable', () => {
    const talk = new Talk({ personality: 'scpi-channel-list' });
    talk.tell('VOLT 2,(@1)', 'CURR 0.1,(@1)', 'OUTP ON,(@1)');
    talk.wait(500);
    expect(talk.ask('STAT:OPER:COND? (@1)')).toBe('1024');
    expect(talk.ask('STAT:OPER:COND?')).toBe('1024');
    talk.tell('VOLT 0.05,(@1)');
    talk.wait(500);
    expect(talk.ask('STAT:OPER:COND? (@1)')).toBe('256');
    talk.tell('VOLT 2,(@1)', 'VOLT:PROT 0.11,(@1)');
    talk.wait(500);
    expect(talk.ask('STAT:QUES:COND? (@1)')).toBe('1');
    expect(talk.ask('STAT:OPER:COND? (@1)')).toBe('0');
  });
});

describe('*RST and a restart', () => {
  it('*RST switches off and resets set-points but keeps events, errors and masks', () => {
    const talk = fresh();
    talk.tell('*ESE 32', 'VOLT 2', 'CURR 0.1', 'VOLT:PROT 5', 'OUTP ON', 'BAD', '*RST');
    expect(talk.ask('VOLT?;:CURR?;:OUTP?;:VOLT:PROT?')).toBe('0.000;5.0000;0;33.000');
    expect(talk.ask('*ESE?;*ESR?')).toBe('32;160');
    expect(talk.ask('SYST:ERR?')).toBe('-113,"Undefined header"');
    expect(talk.truth.offsReceived).toBe(0);
  });

  it('a restart sets power-on again and forgets masks and errors', () => {
    const talk = fresh();
    talk.tell('*ESR?', '*ESE 60', 'BAD');
    talk.instrument.faults.set('restart', { bootMs: 100 });
    talk.wait(200);
    expect(talk.ask('*ESR?;*ESE?')).toBe('128;0');
    expect(talk.ask('SYST:ERR?')).toBe('0,"No error"');
  });
});
