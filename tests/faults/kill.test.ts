/** kill -9 in mid-run: of control the supply must hear OFF, of web the run must not notice. */

import { readFileSync } from 'node:fs';
import { describe, expect } from 'vitest';
import {
  benchTest,
  shortPlan,
  until,
  type BenchOptions,
  type TestBench,
} from '../serial/test-bench.ts';

type StartBench = (options: BenchOptions) => Promise<TestBench>;

async function running(
  startBench: StartBench,
  options: BenchOptions = { line: 'pty' },
): Promise<{ on: TestBench; runId: string }> {
  const on = await startBench(options);
  const runId = await on.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
  await until('some current', async () => (await on.supply.truth()).cellAmps > 0.1);
  return { on, runId };
}

/** Of all three: a letter of the kernel; T is stopped. */
function statesOf(on: TestBench): readonly string[] {
  return [on.sentinelPid, on.childPid('control'), on.childPid('web')].map((pid) => {
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[0] ?? '?';
  });
}

// Real time passes in these: they wait side by side, each on a bench of its own.
describe.concurrent('the keys of a terminal, which reach all three at once', () => {
  benchTest(
    'pause nothing by Ctrl-Z, and by Ctrl-\\ switch off and end it',
    async ({ startBench }) => {
      const { on, runId } = await running(startBench, { line: 'pty', ownGroup: true });
      process.kill(-on.sentinelPid, 'SIGTSTP');
      await until('its word', () => on.output.includes('cannot be paused'));
      const before = on.snapshot?.run?.ampHours ?? 0;
      await until('more charge', () => (on.snapshot?.run?.ampHours ?? 0) > before);
      expect(statesOf(on)).not.toContain('T');
      process.kill(-on.sentinelPid, 'SIGQUIT');
      await until('the end', () => on.exitCode !== null);
      expect(on.exitCode).toBe(0);
      expect(await on.supply.truth()).toMatchObject({ outputOn: false });
      expect(on.reader.run(runId)).toMatchObject({ lifecycle: 'interrupted', offConfirmed: true });
    },
  );
});

describe.concurrent('kill -9', () => {
  benchTest.for(['pty', 'tcp'] as const)(
    'of control: the supply hears OFF over %s',
    async (line, { startBench }) => {
      const { on, runId } = await running(startBench, { line });
      const offsBefore = (await on.supply.truth()).offsReceived;
      const killedMs = performance.now();
      process.kill(on.childPid('control'), 'SIGKILL');
      const truth = await until('OFF at the supply', async () => {
        const now = await on.supply.truth();
        return now.offsReceived > offsBefore && !now.outputOn ? now : null;
      });
      console.log(
        `${line}: OFF was in effect ${Math.round(performance.now() - killedMs)} ms after the kill`,
      );
      expect(truth.outputOn).toBe(false);

      // A new control process comes up, closes the run and changes nothing else.
      const run = await until(
        'the interrupted run',
        () => {
          const found = on.reader.run(runId);
          return found?.outcome?.end === 'interrupted' ? found : null;
        },
        30_000,
      );
      expect(run?.lifecycle).toBe('interrupted');
      const after = await until('the tank to be back, with its output off', () => {
        const shown = on.snapshot;
        const back = shown?.link.state === 'connected' && shown.run === null;
        return back && shown.output === 'confirmedOff' ? shown : null;
      });
      expect(after.alarms.map((alarm) => alarm.code)).toContain('controlLost');
      const last = await on.supply.truth();
      expect(last).toMatchObject({ outputOn: false, onsReceived: 1 });
      // At most one interval of readings is missing: the count stands within half a second of current.
      const recorded = (run?.ampHours ?? 0) * 3600;
      expect(last.cellChargeCoulombs - recorded).toBeLessThan(0.45 * 2.5);
      expect(run?.highAmpHours).toBeGreaterThanOrEqual(run?.ampHours ?? 0);
    },
  );

  benchTest('of web: the run goes on and the page comes back', async ({ startBench }) => {
    const { on } = await running(startBench);
    const before = on.snapshot?.run;
    const webPid = on.childPid('web');
    process.kill(webPid, 'SIGKILL');
    await until('another web process', () => {
      try {
        return on.childPid('web') !== webPid;
      } catch {
        return false;
      }
    });
    await until(
      'more charge',
      () => (on.snapshot?.run?.ampHours ?? 0) > (before?.ampHours ?? 0) * 1.2,
    );
    expect(on.snapshot?.run).toMatchObject({ id: before?.id, outcome: null });
    expect((await on.supply.truth()).outputOn).toBe(true);
    const answer = await until('the page', async () => {
      const reply = await fetch(new URL('/healthz', on.url)).catch(() => null);
      return reply?.ok === true ? reply : null;
    });
    expect(answer.status).toBe(200);
  });

  benchTest('of the sentinel: control switches off by itself', async ({ startBench }) => {
    const { on } = await running(startBench);
    const killedMs = performance.now();
    process.kill(on.sentinelPid, 'SIGKILL');
    const truth = await until('OFF at the supply', async () => {
      const now = await on.supply.truth();
      return now.outputOn ? null : now;
    });
    console.log(
      `OFF was in effect ${Math.round(performance.now() - killedMs)} ms after the sentinel was killed`,
    );
    expect(truth.offsReceived).toBeGreaterThan(0);
  });
});

describe.concurrent('a hung control process', () => {
  benchTest('is ended, and the sentinel switches off', async ({ startBench }) => {
    const { on } = await running(startBench);
    const offsBefore = (await on.supply.truth()).offsReceived;
    const hungMs = performance.now();
    process.kill(on.childPid('control'), 'SIGSTOP');
    await until('OFF at the supply', async () => {
      const now = await on.supply.truth();
      return now.offsReceived > offsBefore && !now.outputOn;
    });
    console.log(
      `OFF was in effect ${Math.round(performance.now() - hungMs)} ms after control hung`,
    );
    expect((await on.supply.truth()).outputOn).toBe(false);
  });
});
