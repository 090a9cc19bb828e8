/** The piece builder in a real browser: parts, undo, reload, a traced photo, a mesh, the library. */

import { readFileSync } from 'node:fs';
import type { Browser, Locator, Page } from 'playwright-core';
import { beforeAll, expect, it } from 'vitest';
import { expectSoundAtBoth, HurriedBench, launch, Visitor } from './harness.ts';

let browser: Browser;

beforeAll(async () => {
  browser = await launch();
});

const undo = (page: Page): Locator => page.locator('.undo-tools button').first();
const part = (page: Page, name: string): Locator => page.locator('.piece-part', { hasText: name });
const partNames = (page: Page): Promise<string[]> =>
  page.locator('.part-name > span:first-child').allTextContents();
const wholeArea = async (page: Page): Promise<number> =>
  Number.parseFloat((await page.locator('.totals tfoot .figure').first().textContent()) ?? '');
/** What the daemon measured follows the entries a moment later. */
const measures = (one: Locator, area: RegExp): Promise<void> =>
  one.locator('.part-area', { hasText: area }).waitFor();
const becomesWhole = (page: Page, area: number) => expect.poll(() => wholeArea(page)).toBe(area);

async function add(page: Page, typed: string, title: string): Promise<void> {
  await page.getByText('Add a part', { exact: true }).click();
  await page.getByLabel('Find a kind of part').fill(typed);
  await page.getByRole('button', { name: title, exact: true }).click();
  await part(page, title).locator('.part-body').waitFor();
}

/** Off the fields, where the keys of an undo belong to the page. */
async function press(page: Page, keys: string): Promise<void> {
  await page.locator('h1').focus();
  await page.keyboard.press(keys);
}

async function buildParts({ page }: Visitor): Promise<void> {
  await page.getByLabel('Name', { exact: true }).fill('Sedge pendant');
  const diameter = page.getByLabel('Wire diameter');
  await diameter.fill('18 AWG');
  // ASTM B258: 18 AWG is 0.0403 in, which is 1.02 mm.
  await page.getByText('That is 1.02 mm.').waitFor();
  await page.getByLabel('Length', { exact: true }).fill('1.5');
  await page.getByText('1.5 could be inches (38.1 mm).').waitFor();
  await page.getByRole('button', { name: 'It is 38.1 mm' }).click();
  expect(await page.getByLabel('Length', { exact: true }).inputValue()).toBe('38.1');
  await add(page, 'ball', 'Ball');
  const ball = part(page, 'Ball');
  await ball.getByLabel('Diameter').fill('-4');
  await ball.getByText(/^Diameter is -4; it must be a number from/).waitFor();
  await ball.getByLabel('Diameter').fill('10');
  await ball.getByLabel('How many alike').fill('2');
  // Two balls of 10 mm have 2 pi 100 mm2, which is 6.28 cm2.
  await measures(ball, /^\s*6\.28/);
  await add(page, 'hanger', 'Hanger');
}

async function takeBack({ page }: Visitor): Promise<void> {
  expect(await partNames(page)).toEqual(['Wire', '2 × Ball', 'Hanger']);
  await page.getByRole('button', { name: 'Move up: Hanger' }).click();
  expect(await partNames(page)).toEqual(['Wire', 'Hanger', '2 × Ball']);
  const focused = page.locator(':focus');
  expect(await focused.getAttribute('aria-label'), 'the keys stay on it').toBe('Move up: Hanger');
  await press(page, 'Control+z');
  expect(await partNames(page)).toEqual(['Wire', '2 × Ball', 'Hanger']);
  await press(page, 'Control+Shift+z');
  expect(await partNames(page)).toEqual(['Wire', 'Hanger', '2 × Ball']);
  await page.getByRole('button', { name: 'Duplicate: Hanger' }).click();
  await page.getByRole('button', { name: 'Remove: Hanger' }).first().click();
  await page.getByRole('button', { name: 'Remove: Hanger' }).click();
  expect(await partNames(page)).toEqual(['Wire', '2 × Ball']);
  await undo(page).click();
  expect(await partNames(page), 'a removed part comes back').toEqual([
    'Wire',
    'Hanger',
    '2 × Ball',
  ]);
}

/** A made-up photo, larger than is kept: a square of 600 pixels beside a ruler's bar of 1,500. */
async function photo(page: Page): Promise<Buffer> {
  const address = await page.evaluate(() => {
    const canvas = document.createElement('canvas');
    canvas.width = 2400;
    canvas.height = 1800;
    const context = canvas.getContext('2d');
    if (!context) return '';
    context.scale(1.5, 1.5);
    context.fillStyle = '#b9c4b0';
    context.fillRect(0, 0, 1600, 1200);
    context.fillStyle = '#4a3a2a';
    context.fillRect(600, 400, 400, 400);
    context.fillStyle = '#222222';
    context.fillRect(200, 1000, 1000, 40);
    return canvas.toDataURL('image/png');
  });
  return Buffer.from(address.split(',')[1] ?? '', 'base64');
}

/** Where a place of the photo, counted 1,600 across, lies in the box while all of it is shown. */
async function placer(page: Page): Promise<(x: number, y: number) => { x: number; y: number }> {
  const box = await page.locator('.trace-box').evaluate((element) => ({
    width: element.clientWidth,
    height: element.clientHeight,
    edge: element.clientLeft,
  }));
  const scale = Math.min(box.width / 1600, box.height / 1200);
  return (x, y) => ({
    x: box.edge + (box.width - 1600 * scale) / 2 + x * scale,
    y: box.edge + (box.height - 1200 * scale) / 2 + y * scale,
  });
}

const traceFact = async (page: Page, label: string): Promise<number> =>
  Number.parseFloat(
    (await page
      .locator('.trace-facts .fact', { hasText: label })
      .locator('dd')
      .first()
      .textContent()) ?? '',
  );

async function traceSquare(visitor: Visitor): Promise<void> {
  const { page } = visitor;
  await add(page, 'outline', 'Traced outline');
  const file = { name: 'sedge.png', mimeType: 'image/png', buffer: await photo(page) };
  await page.route('**/api/pictures', (route) => route.abort(), { times: 1 });
  await page.locator('outline-tracer input.chosen').setInputFiles(file);
  await page.getByText('The photo is not kept yet: Nightbath does not answer.').waitFor();
  await page.getByRole('button', { name: 'Try again' }).click();
  await page.getByText('The photo is kept with the piece.').waitFor();
  const box = page.locator('.trace-box');
  await box.locator('svg.trace image').waitFor({ state: 'attached' });
  await box.scrollIntoViewIfNeeded();
  const at = await placer(page);
  await box.click({ position: at(200, 1020) });
  await box.click({ position: at(1200, 1020) });
  // The bar is 50 mm, so the square is 20 mm wide: 4 cm2, and 80 mm round.
  await page.keyboard.type('50');
  await page.getByRole('button', { name: '2. Outline' }).click();
  for (const [x, y] of [
    [600, 400],
    [1000, 400],
    [1000, 800],
    [600, 800],
  ] as const) {
    await box.click({ position: at(x, y) });
  }
  await box.click({ position: at(600, 400) });
  await page.getByRole('button', { name: 'Open it again' }).waitFor();
  expect(Math.abs((await traceFact(page, 'Area')) / 4 - 1)).toBeLessThan(0.02);
  expect(Math.abs((await traceFact(page, 'Perimeter')) / 80 - 1)).toBeLessThan(0.02);
}

async function dragPoint(page: Page, from: { x: number; y: number }, to: { x: number; y: number }) {
  const corner = await page.locator('.trace-box').boundingBox();
  if (!corner) throw new Error('There is no photo to trace on.');
  await page.mouse.move(corner.x + from.x, corner.y + from.y);
  await page.mouse.down();
  await page.mouse.move(corner.x + to.x, corner.y + to.y, { steps: 4 });
  await page.mouse.up();
}

async function editTrace({ page }: Visitor): Promise<void> {
  const box = page.locator('.trace-box');
  const at = await placer(page);
  await box.scrollIntoViewIfNeeded();
  await dragPoint(page, at(1000, 400), at(500, 700));
  await page.getByText('The outline crosses itself where it is marked.').waitFor();
  await press(page, 'Control+z');
  await page
    .getByText('The outline crosses itself where it is marked.')
    .waitFor({ state: 'hidden' });
  await box.click({ position: at(800, 400) });
  await page.getByText('Point 2 of 5.').waitFor();
  const before = await traceFact(page, 'Area');
  await box.focus();
  for (let step = 0; step < 3; step += 1) await page.keyboard.press('Shift+ArrowUp');
  expect(await traceFact(page, 'Area'), 'a corner pulled out').toBeGreaterThan(before);
  await page.keyboard.press('Delete');
  expect(await traceFact(page, 'Points')).toBe(4);
  const wide = await box.locator('image').getAttribute('transform');
  await page.getByRole('button', { name: 'Closer' }).click();
  expect(await box.locator('image').getAttribute('transform')).not.toBe(wide);
  await pinchOpen(page, box);
  await page.getByRole('button', { name: 'Whole photo' }).click();
  expect(await box.locator('image').getAttribute('transform')).toBe(wide);
  expect(await traceFact(page, 'Points'), 'two fingers set no point').toBe(4);
}

/** Without a mouse: let go, go to the whole photo, set a point in its middle, take it off, close. */
async function traceByKeys({ page }: Visitor): Promise<void> {
  await page.getByRole('button', { name: 'Open it again' }).click();
  await page.locator('.trace-box').focus();
  for (const key of ['Escape', '0', 'ArrowRight', 'Enter']) await page.keyboard.press(key);
  expect(await traceFact(page, 'Points')).toBe(5);
  for (const key of ['p', 'Delete', 'c']) await page.keyboard.press(key);
  await page.getByRole('button', { name: 'Open it again' }).waitFor();
  expect(await traceFact(page, 'Points')).toBe(4);
  await page.keyboard.press('0');
}

async function pinchOpen(page: Page, box: Locator): Promise<void> {
  const scaleOf = async (): Promise<number> =>
    Number(
      /scale\(([\d.]+)\)/.exec((await box.locator('image').getAttribute('transform')) ?? '')?.[1],
    );
  const before = await scaleOf();
  const corner = await box.boundingBox();
  if (!corner) throw new Error('There is no photo to pinch.');
  const [x, y] = [corner.x + corner.width / 2, corner.y + corner.height / 2];
  const cdp = await page.context().newCDPSession(page);
  const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', apart: number): Promise<unknown> =>
    cdp.send('Input.dispatchTouchEvent', {
      type,
      touchPoints:
        type === 'touchEnd'
          ? []
          : [
              { x: x - apart, y, id: 1 },
              { x: x + apart, y, id: 2 },
            ],
    });
  await touch('touchStart', 30);
  await touch('touchMove', 45);
  await touch('touchMove', 60);
  await touch('touchEnd', 60);
  await cdp.detach();
  await expect.poll(scaleOf).toBeGreaterThan(before * 1.5);
}

/** A box as binary STL, its triangles counter-clockwise from outside. */
function boxStl(x: number, y: number, z: number): Buffer {
  const corner = (index: number): number[] => [
    index & 1 ? x : 0,
    index & 2 ? y : 0,
    index & 4 ? z : 0,
  ];
  const faces = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  const triangles = faces.flatMap(([a = 0, b = 0, c = 0, d = 0]) => [
    [a, b, c],
    [a, c, d],
  ]);
  const buffer = Buffer.alloc(84 + 50 * triangles.length);
  buffer.writeUInt32LE(triangles.length, 80);
  for (const [index, triangle] of triangles.entries()) {
    for (const [place, value] of triangle.flatMap(corner).entries()) {
      buffer.writeFloatLE(value, 84 + 50 * index + 12 + 4 * place);
    }
  }
  return buffer;
}

async function dropFile(page: Page, name: string, content: Buffer): Promise<void> {
  const transfer = await page.evaluateHandle(
    ([file, base64]) => {
      const bytes = Uint8Array.from(atob(base64), (character) => character.codePointAt(0) ?? 0);
      const data = new DataTransfer();
      data.items.add(new File([bytes], file));
      return data;
    },
    [name, content.toString('base64')] as const,
  );
  await page.locator('.mesh-drop').dispatchEvent('drop', { dataTransfer: transfer });
}

async function readMesh({ page }: Visitor): Promise<void> {
  await add(page, 'mesh', 'Mesh');
  const input = page.locator('mesh-reader input[type=file]');
  const stl = (name: string, buffer: Buffer) => ({ name, mimeType: 'model/stl', buffer });
  await input.setInputFiles(stl('torn.stl', boxStl(10, 20, 30).subarray(0, 300)));
  await page.getByText(/^torn\.stl was not read\. /).waitFor();
  await dropFile(page, 'box.stl', boxStl(10, 20, 30));
  await page.getByText('Which unit is the file in?').waitFor();
  await page.getByRole('radio', { name: /^millimetres/ }).check();
  const facts = page.locator('.mesh .facts');
  // 2 (10 x 20 + 20 x 30 + 10 x 30) mm2 are 22 cm2, and 10 x 20 x 30 mm3 are 6 cm3.
  await facts.getByText('22.0 cm²').waitFor();
  await facts.getByText('6.00 cm³').waitFor();
  await facts.getByText('30.0 × 20.0 × 10.0 mm').waitFor();
  await facts.getByText('yes', { exact: true }).waitFor();
  await measures(part(page, 'Mesh'), /^\s*22\.0/);
}

async function nameMaterials({ page }: Visitor): Promise<void> {
  await page.getByText('Materials', { exact: true }).click();
  const name = page.getByLabel('Add a material');
  for (const typed of ['quartz', 'malachite', 'moon cheese']) {
    await name.fill(typed);
    await name.press('Enter');
  }
  const rows = page.locator('.material');
  await expect.poll(() => rows.count()).toBe(3);
  expect(await rows.first().textContent()).toMatch(/Malachite[\s\S]*Keep it out of the bath/);
  expect(await rows.nth(1).textContent()).toMatch(/moon cheese[\s\S]*not in the table/);
  const tryScrap = /Try a scrap of the same material in the bath first/;
  expect(await rows.first().textContent()).toMatch(tryScrap);
  expect(await rows.nth(1).textContent()).not.toMatch(tryScrap);
  expect(await rows.nth(1).textContent()).toMatch(
    /Do not try even a scrap in acid before you know/,
  );
  expect(await rows.nth(2).textContent()).toMatch(tryScrap);
}

async function sizeOfPicture(page: Page, address: string): Promise<number[]> {
  return page.evaluate(async (source) => {
    const image = new Image();
    image.src = source;
    await image.decode();
    return [image.naturalWidth, image.naturalHeight];
  }, address);
}

async function expectKept(visitor: Visitor): Promise<void> {
  const { page } = visitor;
  const area = await wholeArea(page);
  const names = await partNames(page);
  await page.reload();
  await page.locator('.piece-part').first().waitFor();
  expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('Sedge pendant');
  expect(await partNames(page)).toEqual(names);
  await becomesWhole(page, area);
  await expect.poll(() => page.locator('.material').count()).toBe(3);
  await part(page, 'Traced outline').locator('summary').click();
  await page.locator('svg.trace image').waitFor({ state: 'attached' });
  const kept = await page.locator('svg.trace image').getAttribute('href');
  expect(kept).toMatch(/^\/api\/pictures\//);
  expect(await sizeOfPicture(page, kept ?? ''), 'made small before it is sent').toEqual([
    2000, 1500,
  ]);
  expect(await traceFact(page, 'Points')).toBe(4);
  await press(page, 'Control+z');
  expect(await page.locator('.material').count(), 'the way back is kept too').toBe(2);
  await press(page, 'Control+Shift+z');
}

async function useLibrary(visitor: Visitor): Promise<void> {
  const { page } = visitor;
  const area = await wholeArea(page);
  await page.getByText('Library', { exact: true }).click();
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('As saved in version 1.').waitFor();
  await page.getByLabel('Name', { exact: true }).fill('Sedge pendant, long');
  await page.getByText('Changed since version 1.').waitFor();
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('As saved in version 2.').waitFor();
  await page.getByRole('button', { name: 'Start from an empty plan' }).click();
  expect(await partNames(page)).toEqual(['Wire']);
  await page.getByRole('button', { name: 'Versions: Sedge pendant, long' }).click();
  await page.getByRole('button', { name: 'Open version 1 of Sedge pendant' }).click();
  await expect
    .poll(() => page.getByLabel('Name', { exact: true }).inputValue())
    .toBe('Sedge pendant');
  await becomesWhole(page, area);
  await page.getByRole('button', { name: 'Open Sedge pendant, long' }).click();
  await page.getByText('As saved in version 2.').waitFor();
}

async function meetAnother(visitor: Visitor, url: string): Promise<void> {
  const { page } = visitor;
  const other = await Visitor.open(browser, { width: 1280, look: 'light' });
  try {
    await other.page.goto(`${url}/plan`);
    await other.page.getByText('Library', { exact: true }).click();
    await other.page.getByRole('button', { name: 'Open Sedge pendant, long' }).click();
    await other.page.getByText('As saved in version 2.').waitFor();
    await other.page.getByLabel('Name', { exact: true }).fill('Sedge pendant, theirs');
    await other.page.getByRole('button', { name: 'Save', exact: true }).click();
    await other.page.getByText('As saved in version 3.').waitFor();
    expect(other.complaints).toEqual([]);
  } finally {
    await other.close();
  }
  await page.getByLabel('Name', { exact: true }).fill('Sedge pendant, mine');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('Another page saved a newer version').waitFor();
  expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('Sedge pendant, mine');
  await page.getByRole('button', { name: 'Save mine as the newest version' }).click();
  await page.getByText('As saved in version 4.').waitFor();
}

async function carryAway({ page }: Visitor): Promise<void> {
  const download = page.waitForEvent('download');
  await page.getByRole('link', { name: 'Download: Sedge pendant, mine' }).click();
  const path = await (await download).path();
  const document = JSON.parse(readFileSync(path, 'utf8')) as { pictures: unknown[] };
  expect(document.pictures).toHaveLength(1);
  await page.locator('piece-library input[type=file]').setInputFiles(path);
  await page.getByText('As saved in version 1.').waitFor();
  await expect.poll(() => page.locator('.saved-pieces > li').count()).toBe(2);
  await page.getByRole('button', { name: 'Archive: Sedge pendant, mine' }).first().click();
  await expect.poll(() => page.locator('.saved-pieces > li').count()).toBe(1);
  await page.getByLabel('Show archived').check();
  await page.getByRole('button', { name: 'Restore: Sedge pendant, mine' }).click();
  await page.getByLabel('Show archived').uncheck();
  await expect.poll(() => page.locator('.saved-pieces > li').count()).toBe(2);
}

/** What a browser reports by itself: refusals that have to be, and the upload that is cut off above. */
const refusals =
  /status of (422 .*\/api\/(meshes|plans)|409 .*\/api\/pieces)|ERR_FAILED .*\/api\/pictures/;

it('a piece is built, taken back, traced, measured, saved and opened again, and nothing is lost', async () => {
  const bench = new HurriedBench(1);
  await bench.start();
  const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
  visitor.page.setDefaultTimeout(15_000);
  try {
    await visitor.page.goto(`${bench.url}/plan`);
    await buildParts(visitor);
    await takeBack(visitor);
    await expectSoundAtBoth(visitor, 'piece-parts');
    // Traced, measured and kept on a phone, and opened again on a laptop.
    await visitor.resize(390);
    await traceSquare(visitor);
    await editTrace(visitor);
    await traceByKeys(visitor);
    await expectSoundAtBoth(visitor, 'piece-trace');
    await readMesh(visitor);
    await expectSoundAtBoth(visitor, 'piece-mesh');
    await nameMaterials(visitor);
    await expectSoundAtBoth(visitor, 'piece-materials');
    await expectKept(visitor);
    await visitor.resize(1280);
    await useLibrary(visitor);
    await meetAnother(visitor, bench.url);
    await carryAway(visitor);
    await expectSoundAtBoth(visitor, 'piece-library');
    for (const other of [360, 768, 1920]) {
      await visitor.page.setViewportSize({ width: other, height: 900 });
      expect(await visitor.overflow(), `wider than ${other} px`).toBeLessThanOrEqual(0);
    }
    expect(visitor.complaints.filter((one) => !refusals.test(one))).toEqual([]);
  } finally {
    await visitor.close();
    await bench.clear();
  }
});
