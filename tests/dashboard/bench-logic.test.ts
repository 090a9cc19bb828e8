/** Small decisions of the pages: addresses, freshness, which alarm is first. */

import { describe, expect, it } from 'vitest';
import type { Alarm } from '../../daemon/wire/run.ts';
import { goingOn, standing } from '../../dashboard/alarm-order.ts';
import { addresses, routeOf } from '../../dashboard/route.ts';
import { backoffMs, freshness, staleAfterMs } from '../../dashboard/staleness.ts';

describe('addresses', () => {
  it('lead to the page that made them', () => {
    expect(routeOf(addresses.bench)).toEqual({ page: 'bench' });
    expect(routeOf(addresses.log)).toEqual({ page: 'log' });
    expect(routeOf(addresses.alerts)).toEqual({ page: 'alerts' });
    expect(routeOf(addresses.setup)).toEqual({ page: 'setup', part: 'start' });
    expect(routeOf(addresses.setupOf('tanks'))).toEqual({ page: 'setup', part: 'tanks' });
    expect(routeOf(addresses.run('a b'))).toEqual({ page: 'run', tankId: 'a b' });
    expect(routeOf(addresses.replay('2026-11'))).toEqual({ page: 'replay', runId: '2026-11' });
    expect(routeOf(addresses.planOn('one'))).toEqual({
      page: 'plan',
      tankId: 'one',
      continues: null,
    });
    expect(routeOf(addresses.carryOn('r1'))).toMatchObject({ page: 'plan', continues: 'r1' });
  });

  it.each(['/nowhere', '/run', '/run/a/b', '/plan/x', '/%zz'])('%s is no page', (path) => {
    expect(routeOf(path)).toEqual({ page: 'unknown' });
  });
});

describe('freshness', () => {
  it('is stale once no frame came for three seconds, or control is away', () => {
    expect(staleAfterMs).toBe(3000);
    expect(freshness(null, 5000, true)).toBe('connecting');
    expect(freshness(2000, 5000, true)).toBe('live');
    expect(freshness(1999, 5000, true)).toBe('stale');
    expect(freshness(5000, 5000, false)).toBe('stale');
  });

  it('tries again at once and then ever more slowly, up to eight seconds', () => {
    expect([0, 1, 2, 3, 4, 50].map(backoffMs)).toEqual([500, 1000, 2000, 4000, 8000, 8000]);
  });
});

function alarm(id: number, priority: Alarm['priority'], changes: Partial<Alarm> = {}): Alarm {
  return {
    id,
    runId: null,
    tankId: 'one',
    wallMs: id,
    priority,
    code: 'silence',
    found: '',
    cause: '',
    remedy: '',
    acknowledgedWallMs: null,
    clearedWallMs: null,
    ...changes,
  };
}

describe('the banner', () => {
  it('shows the gravest first, and of equals the first cause', () => {
    const list = [alarm(1, 'note'), alarm(3, 'stopped'), alarm(2, 'stopped'), alarm(4, 'act-soon')];
    expect(standing(list).map(({ id }) => id)).toEqual([2, 3, 4, 1]);
  });

  it('leaves out what was acknowledged', () => {
    expect(standing([alarm(1, 'stopped', { acknowledgedWallMs: 5 })])).toEqual([]);
  });

  it('keeps what was acknowledged and goes on, quiet, and asks on for what is over', () => {
    const list = [
      alarm(1, 'note', { acknowledgedWallMs: 5 }),
      alarm(2, 'stopped', { acknowledgedWallMs: 6 }),
      alarm(3, 'stopped', { acknowledgedWallMs: 6, clearedWallMs: 7 }),
      alarm(4, 'stopped', { clearedWallMs: 7 }),
    ];
    expect(goingOn(list).map(({ id }) => id)).toEqual([2, 1]);
    expect(standing(list).map(({ id }) => id)).toEqual([4]);
  });
});
