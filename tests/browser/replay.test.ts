/** A night played back in a real browser: keys, marks of events, and an address that keeps the moment. */

import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { unguarded } from '../../daemon/store/exports.ts';
import { runDocumentSchema } from '../../daemon/wire/run-document.ts';
import { planOf, readingsOf, type Night } from '../store/a-log.ts';
import { parseCsv } from '../store/csv.ts';
import { focused } from './hands.ts';
import { launch, Visitor } from './harness.ts';
import { firstNight, logBench, shownInBothLooks } from './log-bench.ts';

let browser: Browser;
let bench: Awaited<ReturnType<typeof logBench>>;

/** What a maker may have typed, with all that a table could take for something else. */
const remark = '=1+1, "green", and a line\nmore';
const taken: Night = {
  id: 'taken-away',
  armedWallMs: firstNight + 86_400_000,
  piece: 'Thistle head',
  end: 'tripped',
  hours: 3,
  lifts: [1.5],
  everyMs: 20_000,
  events: [{ hour: 2, message: remark }],
};

beforeAll(async () => {
  const night = { id: 'tripped', armedWallMs: firstNight, piece: 'Thistle head' } as const;
  [browser, bench] = await Promise.all([
    launch(),
    logBench([{ ...night, end: 'tripped', hours: 5, lifts: [3.5, 4.2], everyMs: 20_000 }, taken]),
  ]);
});

afterAll(async () => {
  await bench.close();
});

it('moves by keys and by marks, the picture and the numbers in step', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/tripped`);
    await page.locator('.uplot canvas').nth(2).waitFor();
    const marks = page.getByRole('group', { name: 'Events of the run' }).getByRole('button');
    await marks.first().waitFor();
    await page.locator('.last-event.grave', { hasText: 'Open circuit.' }).waitFor();
    await shownInBothLooks(visitor, 'replay-page');

    const scrubber = page.getByLabel('Position in the run');
    const grown = page.locator('.big');
    const before = await grown.textContent();
    await marks.nth(1).click();
    expect(Number(await scrubber.inputValue())).toBeLessThan(1000);
    expect(await grown.textContent()).not.toBe(before);
    await expect.poll(() => new URL(page.url()).search).toMatch(/^\?at=\d+$/);
    const moment = new URL(page.url()).search;
    const there = await grown.textContent();
    await page.reload();
    await page.locator('.uplot canvas').nth(2).waitFor();
    expect(new URL(page.url()).search).toBe(moment);
    expect(await grown.textContent()).toBe(there);

    await visitor.resize(1280);
    await scrubber.focus();
    await page.keyboard.press('Home');
    expect(await grown.textContent()).toMatch(/^0\.0\s+µm$/);
    await page
      .locator('.last-event', { hasText: 'Started. Output on at a low current.' })
      .waitFor();
    await page.keyboard.press('ArrowRight');
    expect(await scrubber.inputValue()).toBe('1');
    // From one event to the next, and back again.
    const seen: (string | null)[] = [];
    for (let press = 0; press < 3; press += 1) {
      await page.keyboard.press('Shift+ArrowRight');
      seen.push(await page.locator('.last-event').textContent());
    }
    expect(seen.map((text) => text?.trim().slice(9))).toEqual([
      'Ramping up to the full current.',
      'Holding. The current follows the growing area.',
      'Lifted out. Output off; the charge is kept.',
    ]);
    await page.keyboard.press('Shift+ArrowLeft');
    expect(await page.locator('.last-event').textContent()).toBe(seen[1]);

    await page.getByLabel('Speed').selectOption('3600');
    await scrubber.focus();
    await page.keyboard.press('Space');
    await page.getByRole('button', { name: 'Pause' }).waitFor();
    await page.getByRole('button', { name: 'Play' }).waitFor({ timeout: 30_000 });
    expect(await scrubber.inputValue()).toBe('1000');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

/** The time at the reading line with the pointer so far along the curves, ms of that day. */
async function timeAlong(page: Page, share: number): Promise<number> {
  const over = page.locator('[data-curve=current] .u-over');
  await over.evaluate((element) => element.scrollIntoView({ block: 'center' }));
  const box = await over.boundingBox();
  if (box === null) throw new Error('The curve of the current is not on the page.');
  await page.mouse.move(box.x + share * box.width, box.y + box.height / 2);
  // The line is drawn and read in the next frame.
  await page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
  );
  const text = await page.locator('.reading-time').textContent();
  return Date.parse(`1970-01-01T${text?.trim()}Z`);
}

it('shows a lift large by keys alone, says what is shown, and goes along when it plays on', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  const shown = page.locator('.shown-stretch');
  const tabTo = async (name: string): Promise<void> => {
    for (let press = 0; press < 40; press += 1) {
      await page.keyboard.press('Tab');
      const label = await page.evaluate(() => document.activeElement?.textContent?.trim() ?? '');
      if (label === name) return;
    }
    throw new Error(`Tab never came to ${name}.`);
  };
  try {
    await page.goto(`${bench.url}/log/tripped`);
    await page.locator('.uplot canvas').nth(2).waitFor();
    await page.getByText('Shown: all of it.').waitFor();
    // The keys begin at the scrubber and go to the first lift, three and a half hours in.
    await page.getByLabel('Position in the run').focus();
    await page.keyboard.press('Home');
    for (let press = 0; press < 3; press += 1) await page.keyboard.press('Shift+ArrowRight');
    await page.locator('.last-event', { hasText: 'Lifted out.' }).waitFor();
    await tabTo('Closer');
    for (let press = 0; press < 3; press += 1) await page.keyboard.press('Enter');
    expect(await shown.textContent()).toMatch(/Shown: \d\d:\d\d:\d\d to \d\d:\d\d:\d\d, 19 min\./);
    expect(await page.getByRole('status').allTextContents()).toContainEqual(
      (await shown.textContent())?.trim(),
    );
    // Lifted at 01:01 for ten minutes: the pointer reads from the curves themselves what they show.
    await tabTo('Later');
    await page.keyboard.press('Enter');
    await visitor.shot('replay-lift-large');
    const lifted = Date.UTC(1970, 0, 1, 1, 1);
    const [from, to] = [await timeAlong(page, 0.02), await timeAlong(page, 0.98)];
    expect(to - from).toBeLessThan(20 * 60_000);
    expect(from).toBeLessThanOrEqual(lifted + 60_000);
    expect(to).toBeGreaterThanOrEqual(lifted + 9 * 60_000);
    // Where it was lifted, the line says so; in the middle of the lift nothing happened.
    const met = page.locator('.reading-line .met');
    const shareOf = (atMs: number): number => 0.02 + (0.96 * (atMs - from)) / (to - from);
    await timeAlong(page, shareOf(lifted));
    await expect.poll(() => met.allTextContents()).toEqual([expect.stringMatching(/^Lifted out/)]);
    await visitor.shot('replay-event-named');
    await timeAlong(page, shareOf(lifted + 5 * 60_000));
    expect(await met.count()).toBe(0);
    await timeAlong(page, 0.3);
    expect(await page.locator('.curve-title .reading').first().textContent()).toMatch(/^0\.0* A$/);

    // While it plays, what it stands at stays in view; slowly, so that it is paused before its end.
    await page.mouse.move(0, 0);
    await page.getByLabel('Speed').selectOption('300');
    await page.getByRole('button', { name: 'Play' }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => shown.textContent(), { timeout: 60_000 }).toMatch(/Shown: 02:/);
    expect(await focused(page)).toBe('BUTTON Pause');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'Play' }).waitFor();
    await tabTo('All of it');
    await page.keyboard.press('Enter');
    expect((await shown.textContent())?.trim()).toBe('Shown: all of it.');

    // A press on the curves leaves the line there, for a thumb that cannot hold a pointer still.
    const pressed = await timeAlong(page, 0.2);
    await page.mouse.down();
    await page.mouse.up();
    for (const name of ['Closer', 'Closer']) await page.getByRole('button', { name }).click();
    const [left, right] = [await timeAlong(page, 0.1), await timeAlong(page, 0.9)];
    expect(right - left).toBeLessThan(60 * 60_000);
    expect(left).toBeLessThan(pressed);
    expect(right).toBeGreaterThan(pressed);
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

it('explains a term where it stands, opened and closed by keys', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/tripped?at=60`);
    const term = page.getByRole('button', { name: 'Strike', exact: true });
    const note = page.getByText('The first minutes, at a low current');
    await term.focus();
    expect(await note.isVisible()).toBe(false);
    expect(await term.getAttribute('aria-expanded')).toBe('false');
    await page.keyboard.press('Enter');
    await note.waitFor();
    expect(await term.getAttribute('aria-expanded')).toBe('true');
    await visitor.shot('replay-term');
    expect(await visitor.axe()).toEqual([]);
    await page.keyboard.press('Escape');
    await note.waitFor({ state: 'hidden' });
    expect(await term.evaluate((element) => element === document.activeElement)).toBe(true);
    await page.keyboard.press('Space');
    await note.waitFor();
    await page.keyboard.press('Space');
    await note.waitFor({ state: 'hidden' });
    // The pointer alone opens nothing.
    await term.hover();
    expect(await note.isVisible()).toBe(false);
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

/** The night as it was put into the log. */
const written = [...readingsOf(planOf(taken), taken)];

/** What a press of a link brings onto the disk, and under which name. */
async function downloaded(page: Page, name: string): Promise<{ file: string; text: string }> {
  const download = page.waitForEvent('download');
  await page.getByRole('link', { name, exact: true }).click();
  const got = await download;
  return { file: got.suggestedFilename(), text: readFileSync(await got.path(), 'utf8') };
}

/** The lines of a table, each by the names of its columns; an apostrophe that guards is off. */
function table(text: string): readonly Readonly<Record<string, string>>[] {
  const [names = [], ...lines] = parseCsv(text).map((cells) => cells.map((cell) => cell.text));
  return lines.map((cells) => {
    expect(cells.length).toBe(names.length);
    return Object.fromEntries(names.map((name, nth) => [name, unguarded(cells[nth] ?? '')]));
  });
}

it('gives the run away as tables and as one document, each whole', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/taken-away`);
    const readings = await downloaded(page, 'Readings as CSV');
    expect(readings.file).toBe('run-taken-away.csv');
    const rows = table(readings.text);
    expect(rows).toHaveLength(written.length);
    expect(
      rows.map((row) => ({
        atMs: Number(row['elapsed_ms']),
        wallMs: Date.parse(row['time_utc'] ?? ''),
        volts: Number(row['voltage_volts']),
        amps: Number(row['current_amps']),
        setAmps: Number(row['set_current_amps']),
        ampHours: Number(row['charge_amp_hours']),
        thicknessMicrometres: Number(row['thickness_micrometres']),
        lifecycle: row['state'],
      })),
    ).toEqual(written);

    const events = await downloaded(page, 'Events as CSV');
    expect(events.file).toBe('run-taken-away.events.csv');
    const said = table(events.text);
    const at = (code: string) =>
      said.filter((one) => one['code'] === code).map((one) => Number(one['elapsed_ms']));
    expect([at('started'), at('lifted'), at('putBack')]).toEqual([[0], [5_400_000], [6_000_000]]);
    expect(said.at(-1)).toMatchObject({
      elapsed_ms: String(written.at(-1)?.atMs),
      code: 'openCircuit',
      message: 'Open circuit. 0.002 A of 0.230 A flow.',
    });
    expect(said.filter(({ message }) => message === remark)).toMatchObject([
      {
        elapsed_ms: '7200000',
        time_utc: new Date(taken.armedWallMs + 60_000 + 7_200_000).toISOString(),
      },
    ]);

    const whole = await downloaded(page, 'All of it as JSON');
    expect(whole.file).toBe('run-taken-away.json');
    const document = runDocumentSchema.parse(JSON.parse(whole.text));
    expect(document.readings).toEqual(written);
    expect(document.events.map(({ message }) => message)).toEqual(
      said.map(({ message }) => message),
    );
    expect(document.run).toMatchObject({
      id: 'taken-away',
      lifecycle: 'tripped',
      ampHours: written.at(-1)?.ampHours,
      plan: { request: { piece: { name: 'Thistle head' } } },
    });
    // The page stays where it was.
    expect(new URL(page.url()).pathname).toBe('/log/taken-away');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

it('says what is wrong with the moment of an address, and opens on the whole run', async () => {
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/tripped?at=midnight`);
    await page.getByText('The address says at=midnight; it must be a whole number').waitFor();
    expect(await page.getByLabel('Position in the run').inputValue()).toBe('1000');
    // A moment past the end is the end.
    await page.goto(`${bench.url}/log/tripped?at=9999999`);
    await page.locator('.uplot canvas').nth(2).waitFor();
    expect(await page.getByLabel('Position in the run').inputValue()).toBe('1000');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});
