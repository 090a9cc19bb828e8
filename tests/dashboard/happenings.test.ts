/** Events along a replay: grouped so that each mark can be pressed, and jumped between. */

import { describe, expect, it } from 'vitest';
import {
  happeningsOf,
  lastHappening,
  markGroups,
  momentOf,
  nextHappening,
  type Happening,
} from '../../dashboard/log/happenings.ts';
import { alarm, eventRow } from '../web/fixture.ts';

const at = (...times: readonly number[]): readonly Happening[] =>
  times.map((atMs) => ({ atMs, message: `At ${atMs}.`, grave: false }));

describe('marks', () => {
  it('stand apart by what a thumb needs, and lose no event', () => {
    // 1016 px less 8 at each side: one px a millisecond.
    const groups = markGroups(at(0, 10, 25, 26, 40, 900), 1000, 1016);
    expect(groups.map(({ atMs, members }) => [atMs, members.length])).toEqual([
      [0, 3],
      [26, 2],
      [900, 1],
    ]);
    const gaps = groups.slice(1).map(({ atMs }, index) => atMs - (groups[index]?.atMs ?? 0));
    expect(Math.min(...gaps)).toBeGreaterThanOrEqual(26);
  });

  it('are one mark where there is no room yet', () => {
    expect(markGroups(at(0, 500, 1000), 1000, 0)).toHaveLength(2);
    expect(markGroups([], 1000, 300)).toEqual([]);
  });
});

it('events of before the start and without a time are no moments of the replay', () => {
  const rows = [
    eventRow({ id: 1, atMs: 500, code: 'openCircuit', message: 'Open circuit.' }),
    eventRow({ id: 2, atMs: null, code: 'armed', message: 'Armed.' }),
    eventRow({ id: 3, atMs: 100, code: 'striking', message: 'Strike.' }),
  ];
  expect(happeningsOf(rows, [{ ...alarm(), code: 'openCircuit' }])).toEqual([
    { atMs: 100, message: 'Strike.', grave: false },
    { atMs: 500, message: 'Open circuit.', grave: true },
  ]);
});

describe('from a moment', () => {
  const all = at(100, 200, 300);

  it('the next and the one before are not the one it stands at', () => {
    expect(nextHappening(all, 200, 1)).toBe(300);
    expect(nextHappening(all, 200.4, -1)).toBe(100);
    expect(nextHappening(all, 300, 1)).toBeNull();
    expect(nextHappening(all, 50, -1)).toBeNull();
  });

  it('the last is what happened up to it', () => {
    expect(lastHappening(all, 199.5)?.atMs).toBe(200);
    expect(lastHappening(all, 150)?.atMs).toBe(100);
    expect(lastHappening(all, 50)).toBeNull();
  });
});

it.each([
  ['', null],
  ['?at=90', 90_000],
  ['?at=0', 0],
  ['?at=-1', '-1'],
  ['?at=1.5', '1.5'],
  ['?at=99999999', '99999999'],
])('the address %s names the moment %s', (query, moment) => {
  expect(momentOf(query)).toBe(moment);
});
