/**
 * What `npm run nights` runs: simulated nights by seed, in worker processes, with a summary at the
 * end. It fails when a promise was broken, or when something that has to happen never happened.
 */

import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { build, plainFolder, root } from './build.js';
import { coverageGaps, emptyTally, summaryOf, take } from './tally.js';
import { listMutants, runMutants } from './mutation.js';
import { runOrders } from './pool.js';

const help = `npm run nights -- [--runs N] [--seed S] [--faults a,b] [--workers 2] [--json]
  --runs N        how many nights, 1,000 by default
  --seed S        the first seed; the others follow it
  --faults a,b    only these faults may happen; an empty list is none at all
  --replay WHAT   one night again, with its whole record: a seed, or a file of tests/nights/regressions
  --kept          every night of tests/nights/regressions again, a line each
  --keep SEED     writes the night of a seed into tests/nights/regressions
  --mutants       takes one guard after the other away; the nights must fail for each
  --only NAME     with --mutants: this one alone
  --list          with --mutants: which there are, without running them
  --workers N     worker processes, 2 by default
  --json          the summary as one line of JSON`;

const keptFolder = join(root, 'tests/nights/regressions');

function say(text) {
  process.stdout.write(`${text}\n`);
}

/** Ends with a code once a reader at the other end of a pipe has everything; workers go with us. */
function leave(code) {
  process.stdout.write('', () => process.exit(code));
}

function stop(text) {
  process.stderr.write(`${text}\n\n${help}\n`);
  process.exit(2);
}

function readArguments() {
  const options = {
    runs: { type: 'string', default: '1000' },
    seed: { type: 'string', default: '1' },
    faults: { type: 'string' },
    replay: { type: 'string' },
    kept: { type: 'boolean', default: false },
    keep: { type: 'string' },
    mutants: { type: 'boolean', default: false },
    only: { type: 'string' },
    list: { type: 'boolean', default: false },
    workers: { type: 'string', default: '2' },
    json: { type: 'boolean', default: false },
    help: { type: 'boolean', short: 'h', default: false },
  };
  try {
    return parseArgs({ options }).values;
  } catch (error) {
    return stop(error.message);
  }
}

function wholeNumber(name, text, least, most) {
  const value = Number(text);
  if (Number.isInteger(value) && value >= least && value <= most) return value;
  return stop(`--${name} is ${text}; it must be a whole number from ${least} to ${most}.`);
}

function commit() {
  const asked = spawnSync('git', ['rev-parse', '--short', 'HEAD'], { cwd: root, encoding: 'utf8' });
  return asked.status === 0 ? asked.stdout.trim() : 'unknown';
}

function faultNames(text) {
  if (text === undefined) return null;
  return text
    .split(',')
    .map((name) => name.trim())
    .filter((name) => name !== '');
}

function tellFailure({ seed, faults, violations, lines }, only) {
  const [first] = violations;
  const list = faults.length === 0 ? 'none' : faults.join(', ');
  say(`\nSeed ${seed} at commit ${commit()}, faults: ${list}`);
  for (const { invariant, atMs, what } of violations) {
    say(`  ${invariant} broken at ${(atMs / 1000).toFixed(1)} s: ${what}`);
  }
  for (const line of lines.slice(-25)) say(`    ${line}`);
  const pool = only === null ? '' : ` --faults "${only.join(',')}"`;
  if (first !== undefined) say(`  Again: npm run nights -- --replay ${seed}${pool}`);
}

/** A bar where somebody looks on. */
function progress(done, all, violations) {
  if (!process.stdout.isTTY) return;
  const width = 40;
  const filled = Math.round((done / all) * width);
  const bar = '#'.repeat(filled) + '.'.repeat(width - filled);
  process.stdout.write(`\r[${bar}] ${done} of ${all} nights, ${violations} broken promises`);
  if (done === all) process.stdout.write('\n');
}

async function campaign({ seed, runs, workers, only, json }) {
  const tally = emptyTally();
  const startedMs = performance.now();
  const orders = Array.from({ length: runs }, (_, index) => ({
    seed: seed + index,
    only,
    whole: false,
  }));
  const failures = [];
  let known = [];
  const onFaults = (names) => {
    known = names;
    const strange = (only ?? []).find((name) => !names.includes(name));
    if (strange !== undefined) stop(`There is no fault "${strange}". Known: ${names.join(', ')}.`);
  };
  const onReport = (report) => {
    take(tally, report);
    if (report.violations.length > 0) failures.push(report);
    if (!json) progress(tally.nights, runs, tally.violations);
  };
  await runOrders({ folder: plainFolder, workers, orders, onReport, onFaults });
  const seconds = (performance.now() - startedMs) / 1000;
  const summary = summaryOf(tally, seconds);
  const gaps = only === null ? coverageGaps(tally, known) : [];
  if (json) {
    const broken = failures.map((failure) => ({ ...failure, lines: [] }));
    say(JSON.stringify({ ...summary, commit: commit(), seed, failures: broken, gaps }));
  } else {
    failures.sort((one, other) => one.seed - other.seed);
    for (const failure of failures.slice(0, 20)) tellFailure(failure, only);
    for (const gap of gaps) say(`Never reached: ${gap}`);
    say(
      `\n${summary.nights} nights in ${seconds.toFixed(0)} s (${summary.nightsPerSecond} a second, ` +
        `${summary.simulatedHoursPerSecond} simulated hours a second): ` +
        `${summary.violations} broken promises, ${summary.falseTrips} false trips, ` +
        `${Object.keys(summary.faultsFired).length} faults fired, ` +
        `${Object.keys(summary.tripReasons).length} trip reasons reached.`,
    );
  }
  return failures.length === 0 && gaps.length === 0;
}

/** A kept night is a file with its seed, what happens in it, and what it is kept for. */
function readNight(what, only) {
  if (/^\d+$/.test(what)) return { seed: Number(what), only };
  const { seed, faults, episodes, besides } = JSON.parse(readFileSync(what, 'utf8'));
  return { seed, only: faults, episodes, besides };
}

async function replay(what, only) {
  const night = readNight(what, only);
  const reports = [];
  await runOrders({
    folder: plainFolder,
    workers: 1,
    orders: [{ ...night, whole: true }],
    onReport: (report) => void reports.push(report),
  });
  const [report] = reports;
  if (report === undefined) return false;
  for (const line of report.lines) say(line);
  say(`Hash ${report.hash}`);
  if (report.violations.length > 0) tellFailure({ ...report, lines: [] }, night.only);
  return report.violations.length === 0;
}

/** Every kept night again; each keeps all promises, or is told with those it breaks. */
async function replayKept(workers) {
  const nights = readdirSync(keptFolder)
    .filter((name) => name.endsWith('.json'))
    .map((name) => ({ name, night: readNight(join(keptFolder, name), null) }));
  let well = true;
  await runOrders({
    folder: plainFolder,
    workers,
    orders: nights.map(({ night }) => ({ ...night, whole: false })),
    onReport: (report) => {
      const { name, night } = nights.find((one) => one.night.seed === report.seed);
      const broken = report.violations.length;
      say(`${name}: ${broken} broken promises, hash ${report.hash}`);
      if (broken === 0) return;
      well = false;
      tellFailure(report, night.only);
    },
  });
  return well;
}

async function keep(text, only) {
  const seed = wholeNumber('keep', text, 0, 4_294_967_295);
  const reports = [];
  await runOrders({
    folder: plainFolder,
    workers: 1,
    orders: [{ seed, only, whole: false }],
    onReport: (report) => void reports.push(report),
  });
  const [report] = reports;
  mkdirSync(keptFolder, { recursive: true });
  if (report === undefined) return false;
  const file = join(keptFolder, `${text}.json`);
  const about = report.violations.map(({ invariant, what }) => `${invariant}: ${what}`);
  const { episodes, besides } = report;
  const kept = { seed, faults: only, episodes, besides, keptAt: commit(), about };
  writeFileSync(file, `${JSON.stringify(kept, null, 2)}\n`);
  say(`Kept as ${file}.`);
  return true;
}

async function main() {
  const given = readArguments();
  if (given.help) return say(help);
  build();
  const only = faultNames(given.faults);
  const workers = wholeNumber('workers', given.workers, 1, 64);
  if (given.replay !== undefined) return leave((await replay(given.replay, only)) ? 0 : 1);
  if (given.kept) return leave((await replayKept(workers)) ? 0 : 1);
  if (given.keep !== undefined) return leave((await keep(given.keep, only)) ? 0 : 1);
  const runs = wholeNumber('runs', given.runs, 1, 10_000_000);
  const seed = wholeNumber('seed', given.seed, 0, 4_294_967_295 - runs);
  if (given.mutants && given.list) {
    listMutants(say);
    return leave(0);
  }
  if (given.mutants) {
    const alive = await runMutants({ only: given.only, seed, workers, say });
    return leave(alive.length === 0 ? 0 : 1);
  }
  const well = await campaign({ seed, runs, workers, only, json: given.json });
  return leave(well ? 0 : 1);
}

await main();
