/** Keeps the web process up: its death never touches a run, so it is only started again. */

import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { Budgets } from './budgets.ts';
import type { Child } from './child.ts';

export interface WebKeeperParts {
  readonly start: () => Child;
  readonly budgets: Budgets;
  /** It serves at this address; also heard after a restart. */
  readonly onListening: (url: string) => void;
  /** It cannot serve at all; heard only before it has served once. */
  readonly onCannotStart: (message: string, exitCode: number) => void;
  readonly say: (sentence: string) => void;
}

/** After this long without a death the pauses begin anew. */
const soundAfterMs = 60_000;

export class WebKeeper {
  readonly #parts: WebKeeperParts;
  readonly #stopping = new AbortController();
  #child: Child | null = null;
  #hasServed = false;
  #loop: Promise<void> | null = null;

  constructor(parts: WebKeeperParts) {
    this.#parts = parts;
  }

  start(): void {
    this.#loop ??= this.#keep();
  }

  /** Ends the process and waits until it is gone. */
  async stop(): Promise<void> {
    this.#stopping.abort();
    const child = this.#child;
    if (child !== null) {
      child.send({ kind: 'shut-down' });
      const gone = await child.endedWithin(this.#parts.budgets.webShutDownMs);
      if (!gone) await child.kill(this.#parts.budgets.webShutDownMs);
    }
    await this.#loop;
  }

  async #keep(): Promise<void> {
    const { webPauseMs, webPauseMaxMs } = this.#parts.budgets;
    let pauseMs = webPauseMs;
    while (!this.#stopping.signal.aborted) {
      const startedMs = performance.now();
      const how = await this.#oneLife();
      if (this.#stopping.signal.aborted || how === null) return;
      if (performance.now() - startedMs > soundAfterMs) pauseMs = webPauseMs;
      this.#parts.say(`The page's process ${how}. Runs go on; it is started again.`);
      await wait(pauseMs, undefined, { signal: this.#stopping.signal }).catch(() => {});
      pauseMs = Math.min(2 * pauseMs, webPauseMaxMs);
    }
  }

  /** How it ended; null when it can never serve. */
  async #oneLife(): Promise<string | null> {
    const child = this.#parts.start();
    this.#child = child;
    let never = false;
    child.onMessage(
      (message) => {
        if (message.kind === 'listening') {
          this.#hasServed = true;
          this.#parts.onListening(message.url);
        } else if (message.kind === 'cannot-start' && !this.#hasServed && !never) {
          never = true;
          this.#parts.onCannotStart(message.message, message.exitCode);
        } else if (message.kind === 'cannot-start') {
          this.#parts.say(message.message);
        }
      },
      () => this.#parts.say("The page's process sent a message that is not understood."),
    );
    const { how } = await child.ended;
    this.#child = null;
    return never ? null : how;
  }
}
