/** The bring-up of a supply over a real line, with power: its own sentinel, the log, and what it leaves behind. */

import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect } from 'vitest';
import { openStoreReader } from '../../daemon/store/door.ts';
import { aRun } from '../store/a-run.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { benchTest, SupplyProcess, testSettings, until } from './test-bench.ts';

const root = new URL('../..', import.meta.url).pathname;
const command = join(root, 'daemon/cli/nightbath.js');

const it = benchTest.extend<{ folder: string }>({
  folder: async ({ task: _of }, use) => {
    const folder = mkdtempSync(join(tmpdir(), 'nightbath-check-test-'));
    await use(folder);
    rmSync(folder, { recursive: true, force: true });
  },
});

interface Ended {
  readonly code: number | null;
  readonly output: string;
  readonly complaints: string;
}

/** Runs a program to its end; `typed` answers what it asks, line by line, as it asks, and then no more. */
function run(
  folder: string,
  program: string,
  args: readonly string[],
  typed: readonly (readonly [RegExp, string])[] = [],
): Promise<Ended> {
  const state = { XDG_STATE_HOME: folder, XDG_CONFIG_HOME: folder };
  const child = spawn(program, args, { env: { ...process.env, ...state, NO_COLOR: '1' } });
  const waiting = [...typed];
  let output = '';
  let complaints = '';
  let from = 0;
  const hear = (): void => {
    const next = waiting[0];
    if (next === undefined || !next[0].test(output.slice(from))) return;
    from = output.length;
    waiting.shift();
    child.stdin.write(`${next[1]}\n`);
    if (waiting.length === 0) child.stdin.end();
  };
  child.stdout.on('data', (chunk: Buffer) => ((output += chunk.toString()), hear()));
  child.stderr.on('data', (chunk: Buffer) => (complaints += chunk.toString()));
  return new Promise((resolve) => {
    child.once('close', (code) => resolve({ code, output, complaints }));
  });
}

/** The maker's settings; the bring-up takes their log. */
function settingsFile(folder: string): { readonly config: string; readonly database: string } {
  const database = join(folder, 'runs.sqlite');
  const config = join(folder, 'bench.toml');
  writeFileSync(config, testSettings(database, '{ kind = "in-process" }', 'scpi-subsystem'));
  return { config, database };
}

interface Told {
  readonly steps: readonly {
    readonly id: string;
    readonly state: string;
    readonly found: string;
  }[];
  readonly offConfirmed: boolean;
}

// Real time passes in these: they wait side by side, each on a line of its own.
describe.concurrent('nightbath check on a real line', () => {
  it('brings a supply up without a question where all is given', async ({ folder }) => {
    const supply = new SupplyProcess('pty', folder, ['--dialect', 'vset-iset', '--paint', 'none']);
    await supply.start();
    try {
      const { config, database } = settingsFile(folder);
      // What the maker's own bench has left open there is not the bring-up's business.
      const left = openBenchFile(database);
      left.records.createRun(aRun('night-1', { tankId: 'one' }));
      left.close();
      const { code, output, complaints } = await run(
        folder,
        process.execPath,
        `${command} check --config ${config} --port ${supply.path} --dialect vset-iset --max-amps 3
         --max-volts 6 --leads-ready --after-mains on --json`.split(/\s+/),
      );
      const told = JSON.parse(output) as Told;
      const states = Object.fromEntries(told.steps.map(({ id, state }) => [id, state]));
      expect(states, complaints).toMatchObject({
        'set-points': 'ok',
        output: 'ok',
        continuity: 'ok',
        drill: 'ok',
        // A supply that comes back on by itself is a finding to be seen to.
        mains: 'failed',
      });
      expect([code, told.offConfirmed]).toEqual([1, true]);
      const truth = await supply.truth();
      expect(truth).toMatchObject({ outputOn: false, onsReceived: 2 });
      // One in ten of the limit while the output is off; power at far less.
      expect(truth.highestSetAmps).toBeLessThanOrEqual(0.3001);
      const reader = openStoreReader(database);
      const runs = reader.runs({ limit: 10 });
      expect(runs.map(({ kind, pieceName }) => [kind, pieceName])).toEqual([
        ['probe', 'Limits drill'],
        ['probe', 'Continuity check'],
        ['run', expect.any(String)],
      ]);
      expect(reader.run('night-1')).toMatchObject({ outcome: null, offConfirmed: false });
      expect(reader.alarms(5)).toEqual([]);
      reader.close();
    } finally {
      supply.stop();
    }
  });

  it('asks at a terminal, and switches nothing on without a plain yes', async ({ folder }) => {
    const supply = new SupplyProcess('tcp', folder, ['--dialect', 'scpi-subsystem']);
    await supply.start();
    try {
      const { config } = settingsFile(folder);
      const asked = `${process.execPath} ${command} check --config ${config}`;
      const where = `--port tcp\\://127.0.0.1\\:${supply.port} --dialect scpi-subsystem`;
      const { output } = await run(
        folder,
        'socat',
        ['-t', '20', '-', `EXEC:"${asked} ${where}",pty,setsid,ctty,stderr,echo=0`],
        [
          [/leads, clips and tank bear/, '2'],
          [/may ever be set/, '6'],
          [/Ready\? \(yes\/no\)/, 'well'],
          [/off, on, or unknown/, 'unknown'],
          [/For your settings/, ''],
        ],
      );
      expect(output).toMatch(/skipped +continuity +not asked for/);
      expect(output).toMatch(/maxAmps = 2/);
      expect(await supply.truth()).toMatchObject({ outputOn: false, onsReceived: 0 });
    } finally {
      supply.stop();
    }
  });

  it('refuses while the daemon runs, and shows its checks by another command', async ({
    startBench,
  }) => {
    const bench = await startBench({ line: 'tcp' });
    const nightbath = (...args: readonly string[]): Promise<Ended> =>
      new Promise((resolve) => {
        const child = spawn(process.execPath, [command, ...args, '--config', bench.configFile], {
          env: bench.environment,
        });
        let output = '';
        let complaints = '';
        child.stdout.on('data', (chunk: Buffer) => (output += chunk.toString()));
        child.stderr.on('data', (chunk: Buffer) => (complaints += chunk.toString()));
        child.once('close', (code) => resolve({ code, output, complaints }));
      });
    const refused = await nightbath('check', '--port', `tcp://127.0.0.1:${bench.supply.port}`);
    expect([refused.code, refused.complaints]).toEqual([69, expect.stringMatching(/running/)]);
    const ready = await nightbath('ready', '--continuity', '--drill', '--json');
    expect(ready.complaints).toBe('');
    const { checks } = JSON.parse(ready.output) as {
      checks: readonly { readonly id: string; readonly state: string }[];
    };
    const states = Object.fromEntries(checks.map(({ id, state }) => [id, state]));
    expect(states).toMatchObject({
      link: 'ok',
      continuity: 'ok',
      drill: 'ok',
      alerts: 'failing',
    });
    expect(ready.code).toBe(0);
    expect(await bench.supply.truth()).toMatchObject({ outputOn: false, onsReceived: 2 });
  });

  it('a probe is switched off by the sentinel when control is killed in the middle of it', async ({
    startBench,
  }) => {
    const bench = await startBench({ line: 'pty' });
    const asked = { kind: 'probe', tankId: 'one', by: 'test', probe: 'continuity' } as const;
    const answer = await bench.tell(asked);
    expect(answer).toMatchObject({ ok: true });
    await until('current', async () => ((await bench.supply.truth()).cellAmps ?? 0) > 0.03);
    process.kill(bench.childPid('control'), 'SIGKILL');
    await until('OFF', async () => !(await bench.supply.truth()).outputOn);
    const ended = await until('the end in the log', () => {
      const run = bench.reader.run(answer.ok ? (answer.runId ?? '') : '');
      return run?.outcome != null && run.offConfirmed ? run : null;
    });
    expect(ended).toMatchObject({ kind: 'probe', outcome: { end: 'interrupted' } });
    expect((await bench.supply.truth()).onsReceived).toBe(1);
  });
});
