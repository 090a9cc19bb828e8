/** One forked process: its messages, checked; its end, once; its kill. */

import { fork } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { setTimeout as wait } from 'node:timers/promises';
import { toSentinelSchema } from '../wire/process.ts';
import type { FromSentinel, ToSentinel } from '../wire/process.ts';

/** How a process ended. */
export interface ChildEnd {
  /** A part of a sentence: "was ended by SIGKILL". */
  readonly how: string;
  /** Null when a signal ended it, or when it never started. */
  readonly exitCode: number | null;
}

/**
 * For a process that runs for weeks at a few readings a second. Left to itself the space for what is
 * short-lived doubles with every collection, from 1 to 16 MB in each half, and fills before anything is
 * let go: half an hour of growth that looks like a leak. It needs no more than this.
 */
export const longRunFlags: readonly string[] = ['--max-semi-space-size=2'];

export class Child {
  /** Resolves once, when the process is gone; never rejects. */
  readonly ended: Promise<ChildEnd>;
  readonly #process: ChildProcess;
  #end: ChildEnd | null = null;

  constructor(
    script: string,
    args: readonly string[],
    env: NodeJS.ProcessEnv,
    flags: readonly string[] = [],
  ) {
    // Debugger and loader flags of this process are not the child's; a second inspector on the
    // same port would even keep it from starting.
    this.#process = fork(script, args, {
      env,
      execArgv: [...flags],
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    });
    this.ended = new Promise((resolve) => {
      const finish = (end: ChildEnd) => {
        this.#end ??= end;
        resolve(this.#end);
      };
      this.#process.once('exit', (code, signal) => {
        const how =
          signal === null ? `ended with exit code ${code ?? '?'}` : `was ended by ${signal}`;
        finish({ how, exitCode: code });
      });
      this.#process.on('error', (error) => {
        if (this.#process.pid === undefined)
          finish({ how: `could not be started: ${error.message}`, exitCode: null });
      });
    });
  }

  get pid(): number | undefined {
    return this.#process.pid;
  }

  get isAlive(): boolean {
    return this.#end === null;
  }

  /** Hears every message that has the agreed shape; the others are counted, not obeyed. */
  onMessage(listener: (message: ToSentinel) => void, onNonsense: () => void): void {
    this.#process.on('message', (raw: unknown) => {
      const parsed = toSentinelSchema.safeParse(raw);
      if (parsed.success) listener(parsed.data);
      else onNonsense();
    });
  }

  /** A message to a process that is just dying is lost without an error. */
  send(message: FromSentinel): void {
    if (this.#process.connected) this.#process.send(message, () => {});
  }

  /** SIGKILL works on a hung and on a stopped process alike; waits for the end, but not for ever. */
  async kill(waitMs: number): Promise<void> {
    if (this.isAlive) this.#process.kill('SIGKILL');
    await this.endedWithin(waitMs);
  }

  /** True when the process is gone within the time. */
  async endedWithin(waitMs: number): Promise<boolean> {
    const gone = this.ended.then(() => true);
    const timer = new AbortController();
    const late = wait(waitMs, false, { signal: timer.signal }).catch(() => false);
    const first = await Promise.race([gone, late]);
    timer.abort();
    return first;
  }
}
