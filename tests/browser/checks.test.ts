/** The checks before a start in a real browser, on a supply that is not simulated in the daemon. */

import type { Browser, Page } from 'playwright-core';
import { beforeAll, expect, it } from 'vitest';
import { TestBench } from '../serial/test-bench.ts';
import { expectSoundAtBoth, launch, Visitor } from './harness.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launch();
});

async function planTwig(page: Page): Promise<void> {
  await page.getByRole('link', { name: 'Plan a run' }).first().click();
  await page.getByLabel('Name', { exact: true }).fill('Larch twig');
  await page.getByLabel('Length').fill('120');
  await page.getByText('Worked out for these entries.').waitFor();
}

const row = (page: Page, id: string) => page.locator(`[data-check=${id}]`);

async function probe(page: Page, button: string, id: string, found: RegExp): Promise<void> {
  await page.getByRole('button', { name: button }).click();
  await page.getByText('This switches the output on').waitFor();
  await page.getByRole('button', { name: 'Yes, switch it on' }).click();
  const folded = page.locator('.checks details');
  await expect
    .poll(async () => (await row(page, id).textContent()) ?? '', { timeout: 20_000 })
    .toMatch(found);
  expect(await folded.locator(`[data-check=${id}]`).count(), `${id} is well now`).toBe(1);
}

async function arm(page: Page): Promise<void> {
  for (const box of await page.locator('.arming > .tick input').all()) await box.check();
  await page.getByRole('button', { name: 'Arm', exact: true }).click();
  await page.getByRole('heading', { name: 'Ready to start?' }).waitFor();
  await page.getByText('2 checks stand in the way.').waitFor();
}

it('shows what stands in the way, takes the looks, and starts once it is answered', async () => {
  const bench = await TestBench.start({ line: 'tcp', dialect: 'vset-iset' });
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(bench.url);
    await planTwig(page);
    // Fetched once a person has come down to them.
    await page.locator('.arming').scrollIntoViewIfNeeded();
    await row(page, 'continuity').getByText('has not been looked at yet').waitFor();
    await row(page, 'alerts').waitFor();
    await page.getByText('a mains timer or a contactor').waitFor();
    await expectSoundAtBoth(visitor, 'checks-open');
    await probe(page, 'Run the continuity check', 'continuity', /Closed: 0\.\d+ A at 0\.\d+ V/);
    await probe(page, 'Run the limits drill', 'drill', /read back after \d+ ms/);
    await arm(page);
    const start = page.getByRole('button', { name: /^Start at/ });
    expect(await start.getAttribute('aria-disabled')).toBe('true');
    await row(page, 'protections').getByText('over-current limit').waitFor();
    await row(page, 'protections').getByText('▲ Look at this').waitFor();
    const pace = page.locator('details.reaction');
    // This supply keeps up with the settings: it is there to be opened, and no more.
    expect(await pace.getAttribute('open')).toBeNull();
    await expectSoundAtBoth(visitor, 'checks-armed');
    await pace.getByText('How fast this bench acts').click();
    expect(await pace.getByRole('listitem').allTextContents()).toEqual([
      'The supply is read 4 times a second.',
      'Switched off after 2 s without a valid reading.',
      // Over TCP the supply is reached and asked for its name first.
      'If this program hangs: off within about 2.9 s.',
      'If OFF is not confirmed for 3 s: alarm, and a call where one is set up.',
    ]);
    await expectSoundAtBoth(visitor, 'checks-how-fast');
    await row(page, 'protections').getByRole('checkbox').check();
    await page.getByText('1 check stands in the way.').waitFor();
    await page.getByLabel(/^To leave it alone, type/).fill('nobody will be called');
    await page.locator('button[aria-disabled=false]', { hasText: 'Start at' }).waitFor();
    await expectSoundAtBoth(visitor, 'checks-answered');
    await visitor.resize(1280);
    await start.click();
    await page.locator('.output', { hasText: 'Output on since' }).waitFor();
    await page.getByText(/typed "nobody will be called"/).waitFor();
    await page.getByRole('button', { name: /^Turn off/ }).click();
    await page.locator('.output', { hasText: 'Output off, confirmed' }).waitFor();
    await page.getByRole('link', { name: 'Log', exact: true }).click();
    await page
      .getByText(/above the limit of .* OFF was sent/)
      .first()
      .waitFor();
    await expectSoundAtBoth(visitor, 'checks-log');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
    await bench.clear();
  }
});
