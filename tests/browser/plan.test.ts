/** The Plan page in a real browser: slips, sizes, the clock, comparison, undo, reload, carrying on. */

import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, expect, it } from 'vitest';
import { expectSoundAtBoth, HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;
/** One for all tests: a plan is kept by the page, and the last two arm. Its time passes as ours until current flows. */
const bench = new HurriedBench(600);
let visitor: Visitor | null = null;

beforeAll(async () => {
  [browser] = await Promise.all([launch(), bench.start()]);
});

afterEach(async () => {
  await visitor?.close();
  visitor = null;
});

afterAll(() => bench.clear());

async function onPlanPage(width: number): Promise<Visitor> {
  const opened = await Visitor.open(browser, { width, look: 'dark' });
  visitor = opened;
  await opened.page.goto(`${bench.url}/plan`);
  await planned(opened.page);
  return opened;
}

/** Waits until the figures on show are those of the entries as they stand. */
async function planned(page: Page): Promise<void> {
  const status = page.locator('.plan-top .status');
  await expect
    .poll(async () => (await status.textContent())?.trim(), { timeout: 10_000 })
    .toBe('Worked out for these entries.');
}

const density = (page: Page) => page.getByLabel('Current per area (density)');
const startOf = (page: Page) => page.locator('.decisive .fact').nth(1);

async function addLoop(page: Page): Promise<void> {
  await page.getByText('Add a part', { exact: true }).click();
  await page.locator('.adder').getByRole('button', { name: /^Loop/ }).click();
  await planned(page);
}

/** What gives off a poison is refused; one press shows what accepting means, a second one accepts. */
async function poisonByTwoPresses(visitor: Visitor): Promise<void> {
  const { page } = visitor;
  const materials = page.getByText('Materials', { exact: true }).first();
  if (!(await page.locator('#material-name').isVisible())) await materials.click();
  await page.locator('#material-name').fill('lapis lazuli');
  await page.locator('#material-name').press('Enter');
  const refused = page.locator('.notice.is-refuse', { hasText: 'Lapis lazuli' });
  await refused.getByText('Lapis lazuli has to go in all the same').click();
  await refused.getByText(/Accepting makes nothing safe/).waitFor();
  expect(await refused.count(), 'one press accepts nothing').toBe(1);
  await expectSoundAtBoth(visitor, 'plan-poison');
  await refused.getByRole('button', { name: 'Accept Lapis lazuli in the bath' }).click();
  await planned(page);
  await refused.waitFor({ state: 'detached' });
  const accepted = page.locator('.notice', { hasText: 'You have accepted that it is in the bath' });
  await accepted.getByRole('button', { name: 'Keep Lapis lazuli out after all' }).click();
  await refused.waitFor();
  await page.getByRole('button', { name: /^Remove Lapis lazuli/ }).click();
  await planned(page);
}

/** Types a slip, sees it named where it stands, and takes the meaning. */
async function slipAndMeaning(page: Page): Promise<void> {
  await density(page).fill('1 A/in2');
  await page.getByText('Was it a slip?', { exact: true }).waitFor();
  await page.getByText('1 A/in² is 15.5 A/dm².').waitFor();
  await page.getByText('0.1 A/in² would be 1.55 A/dm².').waitFor();
  await page.locator('.notice.is-refuse').first().waitFor();
  // What is refused says so where the numbers are, and leads to the reasons.
  await page.locator('.plan-top .status', { hasText: /^\s*Refused: / }).waitFor();
  await page.locator('.plan-top .pending .decisive').waitFor();
  await page.getByRole('link', { name: 'See why' }).click();
  expect(await page.locator('.notices').first().isVisible()).toBe(true);
  expect(new URL(page.url()).hash).toBe('#plan-reasons');
  expect(await page.locator('.why', { hasText: 'The plan is refused' }).count()).toBe(1);
  await page.getByRole('button', { name: /^Take 0\.1 A\/in²/ }).click();
  expect(await density(page).inputValue()).toBe('0.1 A/in2');
  await planned(page);
  await page.locator('.notice.is-refuse').first().waitFor({ state: 'detached' });
  expect(await page.getByText('Was it a slip?').count()).toBe(0);
}

/** Ends the ring at a size of the ISO scale (ISO 8653: its inner circumference in mm). */
async function endAtRingSize(page: Page): Promise<void> {
  await page.getByLabel('Stop by').selectOption({ label: 'Final size' });
  await page
    .getByLabel('Which size')
    .selectOption({ label: 'Loop: Inside diameter, 17.00 mm now' });
  await page.getByLabel('In', { exact: true }).selectOption({ label: 'ISO' });
  await page.getByLabel('Wanted size').fill('90');
  await page.getByText(/Wanted size is "90"; it must be a ring size of the ISO scale/).waitFor();
  await page.getByLabel('Wanted size').fill('52');
  await planned(page);
  await page.locator('summary', { hasText: 'Sizes before and after' }).click();
  const row = page.locator('.sizes-table tr', { hasText: 'Inside diameter' });
  expect(await row.locator('td').first().textContent()).toBe('17.00');
  expect(await row.locator('td.after').textContent()).toContain((52 / Math.PI).toFixed(2));
  await page.getByText(/From ISO 53, .*, to ISO 52\./).waitFor();
}

/** Puts three densities side by side and takes the fastest. */
async function compareAndTake(page: Page): Promise<void> {
  await page.locator('summary', { hasText: 'Compare densities' }).click();
  const table = page.locator('.compare-table');
  await table.waitFor();
  expect(await table.locator('thead th').count()).toBe(4);
  await page.getByLabel('Density 2').fill('12 A/ft2');
  await table.locator('thead th', { hasText: '1.29' }).waitFor();
  const hours = await table.locator('tr', { hasText: 'Takes' }).locator('td').allTextContents();
  expect(hours).toHaveLength(3);
  expect(Number.parseInt(hours[0] ?? '', 10)).toBeGreaterThan(Number.parseInt(hours[2] ?? '', 10));
  await table.getByRole('button', { name: 'Take 1.29 A/dm²' }).click();
  expect(await density(page).inputValue()).toBe('12 A/ft2');
  await planned(page);
  await table.getByRole('button', { name: 'Taken: 1.29 A/dm²' }).waitFor();
}

/** Asks for the night to be over at a time of day; the density is solved. */
async function doneByClock(page: Page): Promise<string> {
  await page.getByLabel('Stop by').selectOption({ label: 'Thickness' });
  await page.getByLabel('Stop at').fill('100');
  await page.getByLabel('Go by').selectOption({ label: 'the clock' });
  const due = new Date(Date.now() + 10 * 3_600_000).toTimeString().slice(0, 5);
  await page.getByLabel('Done by').fill(due);
  await page.getByText(/A\/dm² is done by/).waitFor();
  await planned(page);
  expect(await startOf(page).textContent()).toContain(due);
  return due;
}

async function reloadKeepsAll(page: Page, due: string): Promise<void> {
  await page.reload();
  await planned(page);
  expect(await page.getByLabel('Done by').inputValue()).toBe(due);
  expect(await page.getByLabel('Stop at').inputValue()).toBe('100');
  expect(await startOf(page).textContent()).toContain(due);
  // The way back is kept too: over the clock to the density that was taken, and on to the piece.
  const undo = page.getByRole('button', { name: 'Undo', exact: true });
  await undo.click();
  await page.getByText('Taken back: Done by.').waitFor();
  await undo.click();
  await page.getByText('Taken back: Go by.').waitFor();
  expect(await density(page).inputValue()).toBe('12 A/ft2');
  await page.getByRole('button', { name: 'Redo', exact: true }).click();
  await page.getByLabel('Done by').waitFor();
}

it('plans by final size and by the clock, compares, takes the meaning of a slip, loses nothing', async () => {
  const opened = await onPlanPage(390);
  const { page } = opened;
  await addLoop(page);
  await poisonByTwoPresses(opened);
  await slipAndMeaning(page);
  await opened.resize(1280);
  await endAtRingSize(page);
  await compareAndTake(page);
  for (const title of ['How even it will be', 'How sure this is', 'What to wrap to']) {
    await page.locator('summary', { hasText: title }).click();
  }
  await page.getByText(/the published ratio of average to least is/).waitFor();
  await page.getByText(/of the doubt is the area of the piece/).waitFor();
  await expectSoundAtBoth(opened, 'plan-open');
  await opened.resize(390);
  const due = await doneByClock(page);
  await expectSoundAtBoth(opened, 'plan-clock');
  await reloadKeepsAll(page, due);
  expect(opened.complaints).toEqual([]);
});

/** A run that carries on, and the way back from it, are still there after a reload. */
async function reloadOnceMore(page: Page): Promise<void> {
  await page.reload();
  await page.getByText(/Carries on from the run of/).waitFor();
  const undo = page.getByRole('button', { name: 'Undo', exact: true });
  await undo.click();
  await page.getByText('Taken back: the earlier run’s plan.').waitFor();
  expect(await page.getByText(/Carries on from the run of/).count()).toBe(0);
  await page.getByRole('button', { name: 'Redo', exact: true }).click();
  await page.getByText(/Carries on from the run of/).waitFor();
  await planned(page);
}

it('arms nothing in place of a run that cannot be carried on, until it is to begin from zero', async () => {
  const { page } = await onPlanPage(390);
  await page.goto(`${bench.url}/plan?continues=no-such-run`);
  const told = page.getByText(/^The earlier run could not be fetched: /);
  await told.waitFor();
  // The answers of a plan come and go; this stays.
  await page.getByLabel('Stop at').fill('120');
  await page.locator('.decisive', { hasText: '120' }).waitFor();
  await told.waitFor();
  expect(new URL(page.url()).search).toBe('?continues=no-such-run');
  for (const box of await page.locator('.arming input[type=checkbox]').all()) await box.check();
  const arm = page.getByRole('button', { name: 'Arm', exact: true });
  expect(await arm.getAttribute('aria-disabled')).toBe('true');
  await page.getByText('The earlier run could not be fetched; see the head of the page.').waitFor();
  expect(await visitor?.overflow()).toBeLessThanOrEqual(0);
  await page.getByRole('button', { name: 'Try again' }).click();
  await told.waitFor();
  await page.getByRole('button', { name: 'Plan from zero instead' }).click();
  await told.waitFor({ state: 'detached' });
  expect(new URL(page.url()).search).toBe('');
  await planned(page);
  await expect.poll(() => arm.getAttribute('aria-disabled')).toBe('false');
});

it('has a way down to arming beside its numbers on a phone, which takes the focus along', async () => {
  const { page, complaints } = await onPlanPage(390);
  const jump = page.getByRole('link', { name: 'To arming' });
  const title = page.getByRole('heading', { name: 'Before arming' });
  await jump.focus();
  await page.keyboard.press('Enter');
  await expect.poll(() => title.evaluate((one) => one === document.activeElement)).toBe(true);
  await expect
    .poll(async () => (await title.boundingBox())?.y ?? -1)
    .toSatisfy((top: number) => top >= 0 && top < 844);
  // The next key goes on from there, not from the head of the page.
  await page.keyboard.press('Tab');
  expect(await page.evaluate(() => document.activeElement?.closest('.arming') !== null)).toBe(true);
  await page.setViewportSize({ width: 1280, height: 800 });
  expect(await jump.isVisible()).toBe(false);
  expect(complaints).toEqual([]);
});

it('says when another tab changes the plan, and loses neither of the two', async () => {
  const { page, complaints } = await onPlanPage(390);
  const stop = page.getByLabel('Stop at');
  await stop.fill('111');
  const other = await page.context().newPage();
  await other.goto(`${bench.url}/plan`);
  await planned(other);
  await other.getByLabel('Stop at').fill('222');
  await page.getByText(/^Another tab of this browser has another plan/).waitFor();
  expect(await stop.inputValue()).toBe('111');
  expect(await visitor?.overflow()).toBeLessThanOrEqual(0);
  await page.getByLabel('Stop by').selectOption({ label: 'Mass' });
  await page.getByLabel('Stop by').selectOption({ label: 'Thickness' });
  const undo = page.getByRole('button', { name: 'Undo', exact: true });
  for (let step = 0; step < 3; step += 1) await undo.click();
  expect(await stop.inputValue(), 'the plan of the other tab').toBe('222');
  await stop.fill('333');
  await other.getByRole('button', { name: 'Go on with the plan of the other tab' }).click();
  expect(await other.getByLabel('Stop at').inputValue()).toBe('333');
  expect(complaints).toEqual([]);
});

/** Asks for what is left to be done by a time of the hurried tank's own clock, and goes back. */
async function restByClock(page: Page): Promise<void> {
  const answer = await page.request.get(`${bench.url}/api/tanks/beaker`);
  const { wallMs } = (await answer.json()) as { wallMs: number };
  const due = new Date(wallMs + 12 * 3_600_000).toTimeString().slice(0, 5);
  await page.getByLabel('Go by').selectOption({ label: 'the clock' });
  await page.getByLabel('Done by').fill(due);
  await page.getByText(/A\/dm² for what is left, if it starts now/).waitFor();
  await page.getByLabel('Go by').selectOption({ label: 'a density' });
  await planned(page);
}

/** Minutes of "4 h 12 min" or "12 min". */
function minutesIn(text: string): number {
  const hours = Number(/(\d+) h/.exec(text)?.[1] ?? 0);
  return hours * 60 + Number(/(\d+) min/.exec(text)?.[1] ?? 0);
}

async function expectFocus(button: Locator): Promise<void> {
  await expect
    .poll(() => button.evaluate((one) => one === document.activeElement), { timeout: 5000 })
    .toBe(true);
}

it('refuses a target that closes an opening until it is accepted by name, and takes that back', async () => {
  const { page, complaints } = await onPlanPage(1280);
  await addLoop(page);
  await page.getByLabel('Inside diameter').fill('0.2');
  await page.getByLabel('Wire diameter').last().fill('0.5');
  await page.getByLabel('Stop at').fill('120');
  const accept = page.getByRole('button', { name: 'Let Loop close', exact: true });
  await accept.click();
  await planned(page);
  await page.getByText(/you have accepted that/).waitFor();
  const takeBack = page.getByRole('button', { name: 'Do not let Loop close' });
  await expectFocus(takeBack);
  await takeBack.click();
  await accept.waitFor();
  await expectFocus(accept);
  await page.getByRole('button', { name: 'Undo', exact: true }).click();
  await page.getByText(/you have accepted that/).waitFor();
  expect(complaints).toEqual([]);
});

it('asks anew before it arms by the clock, where the answer is for an earlier start', async () => {
  const { page, complaints } = await onPlanPage(1280);
  const answer = await page.request.get(`${bench.url}/api/tanks/beaker`);
  const { wallMs } = (await answer.json()) as { wallMs: number };
  await page.getByLabel('Stop at').fill('100');
  const due = new Date(wallMs + 12 * 3_600_000).toTimeString().slice(0, 5);
  await page.getByLabel('Go by').selectOption({ label: 'the clock' });
  await page.getByLabel('Done by').fill(due);
  await page.getByText(/A\/dm² is done by/).waitFor();
  await planned(page);
  // A page asks anew every half minute by itself: this one has just begun.
  await page.reload();
  await page.getByText(/A\/dm² is done by/).waitFor();
  await planned(page);
  for (const box of await page.locator('.arming input[type=checkbox]').all()) await box.check();
  const hours: number[] = [];
  page.on('request', (request) => {
    const body = request.postDataJSON() as {
      target?: { nowWallMs: number };
      plan?: { target: { nowWallMs: number } };
    } | null;
    const asked = body?.target ?? body?.plan?.target;
    if (asked) hours.push(asked.nowWallMs);
  });
  await page.clock.setSystemTime(Date.now() + 61_000);
  await page.getByRole('button', { name: 'Arm', exact: true }).click();
  const ready = page.getByRole('heading', { name: 'Ready to start?' });
  await ready.waitFor();
  expect(hours, 'asked, then armed with that very question').toHaveLength(2);
  expect(hours[1]).toBe(hours[0]);
  expect(hours[0]).toBeGreaterThan(wallMs);
  await page.getByRole('button', { name: 'Disarm' }).click();
  await ready.waitFor({ state: 'detached' });
  expect(complaints).toEqual([]);
});

it('shows the charge and the time still to go of a run that carries on', async () => {
  const opened = await onPlanPage(390);
  const { page } = opened;
  await page.getByLabel('Stop by').selectOption({ label: 'Charge' });
  await page.getByLabel('Stop at').fill('0.3');
  await planned(page);
  for (const box of await page.locator('.arming input[type=checkbox]').all()) await box.check();
  await page.getByRole('button', { name: 'Arm', exact: true }).click();
  await page.locator('button[aria-disabled=false]', { hasText: 'Start at' }).click();
  await page.getByText(/^Holding at/).waitFor({ timeout: 30_000 });
  await page.getByRole('button', { name: /^Turn off/ }).click();
  await page.getByRole('link', { name: 'Carry on as a new run' }).click();
  await page.getByText(/^\s*Carries on from the run of “New piece”, /).waitFor();
  expect(new URL(page.url()).search, 'the address asks for it no more').toBe('');
  await planned(page);
  await reloadOnceMore(page);
  const fact = page.locator('.decisive .fact', { hasText: 'Charge still to go' });
  const left = Number.parseFloat((await fact.locator('dd').first().textContent()) ?? '');
  expect(left).toBeGreaterThan(0);
  expect(left).toBeLessThan(0.3);
  await fact.getByText('of 0.30 A·h', { exact: false }).waitFor();
  const time = page.locator('.decisive .fact', { hasText: 'Time still to go' });
  const [toGo, whole] = (await time.locator('dd').allTextContents()).map(minutesIn);
  expect(toGo).toBeGreaterThan(0);
  expect(toGo).toBeLessThan(whole ?? 0);
  await expectSoundAtBoth(opened, 'plan-carry-on');
  await opened.resize(1280);
  await restByClock(page);
  // A target that the earlier run has passed cannot be armed, and the button says so.
  await page.getByLabel('Stop at').fill('0.01');
  await planned(page);
  await page.getByText('The earlier run has passed this target already.').waitFor();
  await page.getByLabel('Stop at').fill('0.3');
  await planned(page);
  for (const box of await page.locator('.arming input[type=checkbox]').all()) await box.check();
  await page.getByRole('button', { name: 'Arm', exact: true }).click();
  await page.getByRole('heading', { name: 'Ready to start?' }).waitFor();
  await page.getByText('Charge still to go').waitFor();
  expect(opened.complaints).toEqual([]);
});
