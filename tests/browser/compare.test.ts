/** Runs chosen in the Log, beside each other on one axis, in a real browser. */

import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { launch, Visitor } from './harness.ts';
import { logBench, shownInBothLooks, studioNights } from './log-bench.ts';

let browser: Browser;
let bench: Awaited<ReturnType<typeof logBench>>;

beforeAll(async () => {
  [browser, bench] = await Promise.all([launch(), logBench(studioNights().slice(0, 9))]);
});

afterAll(async () => {
  await bench.close();
});

it('lays chosen runs out along time, charge and thickness', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log`);
    const boxes = page.locator('.pick input');
    await boxes.first().waitFor();
    expect(await page.getByRole('link', { name: /^Compare \d/ }).count()).toBe(0);
    await boxes.nth(0).check();
    await page.getByText('One chosen; tick another.').waitFor();
    for (const index of [1, 2, 3]) await boxes.nth(index).check();
    await page.getByText('Four chosen').waitFor();
    expect(await boxes.nth(4).isDisabled()).toBe(true);
    await page.reload();
    await page.getByRole('link', { name: 'Compare 4 runs' }).click();

    await page.locator('.uplot canvas').nth(2).waitFor();
    const lines = await page
      .locator('.seat svg')
      .evaluateAll((all) => all.map((one) => one.getAttribute('aria-label')));
    expect(lines).toEqual([
      'A, solid line',
      'B, dashed line',
      'C, dotted line',
      'D, line of dashes and dots',
    ]);
    await shownInBothLooks(visitor, 'compare-time');

    await visitor.resize(390);
    await page.getByLabel('Charge', { exact: true }).check();
    await page.getByText('Charge that has passed, A·h').waitFor();
    expect(new URL(page.url()).searchParams.get('axis')).toBe('charge');
    await page.getByLabel('Thickness', { exact: true }).check();
    await page.getByText('Thickness grown, µm').waitFor();
    await page.reload();
    await page.locator('.uplot canvas').nth(2).waitFor();
    expect(await page.getByLabel('Thickness', { exact: true }).isChecked()).toBe(true);
    await page.locator('.plots').focus();
    await page.keyboard.press('PageUp');
    await page.getByText(/^At \d+ µm/).waitFor();
    await page.getByText('Show as tables').click();
    await shownInBothLooks(visitor, 'compare-thickness');

    await page.getByRole('link', { name: 'Choose others in the Log' }).click();
    await page.getByRole('link', { name: 'Compare 4 runs' }).waitFor();
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

it('says which runs it cannot show, and shows the others', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/compare?runs=night-1,nobody&axis=colour`);
    await page.getByText('nobody is left out. There is no run of that name.').waitFor();
    await page.getByText('The address asks for “colour” as the axis').waitFor();
    await page.getByText('There is only one run here').waitFor();
    await page.locator('.uplot canvas').first().waitFor();
    await page.goto(`${bench.url}/compare?runs=a,b,c,d,e`);
    await page.getByText('The address names no runs to compare').waitFor();
    await page.goto(`${bench.url}/compare`);
    await page.getByText('No runs were chosen.').waitFor();
    // The browser itself reports the run that is not there.
    const others = visitor.complaints.filter((text) => !/404 .*nobody/.test(text));
    expect(others).toEqual([]);
  } finally {
    await visitor.close();
  }
});
