/** A phone beside the bed in a real browser: the Night view, and a device that calls until it is answered. */

import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';
import { expectSound, launch, lifecycle, Visitor } from './harness.ts';

let browser: Browser;
let visitor: Visitor | null = null;
/** For both tests: the first one has no run on it. */
let on: TestBench;

beforeAll(async () => {
  [browser, on] = await Promise.all([launch(), TestBench.start({ line: 'tcp' })]);
});

afterEach(async () => {
  await visitor?.close();
  visitor = null;
});

afterAll(() => on.clear());

/** A phone that counts the tones it makes. */
async function phone(more: () => void = () => undefined): Promise<Visitor> {
  const opened = await Visitor.open(browser, { width: 390, look: 'light' });
  visitor = opened;
  await opened.page.addInitScript(() => {
    const counted = globalThis as unknown as { tones: number };
    counted.tones = 0;
    class Counted extends OscillatorNode {
      override start(when?: number): void {
        counted.tones += 1;
        super.start(when);
      }
    }
    globalThis.OscillatorNode = Counted;
  });
  await opened.page.addInitScript(more);
  return opened;
}

function tones({ page }: Visitor): Promise<number> {
  return page.evaluate(() => (globalThis as unknown as { tones: number }).tones);
}

describe('the Night view', () => {
  it('says on a plain address what the browser does not allow there, and what to do instead', async () => {
    // A server under test listens on loopback, which browsers trust: what an address of the network
    // lacks is taken away here.
    const bedside = await phone(() => {
      Object.defineProperty(globalThis, 'isSecureContext', { value: false });
      Reflect.deleteProperty(Navigator.prototype, 'wakeLock');
      Reflect.deleteProperty(globalThis, 'Notification');
    });
    const { page } = bedside;
    await page.goto(`${on.url}/night`);
    await page.getByText('Set the phone itself to keep its screen on', { exact: false }).waitFor();
    await page.getByText('No run is under way.').waitFor();
    await page.getByRole('link', { name: 'Leave the night view' }).click();
    await page.getByRole('link', { name: 'Alerts', exact: true }).click();
    await page
      .getByText('Notifications are not available on this address', { exact: false })
      .waitFor();
    await page
      .getByText('keep the Night view open with its sound armed', { exact: false })
      .waitFor();
    await expectSound(bedside, 'alerts-plain');
    expect(bedside.complaints).toEqual([]);
  });

  it('shows the night on a dark screen, sounds until an alarm is acknowledged, and is off in reach', async () => {
    await on.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
    const bedside = await phone();
    const { page } = bedside;
    await page.goto(`${on.url}/night`);
    await page.locator('.night-figure').waitFor();
    const main = page.locator('main');
    await main.getByText('Sound is off on this device.').waitFor();
    await page.getByText(/^The screen stays on|^The screen may go dark/).waitFor();
    await lifecycle(on, 'holding');
    await page.getByText(/^Holding at/).waitFor();
    await expectSound(bedside, 'night');
    const ground = await page.evaluate(
      () => getComputedStyle(document.documentElement).backgroundColor,
    );
    expect(ground).toBe('rgb(0, 0, 0)');
    expect(await page.locator('header').isVisible()).toBe(false);
    const box = await page.getByRole('button', { name: /^Turn off Tank one/ }).boundingBox();
    expect((box?.y ?? 0) + (box?.height ?? 0)).toBe(844);
    await page.getByRole('button', { name: 'Arm the sound' }).click();
    await main.getByText('Sound is armed.').waitFor();
    expect(await tones(bedside), 'nothing asks yet').toBe(0);
    // Each is named for little more than a second, so the page itself keeps what it says.
    const named = await page.evaluateHandle(() => {
      const names = new Set<string>();
      const look = (): void => {
        const name = /This is: (.+?)\./.exec(document.body.textContent ?? '')?.[1];
        if (name !== undefined) names.add(name);
      };
      const all = { childList: true, characterData: true, subtree: true };
      new MutationObserver(look).observe(document.body, all);
      return names;
    });
    await page.getByRole('button', { name: 'Test the sound' }).click();
    await page.getByText('Those were the three.', { exact: false }).waitFor();
    expect(await named.evaluate((names) => [...names])).toEqual(['Note', 'Act soon', 'Stopped']);
    const tested = await tones(bedside);
    expect(tested).toBeGreaterThanOrEqual(9);
    await on.supply.fault('shortCircuit');
    await page.getByRole('alert').filter({ hasText: 'Stopped: Tank one' }).waitFor();
    await until('the alarm to be heard', async () => (await tones(bedside)) >= tested + 6);
    await until('it again', async () => (await tones(bedside)) >= tested + 12, 15_000);
    expect(await page.title()).toMatch(/^\(!\) Stopped: Tank one · Night view/);
    const icon = page.locator('link[rel=icon]');
    expect(await icon.getAttribute('href')).toMatch(/favicon-alarm\.svg$/);
    await expectSound(bedside, 'night-alarm');
    const acknowledge = page.getByRole('button', { name: 'Acknowledge' });
    // It may go away under the press: its answer was on the way.
    await until('nothing to ask', async () => {
      if ((await acknowledge.count()) === 0) return true;
      await acknowledge.click({ timeout: 1_000 }).catch(() => undefined);
      return false;
    });
    await until('the title of a calm night', async () => !(await page.title()).startsWith('(!)'));
    expect(await icon.getAttribute('href')).toMatch(/favicon\.svg$/);
    const answered = await tones(bedside);
    await page.waitForTimeout(7_000);
    expect(await tones(bedside), 'silent once it is answered').toBe(answered);
    // Left and come back to, it is armed by the next press, whatever that is on.
    await page.goto(`${on.url}/alerts`);
    await page.getByText('Sound was armed here before.', { exact: false }).first().waitFor();
    await page.getByRole('heading', { name: 'Alerts' }).click();
    await page.getByText('Sound is armed.').first().waitFor();
    await expectSound(bedside, 'alerts-armed');
    expect(bedside.complaints).toEqual([]);
  });
});
