/**
 * What a SCPI supply must make of a message. Rules and codes: IEEE 488.2 and SCPI-1999 from
 * memory; a line marked "as measured" follows what real instruments were seen to do where the
 * standard differs.
 */

import { describe, expect, it } from 'vitest';
import { Talk } from './harness.ts';

/** [messages sent before, message, reply, first error in the queue afterwards] */
type Row = readonly [string, string, string, string];

const none = '0,"No error"';

const accepted: readonly Row[] = [
  // Short and long forms, any case (from memory of SCPI-1999 volume 1, 6.2.1).
  ['VOLT 1.5', 'VOLT?', '1.500', none],
  ['volt 1.5', 'volt?', '1.500', none],
  ['VOLTAGE 1.5', 'VOLTage?', '1.500', none],
  ['VoLtAgE 1.5', 'vOLT?', '1.500', none],
  ['CURR 0.25', 'CURRENT?', '0.2500', none],
  // Optional nodes.
  ['SOUR:VOLT 2', ':SOURCE:VOLTAGE:LEVEL:IMMEDIATE:AMPLITUDE?', '2.000', none],
  ['SOUR:VOLT:LEV 2', 'VOLT:IMM?', '2.000', none],
  ['VOLT:AMPL 2', 'VOLT?', '2.000', none],
  ['', 'MEAS:CURR?', '0.0000', none],
  ['', 'MEAS:CURR:DC?', '0.0000', none],
  ['', 'MEASURE:SCALAR:CURRENT:DC?', '0.0000', none],
  ['', 'OUTP:STAT?', '0', none],
  ['', 'OUTPUT:STATE?', '0', none],
  ['', 'SYST:ERR:NEXT?', none, none],
  // Numeric suffix 1 where it applies.
  ['OUTP1 ON', 'OUTP?', '1', none],
  ['SOUR1:VOLT 3', 'SOURCE1:VOLT?', '3.000', none],
  // White space: any control character and the space; CR before LF is white space.
  ['VOLT\t1.25', 'VOLT?', '1.250', none],
  ['  VOLT   1.25   ', 'VOLT?', '1.250', none],
  ['VOLT 1.25\r', 'VOLT?\r', '1.250', none],
  ['VOLT 1.25;CURR 1\r', 'VOLT? ; CURR?', '1.250;1.0000', none],
  // NRf: integer, point, exponent, sign, missing digits on one side.
  ['VOLT 2', 'VOLT?', '2.000', none],
  ['VOLT +2', 'VOLT?', '2.000', none],
  ['VOLT 2.', 'VOLT?', '2.000', none],
  ['VOLT .5', 'VOLT?', '0.500', none],
  ['VOLT 1.5E1', 'VOLT?', '15.000', none],
  ['VOLT 1500e-3', 'VOLT?', '1.500', none],
  ['VOLT 1.5 E +1', 'VOLT?', '15.000', none],
  ['VOLT #H1E', 'VOLT?', '30.000', none],
  ['VOLT #B101', 'VOLT?', '5.000', none],
  ['VOLT #Q17', 'VOLT?', '15.000', none],
  // Suffixes with multipliers.
  ['VOLT 2500mV', 'VOLT?', '2.500', none],
  ['VOLT 2.5 V', 'VOLT?', '2.500', none],
  ['CURR 500 mA', 'CURR?', '0.5000', none],
  ['CURR 0.5A', 'CURR?', '0.5000', none],
  // MINimum, MAXimum, DEFault.
  ['VOLT MAX', 'VOLT?', '30.000', none],
  ['VOLT MAXIMUM', 'VOLT?', '30.000', none],
  ['VOLT 5;VOLT MIN', 'VOLT?', '0.000', none],
  ['CURR DEF', 'CURR?', '5.0000', none],
  ['', 'VOLT? MAX', '30.000', none],
  ['', 'VOLT? MINIMUM', '0.000', none],
  ['', 'CURR? max', '5.0000', none],
  ['', 'VOLT:PROT? MAX', '33.000', none],
  // Set-points fall on the supply's step.
  ['VOLT 3.33333', 'VOLT?', '3.333', none],
  ['CURR 0.123456', 'CURR?', '0.1235', none],
  ['VOLT 5.1', 'VOLT?', '5.100', none],
  // Booleans: numbers are rounded, then anything but 0 is on.
  ['OUTP ON', 'OUTP?', '1', none],
  ['OUTP 1', 'OUTP?', '1', none],
  ['outp on', 'OUTP?', '1', none],
  ['OUTP 2', 'OUTP?', '1', none],
  ['OUTP 0.4', 'OUTP?', '0', none],
  ['OUTP ON;OUTP OFF', 'OUTP?', '0', none],
  // Compound messages and header paths.
  ['VOLT 1;CURR 2', 'VOLT?;CURR?', '1.000;2.0000', none],
  ['SOUR:VOLT 1;CURR 2', 'VOLT?;:CURR?', '1.000;2.0000', none],
  ['', 'MEAS:VOLT:DC?;DC?', '0.000;0.000', none],
  ['', 'MEAS:VOLT?;CURR?', '0.000;0.0000', none],
  ['', 'MEAS:VOLT?;:MEAS:CURR?', '0.000;0.0000', none],
  ['VOLT:PROT 5;PROT 6', 'VOLT:PROT?', '6.000', none],
  ['', ':VOLT?', '0.000', none],
  // Common commands leave the path alone (from memory of SCPI-1999 volume 1, 6.2.5).
  ['', 'MEAS:VOLT:DC?;*OPC?;DC?', '0.000;1;0.000', none],
  // Errors inside a line do not stop what follows; the reply has a field less (as measured).
  ['VOLT 1', 'VOLT?;:NONE?;:CURR?', '1.000;5.0000', '-113,"Undefined header"'],
  // Empty message: nothing at all.
  ['', '', '', none],
  ['', '   ', '', none],
  // Identification and versions.
  ['', '*IDN?', 'NIGHTBATH,SIM-30-5,SIM0001,1.0', none],
  ['', 'SYST:VERS?', '1999.0', none],
  ['', '*TST?', '0', none],
  ['SYST:REM;:SYST:RWL;:SYST:LOC;:SYST:BEEP;:SYST:BEEP:IMM', '*OPC?', '1', none],
  ['*WAI;*CLS', '*OPC?', '1', none],
];

const refused: readonly Row[] = [
  // -101: characters that no header can hold.
  ['', 'VOLT$ 3', '', '-101,"Invalid character"'],
  ['', 'VO&LT?', '', '-101,"Invalid character"'],
  ['', '\u00b5VOLT?', '', '-101,"Invalid character"'],
  ['', 'VOLT $3', '', '-101,"Invalid character"'],
  ['', '::VOLT?', '', '-101,"Invalid character"'], // as measured
  ['', 'MEAS::VOLT?', '', '-101,"Invalid character"'], // as measured
  // -102: the pieces do not make a message.
  ['', 'VOLT 3 3', '', '-102,"Syntax error"'],
  ['', 'VOLT:', '', '-102,"Syntax error"'],
  ['', 'VO?LT', '', '-102,"Syntax error"'],
  ['', '*', '', '-102,"Syntax error"'],
  ['', '3VOLT', '', '-102,"Syntax error"'],
  ['', 'VOLT 1,', '', '-102,"Syntax error"'],
  ['', 'VOLT ,1', '', '-102,"Syntax error"'],
  ['', 'VOLT 1;;CURR 1', '', '-102,"Syntax error"'],
  ['', 'OUTP O-N', '', '-102,"Syntax error"'],
  // -104: another type than the command takes.
  ['', 'VOLT "3"', '', '-104,"Data type error"'],
  ['', 'VOLT BIG', '', '-104,"Data type error"'],
  ['', 'VOLT (@1)', '', '-104,"Data type error"'],
  ['', 'VOLT (1+2)', '', '-104,"Data type error"'],
  ['', 'VOLT #13abc', '', '-104,"Data type error"'],
  ['', 'OUTP "ON"', '', '-104,"Data type error"'],
  // -108 and -109: too many, too few.
  ['', 'VOLT 3,3', '', '-108,"Parameter not allowed"'],
  ['', '*RST 1', '', '-108,"Parameter not allowed"'],
  ['', '*IDN? 1', '', '-108,"Parameter not allowed"'],
  ['', 'VOLT? (@1)', '', '-108,"Parameter not allowed"'],
  ['', 'OUTP? MAX', '', '-108,"Parameter not allowed"'],
  ['', 'VOLT', '', '-109,"Missing parameter"'],
  ['', 'OUTP', '', '-109,"Missing parameter"'],
  ['', '*ESE', '', '-109,"Missing parameter"'],
  // -111, -112: separators and over-long mnemonics.
  ['', 'VOLT,3', '', '-111,"Header separator error"'],
  ['', '*IDN?"A"', '', '-111,"Header separator error"'],
  ['', 'VOLTAGEVOLTAGE?', '', '-112,"Program mnemonic too long"'],
  // -113: neither short nor long, no such command, no such form.
  ['', 'VOLTA 3', '', '-113,"Undefined header"'],
  ['', 'VOL 3', '', '-113,"Undefined header"'],
  ['', 'SYSTE:ERR?', '', '-113,"Undefined header"'],
  ['', 'MEASU:VOLT?', '', '-113,"Undefined header"'],
  ['', 'MEAS?', '', '-113,"Undefined header"'],
  ['', 'MEAS:VOLT', '', '-113,"Undefined header"'],
  ['', 'OUTP:PROT:CLE?', '', '-113,"Undefined header"'],
  ['', '*RST?', '', '-113,"Undefined header"'],
  ['', '*IDN', '', '-113,"Undefined header"'],
  ['', '*XYZ?', '', '-113,"Undefined header"'],
  ['', 'VOLT:PROT:DEL 1', '', '-113,"Undefined header"'],
  ['', 'MEAS:VOLT:DC?;CURR:DC?', '0.000', '-113,"Undefined header"'], // the path is MEAS:VOLT
  ['', 'CURR:PROT?;VOLT?', '5.5000', '-113,"Undefined header"'],
  // -114: only 1 exists.
  ['', 'OUTP2 ON', '', '-114,"Header suffix out of range"'],
  ['', 'SOUR3:VOLT?', '', '-114,"Header suffix out of range"'],
  ['', 'VOLT2?', '', '-114,"Header suffix out of range"'],
  // -121 to -124: numbers.
  ['', 'VOLT 1.2.3', '', '-121,"Invalid character in number"'],
  ['', 'VOLT +-3', '', '-121,"Invalid character in number"'],
  ['', 'VOLT .', '', '-121,"Invalid character in number"'],
  ['', 'VOLT #B12', '', '-121,"Invalid character in number"'],
  ['', 'VOLT 1E99999', '', '-123,"Exponent too large"'],
  ['', `VOLT ${'1'.repeat(256)}`, '', '-124,"Too many digits"'],
  // -131 and -138: suffixes.
  ['', 'VOLT 3 A', '', '-131,"Invalid suffix"'],
  ['', 'CURR 3 OHM', '', '-131,"Invalid suffix"'],
  ['', 'VOLT 3E', '', '-131,"Invalid suffix"'],
  ['', '*ESE 3V', '', '-138,"Suffix not allowed"'],
  ['', 'OUTP 1V', '', '-138,"Suffix not allowed"'],
  // -151, -161, -171: strings, blocks, expressions that do not end well.
  ['', 'VOLT "3', '', '-151,"Invalid string data"'],
  ['', 'VOLT #Z', '', '-161,"Invalid block data"'],
  ['', 'VOLT (@1', '', '-171,"Invalid expression"'],
  ['', 'VOLT (@A)', '', '-171,"Invalid expression"'],
  // -222: outside the range; the value stands.
  ['VOLT 4', 'VOLT 99;VOLT?', '4.000', '-222,"Data out of range"'],
  ['VOLT 4', 'VOLT -1;VOLT?', '4.000', '-222,"Data out of range"'],
  ['CURR 1', 'CURR 5.01;CURR?', '1.0000', '-222,"Data out of range"'],
  ['VOLT 4', 'VOLT 1E30;VOLT?', '4.000', '-222,"Data out of range"'],
  ['VOLT 4', 'VOLT 9.9E37;VOLT?', '4.000', '-222,"Data out of range"'],
  ['', '*ESE 256', '', '-222,"Data out of range"'],
  ['', '*SRE -1', '', '-222,"Data out of range"'],
  // -224: a word that is none of those allowed.
  ['', 'OUTP MAYBE', '', '-224,"Illegal parameter value"'],
  ['', 'VOLT? BIG', '', '-224,"Illegal parameter value"'],
];

describe('a SCPI message in the subsystem language', () => {
  it.each([...accepted, ...refused])(
    'after %j, %j answers %j and leaves %s',
    (before, message, reply, error) => {
      const talk = new Talk({
        personality: 'scpi-subsystem',
        meter: { noiseVolts: 0, noiseAmps: 0 },
      });
      if (before !== '') expect(talk.ask(before)).toBe('');
      expect(talk.ask(message)).toBe(reply);
      expect(talk.ask('SYST:ERR?')).toBe(error);
    },
  );

  it('obeys units before and after a bad one and queues errors oldest first', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.ask('VOLT 1;BAD 1;:CURR 9;:CURR 2');
    expect(talk.ask('VOLT?;:CURR?')).toBe('1.000;2.0000');
    expect(talk.ask('SYST:ERR?')).toBe('-113,"Undefined header"');
    expect(talk.ask('SYST:ERR?')).toBe('-222,"Data out of range"');
    expect(talk.ask('SYST:ERR?')).toBe(none);
  });

  it('keeps separators that stand in strings and expressions', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    expect(talk.ask('VOLT "1;2,3";CURR 1;:CURR?')).toBe('1.0000');
    expect(talk.ask('SYST:ERR?')).toBe('-104,"Data type error"');
    expect(talk.ask('SYST:ERR?')).toBe(none);
  });

  it('accepts messages in any portions and takes bare terminators as nothing', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    for (const byte of '\n\r\nVOLT 7') expect(talk.raw(byte)).toBe('');
    expect(talk.raw('.5\nVOLT?\n')).toBe('7.500\n');
    expect(talk.ask('SYST:ERR?')).toBe(none);
  });

  it('completes a half-sent command with what comes next, unless a terminator comes first', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.tell('VOLT 1', 'OUTP ON');
    talk.raw('VOLT 2.');
    talk.raw('OUTP OFF\n');
    expect(talk.truth.outputOn).toBe(true);
    talk.raw('VOLT 2.');
    talk.raw('\nOUTP OFF\n');
    expect(talk.truth.outputOn).toBe(false);
  });

  it('throws away a line that is too long, whole, with -363', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.raw(`${'X'.repeat(600)};OUTP ON\n`);
    expect(talk.truth.outputOn).toBe(false);
    expect(talk.ask('SYST:ERR?')).toBe('-363,"Input buffer overrun"');
    expect(talk.ask('SYST:ERR?')).toBe(none);
  });

  it('replaces the newest of a full queue with -350', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    for (let index = 0; index < 30; index += 1) talk.ask('VOLT 99');
    const codes: string[] = [];
    for (let index = 0; index < 21; index += 1) codes.push(talk.ask('SYST:ERR?'));
    expect(codes.slice(0, 19)).toEqual(Array(19).fill('-222,"Data out of range"'));
    expect(codes[19]).toBe('-350,"Queue overflow"');
    expect(codes[20]).toBe(none);
  });

  it('drops the reply that was not fetched when the next command comes, with -410', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', latencyMs: 20 });
    talk.instrument.receive('*IDN?\n', 0);
    talk.instrument.receive('VOLT?\n', 5);
    talk.nowMs = 100;
    expect(talk.instrument.take(100)).toBe('0.000\n');
    expect(talk.ask('SYST:ERR?')).toBe('-410,"Query INTERRUPTED"');
  });

  it('gives up a whole query that waits for its terminator, with -420', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.raw('MEAS:VOLT?');
    talk.wait(3000);
    expect(talk.ask('VOLT?')).toBe('0.000');
    expect(talk.ask('SYST:ERR?')).toBe('-420,"Query UNTERMINATED"');
  });

  it('refuses ON with -200 while a protection is latched', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.tell('VOLT 2', 'CURR 0.4', 'CURR:PROT 0.2', 'CURR:PROT:STAT ON', 'OUTP ON');
    talk.wait(500).ask('OUTP ON');
    expect(talk.ask('OUTP?')).toBe('0');
    expect(talk.ask('SYST:ERR?')).toBe('-200,"Execution error;a protection has tripped"');
  });
});
