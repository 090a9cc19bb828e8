/** A thermometer beside a bath's ledger in a real browser: shown, offered, and never entered by itself. */

import { createServer, type AddressInfo, type Socket } from 'node:net';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { expectSound, HurriedBench, launch, Visitor } from './harness.ts';

const lines = new Set<Socket>();
let celsius = '21.44';
const sensor = createServer((socket) => {
  lines.add(socket);
  const timer = setInterval(() => socket.write(`${celsius}\n`), 300);
  socket.on('error', () => undefined);
  socket.on('close', () => clearInterval(timer));
});
let browser: Browser;
let bench: HurriedBench;
let visitor: Visitor;

beforeAll(async () => {
  const port = await new Promise<number>((resolve) =>
    sensor.listen(0, '127.0.0.1', () => resolve((sensor.address() as AddressInfo).port)),
  );
  bench = new HurriedBench(
    1,
    `[[tanks.sensors]]
id = "bath"
name = "Bath"
kind = "temperature"
unit = "°C"
staleAfterSeconds = 2
link = { kind = "tcp", host = "127.0.0.1", port = ${port} }
`,
  );
  [browser] = await Promise.all([launch(), bench.start()]);
  visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
});
afterAll(async () => {
  await visitor.close();
  await browser.close();
  await bench.clear();
  for (const line of lines) line.destroy();
  sensor.close();
});

it('is offered for the record, and entered by a press of Enter alone', async () => {
  const { page } = visitor;
  await page.goto(`${bench.url}/baths/beaker/acid-copper-still`);
  await page.getByText('Bath: 21.44 °C now').waitFor();
  await expectSound(visitor, 'bath-thermometer');
  celsius = '22.06';
  await page.getByRole('button', { name: 'Note 22.1 °C' }).click();
  expect(await page.getByLabel('Bath temperature').inputValue()).toBe('22.1');
  expect(await page.getByLabel('Note', { exact: true }).inputValue()).toBe('By the sensor “Bath”.');
  await page.getByText('Nothing is entered yet.').waitFor();
  // What is being entered does not follow the sensor.
  celsius = '23.5';
  await page.getByText('Bath: 23.5 °C now').waitFor();
  expect(await page.getByLabel('Bath temperature').inputValue()).toBe('22.1');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByText('22.1 °C: entered.').waitFor();
  await page.getByText('22.1 °C. By the sensor “Bath”.').waitFor();
  // A silent one has no value, and none is offered.
  for (const line of lines) line.destroy();
  sensor.close();
  await page.getByText('Bath: no value now').waitFor();
  expect(await page.getByRole('button', { name: /^Note \d/ }).count()).toBe(0);
  expect(visitor.complaints).toEqual([]);
});
