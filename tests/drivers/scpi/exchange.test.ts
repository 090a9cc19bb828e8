/** The driver's conversation with a supply as a written exchange, byte for byte. */

import { describe, expect, onTestFinished, test } from 'vitest';
import type { Rectifier } from '../../../drivers/contract.ts';
import { createRectifier, withAmmeterFactor } from '../../../drivers/registry.ts';
import type { Dialect } from '../../../drivers/scpi/dialect-schema.ts';
import { dialect } from '../dialects.ts';
import { AnsweringLine, ScriptedLine, type Step } from '../scripted-line.ts';
import { VirtualClock } from '../virtual-clock.ts';

interface Talk {
  readonly clock: VirtualClock;
  readonly line: ScriptedLine;
  readonly rectifier: Rectifier;
}

async function talk(shape: Dialect, steps: readonly Step[]): Promise<Talk> {
  const clock = new VirtualClock();
  const line = new ScriptedLine(steps);
  const rectifier = await createRectifier({
    driver: 'scpi',
    dialect: shape,
    link: { kind: 'in-process', instrument: line },
    clock,
    expectIdentity: 'SIM-30-5',
    hardLimits: { maxVolts: 6, maxAmps: 2 },
    simulated: false,
  });
  onTestFinished(() => {
    expect(line.surprises).toEqual([]);
    expect(line.left).toEqual([]);
  });
  return { clock, line, rectifier };
}

const TAG = `*ESE?;:`;
const IDENTITY = 'NIGHTBATH,SIM-30-5,SIM0001,1.0\n';
const FULL = `${TAG}MEAS:VOLT?;:MEAS:CURR?;:VOLT?;:CURR?;*ESR?;:OUTP?;:STAT:QUES:COND?\n`;
const SHORT = `${TAG}MEAS:VOLT?;:MEAS:CURR?;:OUTP?;:STAT:QUES:COND?\n`;

const connecting: readonly Step[] = [
  { sent: '\n' },
  { sent: '*IDN?\n', reply: IDENTITY },
  { sent: '*IDN?\n', reply: IDENTITY },
  { sent: 'SYST:REM\n' },
  { sent: '\n' },
  { sent: `*ESE {n};*ESE?\n`, reply: `{n}\n` },
  { sent: '*ESE?;*ESR?\n', reply: `{n};160\n` },
  { sent: 'SYST:ERR?\n', reply: '-222,"Data out of range"\n' },
  { sent: 'SYST:ERR?\n', reply: '+0,"No error"\n' },
  { sent: `${TAG}VOLT? MAX;:CURR? MAX\n`, reply: `{n};32.000;5.2000\n` },
  { sent: FULL, reply: `{n};0.412;0.0000;1.500;0.1000;0;0;0\n` },
  { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: `{n};0;0\n` },
];

const subsystem = dialect('scpi-subsystem');

async function connected(steps: readonly Step[] = []): Promise<Talk> {
  const conversation = await talk(subsystem, [...connecting, ...steps]);
  await conversation.rectifier.connect();
  return conversation;
}

describe('connecting', () => {
  test('settles, ends half a line, identifies twice, and only asks', async () => {
    const { rectifier, line } = await talk(subsystem, connecting);
    const report = await rectifier.connect();
    expect(report).toEqual({
      identity: {
        maker: 'NIGHTBATH',
        model: 'SIM-30-5',
        serial: 'SIM0001',
        firmware: '1.0',
        text: IDENTITY.trim(),
      },
      range: {
        minVolts: 0,
        maxVolts: 32,
        stepVolts: 0.001,
        minAmps: 0,
        maxAmps: 5.2,
        stepAmps: 0.0001,
      },
      outputOn: false,
      volts: 0.412,
      amps: 0,
      setVolts: 1.5,
      setAmps: 0.1,
      restarted: true,
      standingErrors: ['-222,"Data out of range"'],
    });
    expect(rectifier.isConnected).toBe(true);
    expect(rectifier.description).toContain('NIGHTBATH,SIM-30-5,SIM0001,1.0');
    const changing = line.writes.filter((bytes) => /^(VOLT|CURR|OUTP) /.test(bytes));
    expect(changing).toEqual([]);
  });

  test('boot text and garbage before the identity are let pass', async () => {
    const { rectifier, line } = await talk(subsystem, [
      { sent: '\n' },
      { sent: '*IDN?\n', reply: `starting up 1.0\n` },
      { sent: '*IDN?\n', reply: IDENTITY },
      ...connecting.slice(2),
    ]);
    line.push('\x00\xff~boot\r\nready', 20);
    await rectifier.connect();
    expect(rectifier.isConnected).toBe(true);
  });

  test('another identity than the expected one is refused', async () => {
    const other = 'NIGHTBATH,SIM-20-3C,SIM0002,2.1\n';
    const { rectifier } = await talk(subsystem, [
      { sent: '\n' },
      { sent: '*IDN?\n', reply: other },
      { sent: '*IDN?\n', reply: other },
    ]);
    await expect(rectifier.connect()).rejects.toMatchObject({ kind: 'wrongDevice' });
    expect(rectifier.isConnected).toBe(false);
  });

  test('what is no identity of the dialect is another device', async () => {
    const { rectifier } = await talk(subsystem, [
      { sent: '\n' },
      { sent: '*IDN?\n', reply: 'OK\n' },
      { sent: '*IDN?\n', reply: 'OK\n' },
    ]);
    await expect(rectifier.connect()).rejects.toThrow(
      'says it is "OK", which does not fit the dialect scpi-subsystem',
    );
  });

  test('a mute device is a time-out', async () => {
    const steps = [{ sent: '\n' }, { sent: '*IDN?\n' }, { sent: '*IDN?\n' }];
    const { rectifier, clock } = await talk(subsystem, steps);
    await expect(rectifier.connect()).rejects.toMatchObject({ kind: 'timeout' });
    expect(clock.nowMs()).toBeLessThan(1500);
  });
});

describe('reading', () => {
  test('set-points and the power-on flag are asked in every fourth cycle', async () => {
    const short: Step = { sent: SHORT, reply: `{n};0.412;0.0000;0;0\n` };
    const { rectifier } = await connected([
      short,
      short,
      short,
      { sent: FULL, reply: `{n};0.412;0.0000;1.500;0.1000;0;0;0\n` },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: `{n};1;0\n` },
      { sent: FULL, reply: `{n};0.412;0.0000;1.500;0.1000;0;0;0\n` },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: `{n};1;0\n` },
      short,
    ]);
    for (let cycle = 0; cycle < 3; cycle += 1) {
      expect((await rectifier.read()).setVolts).toBeNull();
    }
    expect(await rectifier.read()).toEqual({
      volts: 0.412,
      amps: 0,
      outputOn: false,
      regulation: 'off',
      supplyTrips: ['overVoltage'],
      setVolts: 1.5,
      setAmps: 0.1,
      restarted: false,
    });
    // News of a trip is asked for once more at once; while the output stays off, it stands.
    expect((await rectifier.read()).supplyTrips).toEqual(['overVoltage']);
    expect((await rectifier.read()).supplyTrips).toEqual(['overVoltage']);
  });

  test('a whole one asks for the set-points before they are due', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: `{n};0.412;0.0000;0;0\n` },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    expect((await rectifier.read()).setVolts).toBeNull();
    expect((await rectifier.read({ whole: true })).setVolts).toBe(1.5);
  });

  test('a lost field is noticed by the count, not assigned to its neighbour', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: `{n};0.412;0;0\n` },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: '{n}\n' },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    expect((await rectifier.read()).volts).toBe(0.412);
    expect(rectifier.health).toEqual({ timeouts: 0, garbled: 1, resyncs: 2 });
  });

  test('a field too many is noticed as well', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: '{n};0.412;0.0000;0;0;0\n' },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: '{n}\n' },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    await rectifier.read();
    expect(rectifier.health.garbled).toBe(1);
  });

  test('what does not fit together makes the next reading a full one', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: '{n};0.412;0.3000;1;1\n' },
      { sent: FULL, reply: '{n};0.412;0.3000;1.500;0.3000;0;1;1\n' },
      { sent: SHORT, reply: '{n};0.412;0.3000;1;1\n' },
    ]);
    expect(await rectifier.read()).toMatchObject({ regulation: 'unknown', setAmps: null });
    const second = await rectifier.read();
    expect(second).toMatchObject({ regulation: 'constantCurrent', setAmps: 0.3 });
    expect((await rectifier.read()).regulation).toBe('constantCurrent');
  });

  test('a late reply never becomes a value: the line is proved clean first', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: `{n};9.999;1.9999;1;1\n`, afterMs: 190 },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: '{n}\n', afterMs: 30 },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    expect((await rectifier.read()).volts).toBe(0.412);
    expect(rectifier.health.timeouts).toBe(1);
  });

  test('a late reply that comes between two readings is not the answer to the second', async () => {
    const { rectifier, line, clock } = await connected([
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: '{n}\n' },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    line.push(`{n};9.999;1.9999;1;1\n`, clock.nowMs() + 10);
    await clock.sleep(100);
    expect((await rectifier.read()).volts).toBe(0.412);
    expect(rectifier.health.garbled).toBe(1);
  });

  test('silence ends in a time-out within the budget', async () => {
    const { rectifier, clock } = await connected([
      { sent: SHORT },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n' },
    ]);
    const startMs = clock.nowMs();
    await expect(rectifier.read()).rejects.toMatchObject({ kind: 'timeout' });
    expect(clock.nowMs() - startMs).toBeLessThanOrEqual(400);
  });

  test('9.9E37 is refused as garbled, and the line needs no resync for it', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: `{n};9.9E37;0.0000;0;0\n` },
      { sent: FULL, reply: `{n};9.91E37;0.0000;1.500;0.1000;0;0;0\n` },
    ]);
    await expect(rectifier.read()).rejects.toMatchObject({ kind: 'garbled' });
    expect(rectifier.health.resyncs).toBe(1);
  });

  test('an error line that nobody asked for fails the request and is recognised', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: '**ERROR: -242,"CH1 fault detected"\n' },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: `**ERROR: -113,"Undefined header"\n{n}\n` },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    expect((await rectifier.read()).volts).toBe(0.412);
  });

  test('an echo is dropped', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: `${SHORT}{n};0.412;0.0000;0;0\n` },
    ]);
    expect((await rectifier.read()).volts).toBe(0.412);
  });
});

describe('a value that no supply of this range can give', () => {
  const full: Step = { sent: FULL, reply: '{n};0.412;0.1000;1.500;0.1000;0;1;2\n' };

  test.each([
    ['current', '{n};0.412;1104.0;1;2\n'],
    ['current the other way', '{n};0.412;-7.0000;1;2\n'],
    ['voltage', '{n};42.000;0.1000;1;2\n'],
  ])('is a changed digit: %s is asked again within the same call', async (_what, reply) => {
    const { rectifier } = await connected([{ sent: SHORT, reply }, full]);
    expect(await rectifier.read()).toMatchObject({ volts: 0.412, amps: 0.1 });
    // It is known where the reply ends, so the line needs no resync for it.
    expect(rectifier.health).toEqual({ timeouts: 0, garbled: 1, resyncs: 1 });
  });

  test('is garbled when it comes twice, and never a reading', async () => {
    const { rectifier } = await connected([
      { sent: SHORT, reply: '{n};0.412;6.8000;1;2\n' },
      { sent: FULL, reply: '{n};0.412;6.8000;1.500;0.1000;0;1;2\n' },
    ]);
    const call = rectifier.read();
    await expect(call).rejects.toMatchObject({ kind: 'garbled' });
    await expect(call).rejects.toThrow('"6.8000"; this supply gives no more than 5.2 A');
  });

  test('a runaway of a quarter above the highest set-point is a reading', async () => {
    const { rectifier } = await connected([{ sent: SHORT, reply: '{n};0.412;6.5000;1;2\n' }]);
    expect((await rectifier.read()).amps).toBe(6.5);
  });

  test('does not keep OFF from being confirmed', async () => {
    const { rectifier } = await connected([
      { sent: '\nOUTP OFF\n' },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: '{n}\n' },
      { sent: `${TAG}MEAS:CURR?;:OUTP?\n`, reply: '{n};90.000;0\n' },
      { sent: '\nOUTP OFF\nSYST:REM\n\nOUTP OFF\n' },
      { sent: `${TAG}MEAS:CURR?;:OUTP?\n`, reply: '{n};0.0000;0\n' },
    ]);
    expect(await rectifier.off()).toMatchObject({ confirmed: true, amps: 0 });
  });
});

describe('programming', () => {
  const levels = { overVoltageVolts: 3.3, overCurrentAmps: 0.6 };
  const readBack = `${TAG}VOLT?;:CURR?;:VOLT:PROT?;:CURR:PROT?\n`;

  test('rounds, raises protections first, reads all back, then switches them on', async () => {
    const { rectifier } = await connected([
      { sent: `${TAG}VOLT:PROT?;:CURR:PROT?\n`, reply: `{n};2.000;5.5000\n` },
      { sent: 'VOLT:PROT 3.300\n' },
      { sent: 'VOLT 3.000\n' },
      { sent: 'CURR 0.4568\n' },
      { sent: 'CURR:PROT 0.6000\n' },
      { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
      { sent: readBack, reply: `{n};3.000;0.4568;3.300;0.6000\n` },
      { sent: 'VOLT:PROT:STAT ON\n' },
      { sent: 'CURR:PROT:STAT ON\n' },
      { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
      { sent: `${TAG}VOLT:PROT:STAT?;:CURR:PROT:STAT?\n`, reply: `{n};1;1\n` },
      { sent: `${TAG}VOLT:PROT:STAT?;:CURR:PROT:STAT?\n`, reply: `{n};1;1\n` },
    ]);
    const programmed = await rectifier.program({ volts: 3.0002, amps: 0.45678, ...levels });
    expect(programmed).toEqual({
      volts: 3,
      amps: 0.4568,
      overVoltageVolts: 3.3,
      overCurrentAmps: 0.6,
    });
  });

  const setting: readonly Step[] = [
    { sent: 'VOLT 3.000\n' },
    { sent: 'CURR 0.4000\n' },
    { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
  ];

  test('a value that reads back otherwise once is asked for again', async () => {
    const { rectifier } = await connected([
      ...setting,
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.5000\n` },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.4000\n` },
    ]);
    expect(await rectifier.program({ volts: 3, amps: 0.4 })).toMatchObject({ amps: 0.4 });
  });

  test('a value that reads back otherwise twice is a mismatch', async () => {
    const { rectifier } = await connected([
      ...setting,
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.5000\n` },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.5000\n` },
    ]);
    const call = rectifier.program({ volts: 3, amps: 0.4 });
    await expect(call).rejects.toMatchObject({ kind: 'readbackMismatch' });
    await expect(call).rejects.toThrow('was set to 0.4 A and reads back as 0.5 A');
  });

  test('a value that the supply refuses is told with its own words', async () => {
    const refusing: readonly Step[] = [
      { sent: 'VOLT 3.000\n' },
      { sent: 'CURR 0.4000\n' },
      { sent: 'SYST:ERR?\n', reply: '-222,"Data out of range"\n' },
      { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};1.500;0.4000\n` },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};1.500;0.4000\n` },
    ];
    // Sent twice: the first refusal might have been about something older.
    const { rectifier } = await connected([...refusing, ...refusing]);
    const call = rectifier.program({ volts: 3, amps: 0.4 });
    await expect(call).rejects.toMatchObject({ kind: 'refused' });
    await expect(call).rejects.toThrow('-222');
  });

  test('an old error beside values that all read back is no refusal', async () => {
    const { rectifier } = await connected([
      { sent: 'VOLT 3.000\n' },
      { sent: 'CURR 0.4000\n' },
      { sent: 'SYST:ERR?\n', reply: '-363,"Input buffer overrun"\n' },
      { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.4000\n` },
    ]);
    expect((await rectifier.program({ volts: 3, amps: 0.4 })).volts).toBe(3);
  });

  test.each([
    [{ volts: 6.001, amps: 0.4 }, 'above the limit of 6 V'],
    [{ volts: 3, amps: 2.0001 }, 'above the limit of 2 A'],
    [{ volts: -0.1, amps: 0.4 }, "below the supply's lowest, 0 V"],
    [{ volts: Number.NaN, amps: 0.4 }, 'not a number'],
    [{ volts: 3, amps: Number.POSITIVE_INFINITY }, 'not a number'],
    [{ volts: Number.NEGATIVE_INFINITY, amps: 0.4 }, 'not a number'],
    [{ volts: 3, amps: 0.4, overCurrentAmps: Number.NaN }, 'not a number'],
    [{ volts: 3, amps: 0.4, overVoltageVolts: 36 }, "above the supply's highest, 35.2"],
    [{ volts: 3, amps: 0.4, overVoltageVolts: 2.9 }, 'below the set-point of 3 V'],
    [{ volts: 3, amps: 0.4, overCurrentAmps: 0.3 }, 'below the set-point of 0.4 A'],
  ])('%j is refused without a byte', async (setPoints, message) => {
    const { rectifier, line } = await connected();
    const before = line.writes.length;
    const call = rectifier.program(setPoints);
    await expect(call).rejects.toMatchObject({ kind: 'outOfRange' });
    await expect(call).rejects.toThrow(message);
    expect(line.writes.length).toBe(before);
  });

  test('rounding never lifts a set-point above a hard limit', async () => {
    const clock = new VirtualClock();
    const line = new ScriptedLine([
      ...connecting,
      { sent: 'VOLT 3.000\n' },
      { sent: 'CURR 0.3333\n' },
      { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.3333\n` },
    ]);
    const rectifier = await createRectifier({
      driver: 'scpi',
      dialect: subsystem,
      link: { kind: 'in-process', instrument: line },
      clock,
      expectIdentity: null,
      hardLimits: { maxVolts: 6, maxAmps: 0.33338 },
      simulated: false,
    });
    await rectifier.connect();
    expect((await rectifier.program({ volts: 3, amps: 0.33337 })).amps).toBe(0.3333);
    expect(line.surprises).toEqual([]);
  });
});

describe('switching', () => {
  const status = `${TAG}STAT:QUES:COND?;:VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`;

  const held: Step = { sent: `${TAG}VOLT?;:CURR?\n`, reply: '{n};3.000;0.4000\n' };

  test.each([
    ['voltage', '{n};6.500;0.4000\n', 'is 6.5 V, above the limit of 6 V; ON was not sent'],
    ['current', '{n};3.000;2.1000\n', 'is 2.1 A, above the limit of 2 A; ON was not sent'],
  ])('ON is not sent while a %s above a hard limit is set', async (_what, reply, message) => {
    const above: Step = { sent: `${TAG}VOLT?;:CURR?\n`, reply };
    const { rectifier, line } = await connected([above, above]);
    const call = rectifier.on();
    await expect(call).rejects.toMatchObject({ kind: 'outOfRange' });
    await expect(call).rejects.toThrow(message);
    expect(line.writes.join('')).not.toContain('OUTP ON');
  });

  test('one garbled look at the set-points does not keep ON from being sent', async () => {
    const { rectifier } = await connected([
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: '{n};9.000;0.4000\n' },
      held,
      { sent: 'OUTP ON\n' },
      { sent: `${TAG}OUTP?\n`, reply: `{n};1\n` },
    ]);
    await rectifier.on();
  });

  test('ON is sent once and looked at until the supply says so', async () => {
    const { rectifier } = await connected([
      held,
      { sent: 'OUTP ON\n' },
      { sent: `${TAG}OUTP?\n`, reply: `{n};0\n` },
      { sent: `${TAG}OUTP?\n`, reply: `{n};1\n` },
    ]);
    await rectifier.on();
  });

  test.each([
    ['a latched trip is reset before the set-points when that is asked for', '0;1;0', true],
    ['nothing is reset where nothing has latched', '0;0;0', false],
  ])('%s', async (_name, states, resets) => {
    const { rectifier } = await connected([
      { sent: status, reply: `{n};${states}\n` },
      ...(resets ? [{ sent: 'OUTP:PROT:CLE\n' }] : []),
      { sent: 'VOLT 3.000\n' },
      { sent: 'CURR 0.4000\n' },
      { sent: 'SYST:ERR?\n', reply: '0,"No error"\n' },
      { sent: `${TAG}VOLT?;:CURR?\n`, reply: `{n};3.000;0.4000\n` },
    ]);
    await rectifier.program({ volts: 3, amps: 0.4, resetTrips: true });
  });

  test('OFF is on the line before the call returns, and the reading in flight is preempted', async () => {
    const { rectifier, line, clock } = await connected([
      { sent: SHORT },
      { sent: '\nOUTP OFF\n' },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: `{n};1.2;0.4;1;1\n{n}\n` },
      { sent: `${TAG}MEAS:CURR?;:OUTP?\n`, reply: '{n};0.0000;0\n' },
    ]);
    const reading = rectifier.read();
    const preempted = expect(reading).rejects.toMatchObject({ kind: 'preempted' });
    await clock.sleep(1);
    const off = rectifier.off();
    expect(line.writes.at(-1)).toBe('\nOUTP OFF\n');
    const sentMs = clock.nowMs();
    await preempted;
    expect(clock.nowMs()).toBe(sentMs);
    const quietOff = { confirmed: true, outputOn: false, amps: 0, highestAmps: null, reason: '' };
    expect(await off).toEqual(quietOff);
  });

  test('an ON whose looks all go unanswered is a time-out, and is not sent again', async () => {
    const line = stubborn(100, () => 0);
    const { rectifier } = await driven(line);
    const answer = line.answer;
    line.lines.length = 0;
    line.answer = (sent) => (line.lines.includes('OUTP ON') ? null : answer(sent));
    await expect(rectifier.on()).rejects.toMatchObject({ kind: 'timeout' });
    expect(line.lines.filter((sent) => sent === 'OUTP ON')).toHaveLength(1);
  });

  /** OFF on a line on which nobody was known: who he is, OFF, remote, OFF once more, and a look. */
  const anew: readonly Step[] = [
    { sent: '\n' },
    { sent: '*IDN?\n', reply: IDENTITY },
    { sent: '*IDN?\n', reply: IDENTITY },
    { sent: '\nOUTP OFF\n' },
    { sent: 'SYST:REM\n' },
    { sent: '\n' },
    { sent: '*ESE {n};*ESE?\n', reply: '{n}\n' },
    { sent: '\nOUTP OFF\n' },
    { sent: `${TAG}MEAS:CURR?;:OUTP?\n`, reply: '{n};0.0000;0\n' },
  ];

  test('OFF while the line settles is sent on that very line, once it is known who stands there', async () => {
    const { rectifier, clock } = await talk(subsystem, anew);
    const preempted = expect(rectifier.connect()).rejects.toMatchObject({ kind: 'preempted' });
    await clock.sleep(20);
    const off = rectifier.off();
    await preempted;
    expect((await off).confirmed).toBe(true);
    expect(rectifier.isConnected).toBe(false);
  });

  test('OFF on a line that was lost asks first who stands there now', async () => {
    const { rectifier, line, clock } = await connected(anew);
    line.attached = false;
    await clock.sleep(50);
    expect(await rectifier.off()).toMatchObject({ confirmed: false });
    line.attached = true;
    const startMs = clock.nowMs();
    expect((await rectifier.off()).confirmed).toBe(true);
    expect(clock.nowMs() - startMs).toBeLessThan(800);
  });

  test('another device that came to that line meanwhile is sent no OFF', async () => {
    const other = 'NIGHTBATH,SIM-30-5,SIM0002,1.0\n';
    const { rectifier, line, clock } = await connected([
      { sent: '\n' },
      { sent: '*IDN?\n', reply: other },
      { sent: '*IDN?\n', reply: other },
      // Ours is back.
      ...anew,
    ]);
    line.attached = false;
    await clock.sleep(50);
    await rectifier.off();
    line.attached = true;
    const report = await rectifier.off();
    expect(report).toMatchObject({ confirmed: false });
    expect(report.reason).toContain('and is now "NIGHTBATH,SIM-30-5,SIM0002,1.0"');
    expect(line.writes.join('')).not.toContain('OUTP OFF');
    expect((await rectifier.off()).confirmed).toBe(true);
  });

  test.each([
    ['says nothing', undefined, undefined],
    ['says something else each time', '23.4\n', '23.5\n'],
    ['says the same that is no name', '-410,"Query INTERRUPTED"\n', '-410,"Query INTERRUPTED"\n'],
  ])('who %s on that line is sent OFF all the same', async (_, first, second) => {
    const said = (reply: string | undefined): Step =>
      reply === undefined ? { sent: '*IDN?\n' } : { sent: '*IDN?\n', reply };
    const unclear =
      first === undefined
        ? [said(first), said(second)]
        : first === second
          ? [said(first), said(second)]
          : [said(first), said(second), said('23.6\n'), said('23.7\n'), said('23.8\n')];
    const { rectifier, line, clock } = await connected([
      { sent: '\n' },
      ...unclear,
      { sent: '\nOUTP OFF\n' },
    ]);
    line.attached = false;
    await clock.sleep(50);
    await rectifier.off();
    line.attached = true;
    expect(await rectifier.off()).toMatchObject({ confirmed: false });
    expect(line.writes.at(-1)).toBe('\nOUTP OFF\n');
  });

  test('after OFF the next reading looks at everything', async () => {
    const { rectifier } = await connected([
      { sent: '\nOUTP OFF\n' },
      { sent: '\n' },
      { sent: '*ESE {n};*ESE?\n', reply: '{n}\n' },
      { sent: `${TAG}MEAS:CURR?;:OUTP?\n`, reply: '{n};0.0000;0\n' },
      { sent: FULL, reply: '{n};0.412;0.0000;1.500;0.1000;0;0;0\n' },
      { sent: `${TAG}VOLT:PROT:TRIP?;:CURR:PROT:TRIP?\n`, reply: '{n};0;0\n' },
    ]);
    await rectifier.off();
    expect((await rectifier.read()).setVolts).toBe(1.5);
  });

  /** A supply that obeys the nth OFF, and in which current flows as long as told. */
  function stubborn(obeys: number, amps: () => number, ampsWhileOn = 0.4) {
    let mask = '0';
    let offs = 0;
    return new AnsweringLine((line) => {
      if (line === 'OUTP OFF') offs += 1;
      mask = /^\*ESE (\d+)/.exec(line)?.[1] ?? mask;
      if (!line.includes('?')) return null;
      const on = offs < obeys ? '1' : '0';
      const values: Record<string, string> = {
        '*IDN?': IDENTITY.trim(),
        '*ESE?': mask,
        'MEAS:CURR?': String(on === '1' ? ampsWhileOn : amps()),
        'OUTP?': on,
        'SYST:ERR?': '0',
      };
      const units = line.split(/;:?/).filter((unit) => unit.includes('?'));
      return `${units.map((unit) => values[unit] ?? '1').join(';')}\n`;
    });
  }

  async function driven(line: AnsweringLine) {
    const clock = new VirtualClock();
    const rectifier = await createRectifier({
      driver: 'scpi',
      dialect: subsystem,
      link: { kind: 'in-process', instrument: line },
      clock,
      expectIdentity: null,
      hardLimits: { maxVolts: 6, maxAmps: 2 },
      simulated: false,
    });
    await rectifier.connect();
    return { clock, rectifier };
  }

  async function switchOff(line: AnsweringLine) {
    const { clock, rectifier } = await driven(line);
    line.lines.length = 0;
    const startMs = clock.nowMs();
    const report = await rectifier.off();
    return { report, tookMs: clock.nowMs() - startMs };
  }

  test('OFF that does not show is repeated, then through remote control', async () => {
    const line = stubborn(3, () => 0);
    const { report } = await switchOff(line);
    expect(report).toMatchObject({ confirmed: true, outputOn: false, amps: 0, reason: '' });
    const sets = line.lines.filter((one) => /^(OUTP|SYST)/.test(one));
    expect(sets).toEqual(['OUTP OFF', 'OUTP OFF', 'SYST:REM', 'OUTP OFF']);
  });

  test('OFF that is never obeyed is reported in about a second', async () => {
    const { report, tookMs } = await switchOff(stubborn(100, () => 0));
    expect(report).toMatchObject({ confirmed: false, outputOn: true, amps: 0.4 });
    expect(report.reason).toBe('The supply says that its output is on; 0.4 A flows.');
    expect(tookMs).toBeLessThan(1200);
  });

  test('the most that two looks in a row have reached is told, whatever the last one finds', async () => {
    const confirmed = await switchOff(stubborn(3, () => 0, 0.9));
    expect(confirmed.report).toMatchObject({ confirmed: true, amps: 0, highestAmps: 0.9 });
    let looks = 0;
    const falling = stubborn(1, () => ((looks += 1) <= 3 ? 0.8 : 0.3));
    const { report } = await switchOff(falling);
    expect(report).toMatchObject({ confirmed: false, amps: 0.3, highestAmps: 0.8 });
    // The answer of the last look cannot be read any more.
    looks = 0;
    const torn = await switchOff(stubborn(1, () => ((looks += 1) <= 3 ? 0.8 : Number.NaN)));
    expect(torn.report).toMatchObject({ confirmed: false, highestAmps: 0.8 });
    // One look alone may be a wrong digit.
    looks = 0;
    const once = await switchOff(stubborn(1, () => ((looks += 1) === 3 ? 0.8 : 0.3)));
    expect(once.report).toMatchObject({ confirmed: false, highestAmps: 0.3 });
    // The last look at an OFF before, which was not confirmed, is one of two.
    const lossy = await driven(stubborn(1, () => ((looks += 1) === 2 ? 0.8 : Number.NaN)));
    for (const highestAmps of [null, 0.8, 0.8]) {
      looks = 0;
      expect(await lossy.rectifier.off()).toMatchObject({ confirmed: false, highestAmps });
    }
    // Each OFF tells of its own looks.
    const line = stubborn(3, () => 0, 0.9);
    const { rectifier } = await driven(line);
    await rectifier.off();
    expect(await rectifier.off()).toMatchObject({ confirmed: true, highestAmps: null });
  });

  test('a corrected ammeter tells true amperes of it', async () => {
    const { rectifier } = await driven(stubborn(3, () => 0, 0.5));
    const corrected = withAmmeterFactor(rectifier, 1.2);
    const report = await corrected.off();
    expect(report.highestAmps).toBeCloseTo(0.6, 12);
  });

  test('an output that says on is not off, though nothing flows', async () => {
    const { report } = await switchOff(stubborn(100, () => 0, 0));
    expect(report).toMatchObject({ confirmed: false, outputOn: true, amps: 0 });
  });

  test('a meter that lags behind OFF is waited for', async () => {
    let looks = 0;
    const { report } = await switchOff(stubborn(1, () => ((looks += 1) > 12 ? 0.002 : 0.4)));
    expect(report).toMatchObject({ confirmed: true, amps: 0.002 });
  });

  test('an output that is off in words while current flows is not confirmed', async () => {
    const { report } = await switchOff(stubborn(1, () => -0.4));
    expect(report).toMatchObject({ confirmed: false, outputOn: false, amps: -0.4 });
    expect(report.reason).toContain('-0.4 A flows (off is below 0.01 A)');
  });
});

describe('other shapes', () => {
  test('a supply with acknowledgements: value then OK, OK after each command', async () => {
    const shape: Dialect = {
      ...dialect('vset-iset'),
      rx: { ...dialect('vset-iset').rx, ack: '^OK$' },
    };
    const ok = (text: string): string => `${text}\r\nOK\r\n`;
    const one = (sent: string, value: string): Step => ({
      sent: `${sent}\r\n`,
      reply: ok(value),
    });
    const identity = 'SIM-30-5';
    const { rectifier } = await talk(shape, [
      { sent: '\r\n' },
      one('ID?', identity),
      one('ID?', identity),
      { sent: '\r\n' },
      one('ID?', identity),
      one('ID?', identity),
      one('ERR?', '0'),
      one('VOUT?', '0.00'),
      one('IOUT?', '0.000'),
      one('VSET?', '1.00'),
      one('ISET?', '0.100'),
      one('OUT?', '0'),
      one('STS?', '0'),
      one('ID?', identity),
      { sent: 'VSET 2.0000\r\n', reply: 'OK\r\n' },
      { sent: 'ISET 0.2000\r\n', reply: 'OK\r\n' },
      one('ERR?', '0'),
      one('VSET?', '2.00'),
      one('ISET?', '0.200'),
      one('ID?', identity),
    ]);
    await rectifier.connect();
    const programmed = await rectifier.program({ volts: 2, amps: 0.2 });
    expect(programmed).toMatchObject({ volts: 2, amps: 0.2 });
  });

  test('a level that the supply does not have is unsupported, without a byte', async () => {
    const { rectifier, line } = await talk(dialect('fixed-length'), []);
    const call = rectifier.program({ volts: 1, amps: 0.1, overCurrentAmps: 0.2 });
    await expect(call).rejects.toMatchObject({ kind: 'unsupported' });
    expect(line.writes).toEqual([]);
    expect(rectifier.capabilities).toMatchObject({
      overVoltageLevel: false,
      overCurrentLevel: false,
      errorQueue: false,
      beep: false,
      minimumCycleMs: 500,
    });
    await expect(rectifier.beep()).rejects.toMatchObject({ kind: 'unsupported' });
  });

  test('an over-current switch that is on is told, and switched off before set-points', async () => {
    const shape = dialect('scpi-channel-list');
    const one = (sent: string, reply: string): Step => ({
      sent: `${sent}\n`,
      reply: `${reply}\r\n`,
    });
    const token = one('*ESE?', '+{n}');
    const { rectifier } = await talk(shape, [
      { sent: '\n' },
      one('*IDN?', 'NIGHTBATH,SIM-30-5,1,1'),
      one('*IDN?', 'NIGHTBATH,SIM-30-5,1,1'),
      { sent: '\n' },
      { sent: '*ESE {n}\n' },
      token,
      one('*ESR?', '+0'),
      token,
      one('SYST:ERR?', '+0,"No error"'),
      one('CURR:PROT:STAT? (@1)', '1'),
      token,
      one('MEAS:VOLT? (@1)', '+1.000000E-02'),
      one('MEAS:CURR? (@1)', '+0.000000E+00'),
      one('VOLT? (@1)', '+1.000000E+00'),
      one('CURR? (@1)', '+1.000000E-01'),
      one('*ESR?', '+0'),
      one('OUTP? (@1)', '0'),
      one('STAT:OPER:COND? (@1)', '+0'),
      one('STAT:QUES:COND? (@1)', '+0'),
      token,
      one('CURR:PROT:STAT? (@1)', '1'),
      token,
      { sent: 'CURR:PROT:STAT OFF,(@1)\n' },
      one('CURR:PROT:STAT? (@1)', '0'),
      token,
      { sent: 'VOLT 2.000,(@1)\n' },
      { sent: 'CURR 0.250,(@1)\n' },
      one('SYST:ERR?', '+0,"No error"'),
      one('VOLT? (@1)', '+2.000000E+00'),
      one('CURR? (@1)', '+2.500000E-01'),
      token,
    ]);
    const report = await rectifier.connect();
    expect(report.standingErrors).toHaveLength(1);
    expect(report.standingErrors[0]).toContain('over-current switch is on');
    expect(await rectifier.program({ volts: 2, amps: 0.25 })).toMatchObject({
      volts: 2,
      amps: 0.25,
    });
  });

  test('without terminators, an echo while the line comes up is not the name of the supply', async () => {
    const { rectifier, line } = await talk(dialect('fixed-length'), []);
    // The echo comes at once, the reply after it; then the echo ends.
    line.expect({ sent: '*IDN?', reply: '*IDN?SIM-30-5' }, { sent: '*IDN?', reply: 'SIM-30-5' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'STATUS?', reply: '\x40' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'VOUT1?', reply: '01.20' });
    line.expect({ sent: 'IOUT1?', reply: '0.300' }, { sent: 'VSET1?', reply: '02.00' });
    line.expect({ sent: 'ISET1?', reply: '0.300' }, { sent: 'STATUS?', reply: '\x40' });
    expect((await rectifier.connect()).identity.text).toBe('SIM-30-5');
  });

  test('without terminators, an echo is waited out, however long the reply takes', async () => {
    const { rectifier, line, clock } = await talk(dialect('fixed-length'), []);
    line.expect({ sent: '*IDN?', reply: '*IDN?' }, { sent: '*IDN?', reply: '*IDN?' });
    const echoOnly = rectifier.connect();
    await expect(echoOnly).rejects.toMatchObject({ kind: 'timeout' });
    line.expect({ sent: '*IDN?', reply: 'SIM-30-5' }, { sent: '*IDN?', reply: 'SIM-30-5' });
    line.expect({ sent: 'STATUS?', reply: 'STATUS?\x40' });
    await expect(rectifier.connect()).rejects.toMatchObject({ kind: 'garbled' });
    // Neither attempt has left a name behind that the real one could be held against.
    const off = rectifier.off();
    line.expect({ sent: '*IDN?', reply: 'SIM-30-5' }, { sent: '*IDN?', reply: 'SIM-30-5' });
    line.expect({ sent: 'OUT0' }, { sent: 'STATUS?', reply: '\x00' });
    line.expect({ sent: 'STATUS?', reply: '\x00' }, { sent: 'OUT0' });
    line.expect({ sent: 'IOUT1?', reply: '0.000' }, { sent: 'STATUS?', reply: '\x00' });
    expect((await off).confirmed).toBe(true);
    expect(clock.nowMs()).toBeLessThan(10_000);
  });

  test('without terminators, a reply that is too long is garbled, not cut', async () => {
    const { rectifier, line } = await talk(dialect('fixed-length'), []);
    line.expect({ sent: '*IDN?', reply: 'SIM-30-5' }, { sent: '*IDN?', reply: 'SIM-30-5' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'STATUS?', reply: '\x40' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'VOUT1?', reply: '01.2001.20' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'STATUS?', reply: '\x40' });
    line.expect({ sent: 'VOUT1?', reply: '01.20' }, { sent: 'IOUT1?', reply: '0.300' });
    line.expect({ sent: 'VSET1?', reply: '02.00' }, { sent: 'ISET1?', reply: '0.300' });
    line.expect({ sent: 'STATUS?', reply: '\x40' });
    expect(await rectifier.connect()).toMatchObject({ volts: 1.2, amps: 0.3 });
    expect(rectifier.health.garbled).toBe(1);
  });

  test('without terminators, commands keep their pause, and OFF does not', async () => {
    const { rectifier, line, clock } = await talk(dialect('fixed-length'), []);
    line.expect({ sent: '*IDN?', reply: 'SIM-30-5' }, { sent: '*IDN?', reply: 'SIM-30-5' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'STATUS?', reply: '\x40' });
    line.expect({ sent: 'STATUS?', reply: '\x40' }, { sent: 'VOUT1?', reply: '01.20' });
    line.expect({ sent: 'IOUT1?', reply: '0.300' }, { sent: 'VSET1?', reply: '02.00' });
    line.expect({ sent: 'ISET1?', reply: '0.300K' }, { sent: 'STATUS?', reply: '\x40' });
    const report = await rectifier.connect();
    expect(report).toMatchObject({ outputOn: true, volts: 1.2, amps: 0.3, setAmps: 0.3 });
    line.expect({ sent: 'OUT0' }, { sent: 'OUT0' });
    line.expect({ sent: 'STATUS?', reply: '\x00' }, { sent: 'STATUS?', reply: '\x00' });
    line.expect({ sent: 'IOUT1?', reply: '0.000' }, { sent: 'STATUS?', reply: '\x00' });
    const startMs = clock.nowMs();
    const off = rectifier.off();
    expect(line.writes.at(-1)).toBe('OUT0');
    expect(clock.nowMs()).toBe(startMs);
    // It may have come within the pause of the status query, so it is sent again after it.
    expect((await off).confirmed).toBe(true);
  });
});
