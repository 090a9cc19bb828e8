/** One request at a time, and the right of OFF to go first. */

import { expect, test } from 'vitest';
import { Lane, within } from '../../../drivers/scpi/lane.ts';

test('tasks run one after the other, also after one that failed', async () => {
  const lane = new Lane();
  const seen: string[] = [];
  const first = lane.run(async () => {
    seen.push('first begins');
    await Promise.resolve();
    seen.push('first ends');
    throw new Error('it failed');
  });
  const second = lane.run(() => Promise.resolve(seen.push('second')));
  await expect(first).rejects.toThrow('it failed');
  await second;
  expect(seen).toEqual(['first begins', 'first ends', 'second']);
});

test('an overtaking task starts at once, and those that wait never start', async () => {
  const lane = new Lane();
  const seen: string[] = [];
  let release = (): void => undefined;
  const running = lane.run(async (ticket) => {
    await new Promise<void>((resolve) => {
      release = resolve;
    });
    ticket.check();
    seen.push('wrote');
  });
  const waiting = lane.run(() => Promise.resolve(seen.push('waiting')));
  await Promise.resolve();
  await Promise.resolve();
  const overtaking = lane.overtake(async (ticket) => {
    seen.push('overtaking');
    await Promise.resolve();
    ticket.check();
  });
  expect(seen).toEqual(['overtaking']);
  const later = lane.run(() => Promise.resolve(seen.push('later')));
  const refused = [running, waiting].map((task) =>
    expect(task).rejects.toMatchObject({ kind: 'preempted' }),
  );
  await overtaking;
  release();
  await Promise.all(refused);
  await later;
  expect(seen).toEqual(['overtaking', 'later']);
});

test('a limit only ever shortens', async () => {
  const lane = new Lane();
  await lane.run((ticket) => {
    expect(within(within(ticket, 50), 100).limitMs).toBe(50);
    return Promise.resolve();
  });
});
