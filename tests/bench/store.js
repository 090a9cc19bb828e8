/** The store against SQLite's own ways: an overview of a day, and commits that are on the disk. */

import { closeSync, fdatasyncSync, openSync, statSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openStoreReader, openStoreWriter } from '../../dist/daemon/store/door.js';
import { keyRange } from '../../dist/daemon/store/keys.js';
import { demoRecord } from './demo.js';
import { alternately, figure, median, timed } from './measure.js';
import { liesInMemory, scratchFolder } from './workshop.js';

const rounds = 7;
const buckets = 2000;
const everyMs = 200;
const rows = (24 * 3_600_000) / everyMs;
const commitsPerRound = 30;
const pageBytes = 4096;
/** SQLite writes its log over from the start after as many pages. */
const logPages = 1000;

const groupBy = `
  SELECT max(at_ms), avg(volts), min(volts), max(volts), avg(amps), min(amps), max(amps),
    max(set_amps), max(amp_hours), max(thickness_micrometres), max(lifecycle)
  FROM readings WHERE key BETWEEN @first AND @last
  GROUP BY CAST(at_ms / @bucketMs AS INTEGER)`;

/** Reading number `index` of a long hold, with noise. */
function reading(index, wallMs) {
  return {
    atMs: index * everyMs,
    wallMs: wallMs + index * everyMs,
    volts: 0.8 + Math.random() * 0.01,
    amps: 0.42 + Math.random() * 0.001,
    setAmps: 0.42,
    ampHours: index * 2.33e-5,
    thicknessMicrometres: index * 3e-4,
    lifecycle: 'holding',
  };
}

/** A day of readings through the store's own door, in portions that its queue takes. */
async function fill(writer, record) {
  await writer.createRun(record);
  const portion = 4000;
  for (let index = 0; index < rows; index += 1) {
    writer.appendReading(record.id, reading(index, record.armedWallMs));
    if (index % portion === portion - 1) await writer.lastReading(record.id);
  }
  await writer.lastReading(record.id);
}

async function overview(file, record) {
  const reader = openStoreReader(file);
  const db = new Database(file, { readonly: true });
  const number = db.prepare('SELECT number FROM runs WHERE id = ?').pluck().get(record.id);
  const [first, last] = keyRange(number);
  const bucketMs = (rows * everyMs) / buckets;
  const grouped = db.prepare(groupBy);
  const look = () =>
    timed(() => {
      const { length } = reader.series(record.id, buckets).atMs;
      if (length < buckets / 2) throw new Error(`The overview has ${length} buckets only.`);
    });
  const looks = async () => {
    const times = [];
    // It takes so little that one look would mostly tell what else the machine was doing.
    for (let count = 0; count < 9; count += 1) times.push(await look());
    return median(times);
  };
  await looks();
  const measured = await alternately(rounds, {
    ours: looks,
    theirs: () =>
      timed(() => {
        const { length } = grouped.all({ first, last, bucketMs });
        if (length !== buckets) throw new Error(`The query gave ${length} buckets.`);
      }),
  });
  db.close();
  reader.close();
  return figure(measured, 'ms');
}

/** A page written and synced, each after the one before, over and over in one stretch of a file. */
function bareWriter(file) {
  const descriptor = openSync(file, 'w');
  const page = Buffer.alloc(pageBytes, 1);
  let at = 0;
  return {
    commit() {
      writeSync(descriptor, page, 0, pageBytes, (at % logPages) * pageBytes);
      fdatasyncSync(descriptor);
      at += 1;
    },
    close: () => closeSync(descriptor),
  };
}

async function commits(writer, record, folder) {
  const bare = bareWriter(join(folder, 'bare'));
  let serial = 0;
  const event = () => ({
    runId: record.id,
    tankId: record.tankId,
    atMs: serial,
    wallMs: record.armedWallMs + serial,
    code: 'holding',
    message: 'Holding. The current follows the growing area.',
  });
  const works = {
    bare: () => bare.commit(),
    run: () => writer.createRun({ ...record, id: `another-${serial}` }),
    event: () => writer.appendEvent(event()),
    readings: () => {
      writer.appendReading(record.id, reading(rows + 2 * serial, record.armedWallMs));
      writer.appendReading(record.id, reading(rows + 2 * serial + 1, record.armedWallMs));
      // Asked for the last reading, the store commits first what is queued.
      return writer.lastReading(record.id);
    },
  };
  const names = Object.keys(works);
  const medians = Object.fromEntries(names.map((name) => [name, []]));
  for (let round = 0; round < rounds; round += 1) {
    const times = Object.fromEntries(names.map((name) => [name, []]));
    for (let commit = 0; commit < commitsPerRound; commit += 1) {
      serial += 1;
      for (const name of names) times[name].push(1000 * (await timed(works[name])));
    }
    for (const name of names) medians[name].push(median(times[name]));
  }
  bare.close();
  return medians;
}

function against(medians, name, aside) {
  const ratios = medians[name].map((ours, round) => ours / medians.bare[round]);
  const sides = {
    ratio: median(ratios),
    ours: median(medians[name]),
    theirs: median(medians.bare),
  };
  const { value, sides: words } = figure(sides, 'µs', 0);
  return { value, sides: `${words}${aside}` };
}

export async function measure() {
  const folder = scratchFolder();
  const file = join(folder, 'bench.sqlite');
  const notices = [];
  const writer = await openStoreWriter({ file, onNotice: (notice) => notices.push(notice) });
  const record = await demoRecord();
  await fill(writer, record);
  const day = await overview(file, record);
  const bytes = statSync(file).size / rows;
  const medians = await commits(writer, record, folder);
  await writer.close();
  if (notices.length > 0) throw new Error(notices.join(' '));
  const aside = liesInMemory(folder) ? '; the temporary folder lies in memory' : '';
  return {
    overview: day,
    run: against(medians, 'run', aside),
    event: against(medians, 'event', aside),
    readings: against(medians, 'readings', aside),
    bytes: { value: bytes },
  };
}
