/**
 * What `npm run soak` runs: the whole stack on a pseudo-terminal for as long as is asked, with a page
 * on the live socket; then what grew, what was left open, how late the loop was, and how far the
 * counted charge is from the supply's own.
 */

import { cpus, loadavg } from 'node:os';
import { parseArgs } from 'node:util';
import { WebSocket } from 'ws';
import { openStoreReader } from '../../dist/daemon/store/door.js';
import { leave, residentMb, scratchFolder, wait } from '../bench/workshop.js';
import { Daemon, Supply, descriptorsOf, flatPiece } from './trial-bench.js';

const help = `npm run soak -- [--minutes N] [--json]
  --minutes N  how long the current flows; 60 unless said otherwise, and at least 2
  --json       one JSON object at the end instead of words`;
const cycleMs = 250;
const sampleEveryMs = 15_000;
/** What a fresh process takes for its caches and compiled code is no leak, as a share of the time. */
const settledShare = 0.25;

function say(text) {
  process.stderr.write(`${text}\n`);
}

function readMinutes() {
  const options = {
    minutes: { type: 'string', default: '60' },
    json: { type: 'boolean', default: false },
    help: { type: 'boolean', short: 'h', default: false },
  };
  try {
    const { values } = parseArgs({ options });
    if (values.help) {
      process.stdout.write(`${help}\n`);
      process.exit(0);
    }
    const minutes = Number(values.minutes);
    if (minutes >= 2 && minutes <= 11 * 60) return { minutes, json: values.json };
    throw new Error(`--minutes is ${String(values.minutes)}; it must be a number from 2 to 660.`);
  } catch (error) {
    say(`${error.message}\n\n${help}`);
    return process.exit(2);
  }
}

/** A page that listens and counts, as a browser does. */
function listen(url) {
  const counts = { messages: 0, closed: 0 };
  const socket = new WebSocket(`${url.replace('http', 'ws')}/api/live`, { origin: url });
  socket.on('message', () => (counts.messages += 1));
  socket.on('close', () => (counts.closed += 1));
  socket.on('error', (error) => say(`The live socket: ${error.message}`));
  return { counts, close: () => socket.close() };
}

/** Slope of the least-squares line through the samples after settling, MB an hour. */
function slopeMbPerHour(samples) {
  const used = samples.slice(Math.floor(samples.length * settledShare));
  const meanHours = used.reduce((sum, one) => sum + one.hours, 0) / used.length;
  const meanMb = used.reduce((sum, one) => sum + one.mb, 0) / used.length;
  let product = 0;
  let square = 0;
  for (const { hours, mb } of used) {
    product += (hours - meanHours) * (mb - meanMb);
    square += (hours - meanHours) ** 2;
  }
  return product / square;
}

/**
 * Lowest in the middle and in the last third, MB: between two collections memory rises and falls, and
 * what is never let go is what raises its floor.
 */
function floorsMb(samples) {
  const third = Math.floor(samples.length / 3);
  const lowest = (list) => Math.min(...list.map(({ mb }) => mb));
  return [lowest(samples.slice(third, -third)), lowest(samples.slice(-third))];
}

function percentile(sorted, share) {
  return sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))];
}

/** How far apart the stored readings are; a cycle is late when it took half as long again. */
function lateness(readings) {
  const gaps = [];
  for (let at = 1; at < readings.length; at += 1) {
    gaps.push(readings[at].atMs - readings[at - 1].atMs);
  }
  const sorted = gaps.toSorted((left, right) => left - right);
  return {
    readings: readings.length,
    lateCycles: gaps.filter((gap) => gap > 1.5 * cycleMs).length,
    p50Ms: percentile(sorted, 0.5),
    p99Ms: percentile(sorted, 0.99),
    maxMs: sorted.at(-1),
  };
}

async function watch(daemon, pids, minutes) {
  const samples = Object.fromEntries(Object.keys(pids).map((name) => [name, []]));
  const startMs = performance.now();
  const endMs = startMs + minutes * 60_000;
  let toldMs = startMs;
  while (performance.now() < endMs) {
    await wait(Math.min(sampleEveryMs, Math.max(1, endMs - performance.now())));
    const hours = (performance.now() - startMs) / 3_600_000;
    for (const [name, pid] of Object.entries(pids)) {
      samples[name].push({ hours, mb: residentMb(pid) });
    }
    const run = daemon.snapshot?.run;
    if (run?.outcome) throw new Error(`The run ended early: ${run.outcome.reason}`);
    if (performance.now() - toldMs > 5 * 60_000) {
      toldMs = performance.now();
      const now = Object.entries(samples).map(
        ([name, list]) => `${name} ${list.at(-1).mb.toFixed(1)} MB`,
      );
      say(`${(hours * 60).toFixed(0)} min: ${now.join(', ')}; load ${loadavg()[0].toFixed(2)}`);
    }
  }
  return samples;
}

async function soak(minutes) {
  const folder = scratchFolder();
  const supply = new Supply(folder);
  await supply.start();
  const daemon = new Daemon(folder, supply.path);
  await daemon.start();
  const page = listen(daemon.url);
  const before = await supply.truth();
  // More than can flow in the time: it is ended by us, not by its target.
  const runId = await daemon.run(flatPiece((0.45 * (minutes + 10)) / 60));
  const pids = { ...daemon.processes(), supply: supply.pid };
  const opened = Object.fromEntries(
    Object.entries(pids).map(([name, pid]) => [name, descriptorsOf(pid)]),
  );
  const samples = await watch(daemon, pids, minutes);
  const left = Object.fromEntries(
    Object.entries(pids).map(([name, pid]) => [name, descriptorsOf(pid)]),
  );
  const { offConfirmed } = await daemon.tell({ kind: 'stop', tankId: 'one' });
  await wait(2_000);
  const after = await supply.truth();
  const { link } = daemon.snapshot;
  const heard = { ...page.counts };
  page.close();
  await daemon.stop();
  const reader = openStoreReader(daemon.databaseFile);
  const run = reader.run(runId);
  const cycles = lateness([...reader.allReadings(runId)].flat());
  reader.close();
  await supply.stop();
  const trueAmpHours = (after.cellChargeCoulombs - before.cellChargeCoulombs) / 3600;
  return {
    minutes,
    offConfirmed,
    end: run.outcome,
    processes: Object.fromEntries(
      Object.keys(pids).map((name) => [
        name,
        {
          firstMb: samples[name][0].mb,
          lastMb: samples[name].at(-1).mb,
          slopeMbPerHour: slopeMbPerHour(samples[name]),
          floorsMb: floorsMb(samples[name]),
          descriptorsAtStart: opened[name],
          descriptorsAtEnd: left[name],
        },
      ]),
    ),
    trueAmpHours,
    countedAmpHours: run.ampHours,
    chargeErrorPercent: (run.ampHours / trueAmpHours - 1) * 100,
    cycles,
    lineHealth: { timeouts: link.timeouts, garbled: link.garbled, resyncs: link.resyncs },
    page: heard,
  };
}

function printWords(found) {
  const out = (text) => process.stdout.write(`${text}\n`);
  out(
    `${found.minutes} min of current; OFF at the end ${found.offConfirmed ? 'confirmed' : 'NOT CONFIRMED'}.`,
  );
  for (const [name, one] of Object.entries(found.processes)) {
    const memory = `${one.firstMb.toFixed(1)} to ${one.lastMb.toFixed(1)} MB, ${one.slopeMbPerHour.toFixed(2)} MB/h, floor ${one.floorsMb.map((mb) => mb.toFixed(1)).join(' to ')} MB`;
    out(
      `  ${name.padEnd(9)} ${memory}; descriptors ${one.descriptorsAtStart} to ${one.descriptorsAtEnd}`,
    );
  }
  out(
    `  charge    true ${found.trueAmpHours.toFixed(5)} A·h, counted ${found.countedAmpHours.toFixed(5)} A·h, off by ${found.chargeErrorPercent.toFixed(3)} %`,
  );
  const { cycles, lineHealth, page } = found;
  out(
    `  cycles    ${cycles.readings} readings, ${cycles.lateCycles} late; apart p50 ${cycles.p50Ms.toFixed(0)}, p99 ${cycles.p99Ms.toFixed(0)}, longest ${cycles.maxMs.toFixed(0)} ms`,
  );
  out(
    `  line      ${lineHealth.timeouts} time-outs, ${lineHealth.garbled} garbled, ${lineHealth.resyncs} resyncs`,
  );
  out(`  page      ${page.messages} messages, ${page.closed} closings while it listened`);
}

const { minutes, json } = readMinutes();
say(
  `Soak of ${minutes} min at 4 Hz; Node ${process.versions.node}, load ${loadavg()[0].toFixed(2)} on ${cpus().length} cores.`,
);
const found = await soak(minutes);
if (json) process.stdout.write(`${JSON.stringify({ ...found, loadAtEnd: loadavg()[0] })}\n`);
else printWords(found);
await leave(0);
