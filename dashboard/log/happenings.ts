/** What happened in a run, along its time: grouped into marks, and found from a moment. */

import type { Alarm, EventRow } from '../../daemon/wire/run.ts';
import { told } from '../units.ts';

/** What happened at a moment of the run. */
export interface Happening {
  readonly atMs: number;
  readonly message: string;
  /** It raised an alarm. */
  readonly grave: boolean;
}

/** Happenings so near to each other that one mark stands for them; it goes to the first. */
export interface MarkGroup {
  readonly atMs: number;
  readonly members: readonly Happening[];
}

/** Marks are pressed by thumbs, and none may lie under another, px. */
const leastGapPx = 26;
/** Half the width of the scrubber's thumb: the run begins and ends this far from its sides, px. */
export const rimPx = 8;

export function happeningsOf(
  events: readonly EventRow[],
  alarms: readonly Alarm[],
): readonly Happening[] {
  const grave = new Set(alarms.map(({ code }) => code));
  return events
    .flatMap(({ atMs, code, message }) =>
      atMs === null
        ? []
        : [
            {
              atMs: Math.max(0, atMs),
              message: code === 'note' ? message : told(message),
              grave: grave.has(code),
            },
          ],
    )
    .toSorted((a, b) => a.atMs - b.atMs);
}

/** Groups happenings, in order of time, so that marks on a scrubber of this width keep apart. */
export function markGroups(
  happenings: readonly Happening[],
  lengthMs: number,
  widthPx: number,
): readonly MarkGroup[] {
  const leastMs = widthPx > 2 * rimPx ? (leastGapPx * lengthMs) / (widthPx - 2 * rimPx) : lengthMs;
  const groups: { atMs: number; members: Happening[] }[] = [];
  for (const happening of happenings) {
    const group = groups.at(-1);
    if (group !== undefined && happening.atMs - group.atMs < leastMs) group.members.push(happening);
    else groups.push({ atMs: happening.atMs, members: [happening] });
  }
  return groups;
}

/** The nearest moment at which something happened, before or after a position; null without one. */
export function nextHappening(
  happenings: readonly Happening[],
  positionMs: number,
  direction: 1 | -1,
): number | null {
  // A position is a moment of a moving clock: what is a millisecond away is here.
  const ahead = happenings.filter(({ atMs }) => (atMs - positionMs) * direction > 1);
  return (direction === 1 ? ahead[0] : ahead.at(-1))?.atMs ?? null;
}

/** What happened last up to a position; null before anything did. */
export function lastHappening(
  happenings: readonly Happening[],
  positionMs: number,
): Happening | null {
  return happenings.findLast(({ atMs }) => atMs <= positionMs + 1) ?? null;
}

/** The moment that an address names, ms from the start; null for none, text for what is none. */
export function momentOf(query: string): number | null | string {
  const text = new URLSearchParams(query).get('at');
  if (text === null) return null;
  return /^\d{1,7}$/.test(text) ? Number(text) * 1000 : text.slice(0, 40);
}
