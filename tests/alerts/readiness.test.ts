/** Whether a person would be told: no channel, no test, an old test, a fresh one. */

import { describe, expect, it } from 'vitest';
import { readinessOf } from '../../daemon/alerts/readiness.ts';

const nowWallMs = Date.UTC(2026, 10, 3, 22, 0, 0);
const dayMs = 24 * 3_600_000;
const on = (name: string, daysAgo: number | null) => ({
  name,
  confirmedWallMs: daysAgo === null ? null : nowWallMs - daysAgo * dayMs,
});

describe('a bench without channels', () => {
  it('tells nobody, and says so', () => {
    const ready = readinessOf([], nowWallMs);
    expect(ready).toMatchObject({ outsideChannels: 0, confirmed: false, confirmedWallMs: null });
    expect(ready.sentence).toContain('not recommended');
  });
});

describe('a bench with channels', () => {
  it('is not ready before a test was confirmed', () => {
    const ready = readinessOf([on('phone', null)], nowWallMs);
    expect(ready).toMatchObject({ outsideChannels: 1, confirmed: false });
    expect(ready.sentence).toContain('No test alert was ever confirmed');
  });

  it('is ready for seven days after one was, to the hour', () => {
    expect(readinessOf([on('phone', 7), on('mail', null)], nowWallMs)).toEqual({
      outsideChannels: 2,
      confirmed: true,
      confirmedWallMs: nowWallMs - 7 * dayMs,
      sentence: 'The last test alert on "phone" was confirmed 7 days ago.',
    });
    const late = readinessOf([on('phone', 7 + 1 / 24)], nowWallMs);
    expect(late.confirmed).toBe(false);
    expect(late.sentence).toContain('confirmed 7 days ago, on "phone"');
    expect(late.sentence).toContain('not recommended');
  });

  it('goes by the latest test of any of them', () => {
    const ready = readinessOf([on('phone', 20), on('mail', 1)], nowWallMs);
    expect(ready.sentence).toBe('The last test alert on "mail" was confirmed a day ago.');
  });

  it('keeps a confirmation over a clock that was set back', () => {
    const ready = readinessOf([on('phone', -1 / 24)], nowWallMs);
    expect(ready.confirmed).toBe(true);
    expect(ready.sentence).toContain('today');
  });
});
