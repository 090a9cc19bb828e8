/** Whether a person would be told at night: judged from the channels and the tests that arrived. Pure. */

import type { AlertReadiness } from '../wire/alerts.ts';

/** A channel that reaches beyond the bench, with the last test that a person saw arrive on it. */
export interface OutsideChannel {
  readonly name: string;
  /** Wall ms since the epoch; null where no test was ever confirmed. */
  readonly confirmedWallMs: number | null;
}

const dayMs = 24 * 3_600_000;
/** A confirmed test counts for this long: addresses change, phones are replaced. */
export const testHoldsMs = 7 * dayMs;

const notAlone = 'Leaving the bench alone is not recommended';

/** Judges the channels at this wall time, ms since the epoch. */
export function readinessOf(
  channels: readonly OutsideChannel[],
  nowWallMs: number,
): AlertReadiness {
  const tested = channels
    .filter((channel) => channel.confirmedWallMs !== null)
    .toSorted((a, b) => (b.confirmedWallMs ?? 0) - (a.confirmedWallMs ?? 0));
  const latest = tested[0];
  const confirmedWallMs = latest?.confirmedWallMs ?? null;
  // A confirmation from the future is one from before the clock was set back.
  const confirmed = confirmedWallMs !== null && nowWallMs - confirmedWallMs <= testHoldsMs;
  return {
    outsideChannels: channels.length,
    confirmed,
    confirmedWallMs,
    sentence: sentenceOf(channels.length, latest, confirmed, nowWallMs),
  };
}

function sentenceOf(
  count: number,
  latest: OutsideChannel | undefined,
  confirmed: boolean,
  nowWallMs: number,
): string {
  if (count === 0) {
    return `No alert channel is set up, so nobody away from the bench is told. ${notAlone}.`;
  }
  if (latest === undefined) {
    return `No test alert was ever confirmed. ${notAlone} until one is.`;
  }
  const days = Math.max(0, Math.floor((nowWallMs - (latest.confirmedWallMs ?? 0)) / dayMs));
  const when = days === 0 ? 'today' : days === 1 ? 'a day ago' : `${days} days ago`;
  if (confirmed) return `The last test alert on "${latest.name}" was confirmed ${when}.`;
  return `The last test alert was confirmed ${when}, on "${latest.name}". ${notAlone} until a new one is.`;
}
