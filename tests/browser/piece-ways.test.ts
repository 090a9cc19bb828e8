/** Ways out on the Plan page in a real browser: a piece archived or saved elsewhere, a photo that is gone. */

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { expectSound, HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;
let bench: HurriedBench;
let visitor: Visitor;

beforeAll(async () => {
  browser = await launch();
  bench = new HurriedBench(1);
  await bench.start();
  visitor = await Visitor.open(browser, { width: 390, look: 'dark' });
  visitor.page.setDefaultTimeout(15_000);
});
afterAll(async () => {
  await visitor.close();
  await bench.clear();
});

const save = (page: Page) => page.getByRole('button', { name: 'Save', exact: true }).click();
const name = (page: Page) => page.getByLabel('Name', { exact: true });
const press = (page: Page, label: string) =>
  page.getByRole('button', { name: label, exact: true }).click();

/** Another page that opens the piece of this name, in a browser of its own. */
async function elsewhere(piece: string, act: (page: Page) => Promise<void>): Promise<void> {
  const other = await Visitor.open(browser, { width: 1280, look: 'light' });
  try {
    await other.page.goto(`${bench.url}/plan`);
    await other.page.getByText('Library', { exact: true }).click();
    await press(other.page, `Open ${piece}`);
    await other.page.getByText('As saved in version').waitFor();
    await act(other.page);
  } finally {
    await other.close();
  }
}

it('a piece that another page saved, archived or lost the photo of is never stuck, and nothing is lost', async () => {
  const { page } = visitor;
  await page.goto(`${bench.url}/plan`);
  await page.getByText('Library', { exact: true }).click();
  await name(page).fill('Sedge pendant');
  await save(page);
  await page.getByText('As saved in version 1.').waitFor();

  // Saved elsewhere meanwhile: theirs is opened, and an undo brings back mine.
  await elsewhere('Sedge pendant', async (other) => {
    await name(other).fill('Sedge pendant, theirs');
    await save(other);
    await other.getByText('As saved in version 2.').waitFor();
  });
  await name(page).fill('Sedge pendant, mine');
  await save(page);
  await page.getByText('Another page saved a newer version').waitFor();
  await expectSound(visitor, 'piece-newer');
  await press(page, 'Open the newer version');
  await expect.poll(() => name(page).inputValue()).toBe('Sedge pendant, theirs');
  await press(page, 'Undo');
  await expect.poll(() => name(page).inputValue()).toBe('Sedge pendant, mine');

  // Now it follows on theirs. Archived elsewhere, one press brings it back and saves it.
  await elsewhere('Sedge pendant, theirs', async (other) => {
    await press(other, 'Archive: Sedge pendant, theirs');
    await other.getByText('No pieces saved yet.').waitFor();
  });
  await save(page);
  await page.getByText('This piece is archived', { exact: true }).waitFor();
  await expectSound(visitor, 'piece-archived');
  await press(page, 'Bring it back and save');
  await page.getByText('As saved in version 3.').waitFor();
  await page.getByRole('button', { name: 'Open Sedge pendant, mine' }).waitFor();

  // A traced outline whose photo the bench does not have, as from a log that was replaced.
  await page.evaluate(() => {
    const draft = JSON.parse(localStorage.getItem('nightbath.draft') ?? '{}') as {
      piece: { parts: object[] };
    };
    const corners = [
      [100, 100],
      [300, 100],
      [300, 250],
      [100, 250],
    ].map(([x, y]) => ({ x, y }));
    const outline = {
      pictureId: 'f'.repeat(64),
      pictureWidth: 400,
      pictureHeight: 300,
      scaleEnds: [corners[0], corners[1]],
      scaleLength: '20',
      picturePoints: corners,
      closed: true,
      points: [],
    };
    const [first] = draft.piece.parts;
    const sizes = { thicknessMm: '0.2', faces: '2' };
    const traced = { ...first, key: 'traced', kind: 'outline', label: 'Leaf', sizes, outline };
    localStorage.setItem(
      'nightbath.draft',
      JSON.stringify({ ...draft, piece: { ...draft.piece, parts: [first, traced] } }),
    );
    // Only what stands in the browser: the page that is open would keep its own.
    addEventListener('pagehide', (event) => event.stopImmediatePropagation(), { capture: true });
  });
  await page.reload();
  await page.getByText('Library', { exact: true }).click();
  await save(page);
  await page.getByText('The photo of a traced outline is not there any more').waitFor();
  await expectSound(visitor, 'piece-photo-gone');
  const area = await page.getByRole('row', { name: /^Whole piece/ }).innerText();
  expect(area).toMatch(/\d\scm²/);
  await press(page, 'Save without the photo');
  await page.getByText('As saved in version 4.').waitFor();
  expect(await page.getByRole('row', { name: /^Whole piece/ }).innerText()).toBe(area);

  // The same from the tracer itself.
  await press(page, 'Undo');
  await press(page, 'Undo');
  await page.getByText('Leaf', { exact: true }).first().click();
  await page.getByText('The photo is not there any more. The trace and its area are.').waitFor();
  await press(page, 'Go on without it');
  await page.getByText('Without a photo; the trace and its area stay.').waitFor();
  await expectSound(visitor, 'piece-without-photo');

  const had = /status of (404 .*\/api\/pictures|409 .*\/api\/pieces|422 .*\/api\/pieces)/;
  expect(visitor.complaints.filter((one) => !had.test(one))).toEqual([]);
});
