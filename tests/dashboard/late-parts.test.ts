/** Code that comes late or not at all: what stands in its place, and what can be done about it. */

import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { words } from '../../dashboard/words/en/common.ts';
import { runNowWords } from '../../dashboard/words/en/run-now.ts';
import { LazyCode } from '../../dashboard/lazy-code.ts';
import { fetchPart } from '../../dashboard/on-demand.ts';
import { startWaiting } from '../../dashboard/run/start-waiting.ts';
import { listeners, shownBy } from './templates.ts';

const gone = () => Promise.reject(new TypeError('Failed to fetch dynamically imported module'));
let reloads = 0;

beforeEach(() => {
  reloads = 0;
  vi.stubGlobal('location', { reload: () => (reloads += 1) });
  // A button asks whether a click is the second of two.
  vi.stubGlobal('MouseEvent', class extends Event {});
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

describe('code that a fold waits for', () => {
  it('is offered another try, and after the second failure the page anew', async () => {
    const code = new LazyCode<string>(gone);
    let refreshed = 0;
    const view = (): unknown => code.view(() => (refreshed += 1), String);
    expect(shownBy(view())).toContain(words.loading);
    await vi.waitFor(() => expect(refreshed).toBe(1));
    expect(shownBy(view())).toContain(words.failed);
    expect(shownBy(view())).not.toContain(words.connection.reload);
    for (const press of listeners(view(), 'click', words.again)) press({});
    expect(shownBy(view())).toContain(words.loading);
    await vi.waitFor(() => expect(refreshed).toBe(3));
    expect(shownBy(view())).toContain(words.again);
    const offered = listeners(view(), 'click', words.connection.reload);
    for (const press of offered.slice(-1)) press({});
    expect(reloads).toBe(1);
  });

  it('is shown once it is there', async () => {
    const code = new LazyCode(() => Promise.resolve('here it is'));
    let refreshed = 0;
    const view = (): unknown => code.view(() => (refreshed += 1), String);
    expect(shownBy(view())).toContain(words.loading);
    await vi.waitFor(() => expect(refreshed).toBe(1));
    expect(view()).toBe('here it is');
  });
});

describe('a part that is tried again by itself', () => {
  it('tells of each failure, and of none once it is there', async () => {
    vi.useFakeTimers();
    let tries = 0;
    let failures = 0;
    const fetching = fetchPart(
      () => ((tries += 1) < 3 ? gone() : Promise.resolve()),
      () => (failures += 1),
    );
    await vi.runAllTimersAsync();
    await fetching;
    expect([tries, failures]).toEqual([3, 2]);
  });
});

describe('an armed run whose Start is not there yet', () => {
  it.each([
    [false, runNowWords.startComing],
    [true, runNowWords.startMissing],
  ])('can be disarmed (failed: %s)', (failed, sentence) => {
    let disarmed = 0;
    const view = startWaiting(failed, '', () => (disarmed += 1));
    expect(shownBy(view)).toContain(sentence);
    expect(shownBy(view).includes(words.connection.reload)).toBe(failed);
    for (const press of listeners(view, 'click', runNowWords.disarm)) press({});
    expect(disarmed).toBe(1);
    for (const press of listeners(
      startWaiting(failed, 'Not live.', () => (disarmed += 1)),
      'click',
      runNowWords.disarm,
    )) {
      press({});
    }
    expect(disarmed).toBe(1);
  });

  it('reloads the page where it failed', () => {
    const view = startWaiting(true, '', () => undefined);
    for (const press of listeners(view, 'click', words.connection.reload)) press({});
    expect(reloads).toBe(1);
  });
});
