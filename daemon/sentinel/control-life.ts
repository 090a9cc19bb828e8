/** One control process from its fork to its end: beats watched, guards kept, shut-down in order. */

import { performance } from 'node:perf_hooks';
import { BeatWatch } from './beat-watch.ts';
import type { Budgets } from './budgets.ts';
import { Child } from './child.ts';
import type { Guards } from './guards.ts';
import type { ToSentinel } from '../wire/process.ts';

/** Why a control process is no more; `what` is a sentence. */
export type ControlEnd =
  | { readonly kind: 'stopped'; readonly offConfirmed: boolean }
  | { readonly kind: 'cannot-start'; readonly message: string; readonly exitCode: number }
  | {
      readonly kind: 'died' | 'hung' | 'did-not-start';
      readonly what: string;
      /** What it ended with by itself; null when it was killed. */
      readonly exitCode: number | null;
    };

export interface ControlLifeParts {
  readonly start: () => Child;
  readonly budgets: Budgets;
  readonly guards: Guards;
  readonly onReady: () => void;
  readonly say: (sentence: string) => void;
}

export class ControlLife {
  /** Resolves once, after the process is gone, or cannot be waited for any longer. */
  readonly end: Promise<ControlEnd>;
  readonly #parts: ControlLifeParts;
  readonly #child: Child;
  readonly #watch: BeatWatch;
  #resolve!: (end: ControlEnd) => void;
  #stopping = false;
  #ready = false;
  #verdict: ControlEnd | null = null;

  constructor(parts: ControlLifeParts) {
    this.#parts = parts;
    this.end = new Promise((resolve) => (this.#resolve = resolve));
    this.#watch = new BeatWatch(parts.budgets, performance.now());
    this.#child = parts.start();
    this.#child.onMessage(
      (message) => this.#hear(message),
      () => parts.say('The control process sent a message that is not understood.'),
    );
    const timer = setInterval(() => this.#look(), parts.budgets.lookEveryMs);
    void this.#awaitEnd(timer);
  }

  async #awaitEnd(looks: NodeJS.Timeout): Promise<void> {
    const { how, exitCode } = await this.#child.ended;
    clearInterval(looks);
    this.#resolve(this.#verdict ?? { kind: 'died', what: `The control process ${how}.`, exitCode });
  }

  /** Asks for an orderly end; a process that does not get there in time is killed. */
  shutDown(): void {
    if (this.#stopping) return;
    this.#stopping = true;
    this.#child.send({ kind: 'shut-down' });
    const { shutDownMs } = this.#parts.budgets;
    const timer = setTimeout(() => {
      const seconds = shutDownMs / 1000;
      this.#condemn({
        kind: 'hung',
        what: `The control process did not close within ${seconds} s.`,
        exitCode: null,
      });
    }, shutDownMs);
    void this.#child.ended.then(() => clearTimeout(timer));
  }

  /** Ends it now; the caller switches off. */
  kill(what: string): void {
    this.#condemn({ kind: 'died', what, exitCode: null });
  }

  #hear(message: ToSentinel): void {
    const nowMs = performance.now();
    switch (message.kind) {
      case 'ready':
        this.#watch.ready(nowMs);
        this.#ready = true;
        this.#parts.onReady();
        break;
      case 'beat':
        this.#watch.beat(nowMs);
        break;
      case 'guard':
        this.#guard(message);
        break;
      case 'release':
        this.#parts.guards.release(message.tankId);
        break;
      case 'stopped':
        this.#settle({ kind: 'stopped', offConfirmed: message.offConfirmed });
        break;
      case 'cannot-start':
        this.#settle({ ...message });
        break;
      case 'listening':
        break;
    }
  }

  #guard(message: Extract<ToSentinel, { kind: 'guard' }>): void {
    const { tankId, script } = message;
    try {
      this.#parts.guards.hold(tankId, script);
      this.#child.send({ kind: 'guarding', tankId });
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      this.#child.send({ kind: 'cannot-guard', tankId, reason });
    }
  }

  #look(): void {
    // While it closes in order, its own deadline holds: it waits for the supply, not for readings.
    if (this.#stopping || this.#verdict !== null) return;
    const verdict = this.#watch.look(performance.now(), this.#parts.guards.holdLines);
    if (verdict.kind === 'well') return;
    const seconds = (verdict.silentMs / 1000).toFixed(1);
    this.#condemn(
      this.#ready
        ? {
            kind: 'hung',
            what: `The control process gave no sign for ${seconds} s and was ended.`,
            exitCode: null,
          }
        : {
            kind: 'did-not-start',
            what: `The control process was not ready after ${seconds} s.`,
            exitCode: null,
          },
    );
  }

  /** Its own last word: it has a moment to end by itself. */
  #settle(verdict: ControlEnd): void {
    this.#verdict ??= verdict;
    const timer = setTimeout(() => this.#condemn(verdict), this.#parts.budgets.lastWordMs);
    void this.#child.ended.then(() => clearTimeout(timer));
  }

  #condemn(verdict: ControlEnd): void {
    const what = (this.#verdict ??= verdict);
    void this.#child.kill(this.#parts.budgets.exitWaitMs).then(() => this.#resolve(what));
  }
}
