/** `nightbath backup` and `nightbath restore`: real files, while a writer runs, and everything that must be refused. */

import { spawnSync } from 'node:child_process';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readFileSync,
  readdirSync,
  renameSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { openStoreReader, openStoreWriter } from '../../daemon/store/door.ts';
import { aRun, readings } from '../store/a-run.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { CliBench } from './terminal.ts';

const distStore = new URL('../../dist/daemon/store/door.js', import.meta.url).href;

function emptyBench(): { bench: CliBench; file: string } {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  mkdirSync(join(bench.path, 'state'));
  return { bench, file: join(bench.path, 'state', 'nightbath.sqlite') };
}

function benchWithRuns(...ids: readonly string[]) {
  const made = emptyBench();
  const file = openBenchFile(made.file);
  for (const id of ids) {
    file.records.createRun(aRun(id));
    file.append(id, readings(500));
  }
  file.close();
  return made;
}

function runsIn(file: string): readonly string[] {
  const reader = openStoreReader(file);
  const ids = reader.runs({ limit: 100 }).map(({ id }) => id);
  reader.close();
  return ids.toSorted();
}

/** Writes a run in a process of its own, which is killed before it can close the file. */
function killedWriter(file: string, id: string): void {
  const script = `
    import { openStoreWriter } from ${JSON.stringify(distStore)};
    const writer = await openStoreWriter({ file: ${JSON.stringify(file)} });
    await writer.createRun(${JSON.stringify(aRun(id))});
    process.kill(process.pid, 'SIGKILL');
  `;
  const ended = spawnSync(process.execPath, ['--input-type=module', '-e', script]);
  if (ended.signal !== 'SIGKILL') throw new Error(String(ended.stderr));
}

describe('a backup', () => {
  it('is one sound file with every run, also while the daemon writes', async () => {
    const { bench, file } = emptyBench();
    const writer = await openStoreWriter({ file });
    await writer.createRun(aRun('night-1'));
    for (const row of readings(300)) writer.appendReading('night-1', row);
    await writer.lastReading('night-1');
    const copy = join(bench.path, 'copy.sqlite');
    const made = await bench.run(['backup', copy]);
    expect(made).toMatchObject({ code: 0, complaints: '' });
    expect(made.output).toContain('1 run, 0 pieces and 0 pictures.');
    await writer.close();
    const reader = openStoreReader(copy);
    expect([...reader.allReadings('night-1')].flat()).toHaveLength(300);
    reader.close();
  });

  it('never writes over a file, and leaves none behind that is not whole', async () => {
    const { bench } = benchWithRuns('night-1');
    const there = join(bench.path, 'there.sqlite');
    writeFileSync(there, 'mine');
    const refused = await bench.run(['backup', there]);
    expect(refused).toMatchObject({ code: 74, output: '' });
    expect(refused.complaints).toContain('is there already');
    expect(readFileSync(there, 'utf8')).toBe('mine');
    const nowhere = join(bench.path, 'no', 'such', 'folder.sqlite');
    expect(await bench.run(['backup', nowhere])).toMatchObject({ code: 74 });
    expect(existsSync(nowhere)).toBe(false);
  });

  it('says so where there is nothing to copy, and where no file is named', async () => {
    const { bench } = emptyBench();
    const nothing = await bench.run(['backup', join(bench.path, 'x')]);
    expect(nothing).toMatchObject({ code: 74 });
    expect(nothing.complaints).toContain('There is no database');
    expect(await bench.run(['backup'])).toMatchObject({ code: 2 });
    expect(await bench.run(['restore', 'a', 'b'])).toMatchObject({ code: 2 });
  });
});

describe('a restore', () => {
  it('puts the copy in place and keeps what stood there', async () => {
    const { bench, file } = benchWithRuns('night-1');
    const copy = join(bench.path, 'copy.sqlite');
    await bench.run(['backup', copy]);
    const later = openBenchFile(file);
    later.records.createRun(aRun('night-2'));
    later.close();
    const restored = await bench.run(['restore', copy, '--json']);
    expect(restored.complaints).toBe('');
    const facts = JSON.parse(restored.output) as { runs: number; keptAs: string };
    expect(facts.runs).toBe(1);
    expect(runsIn(file)).toEqual(['night-1']);
    expect(runsIn(facts.keptAs)).toEqual(['night-1', 'night-2']);
    // The copy itself stays as it is, and the restored one can be written to.
    expect(runsIn(copy)).toEqual(['night-1']);
    const again = openBenchFile(file);
    again.records.createRun(aRun('night-3'));
    again.close();
    expect(runsIn(file)).toEqual(['night-1', 'night-3']);
  });

  it('works where no database stands yet', async () => {
    const { bench, file } = benchWithRuns('night-1');
    const copy = join(bench.path, 'copy.sqlite');
    await bench.run(['backup', copy]);
    const fresh = emptyBench();
    expect(await fresh.bench.run(['restore', copy])).toMatchObject({ code: 0 });
    expect(runsIn(fresh.file)).toEqual(runsIn(file));
  });

  it('is refused while a daemon runs, and nothing is changed', async () => {
    const { bench, file } = benchWithRuns('night-1');
    const copy = join(bench.path, 'copy.sqlite');
    await bench.run(['backup', copy]);
    const writer = await openStoreWriter({ file });
    await writer.createRun(aRun('night-2'));
    const refused = await bench.run(['restore', copy]);
    expect(refused).toMatchObject({ code: 74, output: '' });
    expect(refused.complaints).toContain('Another Nightbath');
    await writer.close();
    expect(runsIn(file)).toEqual(['night-1', 'night-2']);
  });

  it.each([
    ['no file', (path: string) => path, 'There is no file'],
    [
      'text',
      (path: string) => {
        writeFileSync(path, 'not a database, but long enough to look at'.repeat(40));
        return path;
      },
      'damaged',
    ],
    [
      'a copy that was cut short',
      (path: string, sound: string) => {
        writeFileSync(path, readFileSync(sound).subarray(0, 20_000));
        return path;
      },
      'damaged',
    ],
  ])('refuses %s, and nothing is changed', async (_name, make, words) => {
    const { bench, file } = benchWithRuns('night-1');
    const sound = join(bench.path, 'sound.sqlite');
    copyFileSync(file, sound);
    const before = readdirSync(join(bench.path, 'state')).toSorted();
    const refused = await bench.run(['restore', make(join(bench.path, 'bad.sqlite'), sound)]);
    expect(refused).toMatchObject({ code: 74, output: '' });
    expect(refused.complaints).toContain(words);
    expect(readdirSync(join(bench.path, 'state')).toSorted()).toEqual(before);
    expect(runsIn(file)).toEqual(['night-1']);
  });

  it('keeps what stood only in the journal of the one it replaces, and of the one it restores', async () => {
    const { bench, file } = benchWithRuns('night-1');
    const copy = join(bench.path, 'copy.sqlite');
    await bench.run(['backup', copy]);
    // A writer that is killed leaves its newest commits in the journal beside the file.
    killedWriter(file, 'night-2');
    expect(existsSync(`${file}-wal`)).toBe(true);
    const first = await bench.run(['restore', copy, '--json']);
    const { keptAs } = JSON.parse(first.output) as { keptAs: string };
    expect(runsIn(file)).toEqual(['night-1']);
    // The way back, as the message offers it.
    killedWriter(file, 'night-3');
    const second = await bench.run(['restore', keptAs, '--json']);
    expect(second).toMatchObject({ code: 0, complaints: '' });
    expect(runsIn(file)).toEqual(['night-1', 'night-2']);
    const again = (JSON.parse(second.output) as { keptAs: string }).keptAs;
    expect(runsIn(again)).toEqual(['night-1', 'night-3']);
    const names = readdirSync(join(bench.path, 'state'));
    expect(names.filter((name) => name.includes('.restoring'))).toEqual([]);
  });

  it('is not spoilt by a journal that was left without its file', async () => {
    const { bench, file } = benchWithRuns('night-1');
    const copy = join(bench.path, 'copy.sqlite');
    await bench.run(['backup', copy]);
    killedWriter(file, 'night-2');
    renameSync(file, join(bench.path, 'moved-by-hand.sqlite'));
    const restored = await bench.run(['restore', copy]);
    expect(restored).toMatchObject({ code: 0, complaints: '' });
    expect(runsIn(file)).toEqual(['night-1']);
    const again = openBenchFile(file);
    again.records.createRun(aRun('night-4'));
    again.close();
    expect(runsIn(file)).toEqual(['night-1', 'night-4']);
  });

  it('refuses the database itself', async () => {
    const { bench, file } = benchWithRuns('night-1');
    const refused = await bench.run(['restore', file]);
    expect(refused.complaints).toContain('the database itself');
    expect(runsIn(file)).toEqual(['night-1']);
  });
});
