/** The Log in a real browser: searching, pages, and an address that keeps them. */

import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { launch, Visitor } from './harness.ts';
import { logBench, shownInBothLooks } from './log-bench.ts';

let browser: Browser;
let bench: Awaited<ReturnType<typeof logBench>>;

beforeAll(async () => {
  [browser, bench] = await Promise.all([launch(), logBench()]);
});

afterAll(async () => {
  await bench.close();
});

const counted = (visitor: Visitor): Promise<string | null> =>
  visitor.page.locator('.found [role=status]').textContent();

it('finds runs by piece, bath, result and day, and keeps the search in its address', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log`);
    await page.getByText('Runs 1 to 20 of 27').waitFor();
    await page.locator('.log svg.thumbnail').first().waitFor();
    await page.locator('.log svg.rings').first().waitFor();
    // What a picture exaggerates is said in letters that can be read, however small the picture.
    for (const width of [390, 1280]) {
      await visitor.resize(width);
      const factor = page.locator('.log .factor', { hasText: 'metal ×2' }).first();
      expect(
        await factor.evaluate((one) => Number.parseFloat(getComputedStyle(one).fontSize)),
      ).toBe(13);
      expect((await factor.boundingBox())?.height).toBe(20);
    }
    await shownInBothLooks(visitor, 'log-page');

    await page.getByRole('link', { name: 'Older', exact: true }).click();
    await page.getByText('Runs 21 to 27 of 27').waitFor();
    expect(new URL(page.url()).search).toBe('?page=2');
    await page.reload();
    await page.getByText('Runs 21 to 27 of 27').waitFor();
    await page.goBack();
    await page.getByText('Runs 1 to 20 of 27').waitFor();

    await visitor.resize(390);
    await page.getByLabel('Piece').pressSequentially('CONE');
    await page.getByText('Runs 1 to 8 of 8').waitFor();
    await page.getByLabel('Result').selectOption('tripped');
    await page.getByText('No run matches.').waitFor();
    await page.getByRole('button', { name: 'Show all' }).click();
    await page.getByText('Runs 1 to 20 of 27').waitFor();
    await page.getByLabel('Result').selectOption('tripped');
    await expect.poll(() => counted(visitor)).toBe('One run');
    await shownInBothLooks(visitor, 'log-found');
    await page.reload();
    await expect.poll(() => counted(visitor)).toBe('One run');
    expect(await page.getByLabel('Result').inputValue()).toBe('tripped');

    // A day finds the night that went on into it.
    await page.goto(`${bench.url}/log?from=2026-01-05&to=2026-01-05`);
    await page.locator('.log li').first().waitFor();
    const found = await page.locator('.log li h2').allTextContents();
    expect(found).toEqual(['Fern tip', 'Alder cone']);
    await page.locator('.log li').first().getByRole('link').first().click();
    await page.getByRole('heading', { name: 'Fern tip', level: 1 }).waitFor();
    await page.goBack();
    await expect.poll(() => page.locator('.log li h2').allTextContents()).toEqual(found);
    expect(await page.getByLabel('From day').inputValue()).toBe('2026-01-05');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

it('names what an address asks for in vain, and shows the rest', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log?from=2026-02-30&result=broken&piece=fern&page=0`);
    await page.getByText('From day was “2026-02-30”; it must be a day').waitFor();
    await page.getByText('Result was “broken”; it must be one of reached').waitFor();
    await page.getByText('Page was “0”; it must be a whole number from 1').waitFor();
    await page.getByText('Runs 1 to 5 of 5').waitFor();
    await page.getByLabel('From day').fill('2026-01-20');
    await page.getByLabel('To day').fill('2026-01-10');
    await page.getByText('To day was “2026-01-10”; it must be 2026-01-20 or later').waitFor();
    await page.goto(`${bench.url}/log?page=9`);
    await page.getByText('There is no page 9 of these.').waitFor();
    await page.getByRole('link', { name: 'Newer' }).click();
    await page.getByText('Runs 21 to 27 of 27').waitFor();
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});
