/** Dialect files are judged strictly: every fault names its key, and `off` cannot be left out. */

import { describe, expect, test } from 'vitest';
import { DialectError, parseDialect, patternOf } from '../../../drivers/scpi/dialect.ts';
import { dialect, rawDialect, shippedDialects } from '../dialects.ts';

type Table = Record<string, unknown>;

function isTable(value: unknown): value is Table {
  return typeof value === 'object' && value !== null;
}

/** A copy of a shipped dialect with the value at a key path replaced, or removed when undefined. */
function changed(name: string, path: string, value: unknown): Table {
  const copy = structuredClone(rawDialect(name));
  const steps = path.split('.');
  const last = steps.pop() ?? '';
  let table: Table = copy;
  for (const step of steps) {
    const inner = table[step];
    if (!isTable(inner)) throw new Error(`${name} has no table ${path}`);
    table = inner;
  }
  if (value === undefined) delete table[last];
  else table[last] = value;
  return copy;
}

function faultsOf(raw: unknown): string {
  try {
    parseDialect(raw);
  } catch (error) {
    if (error instanceof DialectError) return error.message;
    throw error;
  }
  return '';
}

describe('shipped dialects', () => {
  test.each(shippedDialects)('%s is sound, named as its file, and plain data', (name) => {
    const parsed = dialect(name);
    expect(parsed.name).toBe(name);
    expect(structuredClone(parsed)).toEqual(parsed);
  });
});

describe('what is missing or unknown is named by its key', () => {
  test.each([
    ['ops.off', undefined, 'ops.off: is missing'],
    ['ops.off', { send: 'OUTP OFF' }, 'ops.off.leading: must be'],
    ['ops.measureAmps', undefined, 'ops.measureAmps: is missing'],
    ['limits', undefined, 'limits: is missing'],
    ['limits.offAmps', undefined, 'limits.offAmps: is missing'],
    ['colour', 'red', 'colour: is not a known key'],
    ['ops.fly', { send: 'FLY' }, 'ops.fly: is not a known key'],
    ['ops.on', { send: 'OUTP ON', after: 'x' }, 'ops.on.after: is not a known key'],
    ['link.baudRate', 'fast', 'link.baudRate: '],
    ['link.baudRate', 12, 'link.baudRate: '],
    ['tx.terminator', '\t', 'tx.terminator: must be'],
    ['session.resync', 'hope', 'session.resync: '],
    ['limits.maxVolts', -1, 'limits.maxVolts: '],
    ['limits.maxVolts', Number.NaN, 'limits.maxVolts: '],
    ['limits.minVolts', 40, 'limits.minVolts: must be below limits.maxVolts'],
    ['limits.offAmps', 9, 'limits.offAmps: must be below limits.maxAmps'],
    ['name', 'Two Words', 'name: must be lower case'],
  ])('%s = %j', (path, value, fault) => {
    expect(faultsOf(changed('scpi-subsystem', path, value))).toContain(fault);
  });

  test.each([null, 'text', 7, []])('%j is no dialect', (raw) => {
    expect(faultsOf(raw)).toContain('the dialect: ');
  });

  test('several faults are told at once, one a line', () => {
    const raw = changed('scpi-subsystem', 'ops.off', undefined);
    raw['colour'] = 'red';
    expect(faultsOf(raw).split('\n')).toHaveLength(2);
  });
});

describe('commands', () => {
  test.each([
    ['ops.setVolts', { send: 'VOLT', digits: 3 }, 'must hold {v} exactly once'],
    ['ops.setVolts', { send: 'VOLT {v},{v}', digits: 3 }, 'must hold {v} exactly once'],
    ['ops.setVolts', { send: 'VOLT {v}', digits: 1 }, 'ops.setVolts.digits: too few'],
    ['ops.on', { send: 'OUTP ON\n' }, 'ops.on.send: must be printable ASCII'],
    ['ops.on', { send: '' }, 'ops.on.send: '],
    ['session.enter', ['SYST:REM\nOUTP ON'], 'session.enter[0]: must be printable ASCII'],
  ])('%s = %j is refused', (path, value, fault) => {
    expect(faultsOf(changed('scpi-subsystem', path, value))).toContain(fault);
  });
});

describe('patterns', () => {
  test.each([
    ['(1|ON)', 'must start with ^ and end with $'],
    ['^(1|ON)', 'must start with ^ and end with $'],
    ['^(1|ON$', 'is not a regular expression'],
    [`^${'a'.repeat(200)}$`, 'ops.output.on: '],
  ])('%s is refused', (pattern, fault) => {
    const output = { send: 'OUTP?', on: pattern, off: '^0$' };
    expect(faultsOf(changed('scpi-subsystem', 'ops.output', output))).toContain(fault);
  });

  test('an alternative does not escape the anchors', () => {
    expect(patternOf('^0|OFF$').test('OFFSIDE')).toBe(false);
    expect(patternOf('^0|OFF$').test('0')).toBe(true);
    expect(patternOf('^0|OFF$').test('01')).toBe(false);
  });
});

describe('parts that must fit each other', () => {
  test.each([
    ['tx.compound', true, 'tx.compound: needs rx.mode line'],
    ['rx.ack', '^OK$', 'rx.ack: needs rx.mode line'],
    ['session.resync', 'ese-nonce', 'session.resync: ese-nonce needs rx.mode line'],
    ['link.flow', 'xonxoff', 'link.flow: xonxoff would swallow'],
    ['session.knownReply', undefined, 'session.knownReply: is missing'],
    ['ops.measureVolts', { send: 'VOUT1?' }, 'ops.measureVolts: needs either length or untilIdle'],
  ])('without terminators, %s = %j is refused', (path, value, fault) => {
    expect(faultsOf(changed('fixed-length', path, value))).toContain(fault);
  });

  test('a line dialect takes no reply lengths', () => {
    const raw = changed('vset-iset', 'ops.measureVolts', { send: 'VOUT?', length: 5 });
    expect(faultsOf(raw)).toContain('ops.measureVolts: length and untilIdle belong to');
    expect(faultsOf(changed('vset-iset', 'rx.terminator', ''))).toContain('rx.terminator: must');
  });

  test('a rule must fit the type of its status', () => {
    const status = (type: string, rule: object) => [{ send: 'STS?', type, rules: [rule] }];
    const faults = (type: string, rule: object) =>
      faultsOf(changed('vset-iset', 'status', status(type, rule)));
    expect(faults('text', { mask: 1, equals: 1, means: 'off' })).toContain(
      'status[0].rules[0].mask',
    );
    expect(faults('integer', { pattern: '^CV$', means: 'off' })).toContain(
      'pattern: needs type text',
    );
    expect(faults('integer', { mask: 1, equals: 2, means: 'off' })).toContain(
      'bits outside its mask',
    );
    expect(faults('text', { pattern: '^"?CV"?$', means: 'constantVoltage' })).toBe('');
  });

  test.each([
    ['ops.enableOverVoltage', 'setOverVoltage', 'getOverVoltage'],
    ['ops.enableOverCurrent', 'setOverCurrent', 'getOverCurrent'],
  ])('%s without its level is refused', (key, set, get) => {
    const raw = changed('scpi-subsystem', `ops.${set}`, undefined);
    delete (raw['ops'] as Table)[get];
    expect(faultsOf(raw)).toBe(`${key}: there is no ops.${set}`);
  });

  test.each([
    ['ops.overVoltageEnabled', 'ops.enableOverVoltage'],
    ['ops.overCurrentEnabled', 'ops.enableOverCurrent'],
  ])('%s without the command is refused', (key, command) => {
    const raw = changed('scpi-subsystem', command, undefined);
    expect(faultsOf(raw)).toBe(`${key}: there is no ${command}`);
  });

  test.each([
    [{ send: 'CURR:PROT:STAT?' }, 'ops.overCurrentEnabled.on: is missing'],
    [{ send: 'CURR:PROT:STAT?', on: '1', off: '^0$' }, 'ops.overCurrentEnabled.on: must start'],
    [{ send: 'X'.repeat(81), on: '^1$', off: '^0$' }, 'ops.overCurrentEnabled.send: '],
    [
      { send: 'CURR:PROT:STAT?', on: '^1$', off: '^0$', length: 1 },
      'ops.overCurrentEnabled: length and untilIdle belong to rx.mode fixed',
    ],
  ])('whether a protection is on is asked as any state: %j is refused', (query, fault) => {
    expect(faultsOf(changed('scpi-subsystem', 'ops.overCurrentEnabled', query))).toContain(fault);
  });

  test('an enable may be sent without being asked for, and be left out', () => {
    expect(faultsOf(changed('scpi-subsystem', 'ops.overVoltageEnabled', undefined))).toBe('');
    const raw = changed('scpi-subsystem', 'ops.overVoltageEnabled', undefined);
    delete (raw['ops'] as Table)['enableOverVoltage'];
    expect(faultsOf(raw)).toBe('');
  });

  test('an over-current switch that every run switches off takes no enable', () => {
    const raw = changed('scpi-channel-list', 'ops.setOverCurrent', {
      send: 'CURR:PROT {v},(@1)',
      digits: 3,
    });
    expect(faultsOf(raw)).toBe('');
    (raw['ops'] as Table)['enableOverCurrent'] = { send: 'CURR:PROT:STAT ON,(@1)' };
    expect(faultsOf(raw)).toBe(
      'ops.enableOverCurrent: ops.overCurrentSwitch would switch it off again',
    );
  });

  test('a read-back without its command is refused', () => {
    const raw = changed('vset-iset', 'ops.setOverVoltage', undefined);
    expect(faultsOf(raw)).toContain('ops.getOverVoltage: there is no ops.setOverVoltage');
  });
});
