/** The Alerts page in a real browser: a test that arrives, its code, and an alarm in the list. */

import type { Browser } from 'playwright-core';
import { afterEach, beforeAll, expect, it } from 'vitest';
import { WebAddress } from '../alerts/servers.ts';
import { HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;
let visitor: Visitor | null = null;
let bench: HurriedBench | null = null;

beforeAll(async () => {
  browser = await launch();
});
afterEach(async () => {
  await visitor?.close();
  await bench?.clear();
});

it('a channel counts as tried once the code of its test is typed', async () => {
  const address = await WebAddress.open();
  bench = new HurriedBench(
    240,
    `
[[alerts.channels]]
name = "phone"
kind = "webhook"
url = "${address.url}"
[[alerts.channels]]
name = "door bell"
kind = "command"
program = "/no/such/program"
leastPriority = "stopped"
`,
  );
  await bench.start();
  visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  await page.goto(`${bench.url}/`);
  await page.getByRole('link', { name: 'Alerts', exact: true }).click();
  await page.getByText('No test alert was ever confirmed.').waitFor();
  await page.getByText('No alarm yet.').waitFor();
  const [onPhone, onBell] = await page.getByRole('button', { name: 'Send a test' }).all();

  await onBell?.click();
  await page.getByRole('alert').getByText('The program cannot be started').waitFor();
  await onPhone?.click();
  await page.getByRole('status').getByText('Sent on "phone".').waitFor();
  const code = /code (\d{4})/.exec(address.posted[0]?.body ?? '')?.[1] ?? '';
  const said = page.locator('alert-deliveries');
  await said.getByText('on phone').waitFor();
  await said.getByText('Nobody has typed its code yet.').waitFor();
  await said.getByText('Given up after one try.').waitFor();
  expect(await said.textContent()).not.toContain(code);
  // Taken by the address is not arrived.
  await page.getByText('No test alert was ever confirmed.').waitFor();
  const field = page.getByLabel('A test has arrived: its code');
  await field.fill('12');
  await page.getByRole('button', { name: 'It has arrived' }).click();
  await page.getByText('The code has four digits.').waitFor();
  await field.fill(code);
  await page.getByRole('button', { name: 'It has arrived' }).click();
  await page.getByText('The last test alert on "phone" was confirmed today.').waitFor();
  await said.getByText('It arrived: its code was typed').waitFor();
  await visitor.shot('alerts');
  expect(await visitor.axe()).toEqual([]);
  expect(await page.content()).not.toContain('t0ken');
  await page.setViewportSize({ width: 1280, height: 800 });
  await visitor.shot('alerts-wide');
  // The browser notes the answer to the failed test; nothing else may be on its console.
  expect(visitor.complaints.filter((line) => !/409|status of 4/.test(line))).toEqual([]);
});
