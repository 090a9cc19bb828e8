/** Signing in with a real browser: the three passphrases, what each page shows of them, and their end. */

import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Role } from '../../daemon/wire/roles.ts';
import { passphrases, writeHashes } from '../web/sign-in.ts';
import { expectSound, HurriedBench, launch, Visitor } from './harness.ts';
import { misfitsAt, movingOn, stopsOf, widths } from './layout.ts';

let browser: Browser;
const visitors: Visitor[] = [];
let bench: HurriedBench;

beforeAll(async () => {
  browser = await launch();
  bench = new HurriedBench(60, '[web]\nsignInHere = true\n');
  writeHashes(join(bench.stateFolder, 'passphrases.json'));
  await bench.start();
});

afterEach(async () => {
  for (const visitor of visitors.splice(0)) await visitor.close();
});

afterAll(async () => {
  await bench.clear();
});

async function visit(width: number, path = '/'): Promise<Visitor> {
  const visitor = await Visitor.open(browser, { width, look: 'dark' });
  visitors.push(visitor);
  await visitor.page.goto(`${bench.url}${path}`);
  await visitor.page.getByRole('heading', { name: 'Sign in' }).waitFor();
  return visitor;
}

async function enter({ page }: Visitor, role: Role, name = ''): Promise<void> {
  await page.getByLabel('Passphrase').fill(passphrases[role]);
  await page.getByLabel('Your name').fill(name);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.getByRole('heading', { name: 'Sign in' }).waitFor({ state: 'detached' });
}

/** What the browser itself reports of answers that say no. */
function unexpected({ complaints }: Visitor): readonly string[] {
  return complaints.filter((line) => !/status of 401|WebSocket/.test(line));
}

describe('a bench that asks for a passphrase', () => {
  it('still obeys the command line, which speaks to it by a file and never signs in', async () => {
    const laptop = await visit(1280);
    await enter(laptop, 'control', 'Mara');
    await laptop.page.getByRole('button', { name: 'Run the demo night' }).click();
    await laptop.page.locator('.output', { hasText: 'Output on since' }).waitFor();
    expect(await bench.command('off')).toMatchObject({
      code: 0,
      output: expect.stringContaining('Tank beaker: off.') as unknown,
    });
    await laptop.page.getByText('Stopped by the command line.').first().waitFor();
    const runs = await laptop.page.evaluate(async () => {
      const answer = await fetch('/api/runs');
      return (await answer.json()) as { id: string }[];
    });
    const exported = await bench.command('export', runs[0]?.id ?? '', '--json');
    expect(exported.code).toBe(0);
    expect(exported.output).toContain('Demo night asked for by Mara (control) on this machine.');
    expect(unexpected(laptop)).toEqual([]);
  });

  it('shows a way in that works alone, on a narrow phone too', async () => {
    const phone = await visit(360);
    const { page } = phone;
    expect(await page.locator('night-shell').count()).toBe(0);
    await page.getByText('To switch off without signing in').waitFor();
    await expectSound(phone, 'sign-in');
    expect(await misfitsAt(page, widths)).toEqual([]);
    expect(await phone.axe(), 'on a wide screen').toEqual([]);
    expect(await movingOn(page)).toEqual([]);
    expect(await stopsOf(page)).toEqual([]);
    await page.setViewportSize({ width: 360, height: 844 });
    await page.getByRole('button', { name: 'Sign in' }).click();
    await page.getByText('Enter the passphrase.').waitFor();
    await page.getByLabel('Passphrase').fill('not the right one');
    await page.keyboard.press('Enter');
    await page.getByText('That passphrase is not right.').waitFor();
    await expectSound(phone, 'sign-in-refused');
    expect(await page.getByLabel('Passphrase').getAttribute('aria-invalid')).toBe('true');
    expect(unexpected(phone)).toEqual([]);
  });

  it('lets each passphrase do what it is for, and says whose hand it was', async () => {
    const [laptop, phone, wall] = [await visit(1280), await visit(360), await visit(390, '/log')];
    await enter(laptop, 'control', 'Mara');
    await enter(phone, 'stop', 'Rowan');
    await enter(wall, 'view');
    // The address that was asked for is the one that is shown.
    await wall.page.getByRole('heading', { name: 'Log' }).waitFor();
    await laptop.page.getByRole('button', { name: 'Run the demo night' }).click();
    await laptop.page.locator('.output', { hasText: 'Output on since' }).waitFor();

    await wall.page.getByText('You are looking on. Switching off needs').waitFor();
    await wall.page.getByText('This passphrase does not switch off.').waitFor();
    expect(await wall.page.getByRole('button', { name: /^Turn off/ }).count()).toBe(0);
    await expectSound(wall, 'looking-on');

    await phone.page.getByText('You are looking on and can switch off.').waitFor();
    await phone.page.goto(`${bench.url}/run/beaker`);
    const lift = phone.page.getByRole('button', { name: 'Lift', exact: true });
    await lift.waitFor();
    expect(await lift.getAttribute('aria-disabled')).toBe('true');
    await phone.page.getByText('Needs the passphrase for control.').first().waitFor();
    await expectSound(phone, 'stop-only');
    await phone.page.getByRole('button', { name: /^Turn off/ }).click();
    await phone.page
      .getByText(/output off, confirmed/)
      .first()
      .waitFor();

    await laptop.page
      .locator('.events')
      .getByText('Stopped by Rowan (stop) on this machine.')
      .first()
      .waitFor();
    await laptop.page.getByText('Signed in as Mara, for everything.').waitFor();
    await expectSound(laptop, 'signed-in');

    // Everybody out: the pages that are open know it at once, and show nothing as live.
    await laptop.page.getByRole('button', { name: 'Sign everybody out' }).click();
    await laptop.page.getByRole('heading', { name: 'Sign in' }).waitFor();
    await phone.page.getByText('You are not signed in any more.').waitFor();
    expect(await phone.page.locator('main.stale').count()).toBe(1);
    await phone.shot('session-ended');
    // Numbers that are not live are greyed, and that is told in words above them.
    const beside = (await phone.axe()).filter((line) => !/^\w+ color-contrast: /.test(line));
    expect(beside).toEqual([]);
    expect(await phone.overflow()).toBeLessThanOrEqual(0);
    await phone.page.getByRole('button', { name: 'Sign in again' }).click();
    await phone.page.getByRole('heading', { name: 'Sign in' }).waitFor();
    expect(await phone.page.getByLabel('Your name').inputValue()).toBe('Rowan');
    await enter(phone, 'stop');
    await phone.page.getByRole('heading', { level: 1 }).waitFor();
    for (const visitor of [laptop, phone, wall]) expect(unexpected(visitor)).toEqual([]);
  });
});
