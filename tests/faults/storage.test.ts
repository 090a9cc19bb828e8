/** Disks that fail under a real daemon: what was on goes off, a person is told at once, and the bench comes up all the same. */

import { readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { type CommandAnswer } from '../../daemon/wire/command.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';

async function benchOn(disk: string | null): Promise<TestBench> {
  const bench = new TestBench({ line: 'tcp' });
  bench.disk = disk;
  onTestFinished(() => bench.clear());
  await bench.supply.start();
  return bench;
}

const codes = (bench: TestBench): readonly string[] =>
  (bench.snapshot?.alarms ?? []).map(({ code }) => code);

function arm(bench: TestBench): Promise<CommandAnswer> {
  return bench.tell({
    kind: 'arm',
    tankId: 'one',
    by: 'test',
    plan: shortPlan() as Extract<Parameters<TestBench['tell']>[0], { kind: 'arm' }>['plan'],
    checklist: checklistItems.map(({ id }) => id),
    continues: null,
  });
}

test('on a read-only disk the bench comes up without a log: off first, told at once, nothing armed', async () => {
  const bench = await benchOn('ro,size=1m');
  await bench.supply.fault('outputKey', { on: true });
  expect((await bench.supply.truth()).outputOn).toBe(true);
  await bench.serve();
  await until('OFF', async () => !(await bench.supply.truth()).outputOn);
  await until('the alarm', () => codes(bench).includes('databaseLost'));
  const [alarm] = bench.snapshot?.alarms ?? [];
  expect(alarm?.found).toContain(bench.databaseFile);
  expect(alarm?.found).toContain('no run can be started');
  const health = (await (await fetch(`${bench.url}/api/health`)).json()) as object;
  expect(health).toMatchObject({ status: 'degraded', controlAlive: true });
  // A person may know of it; the run would have no record, so it is refused or ended before any ON.
  await bench.tell({ kind: 'acknowledge', alarmId: alarm?.id ?? 0, by: 'test' });
  await until('OFF to be read back', () => bench.snapshot?.output === 'confirmedOff');
  const armed = await arm(bench);
  if (armed.ok) await until('the end', () => bench.snapshot?.run?.outcome != null);
  expect(await bench.supply.truth()).toMatchObject({ outputOn: false, onsReceived: 0 });
  expect(await bench.shutDown()).toBe(0);
});

test('a disk that fills up in mid-run trips the run; with room again the log tells how it ended', async () => {
  const bench = await benchOn('size=64m');
  await bench.serve();
  const runId = await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
  // The disk as the daemon sees it.
  const seen = join(`/proc/${bench.sentinelPid}/root`, bench.diskFolder);
  const filler = join(seen, 'filler');
  expect(() => writeFileSync(filler, Buffer.alloc(70 * 1024 * 1024))).toThrow(/ENOSPC/);
  await until('the trip', () => bench.snapshot?.run?.outcome?.faultCode === 'databaseLost', 30_000);
  await until('OFF', async () => !(await bench.supply.truth()).outputOn);
  await until('the alarm', () => codes(bench).includes('databaseLost'));
  expect(bench.snapshot?.alarms[0]?.found).toContain('the disk is full');
  rmSync(filler);
  const stored = async (path: string): Promise<string> =>
    (await fetch(`${bench.url}/api/${path}`)).text();
  await until('the end on disk', async () =>
    (await stored(`runs/${runId}`)).includes('"faultCode":"databaseLost"'),
  );
  await until('the alarm on disk', async () =>
    (await stored('alarms')).includes('"code":"databaseLost"'),
  );
});

test('a log that is found damaged after a crash is kept beside; what was left on goes off all the same', async () => {
  const bench = await benchOn(null);
  await bench.serve();
  const runId = await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
  await until('charge on disk', () => (bench.reader.run(runId)?.ampHours ?? 0) > 0);
  await bench.kill();
  expect((await bench.supply.truth()).outputOn).toBe(true);
  const bytes = readFileSync(bench.databaseFile).fill(0xa5);
  writeFileSync(bench.databaseFile, bytes);
  // The journal alone would make it whole again.
  rmSync(`${bench.databaseFile}-wal`);
  await bench.serve();
  await until('OFF', async () => !(await bench.supply.truth()).outputOn);
  await until('the alarm', () => codes(bench).includes('databaseDamaged'));
  const kept = readdirSync(bench.folder).find((name) => /\.damaged-\d{8}T\d{6}Z$/.test(name));
  expect(kept).toBeDefined();
  expect(bench.snapshot?.alarms.map(({ found }) => found).join(' ')).toContain(kept);
  expect(readFileSync(join(bench.folder, kept ?? '')).equals(bytes)).toBe(true);
  // The fresh log is one to work with.
  for (const { id } of bench.snapshot?.alarms ?? []) {
    await bench.tell({ kind: 'acknowledge', alarmId: id, by: 'test' });
  }
  await until('OFF to be read back', () => bench.snapshot?.output === 'confirmedOff');
  expect(await arm(bench)).toMatchObject({ ok: true });
});
