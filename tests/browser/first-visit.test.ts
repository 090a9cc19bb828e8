/** A first visit in a real browser: the bench explains itself, and its cautions stay within reach. */

import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { expectSound, HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;
const bench = new HurriedBench(240);

beforeAll(async () => {
  browser = await launch();
  await bench.start();
});

afterAll(async () => {
  await bench.clear();
});

describe('a first visit', () => {
  it('shows three steps and the cautions once, keeps the cautions at hand, and shows the steps again', async () => {
    const visitor = await Visitor.open(browser, { width: 360, look: 'light' });
    const { page } = visitor;
    await page.goto(bench.url);
    await page.getByRole('heading', { name: 'How it works' }).waitFor();
    expect(await page.locator('.intro ol li').count()).toBe(3);
    await page.getByRole('button', { name: 'Run the demo night' }).waitFor();
    await expectSound(visitor, 'first-visit');
    await page.getByRole('button', { name: 'Put this away' }).click();
    await page.getByRole('heading', { name: 'How it works' }).waitFor({ state: 'detached' });
    await page.reload();
    await page.locator('article.tank').waitFor();
    expect(await page.getByRole('heading', { name: 'How it works' }).count()).toBe(0);
    await page.locator('footer').getByRole('link', { name: 'Cautions' }).click();
    await page.getByRole('heading', { name: 'The waste' }).waitFor();
    await expectSound(visitor, 'cautions');
    await page.getByRole('button', { name: 'Show the first steps again' }).click();
    await page.getByRole('heading', { name: 'How it works' }).waitFor();
    expect(visitor.complaints).toEqual([]);
    await visitor.close();
  });
});
