/**
 * What `npm run fuzz` runs: the fuzz tests with their full numbers, and one line for each of what was
 * tried and found. Exits with 1 when anything was found.
 */

import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';

const root = fileURLToPath(new URL('../..', import.meta.url));
const help = `npm run fuzz -- [--lines N] [--bodies N] [--seed S]
  --lines N   serial lines to try, 1000000 unless given
  --bodies N  bodies of the API to try, 100000 unless given; settings and sockets take a share of it
  --seed S    another run of luck; the same seed tries the same`;

function complain(text) {
  process.stderr.write(`${text}\n`);
  process.exit(2);
}

function readArguments() {
  const number = { type: 'string' };
  try {
    const options = {
      lines: number,
      bodies: number,
      seed: number,
      help: { type: 'boolean', short: 'h' },
    };
    return parseArgs({ options }).values;
  } catch (error) {
    return complain(`${error.message}\n\n${help}`);
  }
}

function wholeNumber(name, text, otherwise) {
  const value = Number(text ?? otherwise);
  if (Number.isSafeInteger(value) && value >= 1) return String(value);
  return complain(`--${name} is "${text}"; it must be a whole number from 1 on.`);
}

const given = readArguments();
if (given.help) {
  process.stdout.write(`${help}\n`);
  process.exit(0);
}
const folder = mkdtempSync(join(tmpdir(), 'nightbath-fuzz-'));
const report = join(folder, 'report.txt');
const env = {
  ...process.env,
  FUZZ_LINES: wholeNumber('lines', given.lines, 1_000_000),
  FUZZ_BODIES: wholeNumber('bodies', given.bodies, 100_000),
  FUZZ_REPORT: report,
  ...(given.seed === undefined ? {} : { FUZZ_SEED: wholeNumber('seed', given.seed) }),
};
const vitest = join(root, 'node_modules', '.bin', 'vitest');
const done = spawnSync(
  vitest,
  ['run', '-c', 'tests/vitest.config.ts', '--project', 'unit', 'tests/fuzz/'],
  { cwd: root, env, encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 },
);
if (existsSync(report)) process.stdout.write(readFileSync(report, 'utf8'));
rmSync(folder, { recursive: true, force: true });
if (done.status !== 0) {
  process.stderr.write(`${done.stdout ?? ''}${done.stderr ?? ''}\n`);
  process.stdout.write('fuzz: something was found, or did not run; see above.\n');
  process.exit(1);
}
process.stdout.write('fuzz: nothing was found.\n');
