/** A page that started a steady current and is left: it stops that run, and no other. */

import { beforeEach, describe, expect, it } from 'vitest';
import type { RunOutcome } from '../../daemon/run/model.ts';
import { OwnRun } from '../../dashboard/setup/own-run.ts';

const over: RunOutcome = { end: 'reached', reason: 'Off by itself.', faultCode: null };
const flowing = { id: 'own', outcome: null };
const ended = { id: 'own', outcome: over };
const other = { id: 'other', outcome: null };

describe('the run that a page has started', () => {
  let own = new OwnRun();
  beforeEach(() => {
    own = new OwnRun();
    own.begun('tank one', 'own');
  });

  it('is stopped by its name when the page is left, and only once', () => {
    own.see(flowing);
    expect(own.farewell()).toBe('/api/tanks/tank%20one/stop?runId=own');
    expect(own.farewell()).toBe('');
  });

  it('is stopped too where its first word has not come yet', () => {
    own.see(null);
    own.see({ id: 'earlier', outcome: over });
    expect(own.farewell()).toBe('/api/tanks/tank%20one/stop?runId=own');
  });

  it.each([
    ['it has ended', [flowing, ended]],
    ['it has ended and another has begun', [flowing, ended, other]],
    ['another has begun and its end was not heard', [flowing, other]],
  ])('says nothing more once %s', (_what, heard) => {
    for (const run of heard) own.see(run);
    expect(own.farewell()).toBe('');
  });

  it('is told from others, and none is where nothing was started', () => {
    expect([own.isThis(ended), own.isThis(other), own.isThis(null)]).toEqual([true, false, false]);
    const none = new OwnRun();
    none.see(other);
    expect([none.isThis({ id: '', outcome: null }), none.farewell()]).toEqual([false, '']);
    none.begun('tank', '');
    expect(none.farewell()).toBe('');
  });
});
