/**
 * The simulated computer and the world around it. Code under test calls the ordinary timers and
 * clocks; here they are virtual: time jumps from one event to the next, and nothing else moves it.
 */

import crypto from 'node:crypto';
import { syncBuiltinESMExports } from 'node:module';
import os from 'node:os';
import timersPromises from 'node:timers/promises';
import type { BootClocks } from '../../daemon/wire/run.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import { Heap, type Entry } from '../../drivers/simulated/heap.ts';

/** A process of the simulated computer; once it is dead nothing of it runs any more. */
export interface Process {
  readonly name: string;
  readonly bornMonotonicMs: number;
  alive: boolean;
}

interface WorldEvent extends Entry {
  readonly run: () => void;
}

interface HostEvent extends Entry {
  readonly process: Process;
  run: (() => void) | null;
  /** An interval comes back after so long; 0 is a single timer. */
  readonly everyMs: number;
}

/** What the runtime hands out for a timer. */
class Timer {
  event: HostEvent | null;

  constructor(event: HostEvent) {
    this.event = event;
  }

  ref(): this {
    return this;
  }
  unref(): this {
    return this;
  }
  hasRef(): boolean {
    return true;
  }
}

/** Virtual time that stands still over so many events is a loop that will never end. */
const mostEventsInOneMoment = 200_000;
/** After so many events the real event loop gets a turn. */
const eventsInOneTurn = 20_000;
/** Longest lateness of a timer on an idle computer, ms. */
const timerJitterMs = 0.8;
/** The studio's clock at the start of a night, ms since the epoch. */
const startWallMs = Date.UTC(2026, 10, 20, 21, 0, 0);

const realImmediate = globalThis.setImmediate;

let current: Host | null = null;

/** The computer whose timers and clocks are in force; there is one at a time. */
function host(): Host {
  if (current === null) throw new Error('No simulated computer is in force.');
  return current;
}

/** Puts a computer's timers and clocks in the place of the runtime's. */
export function inForce(computer: Host): void {
  current = computer;
}

export class Host {
  /** True time, ms. */
  nowMs = 0;
  /** The process whose code runs now; null is the world outside. */
  running: Process | null = null;
  readonly #world = new Heap<WorldEvent>();
  readonly #own = new Heap<HostEvent>();
  readonly #jitter: RandomStream;
  readonly #bytes: RandomStream;
  #order = 0;
  #suspendedMs = 0;
  #bootedMs = 0;
  #boots = 1;
  #stalledUntilMs = -Infinity;
  #wallOffsetMs = 0;
  #slewShare = 0;
  #slewSinceMs = 0;
  #stopped = false;
  /** Since when all of it has been disturbed last: asleep, stalled, rebooting. */
  disturbedUntilMs = -Infinity;
  /** Until when the computer sleeps; every process of it with it. */
  asleepUntilMs = -Infinity;
  /** How long it slept last, ms. */
  lastSleepMs = 0;

  constructor(seed: number) {
    this.#jitter = createRandomStream(seed, 'timers');
    this.#bytes = createRandomStream(seed, 'identifiers');
  }

  /** Monotonic time since the computer was started, ms; it stands still while it sleeps. */
  get monotonicMs(): number {
    return this.nowMs - this.#suspendedMs - this.#bootedMs;
  }

  /** Time since the computer was started, sleep included, s. */
  get uptimeSeconds(): number {
    return Math.floor((this.nowMs - this.#bootedMs) / 10) / 100;
  }

  /** What nobody sets, and what begins anew with each start of the computer. */
  get bootClocks(): BootClocks {
    const sinceBootMs = this.uptimeSeconds * 1000;
    return { bootId: `boot-${this.#boots}`, awakeMs: this.monotonicMs, sinceBootMs };
  }

  get wallMs(): number {
    const slewed = (this.nowMs - this.#slewSinceMs) * this.#slewShare;
    return startWallMs + this.nowMs + this.#wallOffsetMs + slewed;
  }

  get stalled(): boolean {
    return this.#stalledUntilMs > this.nowMs;
  }

  randomBytes(count: number): Buffer {
    return Buffer.from(Array.from({ length: count }, () => this.#bytes.whole(256)));
  }

  spawn(name: string): Process {
    return { name, bornMonotonicMs: this.monotonicMs, alive: true };
  }

  /** Runs code of a process now; its timers belong to it. */
  as(owner: Process, run: () => void): void {
    if (owner.alive) this.#push(owner, 0, run, 0);
  }

  /** Something arrives at a process: it is told as soon as its event loop turns. */
  deliver(owner: Process, run: () => void): void {
    if (!owner.alive) return;
    // After a stall the timers that are due come before what has arrived.
    const dueMs = Math.max(this.nowMs, this.#stalledUntilMs) - this.#suspendedMs;
    this.#order += 1;
    this.#own.push({ dueMs, order: this.#order, process: owner, run, everyMs: 0 });
  }

  /** An event of the world in `delayMs`. */
  after(delayMs: number, run: () => void): void {
    this.#order += 1;
    const dueMs = this.nowMs + Math.max(0, delayMs);
    this.#world.push({ dueMs, order: this.#order, run });
  }

  timer(delayMs: number, run: () => void, everyMs = 0): Timer {
    const owner = this.running;
    if (owner === null) throw new Error('A timer was set outside of any process.');
    // As the runtime does: whole milliseconds, one at the least.
    const wholeMs = Math.max(1, Math.trunc(Number.isFinite(delayMs) ? delayMs : 1));
    return new Timer(
      this.#push(owner, wholeMs + this.#jitter.uniform() * timerJitterMs, run, everyMs),
    );
  }

  /** The event loop is busy, or the process is stopped, for so long. */
  stall(durationMs: number): void {
    this.#stalledUntilMs = Math.max(this.#stalledUntilMs, this.nowMs + durationMs);
    this.disturbedUntilMs = Math.max(this.disturbedUntilMs, this.#stalledUntilMs);
  }

  /** Whatever kept the event loop is gone with its process; a sleep of the computer is not. */
  goOn(): void {
    this.#stalledUntilMs = this.asleepUntilMs;
    this.disturbedUntilMs = Math.min(
      this.disturbedUntilMs,
      Math.max(this.nowMs, this.asleepUntilMs),
    );
  }

  /** The computer sleeps: its monotonic clock stands still, the world goes on. */
  suspend(durationMs: number): void {
    this.#suspendedMs += durationMs;
    this.asleepUntilMs = this.nowMs + durationMs;
    this.lastSleepMs = durationMs;
    this.#stalledUntilMs = Math.max(this.#stalledUntilMs, this.nowMs + durationMs);
    this.disturbedUntilMs = Math.max(this.disturbedUntilMs, this.nowMs + durationMs);
  }

  /** The computer starts anew; whoever calls this has killed its processes. */
  reboot(): void {
    this.#bootedMs = this.nowMs;
    this.#boots += 1;
    this.#suspendedMs = 0;
    this.#stalledUntilMs = -Infinity;
    this.disturbedUntilMs = this.nowMs;
  }

  /** The power is cut: what slept sleeps no more. */
  wake(): void {
    this.asleepUntilMs = Math.min(this.asleepUntilMs, this.nowMs);
  }

  stepWall(byMs: number): void {
    this.#wallOffsetMs += byMs;
  }

  slewWall(share: number): void {
    this.#wallOffsetMs += (this.nowMs - this.#slewSinceMs) * this.#slewShare;
    this.#slewSinceMs = this.nowMs;
    this.#slewShare = share;
  }

  /** Ends `run` after the present event. */
  stop(): void {
    this.#stopped = true;
  }

  /** Lets events happen until `stop` is called. Rejects when time can never move again. */
  run(): Promise<void> {
    const settled = Promise.resolve();
    return new Promise((resolve, reject) => {
      let momentMs = this.nowMs;
      let inMoment = 0;
      let inTurn = 0;
      const turn = (): void => {
        if (this.#stopped) {
          this.running = null;
          realImmediate(resolve);
          return;
        }
        try {
          if (!this.#step()) throw new Error('Nothing is left that could happen.');
          inMoment = this.nowMs === momentMs ? inMoment + 1 : 0;
          momentMs = this.nowMs;
          if (inMoment > mostEventsInOneMoment) {
            throw new Error(`Time stands still at ${this.nowMs} ms: a loop that never ends.`);
          }
        } catch (error) {
          reject(error instanceof Error ? error : new Error(String(error)));
          return;
        }
        inTurn += 1;
        if (inTurn >= eventsInOneTurn) {
          inTurn = 0;
          // Every promise settles before the next turn of the real loop.
          realImmediate(turn);
        } else {
          // As queueMicrotask, without what it keeps for tracing: there are millions of turns.
          void settled.then(hop);
        }
      };
      // Ticks come after all promises that can settle: the event has then done what it can do.
      const hop = (): void => process.nextTick(turn);
      hop();
    });
  }

  #push(owner: Process, delayMs: number, run: () => void, everyMs: number): HostEvent {
    this.#order += 1;
    const dueMs = this.nowMs - this.#suspendedMs + delayMs;
    const event = { dueMs, order: this.#order, process: owner, run, everyMs };
    this.#own.push(event);
    return event;
  }

  /** The next event of a process; timers that were cleared meanwhile go without a turn of their own. */
  #firstOwn(): HostEvent | undefined {
    let first = this.#own.first;
    while (first !== undefined && (first.run === null || !first.process.alive)) {
      this.#own.pop();
      first = this.#own.first;
    }
    return first;
  }

  #step(): boolean {
    const world = this.#world.first;
    const own = this.#firstOwn();
    const worldMs = world === undefined ? Infinity : world.dueMs;
    const ownMs =
      own === undefined ? Infinity : Math.max(own.dueMs + this.#suspendedMs, this.#stalledUntilMs);
    if (world === undefined && own === undefined) return false;
    if (worldMs <= ownMs) {
      const event = this.#world.pop();
      this.nowMs = Math.max(this.nowMs, worldMs);
      this.running = null;
      event?.run();
      return true;
    }
    const event = this.#own.pop();
    if (event === undefined || event.run === null) return true;
    this.nowMs = Math.max(this.nowMs, ownMs);
    this.running = event.process;
    const { run } = event;
    if (event.everyMs > 0) {
      event.dueMs = this.nowMs - this.#suspendedMs + Math.max(1, event.everyMs);
      this.#order += 1;
      event.order = this.#order;
      this.#own.push(event);
    } else {
      event.run = null;
    }
    run();
    return true;
  }
}

function clear(timer: unknown): void {
  if (timer instanceof Timer && timer.event !== null) {
    timer.event.run = null;
    timer.event = null;
  }
}

function wait(
  delayMs = 1,
  value?: unknown,
  options: { readonly signal?: AbortSignal } = {},
): Promise<unknown> {
  return new Promise((resolve, reject) => {
    const timer = host().timer(delayMs, () => resolve(value));
    options.signal?.addEventListener('abort', () => {
      clear(timer);
      reject(new DOMException('The operation was aborted', 'AbortError'));
    });
  });
}

/** From here on this whole process lives in virtual time; there is no way back. */
export function leaveRealTime(): void {
  const timers: Record<string, unknown> = {
    setTimeout: (run: (...given: unknown[]) => void, delayMs = 1, ...given: unknown[]) =>
      host().timer(delayMs, () => run(...given)),
    setInterval: (run: (...given: unknown[]) => void, delayMs = 1, ...given: unknown[]) =>
      host().timer(delayMs, () => run(...given), delayMs),
    setImmediate: (run: (...given: unknown[]) => void, ...given: unknown[]) =>
      host().timer(1, () => run(...given)),
    clearTimeout: clear,
    clearInterval: clear,
    clearImmediate: clear,
  };
  Object.assign(globalThis, timers);
  Object.assign(timersPromises, { setTimeout: wait });
  Object.assign(os, { uptime: () => host().uptimeSeconds });
  Object.assign(crypto, { randomBytes: (count: number) => host().randomBytes(count) });
  syncBuiltinESMExports();
  const sinceBirth = (): number => {
    const now = host();
    return now.monotonicMs - (now.running?.bornMonotonicMs ?? 0);
  };
  Object.defineProperty(performance, 'now', { value: sinceBirth, configurable: true });
  Date.now = () => Math.round(host().wallMs);
  Math.random = () => host().randomBytes(4).readUInt32LE() / 2 ** 32;
}
