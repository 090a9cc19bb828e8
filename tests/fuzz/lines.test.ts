/** Random and spoiled serial lines through framing, inbox and every parser of a reply. */

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { parse } from 'smol-toml';
import { packageRoot } from '../../daemon/settings/door.ts';
import { RectifierError } from '../../drivers/contract.ts';
import { Inbox } from '../../drivers/link/inbox.ts';
import type { Framing } from '../../drivers/link/link.ts';
import { parseDialect } from '../../drivers/scpi/dialect.ts';
import type { Dialect } from '../../drivers/scpi/dialect-schema.ts';
import { parseIdentity } from '../../drivers/scpi/identity.ts';
import { checkNumber, numberOf, parseInteger, showReply } from '../../drivers/scpi/number.ts';
import { claimsOf, stateOf, statusQuestion } from '../../drivers/scpi/status.ts';
import { sensorNumber } from '../../drivers/sensor/value.ts';
import { effort, Findings, patienceMs, seed } from './effort.ts';
import { Chance, spoil } from './random.ts';

const folder = join(packageRoot(), 'config', 'dialects');
const dialects: readonly Dialect[] = readdirSync(folder).map((name) =>
  parseDialect(parse(readFileSync(join(folder, name), 'utf8'))),
);

const replies = [
  'NIGHTBATH,SIM-30-5,SIM0001,1.0',
  '201;0.412;0.1000;1.500;0.1000;0;1;2',
  '+1.000000E-02',
  '9.9E37',
  '9.91E37',
  '-222,"Data out of range"',
  '+0,"No error"',
  '**ERROR: -113,"Undefined header"',
  '01.20',
  '0.300K',
  '\x40',
  'OK',
  '0.1234 V',
  'T=23.5',
  'bath: -4.25 \xc2\xb0C',
  '1e999',
];
const dictionary = [
  ';',
  ',',
  '.',
  '+',
  '-',
  'E',
  'e',
  '1',
  '0',
  '9',
  ' ',
  '\r',
  '\0',
  '"',
  'V',
  'A',
  'OK',
  '\xff',
  '\x7f',
  'Infinity',
  'NaN',
  '0x10',
  '1_0',
  '١',
];

function aLine(chance: Chance): string {
  if (chance.next() < 0.25) return chance.bytes(chance.next() < 0.1 ? 700 : 40);
  return spoil(chance, chance.one(replies), dictionary);
}

/** True for a RectifierError, which is an answer; anything else is a crash. */
function typed(error: unknown): boolean {
  return error instanceof RectifierError && error.message.length < 400;
}

function numbersOf({ ops }: Dialect) {
  return [
    ops.measureVolts,
    ops.measureAmps,
    ops.getVolts,
    ops.getAmps,
    ops.getOverVoltage,
    ops.getOverCurrent,
    ops.maxAmps,
  ].filter((query) => query !== undefined);
}

/** What became of a line in the parsers of one dialect; throws what is no typed error. */
function parsed(dialect: Dialect, line: string): string {
  let kind = 'refused';
  const attempt = (call: () => void): void => {
    try {
      call();
      kind = 'read';
    } catch (error) {
      if (!typed(error)) throw error;
    }
  };
  for (const query of numbersOf(dialect)) {
    attempt(() => {
      checkNumber(query, line);
      const value = numberOf(query, line);
      if (!Number.isFinite(value) || Math.abs(value) >= 9.9e37)
        throw new Error(`${value} was read`);
    });
  }
  const register = parseInteger(line);
  if (register !== null && !(Number.isInteger(register) && register >= 0 && register <= 65_535)) {
    throw new Error(`${register} was read as a register`);
  }
  const { output, overVoltageEnabled, overCurrentEnabled } = dialect.ops;
  for (const query of [output, overVoltageEnabled, overCurrentEnabled]) {
    if (query !== undefined) attempt(() => void stateOf(query, line));
  }
  for (const entry of dialect.status) {
    attempt(() => {
      statusQuestion(entry).check(line);
      claimsOf([entry], new Map([[entry.send, line]]));
    });
  }
  if (parseIdentity(dialect.session.identify.pattern, line) !== null) kind = 'read';
  const value = sensorNumber(line);
  if (value !== null && !(Math.abs(value) < 1_000_000)) throw new Error(`a sensor said ${value}`);
  if (showReply(line).length > 400) throw new Error('a message would be too long');
  return kind;
}

function framingOf({ rx }: Dialect): Framing {
  return rx.mode === 'line'
    ? { kind: 'lines', terminator: rx.terminator, maxBytes: rx.maxBytes }
    : { kind: 'raw', maxBytes: rx.maxBytes };
}

/** Pushes a text in random portions and takes out all that came of it. */
function framed(chance: Chance, inbox: Inbox, text: string): string[] {
  const bytes = Buffer.from(text, 'latin1');
  const frames: string[] = [];
  for (let from = 0; from < bytes.length;) {
    const to = from + 1 + chance.below(bytes.length);
    inbox.push(bytes.subarray(from, to));
    from = to;
  }
  for (;;) {
    try {
      const frame = inbox.take();
      if (frame === undefined) return frames;
      frames.push(frame);
    } catch (error) {
      if (!(error instanceof RectifierError) || error.kind !== 'overflow') throw error;
    }
  }
}

test(
  'lines: every one is framed and read, or refused by name, in no time',
  { timeout: patienceMs },
  () => {
    const chance = new Chance(seed);
    const findings = new Findings('serial lines');
    const lines = dialects.map((dialect) => {
      const framing = framingOf(dialect);
      const counters = { bytesWritten: 0, bytesRead: 0, frames: 0, overflows: 0 };
      return { dialect, framing, inbox: new Inbox('the line', framing, counters) };
    });
    const cases = effort('LINES', 1, 8_000);
    for (let count = 0; count < cases; count += 1) {
      const { dialect, framing, inbox } = chance.one(lines);
      const line = aLine(chance);
      const end = framing.kind === 'lines' ? framing.terminator : '';
      try {
        findings.timed(line, () => {
          for (const frame of framed(chance, inbox, line + end)) {
            if (frame.length > framing.maxBytes)
              throw new Error(`a frame of ${frame.length} bytes`);
            if (end !== '' && frame.includes(end))
              throw new Error('a frame with a terminator in it');
          }
          inbox.clear(false);
        });
        findings.count(findings.timed(line, () => parsed(dialect, line)));
        if (count % 50 === 0 && end !== '')
          expect(framed(chance, inbox, `1.5${end}`)).toEqual(['1.5']);
      } catch (error) {
        findings.add(String(error), line);
        inbox.clear(false);
      }
    }
    findings.tell();
  },
);
