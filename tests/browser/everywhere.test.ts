/** Every page in every state at five widths and in both looks: nothing cut off, covered, moving by itself or jumping. */

import { mkdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { checkIds } from '../../daemon/run/checks/model.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import type { Command } from '../../daemon/wire/command.ts';
import { shortPlan, TestBench, until } from '../serial/test-bench.ts';
import { writeLog } from '../store/a-log.ts';
import { HurriedBench, launch, lifecycle, Visitor } from './harness.ts';
import { misfitsAt, movingOn, shiftsOf, stopsOf, watchShifts, widths } from './layout.ts';
import { studioNights } from './log-bench.ts';

/** Sum of the layout shifts of a page up to which nobody sees anything move (0.1 counts as good). */
const mostShift = 0.01;
const shots = fileURLToPath(new URL('../output/everywhere', import.meta.url));

let browser: Browser;
let bench: TestBench;
let guest: Visitor;
let page: Page;
const elsewhere: string[] = [];

beforeAll(async () => {
  bench = new TestBench({ line: 'tcp' });
  writeLog(bench.databaseFile, studioNights().slice(0, 9));
  [browser] = await Promise.all([launch(), bench.supply.start().then(() => bench.serve())]);
  guest = await Visitor.open(browser, { width: 1280, look: 'dark' });
  ({ page } = guest);
  await watchShifts(page);
  page.on('request', (request) => {
    const { protocol, host } = new URL(request.url());
    if (protocol !== 'data:' && protocol !== 'blob:' && host !== new URL(bench.url).host) {
      elsewhere.push(request.url());
    }
  });
});

afterAll(async () => {
  await guest.close();
  await browser.close();
  await bench.clear();
});

interface State {
  readonly name: string;
  /** Left out where the page is there already. */
  readonly path?: string;
  /** What is there once all of the page is. */
  readonly ready: string;
  /** Widths at which no other test looks at this state with axe, CSS px. */
  readonly axe?: readonly number[];
  /** How long it is watched for jumps under live data, ms. */
  readonly watchMs?: number;
  /** Where what is told at the opening pushes something down: the banner of an alarm, the gap of a lift. */
  readonly pushed?: number;
}

const wantsPictures = process.env['NIGHTBATH_SHOTS'] === '1';

/** A picture of each look and width, where somebody wants to see them: NIGHTBATH_SHOTS=1. */
async function pictures(name: string, shown = page): Promise<void> {
  if (!wantsPictures) return;
  mkdirSync(shots, { recursive: true });
  await shown.evaluate(() => {
    (document.activeElement as HTMLElement | null)?.blur();
    scrollTo(0, 0);
  });
  for (const width of [390, 1280]) {
    await shown.setViewportSize({ width, height: width < 600 ? 844 : 800 });
    for (const colorScheme of ['dark', 'light'] as const) {
      await shown.emulateMedia({ colorScheme });
      const path = `${shots}/${name}-${width}-${colorScheme}.png`;
      await shown.screenshot({ path, fullPage: true, animations: 'disabled' });
    }
  }
  await shown.emulateMedia({ colorScheme: 'dark' });
}

/** What shifts as a page opens; it is opened again where it jumps for having been shown before its bench was heard. */
async function shiftsAtOpening(state: State) {
  const { name, path = '', ready, watchMs = 250, pushed = mostShift } = state;
  for (let count = 0; count < 3; count += 1) {
    await page.goto(`${bench.url}${path}`);
    await page.locator(ready).first().waitFor();
    await page.waitForTimeout(watchMs);
    const shifts = await shiftsOf(page);
    if (!shifts.early || shifts.sum < pushed) return shifts;
  }
  throw new Error(
    `${name} jumped three times, shown before its bench was heard; is the machine busy?`,
  );
}

async function holds(state: State): Promise<void> {
  const { name, path, ready, axe = [], pushed = mostShift } = state;
  for (const width of path === undefined ? [] : [390, 1280]) {
    await page.setViewportSize({ width, height: width < 600 ? 844 : 800 });
    const { sum, what } = await shiftsAtOpening(state);
    expect.soft(sum, `${name} jumps at ${width} px:\n${what}`).toBeLessThan(pushed);
  }
  await page.locator(ready).first().waitFor();
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme });
    // The looks differ in colours: of the light one the ends of the range show what the rest would.
    const at = colorScheme === 'dark' ? widths : [360, 1920];
    expect.soft(await misfitsAt(page, at), `${name}, ${colorScheme}`).toEqual([]);
  }
  expect.soft(await movingOn(page), `${name} moves by itself`).toEqual([]);
  for (const width of axe) {
    await page.setViewportSize({ width, height: width < 600 ? 844 : 800 });
    expect.soft(await guest.axe(), `${name} at ${width} px`).toEqual([]);
  }
  await page.setViewportSize({ width: 390, height: 844 });
  expect.soft(await stopsOf(page), `${name} by the Tab key`).toEqual([]);
  await pictures(name);
}

/** Opens whatever is folded, so that it is measured too. */
async function unfold(): Promise<void> {
  await page.evaluate(() => {
    for (const details of document.querySelectorAll('details')) details.open = true;
  });
  await page.waitForTimeout(400);
}

const setup = (part: string, axe: readonly number[]): State => ({
  name: `setup-${part || 'overview'}`,
  path: `/setup${part === '' ? '' : `/${part}`}`,
  ready: part === '' ? 'overview-part h2' : `${part}-part :is(button, input)`,
  axe,
});

const idle: readonly State[] = [
  { name: 'baths', path: '/baths', ready: '.baths a, main li a', axe: [1280] },
  { name: 'bath', path: '/baths/one/acid-copper-still', ready: 'ledger-page button' },
  setup('', [1280]),
  setup('supply', [390]),
  setup('tanks', [1280]),
  setup('baths', [1280]),
  setup('alerts', [1280]),
  setup('access', [1280]),
  setup('units', [1280]),
  { name: 'cautions', path: '/cautions', ready: 'cautions-page h2', axe: [390, 1280] },
  { name: 'alerts', path: '/alerts', ready: 'device-alarms button', axe: [1280] },
  { name: 'night-quiet', path: '/night', ready: 'device-alarms button', axe: [1280] },
  { name: 'no-run', path: '/run/one', ready: 'run-page .press-link', axe: [390, 1280] },
  { name: 'nowhere', path: '/nowhere', ready: 'main h1' },
];

const fromTheLog: readonly State[] = [
  { name: 'log', path: '/log', ready: '.log svg.rings' },
  { name: 'replay', path: '/log/night-2', ready: '.uplot canvas', watchMs: 900 },
  {
    name: 'compare',
    path: '/compare?runs=night-1,night-2,night-3,night-4',
    ready: '.uplot canvas',
    watchMs: 600,
  },
  { name: 'report', path: '/report/night-5', ready: '.report[data-ready] svg.rings' },
  { name: 'weigh-in', path: '/weigh-in/night-1', ready: 'form.weigh-in', axe: [1280] },
];

describe('a free bench', () => {
  it('holds on the first visit, and once that is put away', async () => {
    await holds({ name: 'bench-first', path: '/', ready: '.intro', axe: [390] });
    await page.getByRole('button', { name: 'Put this away' }).click();
    await holds({ name: 'bench-idle', path: '/', ready: 'article.tank', axe: [390, 1280] });
  });

  it('holds on the plan, folded and with everything open', async () => {
    await holds({
      name: 'plan',
      path: '/plan',
      ready: '.plan-top .decisive .figure',
      watchMs: 900,
    });
    await unfold();
    await holds({ name: 'plan-open', ready: '.plan-top .decisive .figure' });
  });

  it.each(idle)('holds on $name', holds);

  it.each(fromTheLog)('holds on $name', holds);
});

it('shows a stretch of the curves larger by mouse, and all of them again', async () => {
  await page.setViewportSize({ width: 1280, height: 800 });
  await page.goto(`${bench.url}/log/night-2`);
  const reading = page.locator('.reading-time');
  await expect.poll(() => reading.innerText()).toMatch(/^\d+:\d\d:\d\d$/);
  const secondsOf = (clock: string): number => {
    const [hours = 0, minutes = 0, rest = 0] = clock.split(':').map(Number);
    return hours * 3600 + minutes * 60 + rest;
  };
  const atRest = secondsOf(await reading.innerText());
  /** The time under the pointer at a share of the width, s of the day. */
  const readAt = async (share: number): Promise<number> => {
    const over = page.locator('.plots .u-over').first();
    await over.scrollIntoViewIfNeeded();
    const box = await over.boundingBox();
    if (box === null) throw new Error('There is no curve.');
    await page.mouse.move(box.x + share * box.width, box.y + box.height / 2);
    return secondsOf(await reading.innerText());
  };
  // What comes late may still push the curves away from under the pointer.
  await expect.poll(() => readAt(0.02)).not.toBe(atRest);
  const [start, middle] = [await readAt(0.02), await readAt(0.5)];
  /** The night may go past midnight. */
  const from = (early: number, late: number): number => (late - early + 86_400) % 86_400;
  expect(from(start, middle), 'some hours of the night').toBeGreaterThan(1800);
  const whole = page.getByRole('button', { name: 'All of it' });
  expect(await whole.getAttribute('aria-pressed')).toBe('true');
  await page.mouse.down();
  await readAt(0.75);
  await page.mouse.up();
  await expect.poll(() => whole.getAttribute('aria-pressed')).toBe('false');
  // Its left edge is now where the middle was.
  const edge = from(start, await readAt(0.01)) - from(start, middle);
  expect(Math.abs(edge)).toBeLessThan(0.1 * from(start, middle));
  await whole.click();
  await expect.poll(() => readAt(0.02)).toBe(start);
});

/** Two parts that differ. */
const piece = {
  name: 'Alder cone',
  parts: [
    { kind: 'ball', label: 'cone', count: 1, platedFraction: 1, sizes: { diameterMm: 26 } },
    {
      kind: 'wire',
      label: 'stalk',
      count: 1,
      platedFraction: 1,
      sizes: { wireDiameterMm: 1.2, lengthMm: 60 },
    },
  ],
  areaUncertainty: 0.05,
};

async function arm(): Promise<string> {
  const plan = shortPlan({ piece, target: { kind: 'charge', ampHours: 2 } });
  const armed = await bench.tell({
    kind: 'arm',
    tankId: 'one',
    by: 'test',
    plan: plan as Extract<Command, { kind: 'arm' }>['plan'],
    checklist: checklistItems.map(({ id }) => id),
    continues: null,
  });
  if (!armed.ok) throw new Error(armed.reason);
  await until('it to be ready', () => bench.snapshot?.run?.ready === true);
  return armed.runId ?? '';
}

/** What names the run as it is now. */
function onRun(runId: string) {
  return { tankId: 'one', by: 'test', runId, version: bench.snapshot?.run?.version ?? 0 } as const;
}

describe('a bench with a run', () => {
  it('holds while it waits for its start, while it grows, lifted, and after a trip', async () => {
    const runId = await arm();
    await holds({ name: 'run-armed', path: '/run/one', ready: 'run-start .fact' });
    await page.setViewportSize({ width: 1280, height: 800 });
    const curves = page.locator('details.curves[open] run-charts');
    const room = (await curves.boundingBox())?.height ?? Infinity;
    expect(room, 'no room is kept for curves that have not begun').toBeLessThan(100);
    await holds({ name: 'bench-armed', path: '/', ready: 'article.tank svg.rings' });
    const acknowledged = [...checkIds];
    await bench.tell({ kind: 'start', ...onRun(runId), acknowledged, attended: true });
    await lifecycle(bench, 'holding');
    // Live data comes four times a second; what is fetched late has come by then as well.
    const watchMs = 2_000;
    await holds({ name: 'run', path: '/run/one', ready: '.big', watchMs });
    await unfold();
    await holds({ name: 'run-open', ready: '.plots canvas' });
    await holds({ name: 'bench-run', path: '/', ready: 'svg.rings', axe: [390, 1280], watchMs });
    await holds({
      name: 'night-run',
      path: '/night',
      ready: '.night-figure',
      axe: [1280],
      watchMs,
    });
    await bench.tell({ kind: 'lift', ...onRun(runId) });
    await lifecycle(bench, 'lifted');
    await holds({ name: 'run-lifted', path: '/run/one', ready: '.big', axe: [1280], pushed: 0.02 });
    await bench.tell({ kind: 'put-back', ...onRun(runId) });
    await lifecycle(bench, 'holding');
    await bench.supply.fault('shortCircuit');
    await lifecycle(bench, 'tripped');
    // Its banner says so in a line more, which would push the page while it is watched.
    await until('the alarm to be over', () => {
      const alarms = bench.snapshot?.alarms ?? [];
      return alarms.length > 0 && alarms.every(({ clearedWallMs }) => clearedWallMs !== null);
    });
    const pushed = 0.07;
    await holds({ name: 'run-over', path: '/run/one', ready: '.ending', axe: [1280], pushed });
    await holds({ name: 'bench-alarm', path: '/', ready: '.alarm', axe: [390, 1280], pushed });
    await holds({ name: 'night-alarm', path: '/night', ready: '.alarm', axe: [1280], pushed });
    await holds({
      name: 'alerts-alarm',
      path: '/alerts',
      ready: '.alarm-log li',
      axe: [1280],
      pushed,
    });
  });
});

describe.runIf(wantsPictures)('pictures of a night that is well under way', () => {
  const night = new HurriedBench(240);

  afterAll(() => night.clear());

  it('are made of the demo’s first visit, the run, the bench and the night view', async () => {
    await night.start();
    const visitor = await Visitor.open(browser, { width: 1280, look: 'dark' });
    const shown = visitor.page;
    const grown = async (): Promise<number> =>
      Number.parseFloat((await shown.locator('.big').textContent()) ?? '');
    try {
      await shown.goto(night.url);
      await shown.locator('.intro').waitFor();
      await pictures('demo-first', shown);
      await shown.getByRole('button', { name: 'Run the demo night' }).click();
      await shown.getByText(/^Holding at/).waitFor({ timeout: 60_000 });
      await expect.poll(grown, { timeout: 120_000 }).toBeGreaterThan(40);
      await shown.getByRole('button', { name: 'Lift', exact: true }).click();
      await shown.getByRole('button', { name: 'Put back' }).waitFor();
      await shown.waitForTimeout(2_500);
      await pictures('midnight-lifted', shown);
      await shown.getByRole('button', { name: 'Put back' }).click();
      const before = await grown();
      await expect.poll(grown, { timeout: 120_000 }).toBeGreaterThan(before + 30);
      // A phone has its curves folded; on a laptop they are open by themselves.
      await shown.setViewportSize({ width: 390, height: 844 });
      await shown.locator('details.curves > summary').click();
      await shown.locator('.plots canvas').first().waitFor();
      await pictures('midnight-run', shown);
      for (const [name, path, ready] of [
        ['midnight-bench', '/', 'article.tank svg.rings'],
        ['midnight-night', '/night', '.night-figure'],
      ] as const) {
        await shown.goto(`${night.url}${path}`);
        await shown.locator(ready).first().waitFor();
        await pictures(name, shown);
      }
      expect(visitor.complaints).toEqual([]);
    } finally {
      await visitor.close();
    }
  });
});

it('asks nothing of another host, says nothing on the console, and breaks no policy', () => {
  expect(elsewhere).toEqual([]);
  expect(guest.complaints).toEqual([]);
});

it('moves a little where nobody has asked for less, which shows that the look for it can fail', async () => {
  await page.emulateMedia({ reducedMotion: 'no-preference' });
  await page.goto(`${bench.url}/cautions`);
  await page.locator('cautions-page button').waitFor();
  const [first] = await movingOn(page);
  expect(first).toMatch(/^button/);
});

it('tells that a page was shown before its bench was heard', async () => {
  await page.routeWebSocket(/\/api\/live$/, () => undefined);
  await page.goto(`${bench.url}/cautions`);
  await page.locator('cautions-page button').waitFor();
  await expect.poll(async () => (await shiftsOf(page)).early).toBe(true);
});
