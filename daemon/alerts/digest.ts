/** Ten messages within ten minutes become one: which of those that are due go out alone, together, or later. Pure. */

/** What was sent on a channel lately; ms of the caller's monotonic clock. */
export interface Traffic {
  /** Ordinary messages sent alone, the oldest first. */
  readonly sentMs: readonly number[];
  readonly digestMs: number | null;
}

export const quietTraffic: Traffic = { sentMs: [], digestMs: null };

const windowMs = 10 * 60_000;
/** With this many within the window they are put together. */
const mostAlone = 10;

/** Of the ordinary messages due now: each alone, all as one, or none yet. */
export type Sorting = 'alone' | 'together' | 'later';

/** How so many ordinary messages that are due go out. Grave ones are not asked about: they never wait. */
export function sortingOf(due: number, traffic: Traffic, nowMs: number): Sorting {
  const recent = traffic.sentMs.filter((atMs) => nowMs - atMs < windowMs);
  const { digestMs } = traffic;
  const digested = digestMs !== null && nowMs - digestMs < windowMs;
  if (!digested && recent.length + due < mostAlone) return 'alone';
  if (digested) return 'later';
  return due >= mostAlone || recent.length === 0 ? 'together' : 'later';
}

/** The traffic after something was sent; what no longer counts is dropped. */
export function afterSending(traffic: Traffic, how: 'alone' | 'together', nowMs: number): Traffic {
  const sentMs = traffic.sentMs.filter((atMs) => nowMs - atMs < windowMs);
  return how === 'together'
    ? { sentMs, digestMs: nowMs }
    : { sentMs: [...sentMs, nowMs], digestMs: traffic.digestMs };
}
