/** A night played back in a real browser: keys, marks of events, and an address that keeps the moment. */

import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { launch, Visitor } from './harness.ts';
import { firstNight, logBench, shownInBothLooks } from './log-bench.ts';

let browser: Browser;
let bench: Awaited<ReturnType<typeof logBench>>;

beforeAll(async () => {
  const night = { id: 'tripped', armedWallMs: firstNight, piece: 'Thistle head' } as const;
  [browser, bench] = await Promise.all([
    launch(),
    logBench([{ ...night, end: 'tripped', hours: 5, lifts: [3.5, 4.2], everyMs: 20_000 }]),
  ]);
});

afterAll(async () => {
  await bench.close();
});

it('moves by keys and by marks, the picture and the numbers in step', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/tripped`);
    await page.locator('.uplot canvas').nth(2).waitFor();
    const marks = page.getByRole('group', { name: 'Events of the run' }).getByRole('button');
    await marks.first().waitFor();
    await page.locator('.last-event.grave', { hasText: 'Open circuit.' }).waitFor();
    await shownInBothLooks(visitor, 'replay-page');

    const scrubber = page.getByLabel('Position in the run');
    const grown = page.locator('.big');
    const before = await grown.textContent();
    await marks.nth(1).click();
    expect(Number(await scrubber.inputValue())).toBeLessThan(1000);
    expect(await grown.textContent()).not.toBe(before);
    await expect.poll(() => new URL(page.url()).search).toMatch(/^\?at=\d+$/);
    const moment = new URL(page.url()).search;
    const there = await grown.textContent();
    await page.reload();
    await page.locator('.uplot canvas').nth(2).waitFor();
    expect(new URL(page.url()).search).toBe(moment);
    expect(await grown.textContent()).toBe(there);

    await visitor.resize(1280);
    await scrubber.focus();
    await page.keyboard.press('Home');
    expect(await grown.textContent()).toMatch(/^0\.0\s+µm$/);
    await page.locator('.last-event', { hasText: 'striking begins.' }).waitFor();
    await page.keyboard.press('ArrowRight');
    expect(await scrubber.inputValue()).toBe('1');
    // From one event to the next, and back again.
    const seen: (string | null)[] = [];
    for (let press = 0; press < 3; press += 1) {
      await page.keyboard.press('Shift+ArrowRight');
      seen.push(await page.locator('.last-event').textContent());
    }
    expect(seen.map((text) => text?.trim().slice(9))).toEqual([
      'ramping begins.',
      'holding begins.',
      'Lifted from the page.',
    ]);
    await page.keyboard.press('Shift+ArrowLeft');
    expect(await page.locator('.last-event').textContent()).toBe(seen[1]);

    await page.getByLabel('Speed').selectOption('3600');
    await scrubber.focus();
    await page.keyboard.press('Space');
    await page.getByRole('button', { name: 'Pause' }).waitFor();
    await page.getByRole('button', { name: 'Play' }).waitFor({ timeout: 30_000 });
    expect(await scrubber.inputValue()).toBe('1000');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

it('says what is wrong with the moment of an address, and opens on the whole run', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/tripped?at=midnight`);
    await page.getByText('The address says at=midnight; it must be a whole number').waitFor();
    expect(await page.getByLabel('Position in the run').inputValue()).toBe('1000');
    // A moment past the end is the end.
    await page.goto(`${bench.url}/log/tripped?at=9999999`);
    await page.locator('.uplot canvas').nth(2).waitFor();
    expect(await page.getByLabel('Position in the run').inputValue()).toBe('1000');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});
