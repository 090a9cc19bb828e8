/** The in-process link: virtual time-outs cost no wall time, and it is fast. */

import { describe, expect, test } from 'vitest';
import { RectifierError } from '../../../drivers/contract.ts';
import { createInProcessLink } from '../../../drivers/link/in-process.ts';
import type { Framing } from '../../../drivers/link/link.ts';
import { AnsweringLine, ScriptedLine } from '../scripted-line.ts';
import { VirtualClock } from '../virtual-clock.ts';

const lines: Framing = { kind: 'lines', terminator: '\n', maxBytes: 64 };

function setUp(device = new AnsweringLine((line) => `${line}!\n`), framing = lines) {
  const clock = new VirtualClock();
  return { clock, device, link: createInProcessLink(device, clock, framing) };
}

describe('replies', () => {
  test('come at the moment they are due', async () => {
    const { clock, link } = setUp();
    await link.open();
    await link.write('a\n');
    expect(link.take()).toBeUndefined();
    expect(await link.next(1000)).toBe('a!');
    expect(clock.nowMs()).toBe(5);
    expect(link.counters).toEqual({ bytesWritten: 2, bytesRead: 3, frames: 1, overflows: 0 });
  });

  test('that do not come are a time-out at the deadline, and no wall time', async () => {
    const { clock, link } = setUp(new AnsweringLine(() => null));
    await link.open();
    await link.write('a\n');
    const startMs = performance.now();
    await expect(link.next(3_600_000)).rejects.toMatchObject({ kind: 'timeout' });
    expect(clock.nowMs()).toBe(3_600_000);
    expect(performance.now() - startMs).toBeLessThan(20_000);
  });

  test('give way to an interruption at once', async () => {
    const { clock, link } = setUp(new AnsweringLine(() => null));
    await link.open();
    const waiting = link.next(1000);
    const preempted = expect(waiting).rejects.toMatchObject({ kind: 'preempted' });
    await Promise.resolve();
    link.interrupt();
    await preempted;
    expect(clock.nowMs()).toBe(0);
  });

  test('without end are an overflow, once', async () => {
    const device = new ScriptedLine([]);
    const clock = new VirtualClock();
    const link = createInProcessLink(device, clock, lines);
    await link.open();
    device.push('9'.repeat(100), 10);
    device.push('\n1\n', 20);
    await expect(link.next(1000)).rejects.toMatchObject({ kind: 'overflow' });
    expect(await link.next(1000)).toBe('1');
    expect(link.counters.overflows).toBe(1);
  });

  test('that nobody fetches are an overflow, in lines and in bytes', async () => {
    const device = new ScriptedLine([]);
    const clock = new VirtualClock();
    const link = createInProcessLink(device, clock, lines);
    const raw = createInProcessLink(device, clock, { kind: 'raw', maxBytes: 16 });
    await link.open();
    device.push('1\n'.repeat(65), 0);
    expect(() => link.take()).toThrow(/64 replies/);
    await raw.open();
    device.push('x'.repeat(17), 0);
    expect(() => raw.take()).toThrow(RectifierError);
  });
});

describe('discarding', () => {
  test('waits for silence, and ends at the cap', async () => {
    const device = new ScriptedLine([]);
    const clock = new VirtualClock();
    const link = createInProcessLink(device, clock, lines);
    await link.open();
    device.push('half', 50);
    device.push(' a line\n', 120);
    await link.discard(100, 1000);
    expect(clock.nowMs()).toBe(220);
    for (let atMs = 230; atMs < 2000; atMs += 50) device.push('x\n', atMs);
    await link.discard(100, 300);
    expect(clock.nowMs()).toBe(520);
    expect(link.take()).toBeUndefined();
  });
});

describe('the plug', () => {
  test('out is closed, not silence; and cannot be opened', async () => {
    const { device, link } = setUp();
    await link.open();
    device.attached = false;
    expect(link.isOpen).toBe(false);
    await expect(link.next(1000)).rejects.toMatchObject({ kind: 'closed' });
    await expect(link.write('a\n')).rejects.toMatchObject({ kind: 'closed' });
    await expect(link.open()).rejects.toMatchObject({ kind: 'cannotOpen' });
    device.attached = true;
    await link.open();
    expect(link.isOpen).toBe(true);
  });

  test('pulled while a reply is awaited ends the wait', async () => {
    const { clock, device, link } = setUp(new AnsweringLine(() => null));
    await link.open();
    const waiting = expect(link.next(10_000)).rejects.toMatchObject({ kind: 'closed' });
    await clock.sleep(500);
    device.attached = false;
    await waiting;
    expect(clock.nowMs()).toBeLessThan(600);
  });

  test('a link that was never opened, or was closed, refuses', async () => {
    const { link } = setUp();
    await expect(link.write('a\n')).rejects.toMatchObject({ kind: 'notOpen' });
    await link.open();
    await link.close();
    await expect(link.next(1)).rejects.toMatchObject({ kind: 'notOpen' });
  });
});
