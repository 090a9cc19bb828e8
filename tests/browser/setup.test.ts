/** The Setup page in a real browser: a supply from its port to its drill, every part, conflicts, and the phone. */

import { appendFileSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterEach, beforeAll, expect, it } from 'vitest';
import { runSimulatedRectifier } from '../../drivers/simulated/rectifier.ts';
import { WebAddress } from '../alerts/servers.ts';
import { expectSound, HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;
let visitor: Visitor | null = null;
let bench: HurriedBench | null = null;
const ends: (() => Promise<void>)[] = [];

beforeAll(async () => {
  browser = await launch();
});
afterEach(async () => {
  await visitor?.close();
  await bench?.clear();
  for (const end of ends.splice(0)) await end();
});

async function opened(width: number) {
  bench = new HurriedBench(240);
  await bench.start();
  visitor = await Visitor.open(browser, { width, look: 'dark' });
  return { bench, visitor, page: visitor.page };
}

it('brings a supply up from its port to its limits drill, and makes a tank of it', async () => {
  const supply = await runSimulatedRectifier({
    personality: 'scpi-subsystem',
    line: { kind: 'tcp', port: 0 },
    notice: () => {},
  });
  ends.push(() => supply.close());
  const { bench: on, page, visitor: guest } = await opened(1280);
  await page.goto(`${on.url}/`);
  await page.getByRole('link', { name: 'Setup', exact: true }).click();
  await page.getByRole('navigation', { name: 'Parts of the setup' }).getByText('Supply').click();
  await page.getByLabel('Another place').check();
  const place = page.getByLabel('Device path, or tcp://address:port');
  await place.fill('tcp://127.0.0.1');
  await page.getByText('Type a full device path').waitFor();
  await place.fill(`tcp://127.0.0.1:${supply.port}`);
  await page.getByRole('button', { name: 'Ask who it is' }).click();
  await page.getByText('answers as NIGHTBATH,SIM-30-5').waitFor({ timeout: 60_000 });
  const amps = page.getByLabel('The most current ever');
  await amps.fill('9');
  await page.getByLabel('The highest voltage ever').fill('5');
  await page.getByText('has to be above 0 and at most 5 A').waitFor();
  await amps.fill('2');
  await page.getByRole('button', { name: 'Set and read back' }).click();
  await page.getByText('OFF was sent and read back').waitFor({ timeout: 30_000 });
  // Up to here nothing was switched, and no set-point went above the limits.
  expect(supply.instrument.truth(0)).toMatchObject({ onsReceived: 0, outputOn: false });
  await expectSound(guest, 'setup-supply');
  await page.getByLabel('Short name').fill('shelf');
  await page.getByLabel('Name', { exact: true }).fill('Shelf tank');
  await page.getByLabel('Bath in it').fill('a bucket');
  await page.getByLabel('Anode surface').fill('8');
  await page.getByRole('button', { name: 'Save the tank' }).click();
  await page.getByText(/Bath in it is "a bucket"; it must be a number/).waitFor();
  await page.getByLabel('Bath in it').fill('12');
  await page.getByRole('button', { name: 'Save the tank' }).click();
  await page.getByText('Shelf tank is saved.').waitFor();
  await page.getByText('One change waits.').waitFor();
  await page.getByRole('button', { name: 'Use them now' }).click();
  await page.getByText('The new settings are in use.').waitFor({ timeout: 60_000 });
  // While the bench started anew the page had nobody to talk to.
  guest.complaints.splice(0);
  await page.getByLabel('Which tank').selectOption('shelf');
  await page.getByText('The supply shows: –').waitFor();
  expect(await page.getByText('No current flows.').count()).toBe(1);
  await page.getByRole('button', { name: 'Run the continuity check' }).click();
  await page.getByRole('button', { name: 'Yes, switch it on' }).click();
  await page.getByRole('button', { name: 'Run the limits drill' }).waitFor({ timeout: 60_000 });
  const well = (id: string) => page.locator(`[data-check="${id}"]`).getByText('Well');
  await well('continuity').waitFor({ state: 'attached', timeout: 60_000 });
  await page.getByRole('button', { name: 'Run the limits drill' }).click();
  await page.getByRole('button', { name: 'Yes, switch it on' }).click();
  await well('drill').waitFor({ state: 'attached', timeout: 60_000 });
  expect(supply.instrument.truth(0).outputOn).toBe(false);
  // Its ammeter shows 4 % too little; the reference meter in series shows what truly flows.
  supply.instrument.faults.set('meterError', { ampsShare: -0.04 });
  const isOn = () => supply.instrument.truth(0).outputOn;
  await page.getByLabel('Steady current').fill('0.45');
  await page.getByLabel('Your resistor').fill('30');
  await page.getByLabel('It bears').fill('2');
  await page.getByText('0.45 A turns 6.1 W into heat in it, and it bears 2 W.').waitFor();
  await page.getByLabel('Your resistor').fill('5');
  await page.getByLabel('Steady current').fill('0.1');
  await page.getByRole('button', { name: 'Let it flow' }).click();
  await page.getByRole('button', { name: 'Yes, 0.1 A for up to three minutes' }).click();
  await page.getByText(/^Steady current is 0\.1; it must be a number from 0\.2 to/).waitFor();
  await page.getByLabel('Steady current').fill('0.45');
  await page.getByRole('button', { name: 'Let it flow' }).click();
  await page.getByText('0.45 A turns 1 W into heat in 5 ohms').waitFor();
  await expectSound(guest, 'setup-steady');
  await page.getByRole('button', { name: 'Yes, 0.45 A for up to three minutes' }).click();
  await page.getByText(/^A steady current for the meter\. Off by itself/).waitFor();
  await page.getByLabel('The meter shows').fill('0.45');
  await page.getByText(/Factor 1\.0[34]/).waitFor({ timeout: 30_000 });
  await expectSound(guest, 'setup-meter');
  // Whoever leaves the page reads no meter.
  expect(isOn()).toBe(true);
  await page.getByRole('navigation', { name: 'Parts of the setup' }).getByText('Units').click();
  await expect.poll(isOn, { timeout: 15_000 }).toBe(false);
  await page.getByRole('navigation', { name: 'Parts of the setup' }).getByText('Supply').click();
  await page.getByLabel('Which tank').selectOption('shelf');
  await page.getByLabel('Its output is then').selectOption('on');
  await page.getByText('Put a contactor before it').waitFor();
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('One change waits.').waitFor();
  await expectSound(guest, 'setup-served');
  // Its cable has moved: the line is another one, of another kind, with nothing left of the first.
  await page.getByRole('navigation', { name: 'Parts of the setup' }).getByText('Tanks').click();
  const line = page.locator('tank-line');
  await line.getByText('Its line').click();
  await line.getByLabel('Port').fill('70000');
  await line.getByRole('button', { name: 'Save the line' }).click();
  await line.getByText(/^Port is 70000; it must be a whole number from 1 to 65535/).waitFor();
  await page.getByRole('alert').getByText('What is wrong stands at the field: Port.').waitFor();
  await line.getByLabel('Reached by').selectOption('serial');
  await line.getByLabel('Device').fill('/dev/serial/by-id/usb-shelf');
  await expectSound(guest, 'setup-line');
  await line.getByRole('button', { name: 'Save the line' }).click();
  await page.getByText(/\d changes wait\./).waitFor();
  const saved = readFileSync(join(on.stateFolder, '..', 'bench.toml'), 'utf8');
  expect(saved).toContain('path = "/dev/serial/by-id/usb-shelf"');
  expect(saved).not.toContain('70000');
  expect(saved).not.toContain(`port = ${supply.port}`);
  await page.getByRole('navigation', { name: 'Parts of the setup' }).getByText('Overview').click();
  await page.getByText('Settings: tanks[shelf] added, by the page.').waitFor();
  const refused = (line: string): boolean => /status of 422 .*\/(?:probe|file)$/.test(line);
  expect(guest.complaints.filter((line) => !refused(line))).toEqual([]);
});

it('is sound on a phone, says what is wrong, and shows both sides of a conflict', async () => {
  const address = await WebAddress.open();
  const { bench: on, page, visitor: guest } = await opened(390);
  const file = join(on.stateFolder, '..', 'bench.toml');
  const text = () => readFileSync(file, 'utf8');
  const before = text();
  for (const part of ['', '/baths', '/access']) {
    await page.goto(`${on.url}/setup${part}`);
    await page.getByRole('navigation', { name: 'Parts of the setup' }).waitFor();
    await page.getByText('The settings are being read.').waitFor({ state: 'detached' });
    await expectSound(guest, `setup${part.replace('/', '-')}`);
  }
  await page.goto(`${on.url}/setup/tanks`);
  const amps = page.getByLabel('Most current');
  await amps.fill('900');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText(/Most current is 900; it must be a number from 0.001 to 500/).waitFor();
  expect(text()).toBe(before);
  await expectSound(guest, 'setup-tanks');
  appendFileSync(file, '# a word by hand\n');
  await amps.fill('2.5');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('tanks[0].maxAmps: yours is 2.5, the file now has 3.').waitFor();
  // What was typed is still there; now the page knows the file as it is.
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('One change waits.').waitFor();
  expect(text()).toBe(`${before.replace('maxAmps = 3.0', 'maxAmps = 2.5')}# a word by hand\n`);

  await page.getByText('Sensors: none').click();
  const sensor = page.locator('sensors-block');
  await sensor.getByLabel('Short name').fill('bath');
  await sensor.getByLabel('Name', { exact: true }).fill('Bath probe');
  await sensor.getByLabel('Unit').fill('°C');
  await sensor.getByLabel('Device').fill('ttyUSB9');
  await sensor.getByLabel('Not above').fill('30');
  await sensor.getByRole('button', { name: 'Add a sensor' }).click();
  await sensor.getByText(/^Device is "ttyUSB9"; it must be a full device path/).waitFor();
  await sensor.getByLabel('Device').fill('/dev/ttyUSB9');
  await sensor.getByRole('button', { name: 'Add a sensor' }).click();
  await sensor.getByText('Sensors: 1').waitFor();
  expect(text()).toContain('high = { value = 30, action = "alarm" }');
  expect(text()).toContain('# a word by hand');
  await expectSound(guest, 'setup-sensors');
  await sensor.getByRole('button', { name: 'Take it out' }).click();
  // A second press counts after a rest, so that a double click takes nothing out.
  await page.waitForTimeout(800);
  await sensor.getByRole('button', { name: 'Take it out: press again' }).click();
  await sensor.getByText('Sensors: none').waitFor();

  await page.goto(`${on.url}/setup/alerts`);
  await page.getByLabel('Name', { exact: true }).fill('phone');
  await page.getByText('Such as https://push.example.com/my-bench').waitFor();
  await page.getByLabel('Address to post to').fill(`${address.url}?token=quiet-one`);
  // What is harder stays folded until somebody asks for it, or something in it is wrong.
  const more = page.getByText('More: body, format, headers');
  const body = page.getByLabel('Text of the body');
  expect(await body.isVisible()).toBe(false);
  await expectSound(guest, 'setup-alerts-new');
  await more.click();
  await page.getByLabel('Body', { exact: true }).selectOption('json');
  await body.fill('{"title": {title');
  await more.click();
  await expect.poll(() => body.isVisible()).toBe(false);
  await page.getByRole('button', { name: 'Add a channel' }).click();
  await page.getByText(/^Text of the body is .*; it must be /).waitFor();
  await page
    .getByRole('alert')
    .getByText('What is wrong stands at the field: Text of the body.')
    .waitFor();
  await expectSound(guest, 'setup-alerts-wrong');
  await body.fill('');
  await page.getByLabel('Body', { exact: true }).selectOption('text');
  await page.getByRole('button', { name: 'Add a channel' }).click();
  await page.getByRole('heading', { name: 'phone' }).waitFor();
  expect(text()).not.toContain('quiet-one');
  const added = page.getByRole('region', { name: 'phone' });
  expect(await added.getByText('Headers: none').isVisible()).toBe(false);
  await added.getByText('More: body, format, headers').click();
  await added.getByText('Headers: none').waitFor();
  await page.getByLabel('Name of a header').fill('Authorization');
  await page.getByLabel('Its value').fill('Bearer quiet-two');
  await page.getByRole('button', { name: 'Add the header' }).click();
  await page.getByText('Headers: 1').waitFor();
  await page.getByLabel('New value of Authorization').waitFor();
  await expectSound(guest, 'setup-headers');
  // Opened anew it shows what is set.
  await page.reload();
  await added.getByText('Headers: 1').waitFor();
  expect(text()).not.toContain('quiet-two');
  await page.getByRole('button', { name: 'Use them now' }).click();
  await page.getByText('The new settings are in use.').waitFor({ timeout: 60_000 });
  await page.getByRole('button', { name: 'Send a test' }).click();
  await page.getByText('Sent on "phone".').waitFor();
  const code = /code (\d{4})/.exec(address.posted[0]?.body ?? '')?.[1] ?? '';
  await page.getByLabel('A test has arrived: its code').fill(code);
  await page.getByRole('button', { name: 'It has arrived' }).click();
  await page
    .getByText(/confirmed|arrived/i)
    .first()
    .waitFor();
  expect(address.posted[0]?.headers['authorization']).toBe('Bearer quiet-two');
  expect(await page.content()).not.toMatch(/quiet-(?:one|two)/);
  await expectSound(guest, 'setup-alerts');

  await page.goto(`${on.url}/setup/units`);
  // The shipped settings name no units: the example goes by what the choices then show.
  expect(text()).not.toContain('[units]');
  const gauges = '20 AWG, 0.01 mm thinner; 21 SWG, 0.01 mm thinner';
  const example = (density: string) =>
    page.getByText(`For example: ${density}, 12.7 mm, a wire of 0.80 mm is ${gauges}`, {
      exact: true,
    });
  await example('1.50 A/dm²').waitFor();
  await page.getByLabel('Current density').selectOption('A/ft2');
  await example('13.9 A/ft²').waitFor();
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText(/^Saved in /).waitFor();
  await expectSound(guest, 'setup-units');
  await page.goto(`${on.url}/setup/baths`);
  await page.getByText('4.65 to 18.5 A/ft²').first().waitFor();
  await page.getByRole('button', { name: 'Change the figures of Acid copper, still' }).click();
  await page.getByLabel('Most density').fill('0.2');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page
    .getByText(
      /Most density is 0\.2\sA\/ft²; it must be at least 4\.65\sA\/ft², which is “Least density”/,
    )
    .waitFor();
  await page.getByLabel('Most density').fill('17.7');
  const efficiency = page.getByLabel('Efficiency', { exact: true });
  expect(await efficiency.inputValue()).toBe('98.5');
  await efficiency.fill('0.5');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText(/^Efficiency is 0\.5; it must be 1 to 100 %\./).waitFor();
  await efficiency.fill('97');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText(/^Saved in .*acid-copper-still\.toml\.$/).waitFor();
  await expectSound(guest, 'setup-baths-changed');
  const refused = /status of (?:409|422)|ERR_CONNECTION_REFUSED|WebSocket connection/;
  expect(guest.complaints.filter((line) => !refused.test(line))).toEqual([]);
});

it('offers the addresses of this machine, and tells the one to type on the phone', async () => {
  const { bench: on, page, visitor: guest } = await opened(390);
  // Only loopback is served in tests, so one of its addresses stands for one of a network.
  await page.route('**/api/settings/file', async (route) => {
    if (route.request().method() !== 'GET') return route.continue();
    const answer = await route.fetch();
    const file = (await answer.json()) as object;
    const ownAddresses = [
      { address: '127.0.0.2', network: 'wlan0' },
      { address: 'fd12:3456:789a::7', network: 'wlan0' },
    ];
    return route.fulfill({ response: answer, json: { ...file, ownAddresses } });
  });
  await page.goto(`${on.url}/setup/access`);
  const onPhone = page.getByRole('region', { name: 'On the phone' });
  await onPhone.getByText('Served on this machine only').waitFor();
  await onPhone.getByText('Set a passphrase for “Everything” first.').waitFor();
  await page.getByLabel('127.0.0.2 (wlan0)').check();
  await page.getByLabel('fd12:3456:789a::7 (wlan0)').check();
  const listen = page.getByLabel('Addresses of this machine to serve at');
  expect(await listen.inputValue()).toBe('127.0.0.2, fd12:3456:789a::7');
  await page.getByLabel('fd12:3456:789a::7 (wlan0)').uncheck();
  expect(await listen.inputValue()).toBe('127.0.0.2');
  await expectSound(guest, 'setup-access-choices');
  const save = page.getByRole('button', { name: 'Save', exact: true });
  await save.click();
  await page
    .getByText(/^Addresses of this machine to serve at is set, but no passphrase/)
    .waitFor();
  await page.getByLabel('New passphrase: Everything').fill('thimble oak winter');
  await page.getByRole('button', { name: 'Set passphrase' }).last().click();
  await page.getByText('In force now.').waitFor();
  await save.click();
  await onPhone.getByText('Saved. Once the settings are in use').waitFor();
  await page.getByRole('button', { name: 'Use them now' }).click();
  await page.getByText('The new settings are in use.').waitFor({ timeout: 60_000 });
  const address = (await onPhone.locator('code').innerText()).trim();
  expect(address).toBe(`http://127.0.0.2:${new URL(on.url).port}`);
  await expectSound(guest, 'setup-access-served');

  const phone = await Visitor.open(browser, { width: 390, look: 'dark' });
  ends.push(() => phone.close());
  await phone.page.goto(address);
  await phone.page.getByLabel('Passphrase').fill('thimble oak winter');
  await phone.page.getByRole('button', { name: 'Sign in' }).click();
  await phone.page.getByRole('heading', { name: 'Sign in' }).waitFor({ state: 'detached' });
  await phone.page.goto(`${address}/setup/access`);
  await phone.page.getByText('Who gets in is changed in a browser on the machine').waitFor();
  await phone.page.getByText(address, { exact: true }).waitFor();
  expect(await phone.page.getByLabel('Addresses of this machine to serve at').count()).toBe(0);
});
