/** A sentinel with stub children for the tests: orders in, log and sentences out. */

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { startSentinel } from '../../daemon/sentinel/door.ts';
import type { Sentinel, SentinelOptions } from '../../daemon/sentinel/door.ts';

/** What the settings of the trials allow. */
export const trialLimits = new Map([['one', { maxAmps: 3, maxVolts: 6, maxHours: 12 }]]);

export interface LogEntry {
  readonly what: string;
  readonly pid: number;
  readonly atMs: number;
  readonly reason?: string;
  readonly hungOffMs?: number | null;
  readonly port?: string;
}

const fixture = (name: string) => fileURLToPath(new URL(`fixtures/${name}`, import.meta.url));

/** Waits until the condition holds; fails loudly when it does not within the time. */
export async function until(condition: () => boolean, withinMs = 8_000): Promise<void> {
  const endMs = performance.now() + withinMs;
  while (!condition()) {
    if (performance.now() > endMs)
      throw new Error(`Not within ${withinMs} ms: ${condition.toString()}`);
    await wait(5);
  }
}

export function readLog(file: string): LogEntry[] {
  let text = '';
  try {
    text = readFileSync(file, 'utf8');
  } catch {
    return [];
  }
  return text
    .split('\n')
    .slice(0, -1)
    .map((line): LogEntry => JSON.parse(line));
}

export class StubBench {
  readonly folder = mkdtempSync(join(tmpdir(), 'nightbath-sentinel-'));
  readonly log = join(this.folder, 'log.jsonl');
  readonly noteFile = join(this.folder, 'state', 'sentinel-note.json');
  readonly bookFile = join(this.folder, 'state', 'sentinel-guards.json');
  env: NodeJS.ProcessEnv = process.env;
  /** How long this computer has slept so far. */
  asleepMs = 0;
  readonly said: string[] = [];
  /** What was said outside. */
  readonly told: Parameters<NonNullable<SentinelOptions['tell']>>[0][] = [];
  readonly served: string[] = [];
  settingsChanged = false;
  sentinel: Sentinel | null = null;

  start(
    lives: readonly object[],
    web: object = {},
    budgets: SentinelOptions['budgets'] = {},
  ): Sentinel {
    this.sentinel = startSentinel({
      controlScript: fixture('control.js'),
      webScript: fixture('web.js'),
      controlArguments: [JSON.stringify({ log: this.log, lives })],
      webArguments: [JSON.stringify({ log: this.log, ...web })],
      env: this.env,
      noteFile: this.noteFile,
      bookFile: this.bookFile,
      settingsChanged: () => this.settingsChanged,
      hardLimits: trialLimits,
      slowestCycleMs: 250,
      onServing: (url) => this.served.push(url),
      say: (sentence) => this.said.push(sentence),
      tell: (word) => this.told.push(word),
      budgets: { webPauseMs: 20, ...budgets },
      // The time since boot goes on while the computer sleeps; the monotonic clock does not.
      clocks: () => {
        const awakeMs = performance.now();
        return { sinceBootMs: awakeMs + this.asleepMs, awakeMs };
      },
    });
    return this.sentinel;
  }

  entries(what: string): LogEntry[] {
    return readLog(this.log).filter((entry) => entry.what === what);
  }

  has(what: string, times = 1): boolean {
    return this.entries(what).length >= times;
  }

  /** Ends whatever still runs and removes the folder. */
  async remove(): Promise<void> {
    if (this.sentinel !== null) {
      for (let turn = 0; turn < 3; turn += 1) this.sentinel.interrupt();
      await this.sentinel.finished;
    }
    rmSync(this.folder, { recursive: true, force: true });
  }
}
