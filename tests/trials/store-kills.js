/** Kills the store's writer at random moments, and looks at what it left. */

import { copyFileSync, existsSync, mkdirSync, mkdtempSync, statSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { createRandomStream } from '../../dist/drivers/simulated/random.js';
import { demoRecord } from '../bench/demo.js';
import { scratchFolder, start, wait } from '../bench/workshop.js';
import { heardFrom, judge } from './store-judge.js';

const program = fileURLToPath(new URL('store-writer.js', import.meta.url));
/** Waiting for the disk and for timers is most of it. */
const lanes = Math.min(8, 2 * cpus().length);
/** A file outlives some kills, so that old runs are in it too. */
const mostKillsPerFile = 5;
const longestOpeningMs = 400;
/** A writer that has not opened its file by then hangs. */
const openingMs = 30_000;

/**
 * From a quiet night at 4 Hz, with readings and hardly anything else, to all that the disk takes, which
 * fills the journal. Quiet ones live longer: they have to show how long readings wait.
 */
const paces = [
  { everyMs: 250, pauseMs: 10_000, lanes: 1, longestLifeMs: 3_000 },
  { everyMs: 250, pauseMs: 400, lanes: 1, longestLifeMs: 1_500 },
  { everyMs: 100, pauseMs: 400, lanes: 2, longestLifeMs: 1_500 },
  { everyMs: 10, pauseMs: 0, lanes: 4, longestLifeMs: 1_200 },
];

function nowMs() {
  return Number(process.hrtime.bigint()) / 1e6;
}

/** A line that was cut short by the end of its process says nothing. */
function wordsOf(line) {
  try {
    return [JSON.parse(line)];
  } catch {
    return [];
  }
}

function sizeOf(file) {
  return existsSync(file) ? statSync(file).size : 0;
}

/** One writer from its start to its kill: all that it said, and when it was killed. */
async function killed({ file, record, seed }) {
  const random = createRandomStream(seed, 'the kill');
  const pace = paces[random.whole(paces.length)];
  const whileOpening = random.uniform() < 0.1;
  const lifeMs = random.uniform() * (whileOpening ? longestOpeningMs : pace.longestLifeMs);
  const given = JSON.stringify({ file, record, seed, pace });
  const child = start(process.execPath, [program, given]);
  const over = new Promise((resolve) => child.once('close', resolve));
  const lines = [];
  const opened = new Promise((resolve) => {
    createInterface({ input: child.stdout }).on('line', (line) => {
      const words = wordsOf(line);
      lines.push(...words);
      if (words[0]?.[0] === 'opened') resolve(sizeOf(file));
    });
  });
  const hung = wait(openingMs, null, { ref: false });
  const ready = Promise.race([opened, over.then(() => null), hung]);
  const sizeThen = whileOpening ? null : await ready;
  await Promise.race([wait(lifeMs), over]);
  const killedMs = nowMs();
  child.kill('SIGKILL');
  await over;
  const heard = heardFrom(record.id, lines);
  if (child.signalCode !== 'SIGKILL') {
    heard.complaints.push(`The writer ended by itself with code ${child.exitCode}.`);
  } else if (!whileOpening && !heard.opened) heard.complaints.push('The writer did not open.');
  return { heard, killedMs, pastCheckpoint: heard.opened && sizeOf(file) > (sizeThen ?? Infinity) };
}

/** As it was left by the kill: judging opens it, which writes to it. */
function copyOf(file, folder) {
  mkdirSync(folder, { recursive: true });
  for (const ending of ['', '-wal']) {
    if (existsSync(file + ending)) copyFileSync(file + ending, join(folder, `left${ending}`));
  }
}

/** Some kills on one file, one after the other. */
async function killsOnFile({ file, record, numbers, seed, mostLostMs, done }) {
  const earlier = [];
  for (const number of numbers) {
    const own = { ...record, id: `night-${number}` };
    const one = await killed({ file, record: own, seed: (seed + number) >>> 0 });
    const { heard, killedMs, pastCheckpoint } = one;
    copyOf(file, `${file}-as-left`);
    const found = await judge(file, { heard, earlier, killedMs, mostLostMs });
    // What is wrong is said once.
    if (found.wrong.length === 0) earlier.push({ ...heard, stored: found.stored });
    if (found.wrong.length > 0) {
      const kept = mkdtempSync(join(tmpdir(), 'nightbath-kill-'));
      for (const ending of ['', '-wal']) {
        const left = join(`${file}-as-left`, `left${ending}`);
        if (existsSync(left)) copyFileSync(left, join(kept, `kill-${number}.sqlite${ending}`));
      }
      found.wrong.push(`The file as it was left: ${kept}`);
    }
    done({
      ...found,
      number,
      handedIn: heard.readings.length,
      opened: heard.opened,
      pastCheckpoint,
    });
  }
}

/** Figures over all kills, and every violation as a sentence. */
export function summaryOf(results, { seed, mostLostMs, seconds }) {
  const sum = (name) => results.reduce((total, result) => total + result[name], 0);
  const sorted = results.map(({ lostMs }) => lostMs).toSorted((one, other) => one - other);
  const at = (share) => {
    const place = Math.max(0, Math.ceil(sorted.length * share) - 1);
    return Math.round(sorted[place] ?? 0);
  };
  const violations = results.flatMap(({ number, wrong }) =>
    wrong.map((sentence) => `Kill ${number}: ${sentence}`),
  );
  return {
    name: 'store killed: age of the oldest reading lost',
    unit: 'ms',
    trials: results.length,
    p50: at(0.5),
    p95: at(0.95),
    p99: at(0.99),
    max: at(1),
    goal: `<= ${mostLostMs}`,
    ok: violations.length === 0,
    seed,
    seconds: Math.round(10 * seconds) / 10,
    whileOpening: results.filter(({ opened }) => !opened).length,
    pastCheckpoint: results.filter(({ pastCheckpoint }) => pastCheckpoint).length,
    answered: sum('answered'),
    found: sum('found'),
    unanswered: sum('unanswered'),
    unansweredFound: sum('unansweredFound'),
    readingsHandedIn: sum('handedIn'),
    readingsLost: sum('lost'),
    violations,
  };
}

/**
 * Kills a writer `count` times. The seed says at which moments and what is written; how far the computer
 * came by then is its own affair. `mostLostMs` is the age up to which readings may be lost, ms; `told`
 * hears of each kill.
 */
export async function storeKills({ count, seed, mostLostMs, told = () => undefined }) {
  const folder = scratchFolder();
  const record = await demoRecord();
  const killsPerFile = Math.min(mostKillsPerFile, Math.ceil(count / lanes));
  const files = Array.from({ length: Math.ceil(count / killsPerFile) }, (_, index) => index);
  const results = [];
  const work = async () => {
    for (let index = files.shift(); index !== undefined; index = files.shift()) {
      const first = index * killsPerFile;
      const length = Math.min(killsPerFile, count - first);
      const numbers = Array.from({ length }, (_, place) => first + place);
      const file = join(folder, `file-${index}.sqlite`);
      const done = (result) => {
        results.push(result);
        told(results.length);
      };
      await killsOnFile({ file, record, numbers, seed, mostLostMs, done });
    }
  };
  await Promise.all(Array.from({ length: lanes }, work));
  return results;
}
