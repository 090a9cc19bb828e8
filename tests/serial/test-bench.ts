/** A whole bench for tests: the simulated supply in a process of its own, a line to it, and the daemon. */

import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { connect, createServer, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as wait } from 'node:timers/promises';
import { test } from 'vitest';
import { connectControl, type ControlClient } from '../../daemon/control/door.ts';
import { openStoreReader, type StoreReader } from '../../daemon/store/door.ts';
import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import { type Command, type CommandAnswer } from '../../daemon/wire/command.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import { checkIds } from '../../daemon/run/checks/model.ts';
import type { PlanRequest } from '../../daemon/run/model.ts';
import type { Truth } from '../../drivers/simulated/model.ts';

const root = new URL('../..', import.meta.url).pathname;
const command = join(root, 'daemon/cli/nightbath.js');

export interface BenchOptions {
  readonly line: 'pty' | 'tcp';
  readonly dialect?: string;
  /** The program to serve with; left out, the one of this tree. */
  readonly program?: string;
  /** More environment for the daemon. */
  readonly env?: NodeJS.ProcessEnv;
  /** The daemon leads a group of its own, as when it is started from a terminal. */
  readonly ownGroup?: boolean;
  /** More arguments for `nightbath rectifier`. */
  readonly rectifier?: readonly string[];
}

/** The settings of a bench with one tank on the given line; without a file the log lies where it usually does. */
export function testSettings(databaseFile: string | null, link: string, dialect: string): string {
  return `studio = "Test studio"
[server]
port = 0
${databaseFile === null ? '' : `[database]\nfile = "${databaseFile}"\n`}[[tanks]]
id = "one"
name = "Tank one"
bath = "acid-copper-still"
volumeLitres = 3
anodeAreaDm2 = 3
maxAmps = 3
maxVolts = 6
maxHours = 12
pollHz = 4
[tanks.rectifier]
driver = "scpi"
dialect = "${dialect}"
meterUncertainty = 0.01
afterMains = "off"
link = ${link}
`;
}

/** A free loopback port, asked of the system. */
export function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() =>
        typeof address === 'object' && address !== null
          ? resolve(address.port)
          : reject(new Error('no port')),
      );
    });
  });
}

/** Waits for a condition; the error says what was waited for. */
export async function until<T>(
  what: string | (() => string),
  look: () => T | undefined | null | false | Promise<T | undefined | null | false>,
  withinMs = 30_000,
): Promise<T> {
  const endMs = performance.now() + withinMs;
  for (;;) {
    const found = await look();
    if (found !== undefined && found !== null && found !== false) return found;
    if (performance.now() > endMs)
      throw new Error(
        `Waited ${withinMs} ms in vain: ${typeof what === 'string' ? what : what()}.`,
      );
    await wait(25);
  }
}

/** The simulated supply in a process of its own, with a side channel for faults and the truth. */
export class SupplyProcess {
  readonly #line: 'pty' | 'tcp';
  readonly #folder: string;
  readonly #args: readonly string[];
  /** Over TCP it answers for the supply itself; over a pseudo-terminal it is socat with one child. */
  #process: ChildProcess | null = null;
  #side: Socket | null = null;
  #answers: ((line: string) => void)[] = [];
  /** Over TCP; its own choice at the first start, and kept. */
  port = 0;

  constructor(line: 'pty' | 'tcp', folder: string, args: readonly string[]) {
    this.#line = line;
    this.#folder = folder;
    this.#args = args;
  }

  get path(): string {
    return join(this.#folder, 'supply');
  }

  /** The process that answers for the supply. */
  get pid(): number {
    const started = this.#process?.pid ?? 0;
    const pid = this.#line === 'tcp' ? started : childOf(started);
    if (pid === undefined || pid === 0) throw new Error('The simulated supply is not running.');
    return pid;
  }

  /** Ports that are free now may be another's in a second: it chooses them, and says which. */
  async start(): Promise<void> {
    const supply = [command, 'rectifier', ...this.#args, '--control-port', '0'];
    const exec = [process.execPath, ...supply, '--stdio'].join(' ');
    const [program, ...args] =
      this.#line === 'tcp'
        ? [process.execPath, ...supply, '--tcp', String(this.port)]
        : ['socat', '-d', `pty,raw,echo=0,link=${this.path}`, `EXEC:"${exec}"`];
    const started = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'] });
    this.#process = started;
    let said = '';
    let ended = false;
    started.stderr.on('data', (chunk: Buffer) => {
      said += chunk.toString();
      process.stderr.write(chunk);
    });
    started.once('close', () => (ended = true));
    // It listens before it says so, and says the side door last.
    const door = await until('the side door of the supply', () => {
      if (ended) throw new Error(`The simulated supply ended:\n${said}`);
      return /^Side door for tests on TCP port (\d+)\n/m.exec(said)?.[1];
    });
    if (this.#line === 'pty') await until('the pty', () => existsSync(this.path));
    else this.port = Number(/^Simulated supply .* on TCP port (\d+)\n/m.exec(said)?.[1]);
    await this.#connectSide(Number(door));
  }

  async #connectSide(port: number): Promise<void> {
    const socket = connect(port, '127.0.0.1');
    socket.on('error', () => undefined);
    await once(socket, 'connect');
    this.#side = socket;
    createInterface({ input: socket }).on('line', (line) => this.#answers.shift()?.(line));
  }

  #ask(request: object): Promise<unknown> {
    return new Promise((resolve, reject) => {
      const timer = setTimeout(
        () => reject(new Error('The supply’s side channel is mute.')),
        5_000,
      );
      this.#answers.push((line) => {
        clearTimeout(timer);
        resolve(JSON.parse(line));
      });
      this.#side?.write(`${JSON.stringify(request)}\n`);
    });
  }

  fault(name: string, parameters: object = {}): Promise<unknown> {
    return this.#ask({ fault: name, on: true, ...parameters });
  }

  async truth(): Promise<Truth> {
    const answer = (await this.#ask({ truth: true })) as { truth: Truth };
    return answer.truth;
  }

  /** Gone at once, as when the plug is pulled. */
  kill(): void {
    const { pid } = this;
    this.#process?.kill('SIGKILL');
    process.kill(pid, 'SIGKILL');
    rmSync(this.path, { force: true });
    this.#side?.destroy();
  }

  freeze(): void {
    process.kill(this.pid, 'SIGSTOP');
  }

  thaw(): void {
    process.kill(this.pid, 'SIGCONT');
  }

  stop(): void {
    try {
      this.thaw();
      this.kill();
    } catch {
      // It is gone already, which is what was wanted, or has not come as far as a process of its own.
      this.#process?.kill('SIGKILL');
    }
  }
}

function childrenOf(pid: number): readonly number[] {
  try {
    const text = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8');
    return text.trim().split(/\s+/).filter(Boolean).map(Number);
  } catch {
    return [];
  }
}

/** The daemon and its children gone at once; stopped first, none of them acts on the death of another. */
export function killTogether(daemon: ChildProcess): void {
  const children = childrenOf(daemon.pid ?? 0);
  const send = (pid: number, signal: NodeJS.Signals): void => {
    try {
      process.kill(pid, signal);
    } catch {
      // It has gone by itself in the meantime.
    }
  };
  for (const child of children) send(child, 'SIGSTOP');
  daemon.kill('SIGKILL');
  for (const child of children) send(child, 'SIGKILL');
}

function childOf(pid: number): number | undefined {
  return childrenOf(pid)[0];
}

/**
 * The command line in a mount namespace of its own, in which the database's folder is a small disk in
 * memory. It is the same process all through, and its disk ends with it.
 */
function onOwnDisk(bench: TestBench, options: string, line: readonly string[]): readonly string[] {
  mkdirSync(bench.diskFolder, { recursive: true });
  const asUser = process.getuid?.() === 0 ? [] : ['--map-root-user'];
  const script = 'mount -t tmpfs -o "$1" tmpfs "$2" && shift 2 && exec "$@"';
  const inside = ['sh', '-c', script, 'sh', options, bench.diskFolder, ...line];
  return ['unshare', '--mount', ...asUser, ...inside];
}

/** The daemon in front of one supply, with a client on its control socket and its database open. */
export class TestBench {
  readonly folder = mkdtempSync(join(tmpdir(), 'nightbath-test-'));
  readonly supply: SupplyProcess;
  readonly #options: BenchOptions;
  #daemon: ChildProcess | null = null;
  #client: ControlClient | null = null;
  #reader: StoreReader | null = null;
  /** Mount options of a disk of its own for the database; null for the folder as it is. */
  disk: string | null = null;
  snapshot: TankSnapshot | null = null;
  readonly events: string[] = [];
  readonly alarms: string[] = [];
  output = '';
  url = '';
  exitCode: number | null = null;

  constructor(options: BenchOptions) {
    this.#options = options;
    const dialect = options.dialect ?? 'scpi-subsystem';
    this.supply = new SupplyProcess(options.line, this.folder, [
      '--dialect',
      dialect,
      ...(options.rectifier ?? ['--paint', 'none']),
    ]);
  }

  static async start(options: BenchOptions): Promise<TestBench> {
    const bench = new TestBench(options);
    try {
      await bench.begin();
    } catch (error) {
      // Nobody else knows of what has been started by then.
      await bench.clear();
      throw error;
    }
    return bench;
  }

  async begin(): Promise<void> {
    await this.supply.start();
    await this.serve();
  }

  get environment(): NodeJS.ProcessEnv {
    return {
      ...process.env,
      XDG_STATE_HOME: join(this.folder, 'state'),
      XDG_CONFIG_HOME: join(this.folder, 'config'),
      ...this.#options.env,
    };
  }

  get configFile(): string {
    return join(this.folder, 'bench.toml');
  }

  get diskFolder(): string {
    return join(this.folder, 'disk');
  }

  get databaseFile(): string {
    return join(this.disk === null ? this.folder : this.diskFolder, 'runs.sqlite');
  }

  #writeSettings(): void {
    const link =
      this.#options.line === 'pty'
        ? `{ kind = "serial", path = "${this.supply.path}", baudRate = 115200 }`
        : `{ kind = "tcp", host = "127.0.0.1", port = ${this.supply.port} }`;
    const dialect = this.#options.dialect ?? 'scpi-subsystem';
    writeFileSync(this.configFile, testSettings(this.databaseFile, link, dialect));
  }

  /** Starts the daemon; may be called again once an earlier one is gone. */
  async serve(): Promise<void> {
    this.#client?.close();
    this.snapshot = null;
    this.output = '';
    this.url = '';
    this.exitCode = null;
    this.#writeSettings();
    const main = this.#options.program ?? command;
    const line = [process.execPath, main, 'serve', '--config', this.configFile];
    const [program = '', ...words] = this.disk === null ? line : onOwnDisk(this, this.disk, line);
    const daemon = spawn(program, words, {
      env: this.environment,
      detached: this.#options.ownGroup === true,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.#daemon = daemon;
    daemon.once('exit', (code) => (this.exitCode = code ?? -1));
    const hear = (chunk: Buffer): void => {
      this.output += chunk.toString();
      this.url = /http:\/\/[^\s]+/.exec(this.output)?.[0] ?? this.url;
    };
    daemon.stdout.on('data', hear);
    daemon.stderr.on('data', hear);
    // Three processes start one after the other, and several benches may do so at once.
    await until('the daemon’s address', () => this.url !== '' || this.#died(), 45_000);
    const client = connectControl(await this.#socketPath());
    this.#client = client;
    client.onMessage((message) => {
      if (message.type === 'tank') this.snapshot = message.tank;
      if (message.type === 'event') this.events.push(message.event.code);
      if (message.type === 'alarm') this.alarms.push(message.alarm.code);
    });
    const connected = () => this.snapshot?.link.state === 'connected';
    await until(() => `the supply to be connected: ${this.#howItStands()}`, connected);
  }

  #howItStands(): string {
    return `${JSON.stringify(this.snapshot?.link ?? null)}\n${this.output}`;
  }

  #died(): false {
    if (this.exitCode !== null) throw new Error(`The daemon ended:\n${this.output}`);
    return false;
  }

  async #socketPath(): Promise<string> {
    const { controlSocketPath, loadSettings } = await import('../../daemon/settings/door.ts');
    const { settings } = loadSettings({ configPath: this.configFile, env: this.environment });
    return controlSocketPath(this.environment, settings);
  }

  get reader(): StoreReader {
    this.#reader ??= openStoreReader(this.databaseFile);
    return this.#reader;
  }

  tell(asked: Command): Promise<CommandAnswer> {
    if (this.#client === null) throw new Error('The daemon is not running.');
    return this.#client.command(asked, `test-${Math.random()}`);
  }

  /** Arms a plan and starts it once it is ready; returns the run's id. */
  async run(plan: PlanRequest, continues: string | null = null): Promise<string> {
    const armed = await this.tell({
      kind: 'arm',
      tankId: 'one',
      by: 'test',
      plan: plan as Extract<Command, { kind: 'arm' }>['plan'],
      checklist: checklistItems.map((item) => item.id),
      continues,
    });
    if (!armed.ok) throw new Error(`${armed.reason} ${JSON.stringify(armed.problems)}`);
    const ready = await until(
      () => `the run to be ready; ${JSON.stringify(this.snapshot)}`,
      () => {
        const run = this.snapshot?.run;
        if (run?.id === armed.runId && run?.outcome !== null && run?.outcome !== undefined) {
          throw new Error(`The run ended while arming: ${run.outcome.reason}`);
        }
        return run?.id === armed.runId && run?.ready === true ? run : null;
      },
      60_000,
    );
    const started = await this.tell({
      kind: 'start',
      tankId: 'one',
      by: 'test',
      runId: ready.id,
      version: ready.version,
      // Somebody stands beside the bench and has seen all advice.
      acknowledged: [...checkIds],
      attended: true,
    });
    if (!started.ok) throw new Error(started.reason);
    await until('the output to be on', () => this.snapshot?.output === 'on');
    return ready.id;
  }

  /** All its processes gone at once, as when the computer loses power; the supply stays as it is. */
  async kill(): Promise<void> {
    this.#client?.close();
    this.#client = null;
    if (this.#daemon !== null) killTogether(this.#daemon);
    await until('the daemon to be gone', () => this.exitCode !== null);
    this.exitCode = null;
    this.snapshot = null;
    this.url = '';
    this.output = '';
  }

  /** Waits until the run on the tank is over and its output confirmed off (where that can be). */
  async ended(withinMs = 60_000, confirmed = true): Promise<TankSnapshot> {
    return until(
      () => `the end of the run; ${JSON.stringify(this.snapshot)} ${this.events.join(' ')}`,
      () => {
        const shown = this.snapshot;
        const over = shown?.run?.outcome !== null && shown?.run?.outcome !== undefined;
        return over && (!confirmed || shown.output === 'confirmedOff') ? shown : null;
      },
      withinMs,
    );
  }

  /** Process ids of the sentinel's children, by their script. */
  childPid(name: 'control' | 'web'): number {
    for (const pid of childrenOf(this.#daemon?.pid ?? 0)) {
      const line = readFileSync(`/proc/${pid}/cmdline`, 'utf8');
      if (line.includes(`${name}/main.js`)) return pid;
    }
    throw new Error(`There is no ${name} process.`);
  }

  get sentinelPid(): number {
    return this.#daemon?.pid ?? 0;
  }

  /** Ends the daemon in order and resolves with its exit code. */
  async shutDown(signal: NodeJS.Signals = 'SIGTERM'): Promise<number> {
    this.#client?.close();
    this.#client = null;
    this.#reader?.close();
    this.#reader = null;
    if (this.exitCode === null) this.#daemon?.kill(signal);
    return until('the daemon to end', () =>
      this.exitCode === null ? null : { code: this.exitCode },
    ).then((ended) => ended.code);
  }

  async clear(): Promise<void> {
    if (this.#daemon !== null) await this.shutDown().catch(() => this.#daemon?.kill('SIGKILL'));
    this.supply.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** A flat piece of 0.3 dm2 at 1.5 A/dm2: 0.45 A, with a start short enough for a test. */
export function shortPlan(changes: Partial<PlanRequest> = {}): PlanRequest {
  return {
    piece: {
      name: 'Test sheet',
      parts: [
        {
          kind: 'measured',
          label: 'sheet',
          count: 1,
          platedFraction: 1,
          sizes: { areaMm2: 3_000 },
        },
      ],
      areaUncertainty: 0.05,
    },
    tankId: 'one',
    bathId: 'acid-copper-still',
    paint: 'none',
    densityAmpsPerDm2: 1.5,
    target: { kind: 'charge', ampHours: 0.45 * (20 / 3600) },
    trickle: null,
    start: { strikeShare: 0.5, strikeMinutes: 0.05, rampMinutes: 0.05 },
    ...changes,
  };
}

/** A test that opens benches of its own, which are cleared when it ends; several run side by side. */
export const benchTest = test.extend<{ startBench: (options: BenchOptions) => Promise<TestBench> }>(
  {
    startBench: async ({ task: _of }, use) => {
      const opened: TestBench[] = [];
      await use(async (options) => {
        const bench = new TestBench(options);
        // Known before it starts: a test that runs out of time meanwhile leaves nothing behind.
        opened.push(bench);
        await bench.begin();
        return bench;
      });
      await Promise.all(opened.map((bench) => bench.clear()));
    },
  },
);
