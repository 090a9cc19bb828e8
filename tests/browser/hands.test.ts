/** What switches current or takes something away, by keys alone, pressed twice, by two at once, and on a page without its daemon. */

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { runSimulatedRectifier } from '../../drivers/simulated/rectifier.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';
import {
  Asked,
  enterOn,
  focused,
  holdDown,
  overtaken,
  pressTwice,
  tabTo,
  typeInto,
} from './hands.ts';
import { launch, lifecycle, Visitor } from './harness.ts';

let browser: Browser;
let bench: TestBench;
/** Somebody who has only a keyboard, and somebody with a mouse on another screen. */
let keys: Visitor;
let mouse: Visitor;
let pressed: Asked;
let clicked: Asked;

beforeAll(async () => {
  [browser, bench] = await Promise.all([launch(), TestBench.start({ line: 'tcp' })]);
  keys = await Visitor.open(browser, { width: 1280, look: 'dark' });
  mouse = await Visitor.open(browser, { width: 1280, look: 'light' });
  [pressed, clicked] = [new Asked(keys.page), new Asked(mouse.page)];
});

afterAll(async () => {
  await browser.close();
  await bench.clear();
});

const press = (page: Page, name: string | RegExp) =>
  page.getByRole('button', { name, exact: typeof name === 'string' });

const ons = async (): Promise<number> => (await bench.supply.truth()).onsReceived;

async function planned(page: Page): Promise<void> {
  await page.getByText('Worked out for these entries.').waitFor();
}

/** Arms the same twig with a mouse, up to the last press. */
async function planWithMouse(page: Page): Promise<void> {
  await page.goto(`${bench.url}/plan`);
  await page.getByLabel('Name', { exact: true }).fill('Larch twig');
  await page.getByLabel('Length').fill('120');
  await planned(page);
  for (const box of await page.locator('.arming > .tick input').all()) await box.check();
}

it('is planned and looked over by keys alone, each press once', async () => {
  const { page } = keys;
  await page.goto(bench.url);
  await enterOn(page.getByRole('link', { name: 'Plan a run' }));
  await page.getByRole('heading', { level: 1, name: 'Plan' }).waitFor();
  await typeInto(page.getByLabel('Name', { exact: true }), 'Larch twig');
  await typeInto(page.getByLabel('Length'), '120');
  await planned(page);
  await enterOn(page.getByText('Add a part', { exact: true }));
  await enterOn(press(page, 'Hanger'));
  await planned(page);
  await planWithMouse(mouse.page);

  // A probe lets current flow: two presses, and both of them once.
  for (const [name, id] of [
    ['Run the continuity check', 'continuity'],
    ['Run the limits drill', 'drill'],
  ] as const) {
    const before = await ons();
    const asked = pressed.count('probe');
    await tabTo(press(page, name));
    await holdDown(page, 'Enter');
    await page.getByText('This switches the output on').waitFor();
    expect(pressed.count('probe'), 'one press switches nothing').toBe(asked);
    await tabTo(press(page, 'Yes, switch it on'));
    if (id === 'continuity') await holdDown(page, 'Enter');
    else {
      await press(mouse.page, name).click();
      await overtaken(mouse.page, 'probe', {
        press: () => press(mouse.page, 'Yes, switch it on').click(),
        first: async () => {
          const answer = page.waitForResponse((one) => one.url().endsWith('/probe'));
          await holdDown(page, 'Enter');
          await answer;
        },
      });
      await mouse.page.locator('plan-checks .error', { hasText: /\w/ }).waitFor();
    }
    await page
      .locator(`details [data-check=${id}]`)
      .waitFor({ state: 'attached', timeout: 20_000 });
    expect(pressed.count('probe')).toBe(asked + 1);
    expect(await ons()).toBe(before + 1);
    expect(await focused(page), 'the keyboard has kept its place').not.toBe('');
  }
  for (const { text } of checklistItems) {
    await tabTo(page.getByRole('checkbox', { name: text }));
    await page.keyboard.press('Space');
  }
});

it('is armed and started by two at once: one does it, the other is told', async () => {
  const { page } = keys;
  await mouse.page.locator('.arming button.strong[aria-disabled=false]').waitFor();
  await overtaken(mouse.page, 'arm', {
    press: () => press(mouse.page, 'Arm').dblclick(),
    first: async () => {
      await tabTo(press(page, 'Arm'));
      await holdDown(page, 'Enter');
      await page.getByRole('heading', { name: 'Ready to start?' }).waitFor();
    },
  });
  expect(pressed.count('arm')).toBe(1);
  expect(clicked.count('arm')).toBe(1);
  await mouse.page
    .getByText(/has a run already|is not free|already/)
    .first()
    .waitFor();
  expect(await focused(page)).toMatch(/^H1 /);

  await mouse.page.goto(`${bench.url}/run/one`);
  const stays = 'Somebody stays with the bench until the end.';
  await tabTo(page.getByRole('checkbox', { name: stays }));
  await page.keyboard.press('Space');
  await mouse.page.getByRole('checkbox', { name: stays }).check();
  const before = await ons();
  for (const visitor of [keys, mouse]) {
    await visitor.page.locator('button[aria-disabled=false]', { hasText: 'Start at' }).waitFor();
  }
  expect(await ons(), 'armed is not on').toBe(before);
  await overtaken(mouse.page, 'start', {
    press: () => press(mouse.page, /^Start at/).dblclick(),
    first: async () => {
      await tabTo(press(page, /^Start at/));
      await holdDown(page, 'Enter');
      await page.locator('.output', { hasText: 'Output on since' }).waitFor();
    },
  });
  await mouse.page.locator('run-page > .error', { hasText: /\w/ }).waitFor();
  expect([pressed.count('start'), clicked.count('start')]).toEqual([1, 1]);
  expect(await ons()).toBe(before + 1);
  expect(await focused(page)).not.toBe('');
});

it('is changed, lifted and put back by keys, and a double press is one', async () => {
  const { page } = keys;
  await enterOn(page.locator('summary', { hasText: 'Change target or density' }));
  await typeInto(page.locator('#change-density'), '1.2');
  await holdDown(page, 'Enter');
  await page.getByText(/^Density changed from .* to 1\.2\sA\/dm²\.$/).waitFor();
  // The next look has to be at the run as it is after that.
  await expect.poll(() => page.locator('#change-density').inputValue()).toBe('1.2');
  await typeInto(page.locator('#change-density'), '1.4');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'What it comes to' }).waitFor();
  const changes = pressed.count('change');
  await tabTo(press(page, /^Yes, density from/));
  await holdDown(page, 'Enter');
  await page.getByText(/^Density changed from .* to 1\.4\sA\/dm²\.$/).waitFor();
  expect(pressed.count('change')).toBe(changes + 1);
  expect(await focused(page)).not.toBe('');

  // Live data goes by under the focus and does not take it away.
  await tabTo(press(page, 'Lift'), 'Shift+Tab');
  await page.waitForTimeout(1_200);
  expect(await focused(page)).toBe('BUTTON Lift');
  const before = await ons();
  await pressTwice(page, {
    first: async () => {
      await page.keyboard.press('Enter');
      await page.locator('button[aria-disabled=false]', { hasText: 'Put back' }).waitFor();
    },
    second: async () => {
      await page.keyboard.press('Enter');
      await holdDown(page, 'Enter');
    },
  });
  expect((await bench.supply.truth()).outputOn, 'the second press was of the first').toBe(false);
  expect([pressed.count('lift'), pressed.count('put-back')]).toEqual([1, 0]);
  await page.waitForTimeout(800);
  await overtaken(mouse.page, 'put-back', {
    press: () => press(mouse.page, 'Put back').click(),
    first: async () => {
      await tabTo(press(page, 'Put back'));
      await holdDown(page, 'Enter');
      await press(page, 'Lift').waitFor();
    },
  });
  await mouse.page.locator('run-page > .error', { hasText: /\w/ }).waitFor();
  expect(pressed.count('put-back')).toBe(1);
  // The set-points are read back first.
  await until('the output to be on', () => bench.snapshot?.output === 'on');
  expect(await ons()).toBe(before + 1);
  await mouse.page.locator('.output', { hasText: 'Output on since' }).waitFor();
  await pressTwice(mouse.page, {
    first: () => press(mouse.page, 'Lift').dblclick(),
    second: () => press(mouse.page, 'Put back').click(),
  });
  await page.waitForTimeout(400);
  expect([clicked.count('lift'), clicked.count('put-back')]).toEqual([1, 1]);
  expect((await bench.supply.truth()).outputOn).toBe(false);
});

it('shows another part by mouse and by key', async () => {
  const { page } = mouse;
  const parts = page.getByRole('group', { name: 'Another part of the piece' });
  const shown = page.locator('.moment figcaption').first();
  const first = await shown.innerText();
  await parts.getByRole('button').first().click();
  await expect.poll(() => shown.innerText()).not.toBe(first);
  const other = keys.page.getByRole('group', { name: 'Another part of the piece' });
  const before = await keys.page.locator('.moment figcaption').first().innerText();
  await enterOn(other.getByRole('button').first());
  await expect
    .poll(() => keys.page.locator('.moment figcaption').first().innerText())
    .not.toBe(before);
  expect(await focused(keys.page)).toMatch(/^BUTTON /);
});

it('is off by one key, with the focus kept, and acknowledged by one', async () => {
  const { page } = keys;
  await enterOn(press(page, 'Put back'));
  await page.locator('.output', { hasText: 'Output on since' }).waitFor();
  await page.getByRole('heading', { level: 1 }).focus();
  await tabTo(press(page, /^Turn off Tank one/), 'Shift+Tab');
  await holdDown(page, 'Enter');
  await page.getByText(/^Tank one: output off, confirmed/).waitFor();
  expect(pressed.count('stop')).toBe(1);
  expect((await bench.supply.truth()).outputOn).toBe(false);
  await press(page, /^Turn off/).waitFor({ state: 'detached' });
  expect(await focused(page)).not.toBe('');
  // The other screen hears of it without a press.
  await press(mouse.page, /^Turn off/).waitFor({ state: 'detached' });

  await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
  await lifecycle(bench, 'holding');
  await bench.supply.fault('shortCircuit');
  await enterOn(press(page, 'Acknowledge'));
  await press(page, 'Acknowledge').waitFor({ state: 'detached' });
  expect(await focused(page)).not.toBe('');
  await bench.supply.fault('shortCircuit', { on: false });
});

it('is replayed and weighed in by keys alone', async () => {
  const { page } = keys;
  await enterOn(page.getByRole('link', { name: 'Log', exact: true }));
  await enterOn(page.getByRole('link', { name: 'Larch twig' }));
  await tabTo(page.getByLabel('Position in the run'));
  await page.keyboard.press('Home');
  const position = (): Promise<string> => page.getByLabel('Position in the run').inputValue();
  expect(await position()).toBe('0');
  await enterOn(press(page, 'Next event'));
  expect(Number(await position())).toBeGreaterThan(0);
  await enterOn(press(page, 'Play'));
  await expect.poll(position).toBe('1000');
  await page.goBack();
  await page.getByRole('heading', { level: 1, name: 'Log' }).waitFor();
  await page.goto(`${bench.url}/run/one`);
  await enterOn(page.getByRole('link', { name: 'Weigh it in' }));
  await typeInto(page.getByLabel('Mass before'), '12.3');
  await typeInto(page.getByLabel('Mass after'), '12.4');
  await tabTo(press(page, 'Save the weigh-in'));
  const before = pressed.all.length;
  await holdDown(page, 'Enter');
  await page.getByText('Saved.', { exact: true }).waitFor();
  expect(pressed.all.length).toBe(before + 1);
});

it('is brought up by keys without an ON, and taken out by two presses that are two', async () => {
  const supply = await runSimulatedRectifier({
    personality: 'vset-iset',
    line: { kind: 'tcp', port: 0 },
    notice: () => {},
  });
  const { page } = keys;
  try {
    await page.goto(`${bench.url}/setup/supply`);
    const place = page.getByLabel('Another place');
    await tabTo(page.locator('[name=supply-port]'));
    await page.keyboard.press('Space');
    // The last of the ports, whichever there are here.
    if (!(await place.isChecked())) await page.keyboard.press('ArrowUp');
    await typeInto(
      page.getByLabel('Device path, or tcp://address:port'),
      `tcp://127.0.0.1:${supply.port}`,
    );
    await enterOn(press(page, 'Ask who it is'));
    await page.getByText('answers as NIGHTBATH').waitFor({ timeout: 60_000 });
    await typeInto(page.getByLabel('The most current ever'), '2');
    await typeInto(page.getByLabel('The highest voltage ever'), '5');
    await enterOn(press(page, 'Set and read back'));
    await page.getByText('OFF was sent and read back').waitFor({ timeout: 30_000 });
    expect(supply.instrument.truth(0)).toMatchObject({ onsReceived: 0, outputOn: false });
    await typeInto(page.getByLabel('Short name'), 'shelf');
    await typeInto(page.getByLabel('Name', { exact: true }), 'Shelf tank');
    await typeInto(page.getByLabel('Bath in it'), '12');
    await typeInto(page.getByLabel('Anode surface'), '8');
    await tabTo(press(page, 'Save the tank'));
    const before = pressed.count('file');
    await holdDown(page, 'Enter');
    await page.getByText('Shelf tank is saved.').waitFor();
    expect(pressed.count('file')).toBe(before + 1);
  } finally {
    await supply.close();
  }

  await mouse.page.goto(`${bench.url}/setup/tanks`);
  const shelf = mouse.page.locator('.setup-block', { hasText: 'Shelf tank' });
  const saved = clicked.count('file');
  const sure = shelf.getByRole('button', { name: 'Take it out: press again' });
  await pressTwice(mouse.page, {
    first: () => shelf.getByRole('button', { name: 'Take this tank out' }).dblclick(),
    second: () => sure.click(),
  });
  await mouse.page.waitForTimeout(700);
  expect(clicked.count('file'), 'a double press is the first of two').toBe(saved);
  await sure.click();
  await mouse.page.getByText('The tank is out of the settings.').waitFor();
  expect(clicked.count('file')).toBe(saved + 1);
  // Wider limits wait in the file until they are taken into use by a press of their own.
  const one = mouse.page.locator('.setup-block', { hasText: 'Tank one' });
  await one.getByLabel('Most current').fill('4');
  await one.getByRole('button', { name: 'Save', exact: true }).dblclick();
  await mouse.page.getByText('One change waits.').waitFor();
  expect(clicked.count('file')).toBe(saved + 2);
  expect(bench.snapshot?.facts.maxAmps).toBe(3);
});

it('asks a phone for its screen and its notifications, and says what came of it', async () => {
  const context = await browser.newContext({
    viewport: { width: 390, height: 844 },
    isMobile: true,
    hasTouch: true,
    reducedMotion: 'reduce',
  });
  const page = await context.newPage();
  const asBrowser = await context.newCDPSession(page);
  const { browserContextId } = (await asBrowser.send('Target.getTargetInfo')).targetInfo;
  const answer = async (name: string, setting: 'granted' | 'denied' | 'prompt'): Promise<void> => {
    const origin = new URL(bench.url).origin;
    const asked = { permission: { name }, setting, origin };
    await asBrowser.send('Browser.setPermission', {
      ...asked,
      ...(browserContextId !== undefined && { browserContextId }),
    });
  };
  await answer('screen-wake-lock', 'denied');
  await page.goto(`${bench.url}/night`);
  await page.getByText('The screen may go dark: the browser said no').waitFor();
  await answer('screen-wake-lock', 'granted');
  await press(page, 'Keep the screen on').tap();
  await page.getByText('The screen stays on while this page is in front.').waitFor();
  await page.getByRole('link', { name: 'Leave the night view' }).tap();

  await answer('notifications', 'prompt');
  await page.getByRole('link', { name: 'Alerts', exact: true }).tap();
  await page.getByText('Notifications are off on this device.').waitFor();
  // Asked, and not answered yet: it stays as it was until somebody says yes.
  await press(page, 'Allow notifications').tap();
  await page.getByText('Notifications are off on this device.').waitFor();
  await answer('notifications', 'granted');
  await page.getByText('Notifications are on: an alarm shows').waitFor();
  await answer('notifications', 'denied');
  await page.reload();
  await page.getByText('Notifications were refused in this browser.').waitFor();
  await page.getByText('keep the Night view open with its sound armed').waitFor();
  await context.close();
});

it('cannot be switched on from a page that has lost its daemon, which says so', async () => {
  const { page: run } = keys;
  const { page: plan } = mouse;
  await planWithMouse(plan);
  const armed = plan.locator('.arming button.strong');
  await plan.locator('.arming button.strong[aria-disabled=false]').waitFor();
  await armed.click();
  await plan.getByRole('heading', { name: 'Ready to start?' }).waitFor();
  await run.goto(`${bench.url}/run/one`);
  await run.locator('run-start [data-check]').first().waitFor();
  for (const box of await run.locator('run-start [type=checkbox]').all()) await box.check();
  await run.locator('button[aria-disabled=false]', { hasText: 'Start at' }).waitFor();
  await planWithMouse(plan);
  await plan.locator('.checks > details > summary').click();
  await press(plan, 'Run the limits drill').waitFor();
  await bench.kill();
  for (const page of [run, plan]) await page.getByText(/^\s*Not live since/).waitFor();
  const before = [pressed.all.length, clicked.all.length];
  await press(run, /^Start at/).click({ force: true });
  await tabTo(press(run, /^Start at/));
  await run.keyboard.press('Enter');
  await run.getByText('Waits until the page is live again.').first().waitFor();
  await press(plan, 'Arm').click({ force: true });
  await plan.locator('.arming .why', { hasText: 'Waits until the page is live again.' }).waitFor();
  // What was known of the tank is not shown any more, and nothing is offered on it.
  await expect.poll(() => press(plan, 'Run the limits drill').count(), { timeout: 20_000 }).toBe(0);
  await run.waitForTimeout(300);
  expect([pressed.all.length, clicked.all.length], 'nothing was even asked for').toEqual(before);
});

it('has pressed all of this without an error on a console', () => {
  const expected = /status of 4\d\d|ERR_|WebSocket|503/;
  expect(keys.complaints.filter((line) => !expected.test(line))).toEqual([]);
  expect(mouse.complaints.filter((line) => !expected.test(line))).toEqual([]);
});
