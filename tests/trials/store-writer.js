/**
 * The process that is killed: the daemon's own writer on a real file, with readings, events, alarms
 * and what is to be said outside, as control hands them in. A line to standard output tells of each
 * before it is handed in, and again once it was answered; a line is JSON, a list.
 */

import { writeSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { openStoreWriter } from '../../dist/daemon/store/door.js';
import { createRandomStream } from '../../dist/drivers/simulated/random.js';

const { file, record, seed, pace } = JSON.parse(process.argv[2]);
const random = createRandomStream(seed, 'what is written');
/** Answered alarms that nobody has acknowledged, by key and id. */
const standing = [];
let serial = 0;
let handedIn = 0;

const turn = new Int32Array(new SharedArrayBuffer(4));

/** At once and whole: what was said before a kill is heard after it. Who listens may be slow, and is waited for. */
function say(...words) {
  const line = Buffer.from(`${JSON.stringify(words)}\n`);
  for (let from = 0; from < line.length;) {
    try {
      from += writeSync(1, line, from);
    } catch (error) {
      if (error.code !== 'EAGAIN') throw error;
      Atomics.wait(turn, 0, 0, 1);
    }
  }
}

/** Of the clock that all processes of a computer share, ms. */
function nowMs() {
  return Number(process.hrtime.bigint()) / 1e6;
}

function event(key) {
  const { id: runId, tankId, armedWallMs } = record;
  const times = { atMs: serial, wallMs: armedWallMs + serial };
  return { runId, tankId, ...times, code: 'overCurrent', message: key };
}

function alarm(key) {
  const { id: runId, tankId, armedWallMs: wallMs } = record;
  const words = { found: key, cause: 'Something bridges the leads.', remedy: 'Look at the leads.' };
  return { runId, tankId, wallMs, priority: 'stopped', code: 'overCurrent', ...words };
}

function posting(key, kind) {
  const { tankId, armedWallMs: createdWallMs } = record;
  const words = { title: key, text: 'The output is off.', code: null };
  return {
    message: { id: key, kind, priority: 'stopped', tankId, createdWallMs, ...words },
    channels: [
      { name: 'push', print: 'aa' },
      { name: 'mail', print: 'bb' },
    ],
  };
}

/** What control writes, by how it is called here; each answers with an id of what was stored. */
const works = {
  event: async (key) => (await writer.appendEvent(event(key))).id,
  told: async (key) => (await writer.appendEvent(event(key), posting(key, 'run-end'))).id,
  alarm: async (key) => {
    const raised = await writer.raiseAlarm(event(key), alarm(key), posting(key, 'alarm'));
    standing.push({ key, id: raised.alarm.id });
    return raised.event.id;
  },
  patch: async (_key, number) => {
    await writer.patchRun(record.id, { lifecycle: 'holding', ampHours: number });
    return 0;
  },
};
const kinds = ['event', 'told', 'alarm', 'alarm', 'patch', 'acknowledge'];

/** `number` grows with each; what is asked here first is stored first. */
async function ask(kind, key, work, number = 0) {
  say('asked', kind, key, handedIn, number);
  try {
    say('answered', kind, key, await work(key, number));
  } catch (error) {
    say('refused', kind, key, error.message);
  }
}

async function writeOne() {
  const kind = kinds[random.whole(kinds.length)];
  serial += 1;
  if (kind !== 'acknowledge') {
    await ask(kind, `${record.id}-${kind}-${serial}`, works[kind], serial);
    return;
  }
  const oldest = standing.shift();
  if (oldest === undefined) return;
  const done = async () => (await writer.acknowledgeAlarm(oldest.id, record.armedWallMs)).id;
  await ask('acknowledge', oldest.key, done);
}

function handIn() {
  const index = handedIn;
  handedIn += 1;
  say('reading', index, nowMs());
  writer.appendReading(record.id, {
    atMs: index * pace.everyMs,
    wallMs: record.armedWallMs + index * pace.everyMs,
    volts: 0.8,
    amps: 0.42,
    setAmps: 0.42,
    ampHours: index,
    thicknessMicrometres: index,
    lifecycle: 'holding',
  });
}

async function goOn() {
  for (;;) {
    // With a pause there are readings alone, and nothing that would carry them along.
    if (pace.pauseMs > 0) await wait(random.uniform() * pace.pauseMs);
    await writeOne();
  }
}

const writer = await openStoreWriter({
  file,
  onNotice: (sentence) => say('notice', sentence),
  onDamage: (sentence) => say('notice', sentence),
});
writer.onFailure((reason) => say('notice', reason));
say('opened');
await ask('run', record.id, async () => {
  await writer.createRun(record);
  return 0;
});
setInterval(handIn, pace.everyMs);
await Promise.all(Array.from({ length: pace.lanes }, goOn));
