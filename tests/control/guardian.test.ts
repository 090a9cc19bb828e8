/** Control's side of the sentinel: each request for a guard gets its own answer, and no other one's. */

import { EventEmitter } from 'node:events';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { sentinelGuardian, type SentinelGuardian } from '../../daemon/control/guardian.ts';
import type { OffScript } from '../../drivers/contract.ts';
import type { FromSentinel, RunBounds, ToSentinel } from '../../daemon/wire/process.ts';

const script: OffScript = {
  path: null,
  baudRate: null,
  off: 'OUTP OFF',
  verifyQuery: null,
  verifyOffPattern: null,
};
const bounds: RunBounds = {
  runId: 'run-1',
  maxAmps: 2,
  maxVolts: 5,
  maxDurationMs: 3_600_000,
  maxChargeAmpHours: 2,
};

/** The channel to a sentinel that answers when the test says so. */
class HandChannel extends EventEmitter {
  connected = true;
  readonly sent: ToSentinel[] = [];

  send(message: ToSentinel): boolean {
    this.sent.push(message);
    return true;
  }

  answer(message: FromSentinel): void {
    this.emit('message', message);
  }
}

let channel: HandChannel;
let guardian: SentinelGuardian;
beforeEach(() => {
  vi.useFakeTimers();
  channel = new HandChannel();
  guardian = sentinelGuardian(channel as unknown as NodeJS.Process);
});
afterEach(() => vi.useRealTimers());

/** What became of a request: `guarded`, or why not. */
const ask = (tankId: string): Promise<string> =>
  guardian.guard(tankId, script, bounds).then(
    ({ hungOffMs }) => (hungOffMs === 1_050 ? 'guarded' : `guarded, OFF after ${hungOffMs}`),
    (error: unknown) => (error instanceof Error ? error.message : String(error)),
  );

describe('a request for a guard', () => {
  it('is refused while another one of the same tank is on its way, and then made', async () => {
    const first = ask('one');
    expect(await ask('one')).toContain('has not answered for another one');
    const ofOtherTank = ask('two');
    expect(channel.sent).toHaveLength(2);
    channel.answer({ kind: 'cannot-guard', tankId: 'two', reason: 'the line is gone' });
    channel.answer({ kind: 'guarding', tankId: 'one', hungOffMs: 1_050 });
    expect([await first, await ofOtherTank]).toEqual(['guarded', 'the line is gone']);
    const next = ask('one');
    channel.answer({ kind: 'guarding', tankId: 'one', hungOffMs: 1_050 });
    expect(await next).toBe('guarded');
  });

  it('that was not answered in time leaves its late answer to nobody else', async () => {
    const first = ask('one');
    vi.advanceTimersByTime(2_000);
    expect(await first).toContain('did not answer within 2 s');
    expect(await ask('one')).toContain('has not answered for another one');
    channel.answer({ kind: 'guarding', tankId: 'one', hungOffMs: 1_050 });
    const next = ask('one');
    channel.answer({ kind: 'cannot-guard', tankId: 'one', reason: 'above its limit' });
    expect(await next).toBe('above its limit');
  });
});
