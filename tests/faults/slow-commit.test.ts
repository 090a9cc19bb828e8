/** A disk that takes five seconds to make one commit safe: waited for, nothing lost, no run ended. */

import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { aRun, anEvent } from '../store/a-run.ts';
import { ownFolder } from '../store/bench-file.ts';
import { builtStore } from '../store/built-daemon.ts';

const script = `
  import { openStoreReader, openStoreWriter } from '${new URL('door.js', builtStore).href}';
  const [file, run, event] = JSON.parse(process.argv[1]);
  const writer = await openStoreWriter({ file });
  const failures = [];
  writer.onFailure((reason) => failures.push(reason));
  await writer.createRun(run);
  let longest = 0;
  let told = 0;
  let at = 0;
  const timer = setInterval(() => {
    writer.appendReading(run.id, { atMs: at * 250, wallMs: at, volts: 1, amps: 0.4, setAmps: 0.4,
      ampHours: at, thicknessMicrometres: at, lifecycle: 'holding' });
    at += 1;
  }, 50);
  for (; told < 40; told += 1) {
    const from = performance.now();
    await writer.appendEvent(event);
    longest = Math.max(longest, performance.now() - from);
  }
  clearInterval(timer);
  const last = await writer.lastReading(run.id);
  await writer.close();
  const reader = openStoreReader(file);
  const stored = [...reader.allReadings(run.id)].flat().length;
  console.log(JSON.stringify({ longest, told, failures, queued: at, last: last?.ampHours, stored }));
`;

test('a commit that hangs for five seconds is waited for', () => {
  const file = join(ownFolder(), 'bench.db');
  const given = [file, aRun('night-1', { lifecycle: 'holding' }), anEvent('night-1')];
  // SQLite on Linux makes a journal safe by fdatasync, or by fsync where it was built without it.
  const hang = 'inject=fsync,fdatasync:delay_enter=5000000:when=30';
  const child = [process.execPath, '--input-type=module', '-e', script, JSON.stringify(given)];
  const done = spawnSync('strace', ['-f', '-o', '/dev/null', '-e', hang, ...child], {
    encoding: 'utf8',
  });
  expect(done.status, done.stderr).toBe(0);
  const found = JSON.parse(done.stdout) as {
    longest: number;
    failures: string[];
    told: number;
    queued: number;
    stored: number;
  };
  expect(found.longest, 'the hang was met').toBeGreaterThan(4_500);
  expect(found).toMatchObject({ failures: [], told: 40 });
  expect(found.stored).toBe(found.queued);
  expect(found.queued).toBeGreaterThan(20);
});
