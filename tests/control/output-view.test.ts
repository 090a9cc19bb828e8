/** What an idle output is taken for, and when a measured current counts as one. */

import { describe, expect, it } from 'vitest';
import { OutputView } from '../../daemon/control/output-view.ts';
import { realClock } from '../../daemon/control/clock.ts';

describe('an idle output', () => {
  it('is on at the word of the supply, or while current flows whatever the supply says', () => {
    const view = new OutputView(realClock, 0.01);
    expect(view.idle).toBe('unknown');
    view.believe(false, 0);
    expect(view.idle).toBe('confirmedOff');
    view.believe(true, 0);
    expect(view.idle).toBe('on');
    view.believe(false, -0.3);
    expect(view.idle).toBe('on');
    view.believe(null, 0.009);
    expect(view.idle).toBe('confirmedOff');
  });

  it('counts as live by current alone from the second reading on', () => {
    const view = new OutputView(realClock, 0.01);
    expect(view.believe(false, 0.02)).toBe(false);
    expect(view.believe(false, 0.02)).toBe(true);
    expect(view.believe(false, 0)).toBe(false);
    expect(view.believe(true, 0)).toBe(true);
  });

  it('does not hold the current of the night against the first reading after a confirmed OFF', () => {
    const view = new OutputView(realClock, 0.01);
    for (let count = 0; count < 50; count += 1) view.believe(true, 0.8);
    view.idle = 'confirmedOff';
    expect(view.believe(false, 0.012)).toBe(false);
  });
});
