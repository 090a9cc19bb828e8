/** The inbox makes an error only for somebody who waits, and hands on what it holds. */

import { describe, expect, test, vi } from 'vitest';
import { RectifierError } from '../../../drivers/contract.ts';
import { Inbox } from '../../../drivers/link/inbox.ts';

function inbox(): Inbox {
  const counters = { bytesWritten: 0, bytesRead: 0, frames: 0, overflows: 0 };
  return new Inbox('the line', { kind: 'lines', terminator: '\n', maxBytes: 16 }, counters);
}

describe('the inbox', () => {
  test('makes no error, with its costly stack, where nobody waits', () => {
    const failure = vi.fn(() => new RectifierError('closed', 'gone'));
    const box = inbox();
    box.fail(failure);
    expect(failure).not.toHaveBeenCalled();
    const waiter = { resolve: vi.fn(), reject: vi.fn() };
    box.await(waiter);
    box.fail(failure);
    box.fail(failure);
    expect(failure).toHaveBeenCalledTimes(1);
    expect(waiter.reject).toHaveBeenCalledTimes(1);
  });

  test('tells a preempted caller who it gave way to, with the stack of the interruption', () => {
    const box = inbox();
    const waiter = { resolve: vi.fn(), reject: vi.fn<(error: RectifierError) => void>() };
    box.await(waiter);
    box.interrupt();
    const error = waiter.reject.mock.calls[0]?.[0];
    expect(error).toMatchObject({
      kind: 'preempted',
      message: 'A request to the line gave way to OFF.',
    });
    expect(error?.stack).toContain('Inbox.interrupt');
  });

  test('throws an overflow once, to the next who asks', () => {
    const box = inbox();
    box.push(Buffer.from('x'.repeat(100), 'latin1'));
    expect(() => box.take()).toThrow('the line sent a line longer than 16 bytes.');
    expect(box.take()).toBeUndefined();
  });
});
