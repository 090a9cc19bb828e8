/** What `nightbath ready` says of a run beside its checks; the command itself is tried on a real bench. */

import { expect, it } from 'vitest';
import { reactionText } from '../../daemon/cli/ready.ts';

const quick = {
  readsPerSecond: 4,
  slowedBySupply: false,
  silentOffSeconds: 2,
  hungOffSeconds: 1.1,
  offAlarmSeconds: 3,
};

it('says in one line how fast the bench acts', () => {
  expect(reactionText(quick, false)).toBe(
    'Read 4 times a second. Off after 2 s without a valid reading. If the program hangs: off within about 1.1 s. Alarm when OFF is not confirmed for 3 s.',
  );
});

it('says so where the supply slows it, and where it is simulated in the same process', () => {
  const slow = { ...quick, readsPerSecond: 1, slowedBySupply: true, hungOffSeconds: null };
  expect(reactionText(slow, true)).toBe(
    'Read once a second, as often as this supply allows. Off after 2 s without a valid reading. If the program hangs, this simulated supply ends with it. Alarm when OFF is not confirmed for 3 s.',
  );
  expect(reactionText(slow, false)).toContain('nothing else switches this supply off.');
});
