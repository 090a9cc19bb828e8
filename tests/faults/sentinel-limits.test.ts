/** The whole daemon on a real line: both watchers dead at once, a sentinel that hangs, a control that lies. */

import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect } from 'vitest';
import {
  benchTest,
  shortPlan,
  until,
  type BenchOptions,
  type TestBench,
} from '../serial/test-bench.ts';

type StartBench = (options: BenchOptions) => Promise<TestBench>;

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});

const longPlan = () => shortPlan({ target: { kind: 'charge', ampHours: 2 } });

/** A computer on which nobody may keep it from going to sleep, whatever the one of the test allows. */
function sleepyPath(): string {
  const tools = mkdtempSync(join(tmpdir(), 'nightbath-tools-'));
  folders.push(tools);
  const script = '#!/bin/sh\necho "Access denied" >&2\nexit 1\n';
  writeFileSync(join(tools, 'systemd-inhibit'), script, { mode: 0o755 });
  return [tools, process.env['PATH'] ?? ''].join(delimiter);
}

async function running(startBench: StartBench): Promise<{ on: TestBench; runId: string }> {
  const on = await startBench({ line: 'pty', env: { PATH: sleepyPath() } });
  const runId = await on.run(longPlan());
  await until('some current', async () => (await on.supply.truth()).cellAmps > 0.1);
  return { on, runId };
}

/** Control is stopped first, so that it has no chance to switch off when its sentinel dies. */
async function killBoth(on: TestBench): Promise<void> {
  const control = on.childPid('control');
  process.kill(control, 'SIGSTOP');
  process.kill(on.sentinelPid, 'SIGKILL');
  process.kill(control, 'SIGKILL');
  await until('the daemon to be gone', () => on.exitCode !== null);
}

/** A copy of the built program in which one file is changed. */
function patched(file: string, from: string, to: string): string {
  const root = fileURLToPath(new URL('../..', import.meta.url));
  const tree = mkdtempSync(join(tmpdir(), 'nightbath-patched-'));
  folders.push(tree);
  for (const part of ['dist', 'config', 'package.json', 'daemon/cli']) {
    cpSync(join(root, part), join(tree, part), { recursive: true });
  }
  symlinkSync(join(root, 'node_modules'), join(tree, 'node_modules'));
  const path = join(tree, 'dist/daemon', file);
  const source = readFileSync(path, 'utf8');
  expect(source).toContain(from);
  writeFileSync(path, source.replace(from, to));
  return join(tree, 'daemon/cli/nightbath.js');
}

// Real time passes in these: they wait side by side, each on a bench of its own.
describe.concurrent('sentinel and control killed at once while current flows', () => {
  benchTest.for([
    ['with the log', false],
    ['without its log, which somebody has removed', true],
  ] as const)(
    'leave the output on, and the next start sends OFF before all else, %s',
    async ([, removed], { startBench }) => {
      const { on, runId } = await running(startBench);
      await killBoth(on);
      const before = await on.supply.truth();
      expect(before.outputOn).toBe(true);
      if (removed) {
        for (const end of ['', '-wal', '-shm', '.lock']) rmSync(`${on.databaseFile}${end}`);
      }
      const startedMs = performance.now();
      const served = on.serve();
      const off = await until('OFF at the supply', async () => {
        const now = await on.supply.truth();
        return now.outputOn ? null : now;
      });
      console.log(
        `OFF was in effect ${Math.round(performance.now() - startedMs)} ms after the start`,
      );
      // Who it is, and then OFF: nothing else has reached the supply before.
      const first = off.received.slice(before.received.length).map(({ text }) => text.trim());
      expect(first.filter((text) => text !== '').slice(0, 2)).toEqual(['*IDN?', 'OUTP OFF']);
      await served;
      await until('the tank to be off', () => on.snapshot?.output === 'confirmedOff');
      expect(on.output).toContain('OFF is sent before all else');
      expect((await on.supply.truth()).onsReceived).toBe(1);
      if (removed) return;
      const run = on.reader.run(runId);
      expect(run?.lifecycle).toBe('interrupted');
      expect(on.snapshot?.alarms.map((alarm) => alarm.code)).toContain('controlLost');
    },
  );
});

describe.concurrent('a sentinel that hangs', () => {
  benchTest(
    'for a second is none; for five, control switches off and goes on watching',
    async ({ startBench }) => {
      const { on } = await running(startBench);
      const control = on.childPid('control');
      // That the computer may go to sleep is said, and is no fault.
      await until('the warning', () => on.events.includes('maySleep'));
      process.kill(on.sentinelPid, 'SIGSTOP');
      await new Promise((resolve) => {
        setTimeout(resolve, 1_000);
      });
      process.kill(on.sentinelPid, 'SIGCONT');
      const charge = on.snapshot?.run?.ampHours ?? 0;
      await until('more charge', () => (on.snapshot?.run?.ampHours ?? 0) > charge + 0.0003);
      expect(on.snapshot?.run?.outcome).toBeNull();
      expect((await on.supply.truth()).outputOn).toBe(true);

      const hungMs = performance.now();
      process.kill(on.sentinelPid, 'SIGSTOP');
      await until('OFF at the supply', async () => !(await on.supply.truth()).outputOn, 20_000);
      const offMs = performance.now() - hungMs;
      console.log(`OFF was in effect ${Math.round(offMs)} ms after the sentinel hung`);
      expect(offMs).toBeGreaterThan(4_000);
      await until('the trip', () => on.snapshot?.run?.outcome?.faultCode === 'sentinelLost');
      process.kill(on.sentinelPid, 'SIGCONT');
      await until('the tank to be off', () => on.snapshot?.output === 'confirmedOff');
      expect(on.childPid('control')).toBe(control);
      expect(on.exitCode).toBeNull();
    },
  );
});

describe.concurrent('a control that misbehaves', () => {
  benchTest.for([
    [
      'that switches on without a guard',
      'control/securing.js',
      'return guardian.guard(record.tankId, rectifier.offScript, boundsOf(record));',
      '',
      'the run under guard is none',
    ],
    [
      'that asks for more than the settings allow',
      'control/report.js',
      'askedAmps: state?.commandedAmps ?? null',
      "askedAmps: state?.lifecycle === 'ramping' ? 3.5 : null",
      '3.5 A were asked of the supply; the settings allow 3 A',
    ],
    [
      'that hands over a run beyond the settings',
      'control/report.js',
      'maxChargeAmpHours: maxChargeAmpHours - carriedAmpHours',
      'maxChargeAmpHours: 1, maxDurationMs: 20 * 3_600_000',
      null,
    ],
  ] as const)('%s is ended, and the output goes off', async (given, { startBench }) => {
    const [, file, from, to, found] = given;
    const on = await startBench({ line: 'pty', program: patched(file, from, to) });
    const control = on.childPid('control');
    // The end may come before the run is seen to be on.
    let said = 'still starting';
    const started = on.run(longPlan()).then(
      (runId) => (said = `started ${runId}`),
      (error: unknown) => (said = String(error)),
    );
    if (found === null) {
      expect(await started).toContain('at most 12 h');
      expect((await on.supply.truth()).onsReceived).toBe(0);
      return;
    }
    await until(
      () => `ON and then OFF at the supply; ${said}`,
      async () => {
        const now = await on.supply.truth();
        return now.onsReceived > 0 && !now.outputOn;
      },
      60_000,
    );
    await until('another control', () => {
      try {
        return on.childPid('control') !== control;
      } catch {
        return false;
      }
    });
    expect(on.output).toContain('overstepped a limit');
    expect(on.output).toContain(found);
    expect(on.output).toContain('says that its output is off');
    await until('the tank to be off', () => on.snapshot?.output === 'confirmedOff', 30_000);
  });
});
