/** At the end of the process: OFF is tried a few times, and a person is called in time and once. */

import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { lastOff } from '../../daemon/control/last-off.ts';
import type { Tank } from '../../daemon/control/tank.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

/** What is told of an end whose attempts take so long each and come to `answers`, and when. */
async function ends(answers: readonly boolean[], eachMs: number) {
  const began = Date.now();
  const called: { atMs: number; code: string }[] = [];
  const alarm = (_: unknown, { code }: { code: string }): void => {
    called.push({ atMs: Date.now() - began, code });
  };
  const tank = { run: null, clock: { nowMs: () => 0 }, journal: { alarm } } as unknown as Tank;
  let asked = 0;
  const result = lastOff(tank, async () => {
    const answer = answers[asked] ?? false;
    asked += 1;
    if (eachMs > 0) await new Promise((resolve) => setTimeout(resolve, eachMs));
    return answer;
  });
  await vi.runAllTimersAsync();
  return { confirmed: await result, asked, called, tookMs: Date.now() - began };
}

it('calls nobody where the supply confirms in time', async () => {
  expect(await ends([false, true], 800)).toMatchObject({ confirmed: true, asked: 2, called: [] });
});

it('calls a person after 2.5 s, in the middle of an attempt that goes on', async () => {
  const end = await ends([false, false, true], 3_000);
  expect(end).toMatchObject({ confirmed: true, asked: 3, tookMs: 9_000 });
  expect(end.called).toEqual([{ atMs: 2_500, code: 'offUnconfirmed' }]);
});

it('calls a person where all attempts have failed before, once', async () => {
  expect(await ends([], 0)).toMatchObject({
    confirmed: false,
    asked: 5,
    called: [{ atMs: 0, code: 'offUnconfirmed' }],
  });
  const slow = await ends([], 2_000);
  expect(slow).toMatchObject({ confirmed: false, tookMs: 10_000 });
  expect(slow.called).toHaveLength(1);
});
