/** OFF is one at a time and in time, whatever a driver makes of it. */

import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { realClock } from '../../daemon/control/clock.ts';
import { OffDebt } from '../../daemon/control/off-debt.ts';
import { OffDesk } from '../../daemon/control/off-desk.ts';
import type { OffReport, Rectifier } from '../../drivers/contract.ts';

const confirmed: OffReport = { confirmed: true, outputOn: false, amps: 0, reason: '' };
const never = (): Promise<OffReport> => new Promise(() => undefined);

/** A desk over a driver whose calls of OFF end as given, one after the other. */
function deskOver(...ends: readonly (() => Promise<OffReport>)[]) {
  let calls = 0;
  const off = (): Promise<OffReport> => (ends[calls++] ?? never)();
  const reports: OffReport[] = [];
  const desk = new OffDesk({ off } as unknown as Rectifier, realClock, (report) => {
    reports.push(report);
  });
  return { desk, reports, calls: () => calls };
}

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

describe('OFF', () => {
  it('is joined by whoever asks meanwhile, and asked anew of a driver that does not come back', async () => {
    const { desk, reports, calls } = deskOver(never, () => Promise.resolve(confirmed));
    const first = desk.request();
    expect(desk.request()).toBe(first);
    await vi.advanceTimersByTimeAsync(9_900);
    expect(reports).toEqual([]);
    await vi.advanceTimersByTimeAsync(200);
    expect(await first).toBe(false);
    expect(reports).toMatchObject([{ confirmed: false, reason: expect.stringContaining('10 s') }]);
    expect(desk.inFlight).toBe(false);
    const second = desk.request();
    await vi.advanceTimersByTimeAsync(400);
    expect(await second).toBe(true);
    expect(calls()).toBe(2);
    expect(vi.getTimerCount()).toBe(0);
  });

  it('that a driver throws on is not confirmed, and can be asked for again', async () => {
    const broken = () => Promise.reject(new Error('The driver is broken.'));
    const { desk, reports } = deskOver(broken, () => Promise.resolve(confirmed));
    expect(await desk.request()).toBe(false);
    expect(reports).toMatchObject([{ confirmed: false, reason: 'The driver is broken.' }]);
    const second = desk.request();
    await vi.advanceTimersByTimeAsync(400);
    expect(await second).toBe(true);
  });

  it('that is owed calls a person after 3 s, also while the first attempt goes on', () => {
    const alarms: string[] = [];
    const journal = { alarm: (_: null, { code }: { code: string }) => void alarms.push(code) };
    const pending = () => new Promise<boolean>(() => undefined);
    type Journal = ConstructorParameters<typeof OffDebt>[2];
    const clock = { ...realClock, nowMs: () => globalThis.performance.now() };
    const debt = new OffDebt(clock, pending, journal as unknown as Journal);
    debt.look();
    debt.owe();
    void debt.settle();
    vi.advanceTimersByTime(2_900);
    debt.look();
    expect(alarms).toEqual([]);
    vi.advanceTimersByTime(200);
    debt.look();
    debt.look();
    expect(alarms).toEqual(['offUnconfirmed']);
  });
});
