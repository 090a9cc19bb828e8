/** A bench that does not go to plan, seen in a real browser: off, lift, trips, silence, versions. */

import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';
import { focused } from './hands.ts';
import { expectSoundAtBoth, HurriedBench, launch, lifecycle, Visitor } from './harness.ts';

let browser: Browser;
let visitor: Visitor | null = null;

beforeAll(async () => {
  browser = await launch();
});

afterEach(async () => {
  await visitor?.close();
  visitor = null;
});

const goingOn = 'Acknowledged alarms that go on';

describe('a run on a supply of its own', () => {
  let on: TestBench;
  beforeAll(async () => {
    on = await TestBench.start({ line: 'tcp' });
  });
  afterAll(() => on.clear());

  /** With current flowing in its hold, in a new run where the last one is over, and a phone on its page. */
  async function runningOnPhone(): Promise<Visitor> {
    if (on.snapshot?.output !== 'on') {
      const start = { strikeShare: 0.5, strikeMinutes: 0.02, rampMinutes: 0.02 };
      await on.run(shortPlan({ target: { kind: 'charge', ampHours: 2 }, start }));
    }
    const phone = await Visitor.open(browser, { width: 390, look: 'dark' });
    visitor = phone;
    await phone.page.goto(`${on.url}/run/one`);
    await lifecycle(on, 'holding');
    await phone.page.getByText(/^Holding at/).waitFor();
    return phone;
  }

  it('takes the heading of its page, and leaves the focus there', async () => {
    const laptop = await Visitor.open(browser, { width: 1280, look: 'dark' });
    visitor = laptop;
    const { page } = laptop;
    await page.goto(`${on.url}/run/one`);
    await page.getByRole('heading', { name: 'Tank one', level: 1 }).focus();
    await runningOnPhone();
    await page.getByRole('heading', { name: 'Test sheet', level: 1 }).waitFor();
    expect(await focused(page)).toBe('H1 Test sheet');
    await laptop.close();
  });

  it('is lifted and put back with one press each', async () => {
    const phone = await runningOnPhone();
    const { page } = phone;
    await page.getByRole('button', { name: 'Lift', exact: true }).click();
    await page.getByText('Lifted out. Output off; the charge is kept.').first().waitFor();
    expect((await on.supply.truth()).outputOn).toBe(false);
    await page.locator('.rings .gap').first().waitFor();
    await phone.shot('lifted');
    expect(await phone.axe()).toEqual([]);
    // Where Lift was, a press counts after a rest, so that a double press on Lift is no Put back.
    await page.waitForTimeout(800);
    await page.getByRole('button', { name: 'Put back', exact: true }).click();
    await until('the output to be on again', async () => (await on.supply.truth()).outputOn);
    await page.getByRole('button', { name: 'Lift', exact: true }).waitFor();
    expect(phone.complaints).toEqual([]);
  });

  it('is turned off by one press, and the page says that the supply confirmed it', async () => {
    const phone = await runningOnPhone();
    const { page } = phone;
    expect(await page.getByText('Simulated tank').count(), 'this tank is real to the page').toBe(0);
    await page.getByRole('link', { name: 'Log', exact: true }).click();
    const off = page.getByRole('button', { name: /^Turn off Tank one/ });
    const box = await off.boundingBox();
    expect(box?.height).toBeGreaterThanOrEqual(64);
    expect(box?.width).toBe(390);
    expect((box?.y ?? 0) + (box?.height ?? 0)).toBe(844);
    // Above the switch, with its rule, the page itself can be pressed.
    const bar = await page.locator('off-bar').boundingBox();
    expect((bar?.height ?? 0) - (box?.height ?? 0)).toBeLessThanOrEqual(2);
    await off.click();
    await page.getByText(/^Tank one: output off, confirmed \d\d:\d\d:\d\d\.$/).waitFor();
    expect((await on.supply.truth()).outputOn).toBe(false);
    await off.waitFor({ state: 'detached' });
    await page.goto(`${on.url}/run/one`);
    await page.getByRole('link', { name: 'Carry on as a new run' }).click();
    await page.getByText(/Carries on from the run of/).waitFor();
    await page.getByText('Worked out for these entries.').waitFor();
    await phone.shot('carry-on');
    expect(await phone.axe()).toEqual([]);
    expect(phone.complaints).toEqual([]);
  });

  it('trips on a short with one banner that says what to do, until it is acknowledged', async () => {
    const phone = await runningOnPhone();
    const { page } = phone;
    await on.supply.fault('shortCircuit');
    const banner = page.getByRole('alert').filter({ hasText: 'Stopped: Tank one' });
    await banner.waitFor();
    const text = await banner.textContent();
    expect(text).toContain('What it means');
    expect(text).toContain('What to do');
    await page.locator('.rings .notch').first().waitFor();
    await phone.shot('tripped');
    expect(await phone.axe()).toEqual([]);
    await banner.getByRole('button', { name: 'Acknowledge' }).click();
    await banner.waitFor({ state: 'detached' });
    await on.supply.fault('shortCircuit', { on: false });
    // Acknowledged, and over once the output has been off for some seconds.
    await page.getByRole('region', { name: goingOn }).waitFor({ state: 'detached' });
    expect(phone.complaints).toEqual([]);
  });

  it('keeps what was acknowledged and goes on, quiet, until the supply answers again', async () => {
    const phone = await runningOnPhone();
    const { page } = phone;
    const quiet = page.getByRole('region', { name: goingOn });
    await on.supply.fault('mute');
    const asking = page.getByRole('alert').filter({ hasText: 'Stopped: Tank one' });
    const told = () => on.snapshot?.alarms.map(({ code }) => code) ?? [];
    await until('both alarms', () => told().includes('offUnconfirmed'), 20_000);
    const acknowledge = asking.getByRole('button', { name: 'Acknowledge' });
    await acknowledge.click();
    await until('one of them', () => told().length === 1, 10_000);
    // The page may show the first one for a moment longer; pressing again on that changes nothing.
    await until('the other', async () => {
      if (told().length > 0) await acknowledge.click({ timeout: 1_000 }).catch(() => undefined);
      return told().length === 0;
    });
    await asking.waitFor({ state: 'detached' });
    expect(await quiet.getByRole('listitem').count()).toBe(2);
    await quiet
      .getByText(/^acknowledged at \d\d:\d\d:\d\d, goes on$/)
      .first()
      .waitFor();
    expect(await quiet.getByRole('button').count()).toBe(0);
    await phone.shot('alarms-going-on');
    expect(await phone.axe()).toEqual([]);
    await on.supply.fault('mute', { on: false });
    await quiet.waitFor({ state: 'detached', timeout: 20_000 });
    await page.getByRole('link', { name: 'Alerts', exact: true }).click();
    const history = page.locator('.alarm-log li').first();
    // The page may have read the log a moment before the end was on disk; it hears of it all the same.
    await history.filter({ hasText: /Ended .*\s+Acknowledged / }).waitFor();
    await phone.shot('alarms-over');
    expect(phone.complaints).toEqual([]);
  });
});

describe('a page that loses its daemon', () => {
  // It dies in the last of the tests.
  const hurried = new HurriedBench(60);
  beforeAll(() => hurried.start());
  afterAll(() => hurried.clear());

  it('asks to be reloaded when the daemon speaks another version', async () => {
    const laptop = await Visitor.open(browser, { width: 1280, look: 'dark' });
    visitor = laptop;
    const { page } = laptop;
    await page.routeWebSocket(/\/api\/live$/, (socket) => {
      const server = socket.connectToServer();
      server.onMessage((message) => {
        socket.send(String(message).replace(/"wireVersion":\d+/, '"wireVersion":999'));
      });
    });
    await page.goto(hurried.url);
    await page.getByRole('button', { name: 'Reload this page' }).waitFor();
    expect(await page.locator('article.tank').count(), 'no half page').toBe(0);
    await laptop.close();

    // A page that comes back from behind another one asks by itself, beside its socket.
    const woken = await Visitor.open(browser, { width: 1280, look: 'dark' });
    visitor = woken;
    await woken.page.route(/\/api\/bench$/, async (route) => {
      const response = await route.fetch();
      const body = (await response.text()).replace(/"wireVersion":\d+/, '"wireVersion":999');
      await route.fulfill({ response, body });
    });
    await woken.page.goto(hurried.url);
    await woken.page.locator('article.tank').first().waitFor();
    await woken.page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
    await woken.page.getByRole('button', { name: 'Reload this page' }).waitFor();
  });

  it('says on every page that a piece is to be turned, until somebody has turned it', async () => {
    const phone = await Visitor.open(browser, { width: 390, look: 'dark' });
    visitor = phone;
    const { page } = phone;
    await page.goto(hurried.url);
    await page.getByRole('button', { name: 'Run the demo night' }).click();
    await page.locator('#turn-minutes').fill('5');
    await page.getByRole('button', { name: 'Remind me' }).click();
    await page.locator('.turning .due').waitFor();
    const line = page.locator('turn-line').getByText('Turn the piece: it is due.');
    expect(await line.count(), 'its own page says it at its place').toBe(0);
    // It calls from a page on which nothing else tells of it.
    const due = { state: 'visible' } as const;
    for (const name of ['Bench', 'Log']) {
      await page.getByRole('link', { name, exact: true }).click();
      await line.waitFor(due);
      expect(await page.title()).toMatch(/^\(!\) Note: /);
    }
    await phone.shot('turn-due-log');
    await page.goto(`${hurried.url}/night`);
    await page.locator('.night-figure').waitFor();
    await line.waitFor(due);
    await expectSoundAtBoth(phone, 'turn-due-night');
    await page.getByRole('button', { name: 'Turned', exact: true }).press('Enter');
    await line.waitFor({ state: 'detached' });
    // The keyboard keeps its place.
    const focused = () => page.evaluate(() => document.activeElement?.localName);
    await expect.poll(focused).toBe('turn-line');
    expect(phone.complaints).toEqual([]);
    await page.goto(hurried.url);
    await page.getByRole('link', { name: 'Look at the run' }).click();
    await page.getByText(/^1 done, \d+ missed\.$/).waitFor();
    // Nothing is turned in what the next test begins.
    await page.getByRole('button', { name: /^Turn off/ }).click();
    await page.getByText(/output off, confirmed/).waitFor();
    await page.getByRole('link', { name: 'Bench', exact: true }).click();
    await line.waitFor({ state: 'detached' });
  });

  it('greys its numbers, asks for the hand when off cannot be confirmed, and comes back', async () => {
    const laptop = await Visitor.open(browser, { width: 1280, look: 'dark' });
    visitor = laptop;
    const { page } = laptop;
    await page.goto(hurried.url);
    await page.getByRole('button', { name: 'Run the demo night' }).click();
    await page.getByRole('heading', { name: 'Teasel head, cast resin' }).waitFor();
    await page.locator('.output', { hasText: 'Output on since' }).waitFor();
    await hurried.kill();
    await page.getByText(/Not live since \d\d:\d\d:\d\d\./).waitFor();
    expect(await page.locator('main.stale').count()).toBe(1);
    const grey = await page.locator('.big .figure').evaluate((e) => getComputedStyle(e).opacity);
    expect(Number(grey)).toBeLessThan(0.6);
    const lift = page.getByRole('button', { name: 'Lift', exact: true });
    expect(await lift.getAttribute('aria-disabled')).toBe('true');
    await page.getByText('Waits until the page is live again.').first().waitFor();
    await laptop.shot('stale');
    await page.getByRole('button', { name: /^Turn off/ }).click();
    await page.getByText('not confirmed. Switch the supply off by hand.').first().waitFor();
    await laptop.shot('not-confirmed');
    await hurried.start();
    await page
      .getByText(/output off, confirmed/)
      .first()
      .waitFor({ timeout: 20_000 });
    await page.locator('main.stale').waitFor({ state: 'detached' });
    const network = laptop.complaints.filter((line) => !/ERR_|WebSocket|503/.test(line));
    expect(network).toEqual([]);
  });
});
