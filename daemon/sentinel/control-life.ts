/** One control process from its fork to its end: beats watched, guards kept, shut-down in order. */

import { uptime } from 'node:os';
import { performance } from 'node:perf_hooks';
import { BeatWatch } from './beat-watch.ts';
import { hungOffMs, type Budgets } from './budgets.ts';
import { Child } from './child.ts';
import type { Guards } from './guards.ts';
import { AfterSleep, SleepWatch } from './sleep-watch.ts';
import type { ClockPair } from './sleep-watch.ts';
import type { Awake } from './stay-awake.ts';
import type { TankReport, ToSentinel } from '../wire/process.ts';

/** Why a control process is no more; `what` is a sentence. */
export type ControlEnd =
  | { readonly kind: 'stopped'; readonly offConfirmed: boolean }
  | { readonly kind: 'cannot-start'; readonly message: string; readonly exitCode: number }
  | {
      readonly kind: 'died' | 'hung' | 'did-not-start' | 'overstepped';
      readonly what: string;
      /** What it ended with by itself; null when it was killed. */
      readonly exitCode: number | null;
    };

export interface ControlLifeParts {
  readonly start: () => Child;
  readonly budgets: Budgets;
  readonly guards: Guards;
  /** Resolves once what is held is written down; rejects with the reason when it cannot be. */
  readonly written: () => Promise<void>;
  readonly clocks: () => ClockPair;
  /** Keeps the computer from going to sleep. */
  readonly stayAwake: () => Promise<Awake>;
  readonly onReady: () => void;
  /** Nothing runs, and the bench is to start anew on changed settings. */
  readonly onStartAnew: () => void;
  readonly say: (sentence: string) => void;
}

/** The clocks of this computer. */
export function systemClocks(): ClockPair {
  return { sinceBootMs: uptime() * 1000, awakeMs: performance.now() };
}

export class ControlLife {
  /** Resolves once, after the process is gone, or cannot be waited for any longer. */
  readonly end: Promise<ControlEnd>;
  readonly #parts: ControlLifeParts;
  readonly #child: Child;
  readonly #watch: BeatWatch;
  readonly #sleep: SleepWatch;
  readonly #afterSleep: AfterSleep;
  #lookedMs = performance.now();
  #resolve!: (end: ControlEnd) => void;
  #stopping = false;
  #ready = false;
  #verdict: ControlEnd | null = null;

  constructor(parts: ControlLifeParts) {
    this.#parts = parts;
    this.end = new Promise((resolve) => (this.#resolve = resolve));
    this.#watch = new BeatWatch(parts.budgets, performance.now());
    this.#sleep = new SleepWatch(parts.clocks());
    this.#afterSleep = new AfterSleep(parts.budgets.afterSleepMs);
    this.#child = parts.start();
    this.#child.onMessage(
      (message) => this.#hear(message),
      () => parts.say('The control process sent a message that is not understood.'),
    );
    const timer = setInterval(() => this.#look(), parts.budgets.lookEveryMs);
    void this.#awaitEnd(timer);
  }

  /** When it was last looked after, on the monotonic clock, ms. */
  get lookedMs(): number {
    return this.#lookedMs;
  }

  /** It is ready, was heard lately, and is neither closing nor condemned. */
  get isHeard(): boolean {
    const well = this.#ready && !this.#stopping && this.#verdict === null;
    return well && this.#watch.silentMs(performance.now()) <= this.#parts.budgets.idleSilenceMs;
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
        this.#child.send({ kind: 'heard', tick: message.tick });
        this.#judge(message.tanks, nowMs);
        break;
      case 'way':
        this.#parts.guards.know(message.tankId, message.script);
        this.#watch.allow(message.cycleMs);
        break;
      case 'guard':
        void this.#guard(message);
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
      case 'start-anew':
        // What is held may be on: then it is not the moment, whatever control believes.
        if (!this.#parts.guards.holdLines) this.#parts.onStartAnew();
        break;
      case 'listening':
        break;
    }
  }

  async #guard(message: Extract<ToSentinel, { kind: 'guard' }>): Promise<void> {
    const { tankId, script, bounds } = message;
    const { budgets, guards, written, stayAwake } = this.#parts;
    // A run under way may ask again, with other bounds: what is refused then leaves its guard as it was.
    const before = guards.standing(tankId);
    try {
      guards.hold(tankId, script, bounds);
      await written().catch((error: unknown) => {
        guards.takeBack(tankId, before);
        throw error;
      });
      const reachMs = guards.reachWithinMs(tankId);
      const heldOffMs = hungOffMs(this.#watch.guardedSilenceMs, budgets);
      const offMs = reachMs === null ? null : heldOffMs + reachMs;
      this.#child.send({ kind: 'guarding', tankId, hungOffMs: offMs });
      if (guards.holdLines) this.#child.send({ kind: 'sleep', ...(await stayAwake()) });
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      this.#child.send({ kind: 'cannot-guard', tankId, reason });
    }
  }

  /** What control itself reports is held against limits that are not its own. */
  #judge(reports: readonly TankReport[], nowMs: number): void {
    if (this.#stopping || this.#verdict !== null) return;
    const { guards } = this.#parts;
    const onLines = reports.filter(({ tankId }) => guards.holdsLine(tankId));
    const found = guards.judge(reports, nowMs) ?? this.#afterSleep.judge(onLines, nowMs);
    if (found === null) return;
    const what = `The control process overstepped a limit and was ended. ${found}`;
    this.#condemn({ kind: 'overstepped', what, exitCode: null });
  }

  #look(): void {
    const nowMs = performance.now();
    this.#lookedMs = nowMs;
    const sleptMs = this.#sleep.look(this.#parts.clocks());
    if (sleptMs > 0) {
      // A sleep is no hang: control gets its time from waking on.
      this.#watch.beat(nowMs);
      if (this.#parts.guards.holdLines) this.#afterSleep.woke(sleptMs, nowMs);
    }
    // While it closes in order, its own deadline holds: it waits for the supply, not for readings.
    if (this.#stopping || this.#verdict !== null) return;
    const verdict = this.#watch.look(nowMs, this.#parts.guards.holdLines);
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
