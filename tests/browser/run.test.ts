/** The Run page in a real browser: changes, turns, notes and photos on a run that is under way. */

import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';
import { expectSound, launch, lifecycle, Visitor } from './harness.ts';

let browser: Browser;
/** With a run of 2 A·h in its hold, for all tests; the last one switches it off. */
let on: TestBench;
const visitors: Visitor[] = [];

beforeAll(async () => {
  [browser, on] = await Promise.all([launch(), TestBench.start({ line: 'tcp' })]);
  const start = { strikeShare: 0.5, strikeMinutes: 0.02, rampMinutes: 0.02 };
  await on.run(shortPlan({ target: { kind: 'charge', ampHours: 2 }, start }));
  await lifecycle(on, 'holding');
});

afterEach(async () => {
  for (const visitor of visitors.splice(0)) await visitor.close();
});

afterAll(() => on.clear());

/** So many pages on the run. */
async function onRun(...widths: readonly number[]): Promise<readonly Visitor[]> {
  for (const width of widths) {
    const visitor = await Visitor.open(browser, { width, look: 'dark' });
    visitors.push(visitor);
    await visitor.page.goto(`${on.url}/run/one`);
    await visitor.page.getByText(/^Holding at/).waitFor();
  }
  return visitors;
}

async function changeTo(page: Page, field: 'target' | 'density', value: string): Promise<void> {
  const input = page.locator(`#change-${field}`);
  if (!(await input.isVisible())) await page.getByText('Change target or density').click();
  await input.fill(value);
  await page.locator('form', { has: input }).getByRole('button', { name: 'Change' }).click();
}

function truthOf(page: Page, selector: string): Promise<string> {
  return page.locator(selector).first().innerText();
}

describe('a run under way', () => {
  it('takes another target and density from one of two pages, and tells the other to look again', async () => {
    const [laptop, phone] = await onRun(1280, 390);
    if (!laptop || !phone) throw new Error('two pages were asked for');
    const before = (await on.supply.truth()).amps;
    await laptop.page
      .getByText(/Next: at 2\.00\sA·h \(about .*\) the output goes off by itself\./)
      .waitFor();
    // Lower is one press.
    await changeTo(laptop.page, 'density', '1.2');
    await laptop.page.getByText(/^Density changed from .* to 1\.2\sA\/dm²\.$/).waitFor();
    await until('less current', async () => (await on.supply.truth()).amps < 0.9 * before);
    // Further is two, with what it comes to between them. It opens on what the run stops by.
    await phone.page.getByText('Change target or density').click();
    const by = phone.page.getByLabel('Stop by');
    await expect.poll(() => by.inputValue()).toBe('charge');
    expect(await phone.page.locator('#change-target').inputValue()).toBe('2');
    await by.selectOption('thickness');
    await changeTo(phone.page, 'target', '95');
    await phone.page.getByRole('heading', { name: 'What it comes to' }).waitFor();
    await expectSound(phone, 'change-look');
    expect(on.snapshot?.run?.targetMicrometres).toBeLessThan(94);
    // Meanwhile somebody else changes something: the second press would be for what is no more.
    await changeTo(laptop.page, 'density', '1.1');
    await laptop.page.getByText(/to 1\.1\sA\/dm²\.$/).waitFor();
    await phone.page.getByText('The run has moved on since. Look again.').waitFor();
    await changeTo(phone.page, 'target', '95');
    await phone.page.getByRole('button', { name: /^Yes, target from .* to 95\sµm$/ }).click();
    await phone.page.getByText(/^Target changed from .* to 95\sµm\.$/).waitFor();
    await until('the target', () => Math.round(on.snapshot?.run?.targetMicrometres ?? 0) === 95);
    await laptop.page.getByText(/Next: at 95\sµm the output goes off by itself\./).waitFor();
    // Too much is refused with its bound, and nothing is changed.
    await changeTo(laptop.page, 'density', '40');
    await laptop.page.getByText(/The density is 40; it must be at most/).waitFor();
    expect(on.snapshot?.run?.holdAmpsPerDm2).toBe(1.1);
    // A target may be told as a mass or as a time too.
    await laptop.page.getByLabel('Stop by').selectOption('time');
    await changeTo(laptop.page, 'target', '0.001');
    await laptop.page.getByText(/The time is 0\.001; it must be more than the/).waitFor();
    await laptop.page.getByLabel('Stop by').selectOption('mass');
    const grams = Number(await laptop.page.locator('#change-target').inputValue());
    expect(grams).toBeGreaterThan(0);
    await changeTo(laptop.page, 'target', String(1.1 * grams));
    await laptop.page.getByRole('button', { name: /^Yes, target from 95\sµm to .*\sg$/ }).waitFor();
    await laptop.page.getByRole('button', { name: 'Leave it as it is' }).click();
    await laptop.page.getByText(/Target changed from .* by the page\./).waitFor();
    await expectSound(laptop, 'changed');
    const refusals = (line: string): boolean => !/change-look/.test(line);
    expect(laptop.complaints.filter(refusals)).toEqual([]);
    expect(phone.complaints).toEqual([]);
  });

  it('keeps notes and photos, reminds of turning, shows its curves closer and its parts one by one', async () => {
    const [phone] = await onRun(390);
    if (!phone) throw new Error('a page was asked for');
    const { page } = phone;
    await page.getByRole('button', { name: 'Keep it' }).click();
    await page.getByText('Write something, or choose a photo.').waitFor();
    await page.getByLabel('A note').fill('Dull near the stem.');
    const buffer = await page.screenshot();
    await page.setInputFiles('.file input', { name: 'piece.png', mimeType: 'image/png', buffer });
    await page.getByText('Photo: piece.png').waitFor();
    await page.getByRole('button', { name: 'Keep it' }).click();
    const picture = page.locator('.note-list img');
    await picture.waitFor();
    await until('the photo', () =>
      picture.evaluate((e) => (e as HTMLImageElement).naturalWidth > 0),
    );
    await page.getByText('Photo and note by the page: Dull near the stem.').waitFor();
    // A text that is no photo is refused in words, and what was written stays.
    await page.getByLabel('A note').fill('Second note.');
    await page.setInputFiles('.file input', fileURLToPath(import.meta.url));
    await page.getByRole('button', { name: 'Keep it' }).click();
    await page.locator('run-notes .error', { hasText: /\w/ }).waitFor();
    expect(await page.getByLabel('A note').inputValue()).toBe('Second note.');
    await page.getByRole('button', { name: 'Without the photo' }).click();
    await page.getByRole('button', { name: 'Keep it' }).click();
    await page.locator('.note-text', { hasText: 'Second note.' }).waitFor();
    await page.locator('#turn-minutes').fill('2');
    await page.getByRole('button', { name: 'Remind me' }).click();
    await page.getByText('Enter 5 to 1440 minutes.').waitFor();
    await page.locator('#turn-minutes').fill('30');
    await page.getByRole('button', { name: 'Remind me' }).click();
    await page.getByText(/Next turn in (29|30)\smin with the output on\./).waitFor();
    await page.getByRole('button', { name: 'Turned', exact: true }).click();
    await page.getByText('1 done, 0 missed.').waitFor();
    await page.getByText('Turned by the page.').waitFor();
    await expect.poll(() => on.snapshot?.run?.turning).toMatchObject({ everyMinutes: 30, done: 1 });
    await page.locator('summary', { hasText: 'Curves' }).click();
    await page.locator('.plots canvas').nth(4).waitFor();
    expect(await truthOf(page, '.curve-title')).toContain('Current');
    await page.getByText('Resistance of the cell').waitFor();
    await page.getByText('The broad pale line is the plan.', { exact: false }).waitFor();
    await expectSound(phone, 'run-book');
    expect(phone.complaints).toEqual([]);
  });
});

describe('the off switch', () => {
  it('is on every page while an output is on', async () => {
    const [phone] = await onRun(390);
    if (!phone) throw new Error('a page was asked for');
    const run = on.snapshot?.run?.id ?? '';
    const pages: readonly (readonly [path: string, opens: string])[] = [
      ['/', 'bench-page'],
      ['/plan', 'plan-page'],
      ['/run/one', 'run-page'],
      ['/log', 'log-page'],
      [`/log/${run}`, 'replay-page h1'],
      [`/compare?runs=${run}`, 'compare-page h1'],
      [`/report/${run}`, 'report-page h1'],
      [`/weigh-in/${run}`, 'weigh-in-page h1'],
      ['/baths', 'ledger-page h1'],
      [`/baths/one/${on.snapshot?.bathId}`, 'ledger-page h1'],
      ['/alerts', 'alerts-page'],
      ['/night', 'night-page'],
      ['/cautions', 'cautions-page'],
      ['/setup', 'overview-part .setup-parts'],
      ['/setup/supply', 'supply-part .setup-steps'],
      ['/setup/tanks', 'tanks-part .fields'],
      ['/setup/baths', 'baths-part h2'],
      ['/setup/alerts', 'alerts-part .fields'],
      ['/setup/access', 'access-part .setup-roles'],
      ['/setup/units', 'units-part .fields'],
      ['/nowhere', 'h1'],
    ];
    for (const [path, opens] of pages) {
      await phone.page.goto(`${on.url}${path}`);
      await phone.page.locator(opens).first().waitFor();
      const off = phone.page.getByRole('button', { name: /^Turn off Tank one/ });
      await off.waitFor();
      const box = await off.boundingBox();
      expect(Math.round((box?.y ?? 0) + (box?.height ?? 0)), path).toBe(844);
    }
    await phone.page.getByRole('button', { name: /^Turn off Tank one/ }).click();
    await phone.page.getByText(/output off, confirmed/).waitFor();
    expect((await on.supply.truth()).outputOn).toBe(false);
  });
});
