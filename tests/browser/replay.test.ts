/** A night played back in a real browser: keys, marks of events, and an address that keeps the moment. */

import type { Browser, Page } from 'playwright-core';
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
    await page
      .locator('.last-event', { hasText: 'Started. Output on at a low current.' })
      .waitFor();
    await page.keyboard.press('ArrowRight');
    expect(await scrubber.inputValue()).toBe('1');
    // From one event to the next, and back again.
    const seen: (string | null)[] = [];
    for (let press = 0; press < 3; press += 1) {
      await page.keyboard.press('Shift+ArrowRight');
      seen.push(await page.locator('.last-event').textContent());
    }
    expect(seen.map((text) => text?.trim().slice(9))).toEqual([
      'Ramping up to the full current.',
      'Holding. The current follows the growing area.',
      'Lifted out. Output off; the charge is kept.',
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

/** The time at the reading line with the pointer so far along the curves, ms of that day. */
async function timeAlong(page: Page, share: number): Promise<number> {
  const over = page.locator('[data-curve=current] .u-over');
  await over.evaluate((element) => element.scrollIntoView({ block: 'center' }));
  const box = await over.boundingBox();
  if (box === null) throw new Error('The curve of the current is not on the page.');
  await page.mouse.move(box.x + share * box.width, box.y + box.height / 2);
  // The line is drawn and read in the next frame.
  await page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
  );
  const text = await page.locator('.reading-time').textContent();
  return Date.parse(`1970-01-01T${text?.trim()}Z`);
}

it('shows a lift large by keys alone, says what is shown, and goes along when it plays on', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  const shown = page.locator('.shown-stretch');
  const tabTo = async (name: string): Promise<void> => {
    for (let press = 0; press < 40; press += 1) {
      await page.keyboard.press('Tab');
      const label = await page.evaluate(() => document.activeElement?.textContent?.trim() ?? '');
      if (label === name) return;
    }
    throw new Error(`Tab never came to ${name}.`);
  };
  try {
    await page.goto(`${bench.url}/log/tripped`);
    await page.locator('.uplot canvas').nth(2).waitFor();
    await page.getByText('Shown: all of it.').waitFor();
    // The keys begin at the scrubber and go to the first lift, three and a half hours in.
    await page.getByLabel('Position in the run').focus();
    await page.keyboard.press('Home');
    for (let press = 0; press < 3; press += 1) await page.keyboard.press('Shift+ArrowRight');
    await page.locator('.last-event', { hasText: 'Lifted out.' }).waitFor();
    await tabTo('Closer');
    for (let press = 0; press < 3; press += 1) await page.keyboard.press('Enter');
    expect(await shown.textContent()).toMatch(/Shown: \d\d:\d\d:\d\d to \d\d:\d\d:\d\d, 19 min\./);
    expect(await page.getByRole('status').allTextContents()).toContainEqual(
      (await shown.textContent())?.trim(),
    );
    // Lifted at 01:01 for ten minutes: the pointer reads from the curves themselves what they show.
    await tabTo('Later');
    await page.keyboard.press('Enter');
    await visitor.shot('replay-lift-large');
    const lifted = Date.UTC(1970, 0, 1, 1, 1);
    const [from, to] = [await timeAlong(page, 0.02), await timeAlong(page, 0.98)];
    expect(to - from).toBeLessThan(20 * 60_000);
    expect(from).toBeLessThanOrEqual(lifted + 60_000);
    expect(to).toBeGreaterThanOrEqual(lifted + 9 * 60_000);
    // Where it was lifted, the line says so; in the middle of the lift nothing happened.
    const met = page.locator('.reading-line .met');
    const shareOf = (atMs: number): number => 0.02 + (0.96 * (atMs - from)) / (to - from);
    await timeAlong(page, shareOf(lifted));
    await expect.poll(() => met.allTextContents()).toEqual([expect.stringMatching(/^Lifted out/)]);
    await visitor.shot('replay-event-named');
    await timeAlong(page, shareOf(lifted + 5 * 60_000));
    expect(await met.count()).toBe(0);
    await timeAlong(page, 0.3);
    expect(await page.locator('.curve-title .reading').first().textContent()).toMatch(/^0\.0* A$/);

    // While it plays, what it stands at stays in view.
    await page.mouse.move(0, 0);
    await page.getByRole('button', { name: 'Play' }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => shown.textContent(), { timeout: 20_000 }).toMatch(/Shown: 02:/);
    await page.getByRole('button', { name: 'Pause' }).click();
    await tabTo('All of it');
    await page.keyboard.press('Enter');
    expect((await shown.textContent())?.trim()).toBe('Shown: all of it.');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

it('explains a term where it stands, opened and closed by keys', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/tripped?at=60`);
    const term = page.getByRole('button', { name: 'Strike', exact: true });
    const note = page.getByText('The first minutes, at a low current');
    await term.focus();
    expect(await note.isVisible()).toBe(false);
    expect(await term.getAttribute('aria-expanded')).toBe('false');
    await page.keyboard.press('Enter');
    await note.waitFor();
    expect(await term.getAttribute('aria-expanded')).toBe('true');
    await visitor.shot('replay-term');
    expect(await visitor.axe()).toEqual([]);
    await page.keyboard.press('Escape');
    await note.waitFor({ state: 'hidden' });
    expect(await term.evaluate((element) => element === document.activeElement)).toBe(true);
    await page.keyboard.press('Space');
    await note.waitFor();
    await page.keyboard.press('Space');
    await note.waitFor({ state: 'hidden' });
    // The pointer alone opens nothing.
    await term.hover();
    expect(await note.isVisible()).toBe(false);
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
