/** Control's side of the sentinel: beats, the way to OFF handed over before ON, and its loss. */

import type { OffScript } from '../../drivers/contract.ts';
import { fromSentinelSchema, type ToSentinel } from '../wire/process.ts';

export interface Guardian {
  /** Resolves once the sentinel holds this tank's way to OFF; rejects with the reason when it cannot. */
  guard(tankId: string, script: OffScript): Promise<void>;
  release(tankId: string): void;
  beat(tick: number): void;
  ready(): void;
  stopped(offConfirmed: boolean): void;
  cannotStart(message: string, exitCode: number): void;
  onShutDown(listener: () => void): void;
  /** The sentinel died: whatever is on must go off now. */
  onLost(listener: () => void): void;
}

const guardWithinMs = 2_000;

/** The guardian of a process that was forked by the sentinel. */
export function sentinelGuardian(child: NodeJS.Process): Guardian {
  const waiting = new Map<string, { resolve: () => void; reject: (error: Error) => void }>();
  const shutDown: (() => void)[] = [];
  const send = (message: ToSentinel): void => {
    if (child.connected) child.send?.(message);
  };
  child.on('message', (raw: unknown) => {
    const parsed = fromSentinelSchema.safeParse(raw);
    if (!parsed.success) return;
    const message = parsed.data;
    switch (message.kind) {
      case 'guarding':
        waiting.get(message.tankId)?.resolve();
        break;
      case 'cannot-guard':
        waiting.get(message.tankId)?.reject(new Error(message.reason));
        break;
      case 'shut-down':
        for (const listener of shutDown) listener();
        break;
    }
  });
  return {
    guard(tankId, script) {
      return new Promise<void>((resolve, reject) => {
        const done = (): void => {
          clearTimeout(timer);
          waiting.delete(tankId);
        };
        const timer = setTimeout(() => {
          done();
          reject(new Error(`The sentinel did not answer within ${guardWithinMs / 1000} s.`));
        }, guardWithinMs);
        waiting.set(tankId, {
          resolve: () => (done(), resolve()),
          reject: (error) => (done(), reject(error)),
        });
        send({ kind: 'guard', tankId, script: { ...script } });
      });
    },
    release: (tankId) => send({ kind: 'release', tankId }),
    beat: (tick) => send({ kind: 'beat', tick }),
    ready: () => send({ kind: 'ready' }),
    stopped: (offConfirmed) => send({ kind: 'stopped', offConfirmed }),
    cannotStart: (message, exitCode) => send({ kind: 'cannot-start', message, exitCode }),
    onShutDown: (listener) => void shutDown.push(listener),
    onLost: (listener) => void child.on('disconnect', listener),
  };
}
