/**
 * Local time on the nights on which clocks change. The rules are the published ones: in the European
 * Union the last Sundays of March and October at 01:00 UTC (Directive 2000/84/EC); in the United
 * States the second Sunday of March and the first of November at 02:00 local time (15 U.S.C. 260a,
 * as amended by the Energy Policy Act of 2005). Calendar days by the Gregorian calendar.
 */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  isTimeZone,
  localText,
  localTimeAt,
  momentOfLocal,
  nightHours,
  offsetMs,
  readLocalTime,
} from '../../daemon/run/wall-time.ts';

const berlin = 'Europe/Berlin';
const newYork = 'America/New_York';
const hourMs = 3_600_000;
const at = (text: string): number => Date.parse(text);

function due(text: string, now: string, zone: string) {
  const read = readLocalTime(text, at(now), zone);
  if (!read.ok) throw new Error(`${text}: ${read.bound}`);
  return read.moment;
}

describe('the nights on which clocks change', () => {
  test.each([
    ['Europe, spring 2026', berlin, '2026-03-29T01:00:00Z', 1, 2],
    ['Europe, autumn 2026', berlin, '2026-10-25T01:00:00Z', 2, 1],
    ['Europe, spring 2027', berlin, '2027-03-28T01:00:00Z', 1, 2],
    ['Europe, autumn 2027', berlin, '2027-10-31T01:00:00Z', 2, 1],
    ['United States, spring 2026', newYork, '2026-03-08T07:00:00Z', -5, -4],
    ['United States, autumn 2026', newYork, '2026-11-01T06:00:00Z', -4, -5],
    ['United States, spring 2027', newYork, '2027-03-14T07:00:00Z', -5, -4],
    ['United States, autumn 2027', newYork, '2027-11-07T06:00:00Z', -4, -5],
  ])('%s', (_, zone, change, hoursBefore, hoursAfter) => {
    expect(offsetMs(at(change) - 1, zone) / hourMs).toBe(hoursBefore);
    expect(offsetMs(at(change), zone) / hourMs).toBe(hoursAfter);
  });

  test('seven in the morning is an hour nearer in spring and an hour farther in autumn', () => {
    const hours = (now: string, zone: string) =>
      (due('07:00', now, zone).wallMs - at(now)) / hourMs;
    // 21:00 in Berlin each time: 20:00 UTC in winter, 19:00 UTC in summer.
    expect(hours('2026-11-25T20:00:00Z', berlin)).toBe(10);
    expect(hours('2027-03-27T20:00:00Z', berlin)).toBe(9);
    expect(hours('2027-10-30T19:00:00Z', berlin)).toBe(11);
    // 21:00 in New York: 02:00 UTC of the next day in winter, 01:00 UTC in summer.
    expect(hours('2026-11-25T02:00:00Z', newYork)).toBe(10);
    expect(hours('2027-03-14T02:00:00Z', newYork)).toBe(9);
    expect(hours('2026-11-01T01:00:00Z', newYork)).toBe(11);
  });

  test('a time that is skipped becomes the moment of the jump', () => {
    expect(due('02:30', '2027-03-27T20:00:00Z', berlin)).toEqual({
      kind: 'skipped',
      wallMs: at('2027-03-28T01:00:00Z'),
    });
    expect(due('02:30', '2026-03-08T02:00:00Z', newYork)).toEqual({
      kind: 'skipped',
      wallMs: at('2026-03-08T07:00:00Z'),
    });
  });

  test('a time that comes twice is taken the first time, unless that is past', () => {
    expect(due('02:30', '2026-10-24T19:00:00Z', berlin)).toEqual({
      kind: 'twice',
      wallMs: at('2026-10-25T00:30:00Z'),
      laterWallMs: at('2026-10-25T01:30:00Z'),
    });
    expect(due('02:30', '2026-10-25T00:45:00Z', berlin)).toEqual({
      kind: 'once',
      wallMs: at('2026-10-25T01:30:00Z'),
    });
    expect(due('01:30', '2026-11-01T01:00:00Z', newYork)).toMatchObject({
      kind: 'twice',
      wallMs: at('2026-11-01T05:30:00Z'),
    });
  });
});

describe('a typed time', () => {
  test('without its day is the next one', () => {
    expect(due('07:00', '2026-11-25T20:00:00Z', berlin).wallMs).toBe(at('2026-11-26T06:00:00Z'));
    expect(due('23:15', '2026-11-25T20:00:00Z', berlin).wallMs).toBe(at('2026-11-25T22:15:00Z'));
    // The hour itself is not ahead any more.
    expect(due('21:00', '2026-11-25T20:00:00Z', berlin).wallMs).toBe(at('2026-11-26T20:00:00Z'));
    expect(due('7:05', '2026-12-31T20:00:00Z', berlin).wallMs).toBe(at('2027-01-01T06:05:00Z'));
    expect(due('07:00', '2028-02-28T20:00:00Z', berlin).wallMs).toBe(at('2028-02-29T06:00:00Z'));
  });

  test('with its day is that one, and no day that is past', () => {
    const now = '2026-11-25T20:00:00Z';
    expect(due('2026-11-27 07:00', now, berlin).wallMs).toBe(at('2026-11-27T06:00:00Z'));
    expect(due('2026-11-27T07:00', now, newYork).wallMs).toBe(at('2026-11-27T12:00:00Z'));
    expect(readLocalTime('2026-11-25 07:00', at(now), berlin)).toEqual({
      ok: false,
      bound: 'later than now',
    });
  });

  test.each(['7', 'seven', '24:00', '07:60', '2026-02-30 07:00', '2026-13-01 07:00', '', '-1:00'])(
    '%j is none',
    (text) => {
      expect(readLocalTime(text, at('2026-01-05T20:00:00Z'), berlin).ok).toBe(false);
    },
  );

  test('is said in words', () => {
    expect(localText(at('2026-11-26T06:00:00Z'), berlin)).toBe('07:00 on Thursday 26 November');
    expect(localText(at('2027-01-01T04:59:59Z'), newYork)).toBe('23:59 on Thursday 31 December');
  });
});

describe('clocks of any zone', () => {
  test('every instant is found again from what the clocks show then', () => {
    const zones = [
      berlin,
      newYork,
      'Asia/Kathmandu',
      'Australia/Lord_Howe',
      'Pacific/Kiritimati',
      'UTC',
    ];
    const from = at('2025-01-01T00:00:00Z') / 60_000;
    fc.assert(
      fc.property(
        fc.constantFrom(...zones),
        fc.integer({ min: from, max: from + 3 * 366 * 24 * 60 }),
        (zone, minute) => {
          const wallMs = minute * 60_000;
          const moment = momentOfLocal(localTimeAt(wallMs, zone), zone);
          const found =
            moment.kind === 'twice' ? [moment.wallMs, moment.laterWallMs] : [moment.wallMs];
          expect(moment.kind).not.toBe('skipped');
          expect(found).toContain(wallMs);
        },
      ),
    );
  });

  test('an unknown zone is known as such', () => {
    expect([isTimeZone(berlin), isTimeZone('Middle/Earth'), isTimeZone('')]).toEqual([
      true,
      false,
      false,
    ]);
  });
});

describe('hours of the night', () => {
  const night = (from: string, until: string, zone = berlin) =>
    nightHours(at(from), at(until), zone, 22, 7);

  test('are counted between 22 and 7 local time', () => {
    expect(night('2026-11-25T20:00:00Z', '2026-11-26T08:00:00Z')).toBe(9);
    expect(night('2026-11-25T08:00:00Z', '2026-11-25T20:00:00Z')).toBe(0);
    // Begun at 03:00 and ended at 05:00, within the night of the day before.
    expect(night('2026-11-25T02:00:00Z', '2026-11-25T04:00:00Z')).toBe(2);
    expect(night('2026-11-25T20:00:00Z', '2026-11-27T20:00:00Z')).toBe(18);
  });

  test('of a stretch that is no run are not counted', () => {
    expect(night('2026-01-01T00:00:00Z', '2026-03-31T00:00:00Z')).toBeNull();
    expect(localText(9e15, berlin)).toBe('no day of any calendar');
  });

  test('are one fewer or one more when the clocks change', () => {
    expect(night('2027-03-27T20:00:00Z', '2027-03-28T10:00:00Z')).toBe(8);
    expect(night('2027-10-30T19:00:00Z', '2027-10-31T10:00:00Z')).toBe(10);
  });
});
