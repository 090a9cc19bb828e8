/**
 * What `npm run trials` runs: faults by the hundred on the real daemon, with a real line to a supply
 * in a process of its own that notes when OFF came, and on the writer of its log; prints how long OFF
 * took and what was lost.
 */

import { cpus, loadavg } from 'node:os';
import { parseArgs } from 'node:util';
import { leave, scratchFolder, until, wait } from '../bench/workshop.js';
import { storeKills, summaryOf } from './store-kills.js';
import { Daemon, Supply, flatPiece } from './trial-bench.js';

const help = `npm run trials -- [--kills N] [--hangs N] [--sentinel N] [--both N] [--store N] [--json]
  --kills N     control is killed with kill -9
  --hangs N     control is stopped, as when it hangs
  --sentinel N  the sentinel is killed with kill -9
  --both N      both are killed at once and Nightbath is started again
  --store N     the writer of the log is killed with kill -9, and its file is looked at
  --seed S      for --store: the same moments and writings again; another each time by default
  --json        one JSON object a line for each kind; words go to standard error
Without any number it is 20 of each. 0 to 2000 each.`;

/** From the fault to OFF at the supply, ms; null where there is only a figure to know. */
const kinds = {
  kills: { what: 'control killed', goalMs: 500 },
  hangs: { what: 'control hung', goalMs: 1_200 },
  sentinel: { what: 'sentinel killed', goalMs: 500 },
  both: { what: 'both killed, from the new start', goalMs: null },
};
const counted = [...Object.keys(kinds), 'store'];
/** Readings may be lost with a kill when they were handed in so shortly before it, ms. */
const mostLostMs = 1_000;
/** OFF later than this has been missed, ms. */
const missedAfterMs = 15_000;
/** The sentinel starts control again without a pause once, and gives up after five times. */
const lossesPerDaemon = 3;
const longestDelayMs = 400;
const mostSeed = 4_294_967_295;

function say(text) {
  process.stderr.write(`${text}\n`);
}

function wholeNumber(name, text, most) {
  const value = Number(text);
  if (text.trim() !== '' && Number.isInteger(value) && value >= 0 && value <= most) return value;
  throw new Error(`--${name} is "${text}"; it must be a whole number from 0 to ${most}.`);
}

function readArguments() {
  const options = {
    ...Object.fromEntries(counted.map((kind) => [kind, { type: 'string' }])),
    seed: { type: 'string' },
    json: { type: 'boolean', default: false },
    help: { type: 'boolean', short: 'h', default: false },
  };
  try {
    const { values } = parseArgs({ options });
    if (values.help) {
      process.stdout.write(`${help}\n`);
      process.exit(0);
    }
    const none = counted.every((kind) => values[kind] === undefined);
    const counts = counted.map((kind) => {
      return [kind, wholeNumber(kind, values[kind] ?? (none ? '20' : '0'), 2000)];
    });
    const drawn = String(Math.floor(Math.random() * mostSeed));
    const seed = wholeNumber('seed', values.seed ?? drawn, mostSeed);
    return { counts: Object.fromEntries(counts), seed, json: values.json };
  } catch (error) {
    say(`${error.message}\n\n${help}`);
    return process.exit(2);
  }
}

class Trials {
  #folder = scratchFolder();
  #supply = new Supply(this.#folder);
  #daemon = null;
  #losses = 0;

  async start() {
    await this.#supply.start();
  }

  async stop() {
    await this.#daemon?.stop();
    await this.#supply.stop();
  }

  /** A run with its output on, at a random moment of the loop's cycle. */
  async #running() {
    if (this.#daemon !== null && this.#losses >= lossesPerDaemon) await this.#retire();
    if (this.#daemon === null) {
      this.#daemon = new Daemon(this.#folder, this.#supply.path);
      await this.#daemon.start();
      this.#losses = 0;
    } else await this.#daemon.ready();
    await this.#daemon.run(flatPiece(2));
    await wait(Math.random() * longestDelayMs);
    if (!(await this.#supply.truth()).outputOn) throw new Error('The output is not on.');
    return this.#daemon;
  }

  async #retire() {
    await this.#daemon.stop();
    this.#daemon = null;
  }

  /** Ms from a moment of this process's clock to the first OFF after it; null when it was missed. */
  async #offAfter(faultMs, offsetMs) {
    const endMs = faultMs + missedAfterMs;
    while (performance.now() < endMs) {
      await wait(60);
      const { receivedSets, outputOn } = await this.#supply.truth();
      const first = receivedSets.find(
        ({ atMs, text }) => atMs + offsetMs >= faultMs && text.includes('OUTP OFF'),
      );
      if (first !== undefined && !outputOn) return first.atMs + offsetMs - faultMs;
    }
    return null;
  }

  async kills() {
    return this.#lose('SIGKILL');
  }

  async hangs() {
    return this.#lose('SIGSTOP');
  }

  async #lose(signal) {
    const daemon = await this.#running();
    const { control } = daemon.processes();
    const offsetMs = await this.#supply.clockOffsetMs();
    const faultMs = performance.now();
    process.kill(control, signal);
    const tookMs = await this.#offAfter(faultMs, offsetMs);
    this.#losses += 1;
    await until('another control', () => (daemon.processes().control ?? control) !== control);
    return tookMs;
  }

  async sentinel() {
    const daemon = await this.#running();
    const { control } = daemon.processes();
    const offsetMs = await this.#supply.clockOffsetMs();
    const faultMs = performance.now();
    process.kill(daemon.pid, 'SIGKILL');
    const tookMs = await this.#offAfter(faultMs, offsetMs);
    await this.#gone(daemon, control);
    return tookMs;
  }

  async both() {
    const daemon = await this.#running();
    const { control } = daemon.processes();
    // Stopped first: it has no chance to switch off when its sentinel dies.
    process.kill(control, 'SIGSTOP');
    process.kill(daemon.pid, 'SIGKILL');
    process.kill(control, 'SIGKILL');
    await this.#gone(daemon, control);
    if (!(await this.#supply.truth()).outputOn) throw new Error('The output went off by itself.');
    const offsetMs = await this.#supply.clockOffsetMs();
    this.#daemon = new Daemon(this.#folder, this.#supply.path);
    this.#losses = 0;
    const startMs = performance.now();
    this.#daemon.spawn();
    const tookMs = await this.#offAfter(startMs, offsetMs);
    await this.#daemon.start();
    return tookMs;
  }

  /** The daemon is no more, and the control that it left behind has let go of the line. */
  async #gone(daemon, control) {
    daemon.closeClient();
    await until('the sentinel to be gone', () => !daemon.alive);
    await until('control to be gone', () => !isThere(control), 30_000);
    this.#daemon = null;
  }
}

function isThere(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

function percentile(sorted, share) {
  return sorted[Math.min(sorted.length - 1, Math.ceil(sorted.length * share) - 1)];
}

function distribution(kind, took) {
  const { what, goalMs } = kinds[kind];
  const sorted = took.filter((one) => one !== null).toSorted((left, right) => left - right);
  const missed = took.length - sorted.length;
  const rounded = (value) => (value === undefined ? null : Math.round(value));
  return {
    name: `${what}: OFF at the supply`,
    unit: 'ms',
    trials: took.length,
    min: rounded(sorted[0]),
    p50: rounded(percentile(sorted, 0.5)),
    p95: rounded(percentile(sorted, 0.95)),
    p99: rounded(percentile(sorted, 0.99)),
    max: rounded(sorted.at(-1)),
    missed,
    goal: goalMs === null ? null : `<= ${goalMs}`,
    ok: goalMs === null ? missed === 0 : missed === 0 && (sorted.at(-1) ?? Infinity) <= goalMs,
  };
}

function inWords(one) {
  const { name, trials, min, p50, p95, p99, max, missed, goal, ok } = one;
  const aim = goal === null ? '' : `; goal ${goal} ms ${ok ? 'met' : 'MISSED'}`;
  return `${name}: ${trials} trials, min ${min}, p50 ${p50}, p95 ${p95}, p99 ${p99}, max ${max} ms, ${missed} missed${aim}`;
}

function storeInWords(one) {
  const { trials, seconds, seed, whileOpening, pastCheckpoint, answered, found } = one;
  const { unanswered, unansweredFound, readingsHandedIn, readingsLost, p50, max, ok } = one;
  const { violations } = one;
  return [
    `store killed: ${trials} kills in ${seconds} s, seed ${seed}; ${whileOpening} while it opened, ` +
      `${pastCheckpoint} after the journal had been put into the file`,
    `  events, alarms and acknowledgements: ${answered} answered, ${found} of them found; ` +
      `${unanswered} not answered yet, ${unansweredFound} of them found, whole`,
    `  readings: ${readingsHandedIn} handed in, the last ${readingsLost} of them lost; the oldest ` +
      `one lost with a kill was p50 ${p50}, max ${max} ms old; goal <= ${mostLostMs} ms`,
    `  ${violations.length} violations${ok ? '' : `; again: npm run trials -- --store ${trials} --seed ${seed}`}`,
    ...violations.map((violation) => `  ${violation}`),
  ].join('\n');
}

const { counts, seed, json } = readArguments();
const tell = json ? say : (text) => process.stdout.write(`${text}\n`);
const load = () => `load ${loadavg()[0].toFixed(2)} on ${cpus().length} cores`;
let allMet = true;

function conclude(found, words) {
  allMet &&= found.ok;
  if (json) process.stdout.write(`${JSON.stringify(found)}\n`);
  if (!json || !found.ok) tell(words);
}

function sayHowFar(what, done, count, beganMs) {
  const minutes = ((performance.now() - beganMs) / 60_000).toFixed(1);
  say(`${what}: ${done} of ${count} after ${minutes} min, ${load()}`);
}

async function killStore(count) {
  const beganMs = performance.now();
  const told = (done) => {
    if (done % 100 === 0) sayHowFar('store killed', done, count, beganMs);
  };
  const results = await storeKills({ count, seed, mostLostMs, told });
  const seconds = (performance.now() - beganMs) / 1000;
  const found = summaryOf(results, { seed, mostLostMs, seconds });
  conclude(found, storeInWords(found));
}

async function tryAtTheSupply() {
  const trials = new Trials();
  await trials.start();
  for (const kind of Object.keys(kinds)) {
    const count = counts[kind];
    const took = [];
    const beganMs = performance.now();
    while (took.length < count) {
      took.push(await trials[kind]());
      if (took.length % 20 === 0) sayHowFar(kinds[kind].what, took.length, count, beganMs);
    }
    if (count === 0) continue;
    const found = distribution(kind, took);
    conclude(found, inWords(found));
  }
  await trials.stop();
}

tell(`Node ${process.versions.node}, ${load()}.`);
if (Object.keys(kinds).some((kind) => counts[kind] > 0)) await tryAtTheSupply();
if (counts.store > 0) await killStore(counts.store);
await leave(allMet ? 0 : 1);
