/** Control's side of the sentinel: beats, the way to OFF handed over before ON, and its loss. */

import type { OffScript } from '../../drivers/contract.ts';
import { fromSentinelSchema, type FromSentinel, type ToSentinel } from '../wire/process.ts';
import type { RunBounds, TankReport } from '../wire/process.ts';
import { SentinelWatch } from './sentinel-watch.ts';

/** What the sentinel says of a guard that it has taken. */
export type GuardTaken = Pick<Extract<FromSentinel, { kind: 'guarding' }>, 'hungOffMs'>;

export interface Guardian {
  /** Resolves once the sentinel holds this tank's way to OFF; rejects with the reason when it cannot. */
  guard(tankId: string, script: OffScript, bounds: RunBounds): Promise<GuardTaken>;
  release(tankId: string): void;
  beat(tick: number, tanks: readonly TankReport[]): void;
  ready(): void;
  stopped(offConfirmed: boolean): void;
  cannotStart(message: string, exitCode: number): void;
  onShutDown(listener: () => void): void;
  /** The sentinel died: whatever is on must go off now. */
  onLost(listener: () => void): void;
}

/** The guardian as the process as a whole has it. */
export interface SentinelGuardian extends Guardian {
  /** Tells how a tank would be switched off, and how slow its ticks are, before anything is armed. */
  way(tankId: string, script: OffScript, cycleMs: number): void;
  /** How long the sentinel has left beats unanswered, ms; to be asked at every tick. */
  silentMs(): number;
  /** Asks the sentinel to end this bench in order and to start it anew on its settings as they are. */
  startAnew(): void;
  /** Whether this computer is kept awake while something is armed; the reason where it is not. */
  onSleep(listener: (held: boolean, reason: string) => void): void;
}

const guardWithinMs = 2_000;
/** A sentinel that hangs takes no beats; what it has not taken is not piled up without end. */
const mostUnanswered = 200;

function scriptFor(script: OffScript): Extract<ToSentinel, { kind: 'guard' }>['script'] {
  return { ...script, identity: script.identity ?? null };
}

/**
 * Tanks that the sentinel was asked to guard and has not answered for yet. Answers name the tank alone:
 * one request is on its way for each, also past its time, so that no answer is taken for another's.
 */
class GuardRequests {
  readonly #waiting = new Map<string, (answer: GuardTaken | string) => void>();

  make(tankId: string, send: () => void): Promise<GuardTaken> {
    if (this.#waiting.has(tankId)) {
      const busy = 'the sentinel has not answered for another one of this tank yet. Try again.';
      return Promise.reject(new Error(busy));
    }
    return new Promise((resolve, reject) => {
      const settle = (answer: GuardTaken | string): void => {
        clearTimeout(timer);
        if (typeof answer === 'string') reject(new Error(answer));
        else resolve(answer);
      };
      const late = `The sentinel did not answer within ${guardWithinMs / 1000} s.`;
      const timer = setTimeout(() => settle(late), guardWithinMs);
      this.#waiting.set(tankId, settle);
      send();
    });
  }

  /** With what was taken, or the reason why nothing was. */
  answer(tankId: string, answer: GuardTaken | string): void {
    const settle = this.#waiting.get(tankId);
    this.#waiting.delete(tankId);
    settle?.(answer);
  }
}

/** The guardian of a process that was forked by the sentinel. */
export function sentinelGuardian(child: NodeJS.Process): SentinelGuardian {
  const requests = new GuardRequests();
  const shutDown: (() => void)[] = [];
  const sleep: ((held: boolean, reason: string) => void)[] = [];
  const watch = new SentinelWatch(performance.now());
  const send = (message: ToSentinel): void => {
    if (child.connected) child.send?.(message);
  };
  const hear = (message: FromSentinel): void => {
    switch (message.kind) {
      case 'guarding':
        requests.answer(message.tankId, { hungOffMs: message.hungOffMs });
        break;
      case 'cannot-guard':
        requests.answer(message.tankId, message.reason);
        break;
      case 'heard':
        watch.heard();
        break;
      case 'sleep':
        for (const listener of sleep) listener(message.held, message.reason);
        break;
      case 'shut-down':
        for (const listener of shutDown) listener();
        break;
    }
  };
  child.on('message', (raw: unknown) => {
    const parsed = fromSentinelSchema.safeParse(raw);
    if (parsed.success) hear(parsed.data);
  });
  return {
    guard: (tankId, script, bounds) =>
      requests.make(tankId, () =>
        send({ kind: 'guard', tankId, script: scriptFor(script), bounds }),
      ),
    release: (tankId) => send({ kind: 'release', tankId }),
    beat(tick, tanks) {
      if (watch.unanswered >= mostUnanswered) return;
      watch.beat();
      send({ kind: 'beat', tick, tanks: [...tanks] });
    },
    way: (tankId, script, cycleMs) =>
      send({ kind: 'way', tankId, script: scriptFor(script), cycleMs }),
    silentMs: () => watch.look(performance.now()),
    onSleep: (listener) => void sleep.push(listener),
    startAnew: () => send({ kind: 'start-anew' }),
    ready: () => send({ kind: 'ready' }),
    stopped: (offConfirmed) => send({ kind: 'stopped', offConfirmed }),
    cannotStart: (message, exitCode) => send({ kind: 'cannot-start', message, exitCode }),
    onShutDown: (listener) => void shutDown.push(listener),
    onLost: (listener) => void child.on('disconnect', listener),
  };
}
