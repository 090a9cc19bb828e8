/** Weigh-in and ledger in a real browser: from the end of a night to an efficiency taken over and undone. */

import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, expect, it } from 'vitest';
import { expectSound, HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;
let visitor: Visitor | null = null;
/** With a night that has reached its target, for both tests; the second one writes in the ledger too. */
const bench = new HurriedBench(2000);
let nightAddress = '';

beforeAll(async () => {
  [browser] = await Promise.all([launch(), bench.start()]);
  const maker = await Visitor.open(browser, { width: 390, look: 'dark' });
  await maker.page.goto(bench.url);
  await maker.page.getByRole('button', { name: 'Run the demo night' }).click();
  await maker.page.getByRole('link', { name: 'Weigh it in' }).waitFor({ timeout: 90_000 });
  nightAddress = maker.page.url();
  expect(maker.complaints).toEqual([]);
  await maker.close();
}, 120_000);

afterEach(async () => {
  await visitor?.close();
});

afterAll(() => bench.clear());

/** What the charge of the run should have left, as the page says it. */
async function expectedGrams(page: Visitor['page']): Promise<number> {
  const text = await page.getByText(/^[\d.]+ g expected$/).innerText();
  return Number.parseFloat(text);
}

it('a bath’s ledger counts what is due, and keeps what was corrected', async () => {
  visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  await page.goto(`${bench.url}/`);
  await page.getByRole('link', { name: 'Baths' }).click();
  await page.getByRole('heading', { name: 'Baths' }).waitFor();
  await expectSound(visitor, 'baths');
  await page.getByRole('link', { name: 'Acid copper, still' }).click();
  await page.getByRole('heading', { name: 'Additions' }).waitFor();
  await expectSound(visitor, 'bath');

  // An addition in place of what is due; nothing else is typed.
  await page.getByRole('button', { name: 'Enter Brightener' }).click();
  await page.getByLabel('Amount').fill('a drop');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByText('Amount is a drop; it must be a number.').waitFor();
  // Less than is due: the rest stays due.
  await page.getByLabel('Amount').fill('0.4');
  await page.getByLabel('Of a dose of').fill('1');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByText('Brightener, 0.4 of 1 mL: entered.').waitFor();
  await page.getByText('0.6 mL due').waitFor();
  await page.getByText('0.6 mL of that dose left').waitFor();
  await expectSound(visitor, 'bath-part');
  await page.getByRole('button', { name: 'Correct: Brightener, 0.4 of 1 mL' }).click();
  await page.getByLabel('Of a dose of').fill('');
  await page.getByRole('button', { name: 'Save the correction' }).click();
  await page.getByText('Nothing due yet').first().waitFor();

  await page.getByRole('button', { name: 'Correct: Brightener, 0.4 mL' }).click();
  await page.getByLabel('Amount').fill('0.5');
  await page.getByRole('button', { name: 'Save the correction' }).click();
  await page.getByText('The correction is saved; the earlier entry is kept.').waitFor();
  await page.getByText('2 corrections').click();
  await page.getByText('Brightener, 0.4 mL; entered by the page').waitFor();
  await page.getByRole('button', { name: 'Take back: Brightener, 0.5 mL' }).click();
  await page.getByText('Taken back; it stays in the record.').waitFor();
  await page.getByRole('button', { name: 'Bring back: Taken back.' }).click();
  await page.getByText('Brought back.').waitFor();

  await page.getByRole('button', { name: 'Note a temperature' }).click();
  await page.getByLabel('Bath temperature').fill('300');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByText('Bath temperature is 300; it must be at most 110.').waitFor();
  expect(await page.getByLabel('Bath temperature').inputValue()).toBe('300');
  await page.getByLabel('Bath temperature').fill('22.5');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByText('22.5 °C: entered.').waitFor();

  await page.getByLabel('What the deposit or the bath looks like').selectOption('rough');
  await page.getByText('A torn anode bag.').waitFor();
  await page.getByRole('button', { name: 'Change the figures' }).click();
  await page.getByLabel('Per A·h').fill('0.1');
  await expectSound(visitor, 'bath-open');
  await page.getByRole('button', { name: 'Save the figures' }).click();
  await page.getByText('The figures are saved.').waitFor();
  await page.getByText('Your own figures.').waitFor();

  await page.setViewportSize({ width: 1280, height: 800 });
  await visitor.shot('bath-wide');
  expect(await visitor.axe()).toEqual([]);
  await page.setViewportSize({ width: 360, height: 780 });
  expect(await visitor.overflow()).toBeLessThanOrEqual(0);
  expect(visitor.complaints.filter((line) => !/status of 422/.test(line))).toEqual([]);
});

it('a night is weighed in, its bath and piece learn from it, and all of it can be undone', async () => {
  visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  await page.goto(nightAddress);
  await page.getByRole('link', { name: 'Weigh it in' }).click();
  await page.getByRole('heading', { name: /^Weigh-in: / }).waitFor();
  await page.getByText('Nothing is weighed or measured yet.').waitFor();
  await expectSound(visitor, 'weigh-in-empty');

  // What cannot be read is named, and stays where it was typed.
  await page.getByLabel('Mass before').fill('12,3');
  await page.getByLabel('Mass after').fill('heavy');
  await page.getByRole('button', { name: 'Save the weigh-in' }).click();
  await page.getByText('Mass after is heavy; it must be a number.').waitFor();
  await page.getByLabel('Mass after').fill('11');
  await page.getByRole('button', { name: 'Save the weigh-in' }).click();
  await page
    .getByText(/mass after is 11 g; it must be more than the mass before, 12.3 g/)
    .waitFor();
  expect(await page.getByLabel('Mass before').inputValue()).toBe('12,3');
  await expectSound(visitor, 'weigh-in-refused');

  // It outlives a reload unsaved.
  await page.reload();
  await page.getByText('What is typed here is not saved yet').waitFor();
  expect(await page.getByLabel('Mass after').inputValue()).toBe('11');

  await page.getByLabel('Mass after').fill('13');
  await page.getByRole('button', { name: 'Save the weigh-in' }).click();
  await page.getByText('Saved.', { exact: true }).waitFor();
  const expected = await expectedGrams(page);
  const planned = 0.985;
  const after = 12.3 + (expected / planned) * 0.96;
  await page.getByLabel('Mass after').fill(after.toFixed(4));
  await page.getByLabel('Balance step').fill('0.001');
  await page.getByText('With callipers').click();
  for (const place of [1, 2, 3]) {
    await page.getByRole('button', { name: 'Another place' }).click();
    await page.getByLabel(`Place ${place}`, { exact: true }).fill(`twig ${place}`);
    await page
      .getByLabel('Before', { exact: true })
      .nth(place - 1)
      .fill('2');
    await page
      .getByLabel('After', { exact: true })
      .nth(place - 1)
      .fill('2.2');
  }
  await page.getByRole('button', { name: 'Save the weigh-in' }).click();
  await page.getByText('Version 2, saved by the page').first().waitFor();
  // 0.96 of what all of the charge would leave; the page shows one decimal of a percent.
  const lead = await page.getByText(/^True efficiency/).innerText();
  const efficiency = Number.parseFloat(/^True efficiency ([\d.]+)/.exec(lead)?.[1] ?? '');
  expect(Math.abs(efficiency - 96)).toBeLessThanOrEqual(0.3);
  await expectSound(visitor, 'weigh-in');

  await page.getByRole('button', { name: /^Plan with 96/ }).click();
  await page.getByText(/Plans in this bath go by 96.* from now on\./).waitFor();
  await page.getByRole('button', { name: /^Keep the piece with the factor/ }).click();
  await page.getByText('Kept in the library as a piece of its own').waitFor();
  await visitor.shot('weigh-in-taken');
  await page.locator('.offers').getByRole('button', { name: 'Undo' }).first().click();
  await page.getByText(/Plans in this bath go by 98.5 % ± 1.5 again\./).waitFor();
  await page.locator('.offers').getByRole('button', { name: 'Undo' }).first().click();
  await page.getByText('The piece is as it was before.').waitFor();
  await page.locator('form.weigh-in').getByRole('button', { name: 'Undo' }).click();
  await page.getByText('As it was before.', { exact: true }).waitFor();
  expect(await page.getByLabel('Mass after').inputValue()).toBe('13');
  await page.setViewportSize({ width: 1280, height: 800 });
  await visitor.shot('weigh-in-wide');
  expect(visitor.complaints.filter((line) => !/status of 422/.test(line))).toEqual([]);
});
