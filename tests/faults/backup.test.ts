/** Backup and restore that are killed in the middle, or whose disk is full: what stood there stands there still. */

import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, onTestFinished, test } from 'vitest';
import { openDatabase } from '../../daemon/store/database.ts';
import {
  backUpDatabase,
  lookAtDatabase,
  openStoreReader,
  openStoreWriter,
} from '../../daemon/store/door.ts';
import { migrations } from '../../daemon/store/migrations.ts';
import { aPiece } from '../store/a-piece.ts';
import { aRun, readings } from '../store/a-run.ts';
import { openBenchFile, ownFolder } from '../store/bench-file.ts';
import { CliBench } from '../cli/terminal.ts';

const main = fileURLToPath(new URL('../../daemon/cli/nightbath.js', import.meta.url));

interface Files {
  readonly bench: CliBench;
  readonly file: string;
  readonly copy: string;
}

/** A log with two runs, and a copy of it from the time when there was one. */
function twoNights(): Files {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  mkdirSync(join(bench.path, 'state'));
  const file = join(bench.path, 'state', 'nightbath.sqlite');
  const copy = join(bench.path, 'copy.sqlite');
  const log = openBenchFile(file);
  log.records.createRun(aRun('night-1'));
  log.append('night-1', readings(3000));
  backUpDatabase(file, copy);
  log.records.createRun(aRun('night-2'));
  log.close();
  return { bench, file, copy };
}

function runsIn(file: string): readonly string[] {
  const reader = openStoreReader(file);
  const ids = reader.runs({ limit: 9 }).map(({ id }) => id);
  reader.close();
  return ids.toSorted();
}

/** Runs a command that is killed when it makes a system call of a name for the nth time. */
function killedAt({ bench }: Files, call: string, nth: number, words: readonly string[]): void {
  const inject = `inject=${call}:signal=KILL:when=${nth}`;
  const recorder = ['-f', '-o', join(bench.path, 'trace'), '-e', `trace=${call}`, '-e', inject];
  const done = spawnSync('strace', [...recorder, process.execPath, main, ...words], {
    env: { ...process.env, ...bench.env },
    encoding: 'utf8',
  });
  if (done.error !== undefined) throw done.error;
  expect(done.signal ?? done.status, done.stderr).toBe('SIGKILL');
}

// The first writes are the lock's; the later ones those of the copy.
const moments = [
  ['pwrite64', 40],
  ['fsync', 1],
  ['link', 1],
] as const;

test.each(moments)(
  'a backup that is killed at %s leaves the log whole, and the next one works',
  async (call, nth) => {
    const files = twoNights();
    const target = join(files.bench.path, 'new.sqlite');
    killedAt(files, call, nth, ['backup', target]);
    // It bears its name only once it is whole.
    if (existsSync(target)) expect(runsIn(target)).toEqual(['night-1', 'night-2']);
    expect(runsIn(files.file)).toEqual(['night-1', 'night-2']);
    const next = await files.bench.run(['backup', join(files.bench.path, 'next.sqlite')]);
    expect(next).toMatchObject({ code: 0, complaints: '' });
  },
);

test.each([...moments, ['rename', 1] as const])(
  'a restore that is killed at %s leaves one log or the other, never none',
  async (call, nth) => {
    const files = twoNights();
    killedAt(files, call, nth, ['restore', files.copy]);
    expect(lookAtDatabase(files.file)).toMatchObject({ kind: 'current' });
    const found = runsIn(files.file);
    expect([['night-1'], ['night-1', 'night-2']]).toContainEqual(found);
    const again = await files.bench.run(['restore', files.copy]);
    expect(again).toMatchObject({ code: 0, complaints: '' });
    expect(runsIn(files.file)).toEqual(['night-1']);
  },
);

test('a backup onto a full disk says so and leaves nothing there', () => {
  const { bench } = twoNights();
  const disk = join(bench.path, 'disk');
  mkdirSync(disk);
  const script =
    'mount -t tmpfs -o size=64k tmpfs "$1"; shift; "$@"; code=$?; ls -A "$0"; exit $code';
  const asUser = process.getuid?.() === 0 ? [] : ['--map-root-user'];
  const line = [process.execPath, main, 'backup', join(disk, 'copy.sqlite')];
  const words = ['--mount', ...asUser, 'sh', '-c', script, disk, disk, ...line];
  const done = spawnSync('unshare', words, {
    env: { ...process.env, ...bench.env },
    encoding: 'utf8',
  });
  expect(done.stderr).toContain('the disk is full');
  expect([done.status, done.stdout]).toEqual([74, '']);
});

test('a backup holds pieces and pictures too, and an older one is brought up to date when it is back', async () => {
  const { bench, file } = twoNights();
  const log = await openStoreWriter({ file });
  await log.library.addPiece('leaf', aPiece(), 1);
  await log.close();
  const made = await bench.run(['backup', join(bench.path, 'with-pieces.sqlite'), '--json']);
  expect(JSON.parse(made.output)).toMatchObject({ runs: 2, pieces: 1, pictures: 0 });

  const older = join(ownFolder(), 'older.sqlite');
  const before = migrations.slice(0, 2);
  openDatabase(older, { onNotice: () => undefined, migrations: before }).close();
  const restored = await bench.run(['restore', older, '--json']);
  expect(JSON.parse(restored.output)).toMatchObject({ runs: 0, pieces: 0, version: 2 });
  expect(lookAtDatabase(file)).toMatchObject({ kind: 'older' });
  openBenchFile(file).close();
  expect(lookAtDatabase(file)).toMatchObject({ kind: 'current' });
  expect(readdirSync(join(bench.path, 'state')).join(' ')).toContain('.before-restore-');
});
