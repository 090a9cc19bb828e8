/**
 * What `npm run bench` runs: builds the daemon, runs the benchmarks one after the other, and prints
 * a table, or with --json one object a line. A goal that is missed is a report and no failure.
 */

import { fork, spawnSync } from 'node:child_process';
import { cpus, loadavg } from 'node:os';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { benchmarks, goalOf, judge, unitOf, unmeasured } from './catalogue.js';

const root = fileURLToPath(new URL('../..', import.meta.url));
const oneFile = fileURLToPath(new URL('one.js', import.meta.url));
const names = benchmarks.map(({ name }) => name);

const help = `npm run bench -- [--only NAME,…] [--json] [--list]
  --only NAME,…  only these: ${names.join(', ')}
  --json         one JSON object a line for each figure; words go to standard error
  --list         what is measured, without measuring it`;

function say(text) {
  process.stdout.write(`${text}\n`);
}

function complain(text) {
  process.stderr.write(`${text}\n`);
}

function readArguments() {
  const options = {
    only: { type: 'string' },
    json: { type: 'boolean', default: false },
    list: { type: 'boolean', default: false },
    help: { type: 'boolean', short: 'h', default: false },
  };
  try {
    const { values } = parseArgs({ options });
    const wanted = values.only?.split(',').map((name) => name.trim()) ?? names;
    const unknown = wanted.find((name) => !names.includes(name));
    if (unknown === undefined) return { ...values, wanted };
    complain(`There is no benchmark "${unknown}". Known: ${names.join(', ')}.`);
  } catch (error) {
    complain(`${error.message}\n\n${help}`);
  }
  return process.exit(2);
}

/** The build's own words go to standard error: standard output may be read by a program. */
function build() {
  const args = ['run', '--silent', 'build:daemon'];
  const built = spawnSync('npm', args, { cwd: root, stdio: ['ignore', 2, 2] });
  if (built.status === 0) return;
  complain('The daemon does not build; nothing was measured.');
  process.exit(1);
}

/** The answers of one benchmark by figure; null when it crashed. */
function runOne(name) {
  return new Promise((resolve) => {
    const child = fork(oneFile, [name], { cwd: root, stdio: ['ignore', 2, 2, 'ipc'] });
    let answers = null;
    child.once('message', (message) => {
      answers = message;
    });
    child.once('error', () => resolve(null));
    child.once('exit', (code) => resolve(code === 0 ? answers : null));
  });
}

/** Every figure of a benchmark, in the catalogue's order, judged. */
function judged(benchmark, answers) {
  return Object.entries(benchmark.figures).map(([id, defined]) => {
    const answer = answers[id] ?? { leftOut: 'the benchmark gave no answer' };
    const value = answer.leftOut === undefined ? answer.value : null;
    return {
      name: `${benchmark.name}: ${defined.what}`,
      what: defined.what,
      value,
      unit: unitOf(defined),
      goal: goalOf(defined),
      ok: judge(defined, value),
      aside: answer.sides ?? '',
      leftOut: answer.leftOut,
    };
  });
}

function printJson(figures) {
  for (const { name, value: exact, unit, goal, ok, leftOut } of figures) {
    const value = exact === null ? null : Number(exact.toPrecision(4));
    say(JSON.stringify({ name, value, unit, goal, ok }));
    if (leftOut !== undefined) complain(`Left out: ${name}. Reason: ${leftOut}.`);
  }
}

/** A number with three digits that mean something. */
function shown(value) {
  if (value >= 100) return value.toFixed(0);
  return value >= 10 ? value.toFixed(1) : value.toPrecision(3);
}

const verdicts = new Map([
  [true, 'met'],
  [false, 'missed'],
  [null, ''],
]);

function printTable(name, figures) {
  say(`\n${name}`);
  for (const { what, value, unit, goal, ok, aside, leftOut } of figures) {
    const number =
      value === null ? 'left out' : `${shown(value)}${unit === 'ratio' ? '' : ` ${unit}`}`;
    const aim = goal === null ? '' : `goal ${goal.replace('<=', '≤').replace('>=', '≥')}`;
    say(`  ${number.padEnd(11)}${aim.padEnd(13)}${verdicts.get(ok).padEnd(8)}${what}`.trimEnd());
    const below = leftOut === undefined ? aside : `Left out: ${leftOut}.`;
    if (below !== '') say(`${' '.repeat(34)}${below}`);
  }
}

function load() {
  return `load ${loadavg()[0].toFixed(2)} on ${cpus().length} cores`;
}

function list() {
  for (const { name, figures } of benchmarks) {
    say(name);
    for (const figure of Object.values(figures)) {
      const goal = goalOf(figure);
      say(`  ${figure.what}${goal === null ? '' : `, goal ${goal}`}`);
    }
  }
  printUnmeasured(say);
}

function printUnmeasured(tell) {
  tell('\nNot measured here:');
  for (const line of unmeasured) tell(`  ${line}`);
}

async function main() {
  const { json, wanted, ...asked } = readArguments();
  if (asked.help) return say(help);
  if (asked.list) return list();
  build();
  const tell = json ? complain : say;
  tell(`Node ${process.versions.node}, ${load()} before the first benchmark.`);
  tell('A ratio is a median of rounds in which both sides took turns.');
  const crashed = [];
  for (const benchmark of benchmarks.filter(({ name }) => wanted.includes(name))) {
    const answers = await runOne(benchmark.name);
    if (answers === null) {
      crashed.push(benchmark.name);
      complain(`\n${benchmark.name} crashed; see above.`);
    } else if (json) printJson(judged(benchmark, answers));
    else printTable(benchmark.name, judged(benchmark, answers));
  }
  printUnmeasured(tell);
  tell(`\nAfterwards: ${load()}.`);
  if (crashed.length > 0) process.exitCode = 1;
}

await main();
