/** The times of a message in virtual time: tries, repeats, the day after which it is given up. */

import { describe, expect, it } from 'vitest';
import {
  freshCourse,
  onDelivered,
  onFailed,
  onSettled,
  reminderLastsMs,
  type Course,
} from '../../daemon/alerts/schedule.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const grave = { repeats: true, once: false };
const ordinary = { repeats: false, once: false };

/** Follows a message until nothing is due or the end; answers the seconds of its tries. */
function triesOf(
  course: Course,
  untilMs: number,
  tryAt: (course: Course, nowMs: number) => Course,
): { seconds: number[]; last: Course } {
  const seconds: number[] = [];
  let now = course;
  while (now.dueMs !== null && now.dueMs <= untilMs) {
    seconds.push(Math.round(now.dueMs / 100) / 10);
    now = tryAt(now, now.dueMs);
  }
  return { seconds, last: now };
}

describe('a message that no channel takes', () => {
  it('is tried at once, after 5, 15, 60 and 300 s, and then every 300 s', () => {
    const { seconds } = triesOf(freshCourse(0, ordinary), 30 * minuteMs, (course, nowMs) =>
      onFailed(course, nowMs, 0.5),
    );
    expect(seconds).toEqual([0, 5, 20, 80, 380, 680, 980, 1280, 1580]);
  });

  it('is spread by a tenth where it goes on for long, and not before', () => {
    for (const [chance, later] of [
      [0, 270],
      [1, 330],
    ] as const) {
      const { seconds } = triesOf(freshCourse(0, ordinary), 15 * minuteMs, (course, nowMs) =>
        onFailed(course, nowMs, chance),
      );
      expect(seconds.slice(0, 6)).toEqual([0, 5, 20, 80, 380, 380 + later]);
    }
  });

  it.each([grave, ordinary])('is given up after a day (%o)', (kind) => {
    const { seconds, last } = triesOf(freshCourse(0, kind), 48 * hourMs, (course, nowMs) =>
      onFailed(course, nowMs, 0.5),
    );
    expect(last).toMatchObject({ state: 'given-up', dueMs: null, deliveries: 0 });
    const end = seconds.at(-1) ?? 0;
    expect(end).toBeLessThanOrEqual(24 * 3600);
    expect(end).toBeGreaterThan(24 * 3600 - 301);
  });

  it('that is of use for a while only is given up after it', () => {
    const kind = { ...ordinary, lastsMs: reminderLastsMs };
    const { seconds, last } = triesOf(freshCourse(0, kind), 2 * hourMs, (course, nowMs) =>
      onFailed(course, nowMs, 0.5),
    );
    expect(last.state).toBe('given-up');
    expect(seconds.at(-1)).toBeLessThanOrEqual(30 * 60);
    expect(seconds.at(-1)).toBeGreaterThan(20 * 60);
  });

  it('that somebody waits for is tried once', () => {
    const course = onFailed(freshCourse(0, { repeats: false, once: true }), 10_000, 0.5);
    expect(course).toMatchObject({ state: 'given-up', dueMs: null, tries: 1 });
  });
});

describe('a message that is delivered', () => {
  it('is done with, where it asks for no acknowledgement', () => {
    const course = onDelivered(freshCourse(0, ordinary), 900);
    expect(course).toMatchObject({ state: 'delivered', dueMs: null, deliveries: 1 });
  });

  it('is said again at 2, 5, 10 min and then every 15 min, however long', () => {
    const { seconds, last } = triesOf(freshCourse(0, grave), 72 * hourMs, (course, nowMs) =>
      // The channel takes three seconds each time, and the times do not wander.
      onDelivered(course, nowMs + 3_000),
    );
    expect(seconds.slice(0, 7)).toEqual([0, 120, 300, 600, 1500, 2400, 3300]);
    expect(seconds.length).toBe(4 + Math.floor((72 * 60 - 10) / 15));
    expect(last.state).toBe('repeating');
  });

  it('is not said again at once after it came late', () => {
    // First delivered after 110 s: the saying at 120 s would follow on its heels.
    expect(onDelivered(freshCourse(0, grave), 110_000).dueMs).toBe(5 * minuteMs);
    expect(onDelivered(freshCourse(0, grave), 30 * minuteMs).dueMs).toBe(40 * minuteMs);
  });

  it('stops when somebody acknowledges', () => {
    const repeating = onDelivered(freshCourse(0, grave), 100);
    expect(onSettled(repeating)).toMatchObject({ state: 'delivered', dueMs: null });
    expect(onSettled(freshCourse(0, grave))).toMatchObject({ state: 'withdrawn', dueMs: null });
  });

  it('that was acknowledged while a try was under way stays settled', () => {
    const settled = onSettled(onDelivered(freshCourse(0, grave), 100));
    expect(onDelivered(settled, 200)).toMatchObject({ state: 'delivered', dueMs: null });
    expect(onFailed(settled, 200, 0.5)).toMatchObject({ state: 'delivered', dueMs: null });
    const early = onSettled(freshCourse(0, grave));
    expect(onFailed(early, 200, 0.5)).toMatchObject({ state: 'withdrawn', dueMs: null });
  });

  it('whose repeat fails is tried on the short pauses, and after a day only at its times', () => {
    const repeating = onDelivered(freshCourse(0, grave), 0);
    const failed = onFailed(repeating, 2 * minuteMs, 0.5);
    expect(failed).toMatchObject({ state: 'repeating', dueMs: 2 * minuteMs + 5_000 });
    const late = onFailed({ ...repeating, failures: 6 }, 25 * hourMs, 0.5);
    expect(late.state).toBe('repeating');
    expect(((late.dueMs ?? 0) - 10 * minuteMs) % (15 * minuteMs)).toBe(0);
  });
});
