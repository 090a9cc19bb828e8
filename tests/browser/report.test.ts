/** The report of a run, on the screen and as PDF from a real browser: one or two sheets, nothing cut. */

import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { launch, Visitor } from './harness.ts';
import { firstNight, logBench, shownInBothLooks } from './log-bench.ts';
import { readPdf } from './pdf.ts';
import { discPng } from '../piece/picture/pictures.ts';
import type { Night } from '../store/a-log.ts';

const outputFolder = fileURLToPath(new URL('../output', import.meta.url));
let browser: Browser;
let bench: Awaited<ReturnType<typeof logBench>>;

const usual: Night = {
  id: 'usual',
  armedWallMs: firstNight,
  piece: 'Poppy seed head',
  lifts: [3.5],
  everyMs: 30_000,
  notes: ['Bright and even.'],
  // One of them is spoiled: it is named in its place.
  photos: [discPng(0), null, discPng(1)],
};

/** As much of everything as a night may hold: the report has to choose. */
const crowded: Night = {
  id: 'crowded',
  armedWallMs: firstNight + 86_400_000,
  piece: `Larch branch with cones, ${'second try after the first one had lost its paint, '.repeat(2)}`,
  end: 'tripped',
  hours: 9,
  lifts: [3.5, 5, 6.5],
  targetMicrometres: 200,
  everyMs: 30_000,
  parts: Array.from({ length: 30 }, (_, index) => ({
    kind: 'wire',
    label: `twig ${index + 1}, the one that leans to the left behind the larger cone`,
    count: 2,
    platedFraction: 0.9,
    sizes: { wireDiameterMm: 1.5, lengthMm: 12 },
  })),
  events: Array.from({ length: 120 }, (_, index) => ({
    hour: 0.5 + index / 20,
    message: `Reading ${index + 1}: the bath was topped up by hand, stirred, and the anode bag was looked at; nothing else was changed.`,
  })),
  notes: Array.from(
    { length: 7 },
    (_, index) => `Note ${index + 1}: ${'bright and even so far. '.repeat(12)}`,
  ),
  photos: Array.from({ length: 9 }, (_, index) => discPng(index)),
  weighIn: {
    beforeGrams: 4.21,
    afterGrams: 7.93,
    balanceGrams: 0.01,
    hangersWeighed: false,
    calliperMm: 0.01,
    callipers: [
      { label: 'stem', beforeMm: 1.52, afterMm: 1.78, growthPerThickness: 2 },
      { label: 'tip', beforeMm: 1.48, afterMm: 1.82, growthPerThickness: 2 },
      { label: 'fork', beforeMm: 1.5, afterMm: 1.75, growthPerThickness: 2 },
    ],
    note: 'Weighed after an hour in the warm drawer.',
  },
};

beforeAll(async () => {
  [browser, bench] = await Promise.all([launch(), logBench([usual, crowded])]);
});

afterAll(async () => {
  await bench.close();
});

async function open(page: Page, id: string): Promise<void> {
  await page.goto(`${bench.url}/report/${id}`);
  await page.locator('.report[data-ready] svg.rings').waitFor();
}

/** Without blanks, and with letters that a font has drawn as one taken apart. */
const bare = (text: string): string => text.replaceAll(/\s/g, '').normalize('NFKC');

/** Printed, kept to be looked at, and read back. */
async function printed(page: Page, name: string, format: 'A4' | 'Letter') {
  const bytes = await page.pdf({ format, preferCSSPageSize: false });
  mkdirSync(outputFolder, { recursive: true });
  writeFileSync(`${outputFolder}/${name}-${format}.pdf`, bytes);
  const { pages, size, text } = readPdf(bytes);
  return { pages, size, text: bare(text) };
}

/** Elements of the sheet that stand out of it, or hold more than they show, as it is printed. */
async function cutElements(page: Page, widthPx: number): Promise<readonly string[]> {
  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: widthPx, height: 1000 });
  const cut = await page.evaluate(() => {
    const sheet = document.querySelector('.report');
    if (sheet === null) return ['no sheet'];
    const right = sheet.getBoundingClientRect().right;
    return Array.from(sheet.querySelectorAll('*')).flatMap((element) => {
      if (element.closest('svg') !== null || element.closest('.times') !== null) return [];
      const box = element.getBoundingClientRect();
      const holdsMore = element.scrollWidth > element.clientWidth + 1 && element.clientWidth > 0;
      return box.right > right + 1 || holdsMore
        ? [`${element.tagName} ${element.textContent}`]
        : [];
    });
  });
  await page.emulateMedia({ media: 'screen' });
  return cut;
}

it('shows the run as it will be printed, and has no weigh-in where nobody weighed', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/log/usual`);
    await page.getByRole('link', { name: 'Report to print' }).click();
    await page.getByRole('heading', { name: 'Poppy seed head' }).waitFor();
    await page.locator('.report[data-ready] svg.rings').waitFor();
    await shownInBothLooks(visitor, 'report-page');
    expect(await page.locator('.photo-row img').count()).toBe(2);
    await page.getByText(/^The photo of \d\d:\d\d cannot be read\.$/).waitFor();
    expect(await page.getByRole('heading', { name: 'Weigh-in' }).count()).toBe(0);
    await open(page, 'crowded');
    await page.getByRole('heading', { name: 'Weigh-in' }).waitFor();
    await shownInBothLooks(visitor, 'report-crowded');
    expect(visitor.complaints).toEqual([]);
  } finally {
    await visitor.close();
  }
});

describe.each(['A4', 'Letter'] as const)('on %s', (format) => {
  const size = { A4: [595, 842], Letter: [612, 792] }[format];
  // The width between the margins, CSS px.
  const widthPx = Math.floor(((size[0] ?? 0) / 72 - 28 / 25.4) * 96);

  it('the usual night takes one or two sheets, with all that it says', async () => {
    const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
    const { page } = visitor;
    try {
      await open(page, 'usual');
      const { pages, text, size: read } = await printed(page, 'report-usual', format);
      // Browsers round a sheet of A4 up to whole pixels.
      for (const [index, points] of read.entries()) {
        expect(Math.abs(points - (size[index] ?? 0))).toBeLessThan(2);
      }
      expect(pages).toBeGreaterThanOrEqual(1);
      expect(pages).toBeLessThanOrEqual(2);
      for (const words of [
        'Run report',
        'Poppy seed head',
        'Target reached',
        '120 µm',
        'Beaker by the window',
        'Current',
        'Voltage',
        'Holding. The current follows the growing area.',
        'Lifted out. Output off; the charge is kept.',
        'Strike',
        'Head',
        'Limits in the supply',
        'Know where the supply’s own switch is',
        'Local rules and licensed practice come first',
        'Bright and even.',
        'cannot be read.',
        'Run usual.',
      ]) {
        expect(text, words).toContain(bare(words));
      }
      // The frame of the page is not printed.
      for (const words of ['Weigh-in', 'Back to the replay', 'as the system']) {
        expect(text, words).not.toContain(bare(words));
      }
      expect(await cutElements(page, widthPx)).toEqual([]);
    } finally {
      await visitor.close();
    }
  });

  it('a crowded night takes two sheets, says what it leaves out, and ends with its last line', async () => {
    const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
    const { page } = visitor;
    try {
      await open(page, 'crowded');
      const { pages, text } = await printed(page, 'report-crowded', format);
      expect(pages).toBe(2);
      for (const words of [
        '22 parts more; the JSON of the run holds all.',
        'Weighed 4.21 g before and 7.93 g after.',
        'Efficiency',
        'Thickness by callipers',
        'Note 4:',
        '3 notes more in the replay.',
        '3 photos more in the replay.',
        'Alarm.',
        'Open circuit.',
        'the CSV of the events holds all.',
        'Local rules and licensed practice come first',
        'Run crowded.',
      ]) {
        expect(text, words).toContain(bare(words));
      }
      expect(await cutElements(page, widthPx)).toEqual([]);
    } finally {
      await visitor.close();
    }
  });
});

it('names a run that is not there, and offers to try again', async () => {
  const visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  const { page } = visitor;
  try {
    await page.goto(`${bench.url}/report/nobody`);
    await page.getByText('There is no run of that name.').waitFor();
    await page.getByRole('button', { name: 'Try again' }).waitFor();
  } finally {
    await visitor.close();
  }
});
