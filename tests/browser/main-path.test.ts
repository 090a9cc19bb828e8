/** The main job in a real browser: first visit, plan, arm, start, finished, log, replay. */

import type { Browser } from 'playwright-core';
import { beforeAll, expect, it } from 'vitest';
import { expectSoundAtBoth, HurriedBench, launch, Visitor } from './harness.ts';

/** A night of some hours passes in a few seconds. */
const timeScale = 1500;
let browser: Browser;

beforeAll(async () => {
  browser = await launch();
});

async function planPiece({ page }: Visitor): Promise<void> {
  await page.getByLabel('Name', { exact: true }).fill('Larch twig');
  await page.getByLabel('Length').fill('12O');
  await page.getByText('Length is 12O; it must be a number.').waitFor();
  await page.getByLabel('Length').fill('-5');
  await page.getByText(/Length is -5; it must be a number from/).waitFor();
  await page.getByLabel('Length').fill('120');
  await page.getByText('Add a part', { exact: true }).click();
  await page.getByRole('button', { name: 'Hanger', exact: true }).click();
  await page.getByLabel('Stop at').fill('80');
  await page.getByText('Worked out for these entries.').waitFor();
}

async function armAndStart(visitor: Visitor): Promise<void> {
  const { page } = visitor;
  const arm = page.getByRole('button', { name: 'Arm', exact: true });
  expect(await arm.getAttribute('aria-disabled')).toBe('true');
  await page.getByText('6 checks are still open.').waitFor();
  for (const box of await page.locator('.arming input[type=checkbox]').all()) await box.check();
  expect(await arm.getAttribute('aria-disabled')).toBe('false');
  await arm.click();
  await page.getByRole('heading', { name: 'Ready to start?' }).waitFor();
  const start = page.getByRole('button', { name: /^Start at/ });
  await page.locator('button[aria-disabled=false]', { hasText: 'Start at' }).waitFor();
  await expectSoundAtBoth(visitor, 'armed');
  expect(await page.locator('off-bar .off').count(), 'nothing is on yet').toBe(0);
  await start.click();
}

async function watchReplay(visitor: Visitor): Promise<void> {
  const { page } = visitor;
  await page.getByRole('link', { name: 'Log', exact: true }).click();
  await page.locator('.log svg.rings').first().waitFor();
  await expectSoundAtBoth(visitor, 'log');
  await page.getByRole('link', { name: 'Larch twig' }).click();
  await page.locator('.uplot canvas').first().waitFor();
  await expectSoundAtBoth(visitor, 'replay');
  const grown = page.locator('.big');
  expect(await grown.textContent()).toMatch(/^80\s+µm$/);
  const scrubber = page.getByLabel('Position in the run');
  await scrubber.fill('0');
  expect(await grown.textContent()).toMatch(/^0\.0\s+µm$/);
  await page.getByLabel('Speed').selectOption('3600');
  await page.getByRole('button', { name: 'Play' }).click();
  await expect
    .poll(async () => (await grown.textContent())?.trim(), { timeout: 30_000 })
    .toMatch(/^80\s+µm$/);
  await page.getByRole('button', { name: 'Play' }).waitFor();
  await page.getByRole('button', { name: 'Event before' }).click();
  expect(Number(await scrubber.inputValue())).toBeLessThan(1000);
}

it('goes from the first visit to a finished night and its replay', async () => {
  const bench = new HurriedBench(timeScale);
  await bench.start();
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(bench.url);
    await page.getByRole('heading', { name: 'How it works' }).waitFor();
    await page.getByText('Simulated tank. No real current.').first().waitFor();
    await expectSoundAtBoth(visitor, 'first-visit');
    await page.getByRole('link', { name: 'Plan a run' }).click();
    await planPiece(visitor);
    await expectSoundAtBoth(visitor, 'plan');
    await page.reload();
    await page.getByText('Worked out for these entries.').waitFor();
    expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('Larch twig');
    await armAndStart(visitor);
    // Armed and started on a phone, watched on a laptop, and looked back on with the phone again.
    await visitor.resize(1280);
    await page.getByRole('button', { name: /^Turn off Beaker by the window/ }).waitFor();
    await page.locator('.output', { hasText: 'Output on since' }).waitFor();
    await page.getByText(/^Holding at/).waitFor({ timeout: 30_000 });
    await expectSoundAtBoth(visitor, 'run');
    await page
      .getByText(/^Target reached/)
      .first()
      .waitFor({ timeout: 60_000 });
    await page.locator('.output', { hasText: 'Output off, confirmed' }).waitFor();
    await expectSoundAtBoth(visitor, 'finished');
    expect(await page.locator('off-bar .off').count(), 'nothing is on any more').toBe(0);
    await visitor.resize(390);
    await watchReplay(visitor);
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
    await bench.clear();
  }
});
