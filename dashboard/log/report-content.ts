/** What a printed report has room for: which events and parts it lists, and how curves are scaled. */

import { lifecycles } from '../../daemon/run/model.ts';
import type { EventRow } from '../../daemon/wire/run.ts';

/** Letters of an event's text on one printed line, at the report's size in two columns. */
const lettersPerLine = 46;
const hourMs = 3_600_000;

/** Events of a run that are its course and not only its housekeeping. */
const course: ReadonlySet<string> = new Set([
  ...lifecycles.filter((one) => one !== 'planned'),
  'changed',
  'note',
  'turned',
]);

export interface ChosenEvents {
  readonly shown: readonly EventRow[];
  /** How many there was no room for. */
  readonly leftOut: number;
}

/** Printed lines that an event takes. */
export function linesOf({ message }: EventRow): number {
  return Math.max(1, Math.ceil(message.length / lettersPerLine));
}

/**
 * As many events as fit into so many lines, in their order: those with an alarm before the course of
 * the run, and that before the rest; within each kind the earlier ones first.
 */
export function chosenEvents(
  events: readonly EventRow[],
  alarmCodes: ReadonlySet<string>,
  mostLines: number,
): ChosenEvents {
  const rank = ({ code }: EventRow): number =>
    alarmCodes.has(code) ? 0 : course.has(code) ? 1 : 2;
  const kept = new Set<EventRow>();
  let lines = 0;
  for (const event of events.toSorted((a, b) => rank(a) - rank(b) || a.id - b.id)) {
    const needed = linesOf(event);
    if (lines + needed > mostLines) continue;
    lines += needed;
    kept.add(event);
  }
  return {
    shown: [...kept].toSorted((a, b) => a.wallMs - b.wallMs || a.id - b.id),
    leftOut: events.length - kept.size,
  };
}

/** Photos beside each other on a sheet. */
export const photosInRow = 6;
/** Lines of events, in two columns, that a row of photos takes the place of. */
const linesOfRow = 14;
/** Two rows only where so many lines are left for events beside them. */
const leastEventLines = 12;

/** In how many rows so many photos are shown, with the lines of events that are left, and those they leave. */
export function photoRows(
  count: number,
  linesLeft: number,
): { readonly rows: number; readonly linesLeft: number } {
  const wanted = Math.min(2, Math.ceil(count / photosInRow));
  const rows = linesLeft - wanted * linesOfRow >= leastEventLines ? wanted : Math.min(1, wanted);
  return { rows, linesLeft: Math.max(0, linesLeft - rows * linesOfRow) };
}

/** At most so many of a list, spread over the whole of it, its first and its last among them. */
export function evenly<T>(list: readonly T[], most: number): readonly T[] {
  if (list.length <= most) return list;
  const step = (list.length - 1) / Math.max(1, most - 1);
  return Array.from({ length: most }, (_, index) => list[Math.round(index * step)]).filter(
    (one) => one !== undefined,
  );
}

/** The smallest round number that is not below a positive value; half of it is round as well. */
export function roundUp(value: number): number {
  if (!(value > 0)) return 1;
  const decade = 10 ** Math.floor(Math.log10(value));
  const lead = value / decade;
  // A rounding above a step of the ladder is still that step.
  const step = [1, 1.2, 1.6, 2, 3, 4, 5, 6, 8, 10].find((one) => lead <= one * (1 + 1e-9)) ?? 10;
  return Number((step * decade).toPrecision(12));
}

/** Round times of a run of this length, ms from its start, at most eight of them. */
export function timeTicks(lengthMs: number): readonly number[] {
  const steps = [1 / 60, 1 / 12, 1 / 4, 1 / 2, 1, 2, 3, 6, 12, 24, 48, 96, 168].map(
    (hours) => hours * hourMs,
  );
  const step = steps.find((one) => lengthMs / one <= 7) ?? lengthMs / 7;
  const count = step > 0 ? Math.floor(lengthMs / step + 1e-9) : 0;
  return Array.from({ length: count + 1 }, (_, index) => index * step);
}

/** A text that is cut where it grows longer than its place, at a blank, with a sign that it is. */
export function shortened(text: string, letters: number): string {
  if (text.length <= letters) return text;
  // One letter more, since a word may end just where the place does.
  const blank = text.slice(0, letters + 1).lastIndexOf(' ');
  return `${text.slice(0, blank > letters / 2 ? blank : letters).trimEnd()} …`;
}
