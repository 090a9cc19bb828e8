/**
 * Protections that act only while they are switched on: STATe of CURRent:PROTection and
 * VOLTage:PROTection in the SOURce subsystem of SCPI-1999, volume 2, whose Booleans are answered by
 * 1 or 0 (volume 1); from memory.
 */

import { describe, expect, onTestFinished, test } from 'vitest';
import type { Rectifier, SetPoints } from '../../../drivers/contract.ts';
import { createRectifier } from '../../../drivers/registry.ts';
import { parseDialect } from '../../../drivers/scpi/dialect.ts';
import type { Dialect } from '../../../drivers/scpi/dialect-schema.ts';
import {
  createInstrument,
  type SimulatedInstrument,
} from '../../../drivers/simulated/instrument.ts';
import { dialect, rawDialect } from '../dialects.ts';
import { AnsweringLine } from '../scripted-line.ts';
import { VirtualClock } from '../virtual-clock.ts';

/** A shipped dialect with some of its ops replaced, or taken out where undefined. */
function shape(name: string, changes: Record<string, unknown> = {}): Dialect {
  const raw = rawDialect(name);
  const ops = { ...(raw['ops'] as Record<string, unknown>), ...changes };
  const held = Object.entries(ops).filter(([, op]) => op !== undefined);
  return parseDialect({ ...raw, ops: Object.fromEntries(held) });
}

const without = {
  enableOverVoltage: undefined,
  overVoltageEnabled: undefined,
  enableOverCurrent: undefined,
  overCurrentEnabled: undefined,
};

type Supply = Parameters<typeof createRectifier>[0]['link'] & { kind: 'in-process' };

async function connectedTo(
  instrument: Supply['instrument'],
  words: Dialect,
  clock = new VirtualClock(),
): Promise<Rectifier> {
  const rectifier = await createRectifier({
    driver: 'scpi',
    dialect: words,
    link: { kind: 'in-process', instrument },
    clock,
    expectIdentity: null,
    hardLimits: { maxVolts: 10, maxAmps: 4 },
    simulated: true,
  });
  await rectifier.connect();
  return rectifier;
}

/** A simulated supply behind a tap that notes each line of commands, and what is so after it. */
async function onBench(words: Dialect) {
  const clock = new VirtualClock();
  const instrument: SimulatedInstrument = createInstrument({ personality: 'scpi-subsystem' });
  const lines: string[] = [];
  const faults: string[] = [];
  const tap = {
    attached: true,
    receive: (bytes: string, nowMs: number): void => {
      instrument.receive(bytes, nowMs);
      lines.push(...bytes.split('\n').filter((line) => line !== ''));
      const { setVolts, setAmps, tripVolts, tripAmps } = instrument.truth(nowMs);
      if ((tripVolts ?? Infinity) < setVolts) faults.push(`${bytes}: ${tripVolts} V acts`);
      if ((tripAmps ?? Infinity) < setAmps) faults.push(`${bytes}: ${tripAmps} A acts`);
    },
    nextDueMs: () => instrument.nextDueMs(),
    take: (nowMs: number) => instrument.take(nowMs),
  };
  const rectifier = await connectedTo(tap, words, clock);
  return {
    clock,
    instrument,
    lines,
    faults,
    rectifier,
    truth: () => instrument.truth(clock.nowMs()),
  };
}

const wanted: SetPoints = { volts: 3, amps: 0.4, overVoltageVolts: 3.3, overCurrentAmps: 0.6 };
const isEnable = (line: string): boolean => /PROT:STAT ON/.test(line);

describe('a supply whose protections act only while they are switched on', () => {
  test('is given its levels, and holds them by itself', async () => {
    const { rectifier, truth, lines, instrument, clock } = await onBench(dialect('scpi-subsystem'));
    expect(truth()).toMatchObject({ tripVolts: null, tripAmps: null });
    expect(lines.filter(isEnable)).toEqual([]);
    await rectifier.program(wanted);
    expect(truth()).toMatchObject({ tripVolts: 3.3, tripAmps: 0.6, onsReceived: 0 });
    expect(lines.filter(isEnable)).toEqual(['VOLT:PROT:STAT ON', 'CURR:PROT:STAT ON']);
    await rectifier.on();
    instrument.faults.set('overCurrent', { factor: 2 }, clock.nowMs());
    await clock.sleep(1000);
    expect(truth()).toMatchObject({ outputOn: false, trips: ['overCurrent'] });
  });

  test('without the enable in its dialect takes the level, and lets the current run', async () => {
    const { rectifier, truth, instrument, clock } = await onBench(shape('scpi-subsystem', without));
    await rectifier.program(wanted);
    expect(truth()).toMatchObject({ overCurrentAmps: 0.6, tripVolts: null, tripAmps: null });
    await rectifier.on();
    instrument.faults.set('overCurrent', { factor: 2 }, clock.nowMs());
    await clock.sleep(1000);
    expect(truth()).toMatchObject({ outputOn: true, trips: [] });
  });

  test('is told again with each level, also after a restart, and not with set-points alone', async () => {
    const { rectifier, truth, lines, instrument, clock } = await onBench(dialect('scpi-subsystem'));
    await rectifier.program(wanted);
    await rectifier.on();
    lines.length = 0;
    for (const amps of [0.41, 0.42, 0.43]) await rectifier.program({ volts: 3, amps });
    expect(lines.filter((line) => line.includes('PROT'))).toEqual([]);
    expect(truth()).toMatchObject({ tripVolts: 3.3, tripAmps: 0.6 });
    await rectifier.off();
    instrument.faults.set('restart', { keepsOutput: false, bootMs: 20 }, clock.nowMs());
    await clock.sleep(1000);
    await rectifier.connect();
    expect(truth()).toMatchObject({ tripVolts: null, tripAmps: null });
    await rectifier.program({ ...wanted, resetTrips: true });
    expect(truth()).toMatchObject({ tripVolts: 3.3, tripAmps: 0.6 });
  });

  test('with one level is told about that one alone', async () => {
    const { rectifier, truth } = await onBench(dialect('scpi-subsystem'));
    await rectifier.program({ volts: 3, amps: 0.4, overCurrentAmps: 0.6 });
    expect(truth()).toMatchObject({ tripVolts: null, tripAmps: 0.6 });
  });

  test('never has one act below its set-point, up and down, output on and off', async () => {
    const { rectifier, truth, faults, clock } = await onBench(dialect('scpi-subsystem'));
    const ways = [
      [0.5, 0.05, 1],
      [6, 2, 1.1],
      [1, 0.2, 1],
      [4, 1, 2],
      [2, 3, 1.05],
      [0.2, 0.02, 1],
    ] as const;
    for (const on of [false, true]) {
      for (const [volts, amps, room] of ways) {
        const level = { overVoltageVolts: volts * room, overCurrentAmps: amps * room };
        await rectifier.program({ volts, amps, ...level });
        expect(truth().tripAmps).toBeCloseTo(amps * room, 4);
        expect(truth().tripVolts).toBeCloseTo(volts * room, 3);
      }
      if (!on) await rectifier.on();
      await clock.sleep(500);
    }
    expect(faults).toEqual([]);
  });

  test('says with its capabilities what holds, and what was read back', () => {
    const told = async (words: Dialect) => (await onBench(words)).rectifier.capabilities;
    return Promise.all([
      expect(told(dialect('scpi-subsystem'))).resolves.toMatchObject({
        overVoltageLevel: true,
        overCurrentLevel: true,
        overVoltageReadsOn: true,
        overCurrentReadsOn: true,
      }),
      expect(
        told(
          shape('scpi-subsystem', {
            ...without,
            setOverCurrent: undefined,
            getOverCurrent: undefined,
          }),
        ),
      ).resolves.toMatchObject({
        overVoltageLevel: true,
        overCurrentLevel: false,
        overVoltageReadsOn: false,
        overCurrentReadsOn: false,
      }),
    ]);
  });
});

/** A supply that keeps what it is told, but for a protection that stays as `state` says. */
function stubborn(
  state: (asked: string, times: number) => string | null,
  error = '0,"No error"',
  { answersTheRest = false } = {},
) {
  const kept: Record<string, string> = { VOLT: '0', CURR: '0', 'VOLT:PROT': '9', 'CURR:PROT': '3' };
  const fixed: Record<string, string> = {
    '*IDN?': 'NIGHTBATH,SIM-30-5,SIM0001,1.0',
    '*ESR?': '0',
    'VOLT? MAX': '30',
    'CURR? MAX': '5',
    'MEAS:VOLT?': '0',
    'MEAS:CURR?': '0',
    'OUTP?': '0',
    'STAT:QUES:COND?': '0',
    'VOLT:PROT:TRIP?': '0',
    'CURR:PROT:TRIP?': '0',
  };
  const asked: Record<string, number> = {};
  let enabled = false;
  let errors: string[] = [];
  const one = (text: string): string | null => {
    if (text === 'SYST:ERR?') return errors.shift() ?? '0,"No error"';
    if (text === '*ESE?') return kept['*ESE'] ?? '0';
    if (text.endsWith('PROT:STAT?')) {
      asked[text] = (asked[text] ?? 0) + 1;
      return state(text, asked[text]);
    }
    if (text.includes('?')) return fixed[text] ?? kept[text.slice(0, -1)] ?? null;
    const [header = '', value = ''] = text.split(' ');
    if (header.endsWith('PROT:STAT')) {
      enabled = true;
      if (!error.startsWith('0')) errors = [error];
    } else kept[header] = value;
    return '';
  };
  const line = new AnsweringLine((text) => {
    const replies = text.split(/;:?/).map(one);
    if (replies.includes(null) && !answersTheRest) return null;
    const said = replies.filter((reply) => reply !== '' && reply !== null);
    return said.length === 0 ? null : `${said.join(';')}\n`;
  });
  return { line, enabled: () => enabled };
}

describe('a protection that does not take its enable', () => {
  test('reads back as off: the same failure as a level that did not take', async () => {
    const { line, enabled } = stubborn((text) => (text.startsWith('CURR') ? '0' : '1'));
    const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
    const call = rectifier.program(wanted);
    await expect(call).rejects.toMatchObject({ kind: 'readbackMismatch' });
    await expect(call).rejects.toThrow(
      'The over-current protection was switched on and reads back',
    );
    expect(enabled()).toBe(true);
    expect(line.lines.filter((text) => text.includes('OUTP ON'))).toEqual([]);
  });

  test('that is off at one look and on at the next has taken it', async () => {
    const { line } = stubborn((_, times) => (times === 1 ? '0' : '1'));
    const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
    expect(await rectifier.program(wanted)).toMatchObject({ overCurrentAmps: 0.6 });
  });

  test('that is on at one look alone has not', async () => {
    const { line } = stubborn((_, times) => (times === 1 ? '1' : '0'));
    const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
    await expect(rectifier.program(wanted)).rejects.toMatchObject({ kind: 'readbackMismatch' });
  });

  test('is told with what the supply reports', async () => {
    const { line } = stubborn(() => 'OFF', '-221,"Settings conflict"');
    const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
    const call = rectifier.program(wanted);
    await expect(call).rejects.toMatchObject({ kind: 'refused' });
    await expect(call).rejects.toThrow(
      'The over-voltage protection was switched on and reads back',
    );
    await expect(call).rejects.toThrow('-221,');
  });

  test('that is neither on nor off is garbled', async () => {
    const { line } = stubborn(() => '2');
    const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
    await expect(rectifier.program(wanted)).rejects.toMatchObject({ kind: 'garbled' });
  });

  // A run asks again after a silence and ends with a refusal: only that tells the maker the way out.
  test.each([
    ['whole', false, '-113,"Undefined header"', 'refused'],
    ['in part', true, '-113,"Undefined header"', 'refused'],
    ['whole, and reports nothing', false, undefined, 'timeout'],
    ['in part, and reports nothing', true, undefined, 'garbled'],
  ])(
    'of a supply that leaves the question %s, is named',
    async (_, answersTheRest, error, kind) => {
      const { line } = stubborn(() => null, error, { answersTheRest });
      const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
      const call = rectifier.program(wanted);
      await expect(call).rejects.toMatchObject({ kind });
      await expect(call).rejects.toThrow('asked VOLT:PROT:STAT? and CURR:PROT:STAT?.');
      if (error !== undefined) await expect(call).rejects.toThrow('-113,');
      await expect(call).rejects.toThrow('take it out of the dialect');
    },
  );

  test('is not switched on before its level has been read back', async () => {
    const { line, enabled } = stubborn(() => '1');
    const keeps = line.answer;
    line.answer = (text) => (text === 'CURR:PROT 0.6000' ? null : keeps(text));
    const rectifier = await connectedTo(line, dialect('scpi-subsystem'));
    await expect(rectifier.program(wanted)).rejects.toThrow('over-current level was set to 0.6 A');
    expect(enabled()).toBe(false);
  });

  test('where it cannot be asked, an error in the queue is a refusal', async () => {
    const blind = { overVoltageEnabled: undefined, overCurrentEnabled: undefined };
    const bad = stubborn(() => null, '-113,"Undefined header"');
    const refused = await connectedTo(bad.line, shape('scpi-subsystem', blind));
    const call = refused.program(wanted);
    await expect(call).rejects.toMatchObject({ kind: 'refused' });
    await expect(call).rejects.toThrow('after VOLT:PROT:STAT ON');
    const good = stubborn(() => null);
    const taken = await connectedTo(good.line, shape('scpi-subsystem', blind));
    expect(await taken.program(wanted)).toMatchObject({ overVoltageVolts: 3.3 });
    expect(good.enabled()).toBe(true);
    expect(taken.capabilities).toMatchObject({ overCurrentLevel: true, overCurrentReadsOn: false });
  });
});

test('a dialect without enables sends what it sent before, byte for byte', async () => {
  const { line } = stubborn(() => null);
  const rectifier = await connectedTo(line, shape('scpi-subsystem', without));
  onTestFinished(() => rectifier.close());
  line.lines.length = 0;
  await rectifier.program(wanted);
  expect(line.lines).toEqual([
    '*ESE?;:VOLT:PROT?;:CURR:PROT?',
    'VOLT 3.000',
    'CURR 0.4000',
    'VOLT:PROT 3.300',
    'CURR:PROT 0.6000',
    'SYST:ERR?',
    '*ESE?;:VOLT?;:CURR?;:VOLT:PROT?;:CURR:PROT?',
  ]);
});
