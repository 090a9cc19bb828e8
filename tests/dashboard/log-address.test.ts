/** The search of the log in its address: read, written, and what says nothing is named. */

import { describe, expect, it } from 'vitest';
import {
  askFor,
  asksNothing,
  dayStart,
  emptySearch,
  logAddress,
  readPicked,
  searchOf,
  type LogSearch,
} from '../../dashboard/log/log-address.ts';

const full: LogSearch = {
  piece: 'larch & “twig”',
  bath: 'Acid copper, still',
  result: 'tripped',
  fromDay: '2026-01-05',
  toDay: '2026-01-31',
  page: 3,
  picked: ['night-1', 'Run_2'],
};

describe('an address', () => {
  it('says the whole search, and reads back as the same', () => {
    const address = logAddress(full);
    expect(address).toMatch(/^\/log\?piece=larch\+%26/);
    expect(address).toMatch(/&page=3&pick=night-1,Run_2$/);
    expect(searchOf(address.slice(4))).toEqual({ search: full, problems: [] });
  });

  it('is bare where nothing is asked for', () => {
    expect(logAddress(emptySearch)).toBe('/log');
    expect(logAddress({ ...emptySearch, picked: ['a'] })).toBe('/log?pick=a');
    expect(searchOf('')).toEqual({ search: emptySearch, problems: [] });
    expect(asksNothing({ ...emptySearch, piece: '  ', page: 4 })).toBe(true);
    expect(asksNothing({ ...emptySearch, result: 'reached' })).toBe(false);
  });

  it.each([
    ['?from=2026-02-29', 'from', '2026-02-29', 'a day, written 2026-01-31'],
    ['?from=1.2.2026', 'from', '1.2.2026', 'a day, written 2026-01-31'],
    ['?to=2026-13-01', 'to', '2026-13-01', 'a day, written 2026-01-31'],
    ['?from=2026-01-20&to=2026-01-19', 'to', '2026-01-19', '2026-01-20 or later'],
    ['?page=0', 'page', '0', 'a whole number from 1 to 10000'],
    ['?page=1e3', 'page', '1e3', 'a whole number from 1 to 10000'],
    ['?page=10001', 'page', '10001', 'a whole number from 1 to 10000'],
    ['?pick=a,b,c,d,e', 'pick', 'a,b,c,d,e', 'up to 4 runs with commas'],
    ['?pick=../../etc', 'pick', '../../etc', 'up to 4 runs with commas'],
    [`?piece=${'x'.repeat(81)}`, 'piece', 'x'.repeat(40), 'at most 80 letters'],
    ['?result=__proto__', 'result', '__proto__', 'one of reached, stopped, tripped'],
  ])('%s is left out and named', (query, field, value, bound) => {
    const { search, problems } = searchOf(query);
    expect(problems).toEqual([{ field, value, bound: expect.stringContaining(bound) }]);
    // What was well is kept.
    expect(search).toEqual({
      ...emptySearch,
      fromDay: query.startsWith('?from=2026-01-20') ? '2026-01-20' : '',
    });
  });
});

it('a leap day is a day, and a day lasts to the start of the next by this clock', () => {
  expect(dayStart('2028-02-29')).toBe(new Date(2028, 1, 29).getTime());
  expect(dayStart('2026-03-29', 1)).toBe(new Date(2026, 2, 30).getTime());
  expect(dayStart('2026-12-31', 1)).toBe(new Date(2027, 0, 1).getTime());
});

it('the daemon is asked for both days whole, and for one page', () => {
  const asked = new URL(askFor(full), 'http://page').searchParams;
  expect(Object.fromEntries(asked)).toEqual({
    piece: full.piece,
    bath: full.bath,
    result: 'tripped',
    from: String(new Date(2026, 0, 5).getTime()),
    to: String(new Date(2026, 1, 1).getTime()),
    skip: '40',
    limit: '20',
  });
  expect(askFor(emptySearch)).toBe('/api/log?skip=0&limit=20');
});

it('ids are taken once each, in their order', () => {
  expect(readPicked('b,a,b')).toEqual(['b', 'a']);
  expect(readPicked('')).toBeNull();
  expect(readPicked('a,')).toBeNull();
});
