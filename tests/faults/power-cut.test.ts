/**
 * What is on disk when the power goes: the system calls of a real writer are recorded, and the files are
 * built again from only those writes that the system had been told to make safe by then. A killed
 * process proves nothing of the kind, as the system still writes for it.
 */

import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { openStoreReader, openStoreWriter } from '../../daemon/store/door.ts';
import { aRun, anAlarm, anEvent } from '../store/a-run.ts';
import { ownFolder } from '../store/bench-file.ts';
import { builtStore } from '../store/built-daemon.ts';

/** Stores events, alarms and readings, and says each one as soon as it is told that it is stored. */
const script = `
  import { openStoreWriter } from '${new URL('door.js', builtStore).href}';
  import { setTimeout as wait } from 'node:timers/promises';
  import { writeSync } from 'node:fs';
  const [file, run, event, alarm] = JSON.parse(process.argv[1]);
  const say = (line) => writeSync(1, 'said ' + line + '\\n');
  const writer = await openStoreWriter({ file });
  await writer.createRun(run);
  say('run');
  let at = 0;
  const timer = setInterval(() => {
    for (let n = 0; n < 2; n += 1, at += 1) {
      writer.appendReading(run.id, { atMs: at * 250, wallMs: at * 250, volts: 1, amps: 0.4,
        setAmps: 0.4, ampHours: at, thicknessMicrometres: at, lifecycle: 'holding' });
    }
    say('queued ' + at);
  }, 20);
  for (let round = 0; round < 12; round += 1) {
    say('event ' + (await writer.appendEvent(event)).id);
    say('alarm ' + (await writer.raiseAlarm(event, alarm)).alarm.id);
    // Readings alone, with nothing that would carry them along.
    await wait(round === 6 ? 2500 : 20);
  }
  clearInterval(timer);
  process.exit(0);
`;

interface Call {
  readonly atSeconds: number;
  readonly kind: 'write' | 'truncate' | 'sync' | 'said';
  readonly file: string;
  readonly bytes: Buffer;
  readonly offset: number;
  readonly text: string;
}

const empty = Buffer.alloc(0);

function bytesOf(hexText: string): Buffer {
  return Buffer.from(hexText.replaceAll('\\x', ''), 'hex');
}

/** One line of the recorder; null for what touches no file of ours. */
function callOf(line: string, ours: string): Call | null {
  const [, seconds = '', name = '', shown = '', rest = ''] =
    /^\d+ +([\d.]+) (\w+)\(\d+<([^>]*)>(.*)$/.exec(line) ?? [];
  const path = shown.startsWith('\\x') ? bytesOf(shown).toString() : shown;
  const base = { atSeconds: Number(seconds), file: path, bytes: empty, offset: 0, text: '' };
  if (name === 'write') {
    const text = bytesOf(/"([^"]*)"/.exec(rest)?.[1] ?? '').toString();
    return text.startsWith('said ') ? { ...base, kind: 'said', text: text.trim() } : null;
  }
  if (!path.startsWith(ours)) return null;
  if (name === 'fsync' || name === 'fdatasync') return { ...base, kind: 'sync' };
  if (name === 'ftruncate') {
    return { ...base, kind: 'truncate', offset: Number(/^, (\d+)/.exec(rest)?.[1]) };
  }
  const [, data = '', offset = ''] = /^, "([^"]*)"(?:\.\.\.)?, \d+, (\d+)/.exec(rest) ?? [];
  return { ...base, kind: 'write', bytes: bytesOf(data), offset: Number(offset) };
}

/** Calls in their order; one that another thread interrupted counts from where it was begun. */
function recorded(trace: string, ours: string): readonly Call[] {
  return trace.split('\n').flatMap((line) => callOf(line, ours) ?? []);
}

/** The files as a disk that has lost all that was not made safe would hold them. */
class SafeDisk {
  readonly #safe = new Map<string, Buffer>();
  readonly #open = new Map<string, Call[]>();

  take(call: Call): void {
    if (call.kind === 'said') return;
    const open = this.#open.get(call.file) ?? [];
    if (call.kind === 'sync') {
      this.#safe.set(call.file, open.reduce(applied, this.#safe.get(call.file) ?? empty));
      this.#open.set(call.file, []);
    } else {
      this.#open.set(call.file, [...open, call]);
    }
  }

  writeTo(from: string, to: string): void {
    for (const ending of ['', '-wal']) {
      const bytes = this.#safe.get(from + ending);
      if (bytes !== undefined) writeFileSync(to + ending, bytes);
    }
  }
}

function applied(bytes: Buffer, { kind, offset, bytes: more }: Call): Buffer {
  if (kind === 'truncate') return Buffer.from(bytes.subarray(0, offset));
  const grown = Buffer.alloc(Math.max(bytes.length, offset + more.length));
  bytes.copy(grown);
  more.copy(grown, offset);
  return grown;
}

function recordOf(folder: string, file: string): readonly Call[] {
  const trace = join(folder, 'trace');
  const given = [
    file,
    aRun('night-1', { lifecycle: 'holding' }),
    anEvent('night-1'),
    anAlarm('night-1'),
  ];
  const calls = 'trace=pwrite64,write,fsync,fdatasync,ftruncate';
  const recorder = ['-f', '-ttt', '-y', '-xx', '-s', '70000', '-e', 'signal=none', '-e', calls];
  const program = [process.execPath, '--input-type=module', '-e', script, JSON.stringify(given)];
  const done = spawnSync('strace', [...recorder, '-o', trace, ...program], { encoding: 'utf8' });
  if (done.status !== 0) throw new Error(`strace: ${String(done.error ?? done.stderr)}`);
  return recorded(readFileSync(trace, 'latin1'), file);
}

test('a power cut at any moment loses nothing that was said to be stored, and little of the readings', async () => {
  const folder = ownFolder();
  const file = join(folder, 'bench.db');
  const calls = recordOf(folder, file);
  const disk = new SafeDisk();
  const said = new Map<string, number>();
  const queued: { atSeconds: number; count: number }[] = [];
  let cuts = 0;
  let saidCalls = 0;
  for (const call of calls) {
    disk.take(call);
    if (call.kind !== 'said') continue;
    saidCalls += 1;
    const [, word = '', value = '0'] = call.text.split(' ');
    if (word === 'queued') queued.push({ atSeconds: call.atSeconds, count: Number(value) });
    else said.set(word, Number(value));
    if (saidCalls % 9 !== 0) continue;
    cuts += 1;
    const after = join(folder, `after-${cuts}.db`);
    disk.writeTo(file, after);
    const notices: string[] = [];
    const writer = await openStoreWriter({ file: after, onNotice: (line) => notices.push(line) });
    expect(await writer.run('night-1'), 'the run').not.toBeNull();
    const readings = ((await writer.lastReading('night-1'))?.ampHours ?? -1) + 1;
    await writer.close();
    const reader = openStoreReader(after);
    const events = Math.max(0, ...reader.events('night-1').map(({ id }) => id));
    const alarms = Math.max(0, ...reader.alarms(500).map(({ id }) => id));
    reader.close();
    expect(notices).toEqual([]);
    expect(events, `events ${call.atSeconds}`).toBeGreaterThanOrEqual(said.get('event') ?? 0);
    expect(alarms, `alarms ${call.atSeconds}`).toBeGreaterThanOrEqual(said.get('alarm') ?? 0);
    // A second on a machine with time to spare; here it may be busy, and it is slowed by being watched.
    const before = queued.filter(({ atSeconds }) => atSeconds < call.atSeconds - 3).at(-1);
    expect(readings, `readings ${call.atSeconds}`).toBeGreaterThanOrEqual(before?.count ?? 0);
  }
  expect(cuts).toBeGreaterThan(10);
  expect(said.get('alarm')).toBe(12);
});
