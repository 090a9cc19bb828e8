/** When control takes its sentinel for hung, and when it must not. */

import { describe, expect, it } from 'vitest';
import { SentinelWatch, sentinelSilenceMs } from '../../daemon/control/sentinel-watch.ts';

/** Beats four times a second; every beat is answered after `answerMs`, or never. */
function firstSilence(answerMs: number, toMs: number): number | null {
  const watch = new SentinelWatch(0);
  const due: number[] = [];
  for (let atMs = 0; atMs <= toMs; atMs += 250) {
    while ((due[0] ?? Infinity) <= atMs) {
      due.shift();
      watch.heard();
    }
    watch.beat();
    due.push(atMs + answerMs);
    if (watch.look(atMs) >= sentinelSilenceMs) return atMs;
  }
  return null;
}

describe('a sentinel', () => {
  it.each([0, 400, 2_000, 4_500])('that answers after %d ms is well', (answerMs) => {
    expect(firstSilence(answerMs, 60_000)).toBeNull();
  });

  it('that does not answer is given five seconds', () => {
    expect(firstSilence(Infinity, 60_000)).toBe(5_000);
  });

  it('is not blamed for a hold-up of control itself, however long', () => {
    const watch = new SentinelWatch(0);
    watch.beat();
    expect(watch.look(60_000)).toBeLessThan(sentinelSilenceMs);
    watch.heard();
    watch.beat();
    expect(watch.look(60_250)).toBe(250);
  });

  it('that has taken what was waiting is well again', () => {
    const watch = new SentinelWatch(0);
    for (let atMs = 0; atMs < 4_000; atMs += 250) {
      watch.beat();
      watch.look(atMs);
    }
    const { unanswered } = watch;
    expect(unanswered).toBe(16);
    for (let turn = 0; turn < unanswered; turn += 1) watch.heard();
    expect(watch.look(4_000)).toBe(0);
  });
});
