/** What runs are told of sign-ins: the first refusal at once, a flood of them in few lines. */

import { expect, test } from 'vitest';
import { AccessNotices } from '../../daemon/web/access/notices.ts';

test('a flood of refusals takes one line a minute, with how many were left out', () => {
  let now = 0;
  const told: string[] = [];
  const notices = new AccessNotices(
    (sentence) => void told.push(sentence),
    () => now,
  );
  for (; now <= 120_000; now += 1_000) notices.refused('192.0.2.7');
  notices.came('Mara (control) at 192.0.2.8');
  expect(told).toEqual([
    'A sign-in from 192.0.2.7 was refused.',
    'A sign-in from 192.0.2.7 was refused, after 59 more.',
    'A sign-in from 192.0.2.7 was refused, after 59 more.',
    'Signed in: Mara (control) at 192.0.2.8.',
  ]);
});
