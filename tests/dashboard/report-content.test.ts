/** What a report has room for, and how its curves are scaled. */

import { describe, expect, it } from 'vitest';
import type { EventRow } from '../../daemon/wire/run.ts';
import {
  chosenEvents,
  evenly,
  linesOf,
  photoRows,
  roundUp,
  shortened,
  timeTicks,
} from '../../dashboard/log/report-content.ts';
import { eventRow } from '../web/fixture.ts';

const hour = 3_600_000;
const event = (id: number, code: string, message = 'Short.'): EventRow =>
  eventRow({ id, code, message, wallMs: id * 1000 });

describe('photos on a sheet', () => {
  it('take one row, or two where events keep their room, and leave the rest of the lines', () => {
    expect(photoRows(0, 44)).toEqual({ rows: 0, linesLeft: 44 });
    expect(photoRows(4, 44)).toEqual({ rows: 1, linesLeft: 30 });
    expect(photoRows(60, 44)).toEqual({ rows: 2, linesLeft: 16 });
    expect(photoRows(9, 32)).toEqual({ rows: 1, linesLeft: 18 });
    expect(photoRows(9, 10)).toEqual({ rows: 1, linesLeft: 0 });
  });

  it('are spread over the night, its first and its last among them', () => {
    const all = Array.from({ length: 60 }, (_, index) => index);
    const shown = evenly(all, 12);
    expect(shown).toHaveLength(12);
    expect(new Set(shown).size).toBe(12);
    expect([shown[0], shown.at(-1)]).toEqual([0, 59]);
    expect(evenly([1, 2, 3], 6)).toEqual([1, 2, 3]);
  });
});

describe('events', () => {
  const all = [
    event(1, 'armed'),
    event(2, 'askedBy'),
    event(3, 'striking'),
    event(4, 'askedBy'),
    event(5, 'openCircuit'),
    event(6, 'tripped'),
  ];
  const alarms = new Set(['openCircuit']);

  it('are all shown in the order of time where there is room', () => {
    const late = event(7, 'note');
    const mixed = [{ ...late, wallMs: 500 }, ...all];
    const { shown, leftOut } = chosenEvents(mixed, alarms, 20);
    expect(leftOut).toBe(0);
    expect(shown.map(({ id }) => id)).toEqual([7, 1, 2, 3, 4, 5, 6]);
  });

  it('leave out housekeeping first, an alarm last, and are counted', () => {
    const ids = (lines: number) => chosenEvents(all, alarms, lines).shown.map(({ id }) => id);
    expect(ids(4)).toEqual([1, 3, 5, 6]);
    expect(ids(1)).toEqual([5]);
    expect(chosenEvents(all, alarms, 4).leftOut).toBe(2);
    expect(chosenEvents(all, alarms, 0)).toEqual({ shown: [], leftOut: 6 });
  });

  it('take the lines that their words need', () => {
    expect(linesOf(event(1, 'note', ''))).toBe(1);
    expect(linesOf(event(1, 'note', 'x'.repeat(47)))).toBe(2);
    const long = [event(1, 'askedBy', 'x'.repeat(200)), event(2, 'askedBy')];
    // A long one that does not fit does not keep out a short one behind it.
    expect(chosenEvents(long, alarms, 2).shown.map(({ id }) => id)).toEqual([2]);
  });
});

it.each([
  [0.31, 0.4],
  [0.3, 0.3],
  [122, 160],
  [1000, 1000],
  [8.1, 10],
  [0, 1],
  [Number.NaN, 1],
])('a scale for %d ends at %d', (most, end) => {
  expect(roundUp(most)).toBeCloseTo(end, 9);
});

it('times are round, from the start on, and never more than eight', () => {
  expect(timeTicks(5 * hour).map((at) => at / hour)).toEqual([0, 1, 2, 3, 4, 5]);
  expect(timeTicks(24 * hour).map((at) => at / hour)).toEqual([0, 6, 12, 18, 24]);
  for (const length of [10_000, 0.3 * hour, 9 * hour, 100 * hour, 3000 * hour]) {
    expect(timeTicks(length).length).toBeLessThanOrEqual(8);
  }
  expect(timeTicks(0)).toEqual([0]);
});

it('a text that is too long ends at a word, with a sign', () => {
  expect(shortened('short', 10)).toBe('short');
  expect(shortened('bright and even so far', 15)).toBe('bright and even …');
  expect(shortened('x'.repeat(30), 10)).toBe(`${'x'.repeat(10)} …`);
});
