/** A real pseudo-terminal with a small supply at its far end, and the built sentinel in a process. */

import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import {
  closeSync,
  constants,
  existsSync,
  mkdtempSync,
  openSync,
  readSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readLog, until } from '../sentinel/stub-bench.ts';
import type { LogEntry } from '../sentinel/stub-bench.ts';

const runner = fileURLToPath(new URL('../sentinel/fixtures/run-sentinel.js', import.meta.url));

const end = (link: string) => `pty,raw,echo=0,link=${link}`;

/** Two ends joined by socat: `near` is the device that the daemon sees. */
export class Pty {
  readonly near: string;
  readonly far: string;
  #socat: ChildProcess | null = null;

  constructor(folder: string) {
    this.near = join(folder, 'near');
    this.far = join(folder, 'far');
  }

  async open(): Promise<void> {
    this.#socat = spawn('socat', [end(this.near), end(this.far)], { stdio: 'ignore' });
    await until(() => existsSync(this.near) && existsSync(this.far));
  }

  /** Ends socat: both ends hang up, as when a cable is pulled. */
  async close(): Promise<void> {
    const socat = this.#socat;
    if (socat === null) return;
    this.#socat = null;
    const gone = new Promise((resolve) => socat.once('exit', resolve));
    socat.kill('SIGTERM');
    await gone;
  }
}

/** Takes lines from the far end and notes when each came; OFF puts its output off. */
export class PtySupply {
  readonly received: { readonly line: string; readonly atMs: number }[] = [];
  outputOn = true;
  /** What it says to *IDN?; it keeps silent without one. */
  identity: string | null = null;
  #rest = '';
  readonly #descriptor: number;
  readonly #timer: NodeJS.Timeout;
  readonly #buffer = Buffer.alloc(1024);

  constructor(path: string) {
    const { O_RDWR, O_NOCTTY, O_NONBLOCK } = constants;
    this.#descriptor = openSync(path, O_RDWR | O_NOCTTY | O_NONBLOCK);
    this.#timer = setInterval(() => this.#look(), 2);
  }

  get offs(): number[] {
    return this.received.filter(({ line }) => line === 'OUTP OFF').map(({ atMs }) => atMs);
  }

  #look(): void {
    let count = 0;
    try {
      count = readSync(this.#descriptor, this.#buffer);
    } catch {
      return;
    }
    const lines = (this.#rest + this.#buffer.toString('latin1', 0, count)).split('\n');
    this.#rest = lines.pop() ?? '';
    for (const line of lines) {
      this.received.push({ line, atMs: Date.now() });
      if (line === 'OUTP OFF') this.outputOn = false;
      if (line === '*IDN?' && this.identity !== null) {
        writeSync(this.#descriptor, `${this.identity}\n`);
      }
      if (line === 'OUTP?') writeSync(this.#descriptor, this.outputOn ? '1\n' : '0\n');
    }
  }

  close(): void {
    clearInterval(this.#timer);
    closeSync(this.#descriptor);
  }
}

/** The built sentinel in a process of its own, with stub children. */
export class SentinelProcess {
  readonly folder = mkdtempSync(join(tmpdir(), 'nightbath-sentinel-'));
  readonly log = join(this.folder, 'log.jsonl');
  readonly noteFile = join(this.folder, 'sentinel-note.json');
  readonly bookFile = join(this.folder, 'sentinel-guards.json');
  readonly exited: Promise<number | null>;
  errorText = '';
  outputText = '';
  readonly #process: ChildProcess;

  constructor(lives: readonly object[], more: object = {}, env: NodeJS.ProcessEnv = {}) {
    const { log, noteFile, bookFile } = this;
    const orders = { log, noteFile, bookFile, lives, web: {}, ...more };
    this.#process = spawn(process.execPath, [runner, JSON.stringify(orders)], {
      env: { ...process.env, ...env },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.#process.stdout?.on('data', (bytes: Buffer) => (this.outputText += bytes.toString()));
    this.#process.stderr?.on('data', (bytes: Buffer) => (this.errorText += bytes.toString()));
    this.exited = new Promise((resolve) => this.#process.once('exit', resolve));
  }

  signal(name: NodeJS.Signals): void {
    this.#process.kill(name);
  }

  entries(what: string): LogEntry[] {
    return readLog(this.log).filter((entry) => entry.what === what);
  }

  has(what: string, times = 1): boolean {
    return this.entries(what).length >= times;
  }

  controlPid(): number {
    const pid = this.entries('control born').at(-1)?.pid;
    if (pid === undefined) throw new Error('No control process was started.');
    return pid;
  }

  async remove(): Promise<void> {
    this.signal('SIGKILL');
    await this.exited;
    // The stub children end by themselves when their channel closes, unless they are stopped.
    for (const { pid } of [...this.entries('control born'), ...this.entries('web born')]) {
      try {
        process.kill(pid, 'SIGKILL');
      } catch {
        // It has ended already.
      }
    }
    rmSync(this.folder, { recursive: true, force: true });
  }
}
