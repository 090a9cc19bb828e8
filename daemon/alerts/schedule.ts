/** When a message is tried on a channel, tried again, said again and given up. Pure: the clock is an argument. */

import type { Delivery } from '../wire/alerts.ts';

/** One message on one channel. Times are ms of the caller's monotonic clock. */
export interface Course {
  readonly state: Delivery['state'];
  readonly createdMs: number;
  /** Said again until somebody acknowledges. */
  readonly repeats: boolean;
  /** A failure ends it: somebody stands by and sees it fail. */
  readonly once: boolean;
  /** Not delivered within this time it is given up, ms. */
  readonly lastsMs: number;
  readonly tries: number;
  /** In a row. */
  readonly failures: number;
  readonly deliveries: number;
  /** Null once nothing more is to be done. */
  readonly dueMs: number | null;
}

const secondMs = 1_000;
const minuteMs = 60 * secondMs;
/** After the first, second, third and fourth failure in a row. */
const pausesMs = [5, 15, 60, 300].map((seconds) => seconds * secondMs);
/** After every further one, spread so that many benches do not knock in step. */
const lastPauseMs = 300 * secondMs;
const spreadShare = 0.1;
/** What was not delivered within this time is given up, unless it is of use for a shorter one. */
export const givenUpAfterMs = 24 * 60 * minuteMs;
/** A reminder that comes later than this is worth nothing any more. */
export const reminderLastsMs = 30 * minuteMs;
/** Said again this long after it was first to be said, and then at every further quarter of an hour. */
const repeatsMs = [2, 5, 10].map((minutes) => minutes * minuteMs);
const laterRepeatsMs = 15 * minuteMs;
/** One that was only just delivered, late, is not said again at once. */
const leastBetweenMs = minuteMs;

/** A message that is to be said now. */
export function freshCourse(
  createdMs: number,
  kind: { repeats: boolean; once: boolean; lastsMs?: number },
): Course {
  const counts = { tries: 0, failures: 0, deliveries: 0, lastsMs: givenUpAfterMs };
  return { state: 'waiting', createdMs, ...counts, ...kind, dueMs: createdMs };
}

/** The channel took it. */
export function onDelivered(course: Course, nowMs: number): Course {
  const counted = {
    ...course,
    tries: course.tries + 1,
    failures: 0,
    deliveries: course.deliveries + 1,
  };
  // Settled while the try was under way: it is delivered, and that is all.
  if (!course.repeats || course.dueMs === null) {
    return { ...counted, state: 'delivered', dueMs: null };
  }
  return { ...counted, state: 'repeating', dueMs: nextRepeatMs(course.createdMs, nowMs) };
}

/** The try failed. `chance` is 0 to 1 and spreads the later tries. */
export function onFailed(course: Course, nowMs: number, chance: number): Course {
  const failures = course.failures + 1;
  const counted = { ...course, tries: course.tries + 1, failures };
  if (course.dueMs === null) return counted;
  if (course.once) return { ...counted, state: 'given-up', dueMs: null };
  const spread = 1 + spreadShare * (2 * chance - 1);
  const dueMs = nowMs + (pausesMs[failures - 1] ?? lastPauseMs * spread);
  if (dueMs - course.createdMs <= course.lastsMs) return { ...counted, dueMs };
  if (course.state === 'waiting') return { ...counted, state: 'given-up', dueMs: null };
  return { ...counted, dueMs: nextRepeatMs(course.createdMs, nowMs) };
}

/** Somebody acknowledged it, or its channel is gone. */
export function onSettled(course: Course): Course {
  if (course.dueMs === null) return course;
  return { ...course, state: course.deliveries > 0 ? 'delivered' : 'withdrawn', dueMs: null };
}

function nextRepeatMs(createdMs: number, nowMs: number): number {
  const agedMs = nowMs - createdMs + leastBetweenMs;
  const early = repeatsMs.find((atMs) => atMs > agedMs);
  if (early !== undefined) return createdMs + early;
  const lastEarlyMs = repeatsMs.at(-1) ?? 0;
  const later = Math.floor((agedMs - lastEarlyMs) / laterRepeatsMs) + 1;
  return createdMs + lastEarlyMs + later * laterRepeatsMs;
}
