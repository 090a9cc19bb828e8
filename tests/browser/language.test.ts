/** The pages in a made-up language, a third longer: all of it is marked, and fits the narrowest phone. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { HurriedBench, launch, Visitor } from './harness.ts';
import { buildMadeUp, DaemonsWords, servePages, shownOn, widest } from './made-up-language.ts';

/** A strike of some minutes passes while a page is looked at. */
const bench = new HurriedBench(300);
const scratch = mkdtempSync(join(tmpdir(), 'nightbath-language-'));
let browser: Browser;
let pages = '';

beforeAll(async () => {
  pages = buildMadeUp(scratch);
  [browser] = await Promise.all([launch(), bench.start()]);
});

afterAll(async () => {
  await bench.clear();
  rmSync(scratch, { recursive: true, force: true });
});

/** A walk over the pages that writes down what is wrong with each. */
class Walk {
  readonly wrong: string[] = [];
  readonly seen: string[] = [];
  texts = 0;
  readonly #visitor: Visitor;
  readonly #daemon = new DaemonsWords();

  constructor(visitor: Visitor) {
    this.#visitor = visitor;
    this.#daemon.listen(visitor.page);
  }

  /** Judges what is on the screen, with everything that can be unfolded unfolded. */
  async look(name: string): Promise<void> {
    const { page } = this.#visitor;
    // What is unfolded fetches its part, and may bring more to unfold.
    for (let again = 0; again < 2; again += 1) {
      const opened = await page.evaluate(() => {
        const shut = document.querySelectorAll<HTMLDetailsElement>('details:not([open])');
        for (const one of shut) one.open = true;
        return shut.length;
      });
      if (opened === 0) break;
      await page.waitForTimeout(150);
    }
    const shown = await shownOn(page);
    this.seen.push(name);
    this.texts += shown.length;
    const unmarked = await this.#daemon.unmarked(shown);
    this.wrong.push(...unmarked.map((text) => `${name}: ${text}`));
    const overflow = await this.#visitor.overflow();
    if (overflow <= 0) return;
    const wide = (await widest(page)).join(', ');
    this.wrong.push(`${name} is ${overflow} px wider than its window: ${wide}`);
  }

  async go(path: string, waitFor: string): Promise<void> {
    const { page } = this.#visitor;
    await page.goto(`${bench.url}${path}`);
    await page.locator(waitFor).first().waitFor();
    await this.look(path === '/' ? 'bench' : path.slice(1));
  }
}

it('tells what is neither in a language nor of the daemon', async () => {
  const daemon = new DaemonsWords();
  const left = async (text: string): Promise<readonly string[]> =>
    (await daemon.unmarked([{ text, where: 'here' }])).map((found) => found.replace(/ \(of.*/, ''));
  expect(await left('⟦Off⟦Of⟧⟧ 1,2 A')).toEqual([]);
  expect(await left('⟦Off⟦Of⟧⟧ wanted 1,2 A')).toEqual(['wanted']);
  expect(await left('Off switch')).toEqual(['Off switch']);
  // Of a kind of part, and of a list before a start.
  expect(await left('Wire diameter')).toEqual([]);
  expect(await left('The contact is tight, and out of the bath.')).toEqual([]);
});

it('all that pages say is in the made-up language, and none is wider than 360 px', async () => {
  const visitor = await Visitor.open(browser, { width: 360, look: 'dark' });
  const { page } = visitor;
  await servePages(page, pages);
  const walk = new Walk(visitor);
  await walk.go('/', '.intro');
  expect(await page.evaluate(() => document.documentElement.lang)).toBe('qaa');

  await walk.go('/plan', '.decisive .figure small');
  for (const box of await page.locator('.arming input[type=checkbox]').all()) await box.check();
  await page.locator('.arming button.strong[aria-disabled=false]').click();
  await page.locator('#start-title').waitFor();
  await walk.look('armed');
  await page.locator('.arming button.strong[aria-disabled=false]').click();
  await page.locator('off-bar .off').waitFor();
  await page.waitForTimeout(1500);
  await walk.look('under-way');
  await walk.go('/night', '.night-figure');
  await walk.go('/', '.tank .grown');
  await page.locator('off-bar .off').click();
  await page.locator('off-bar .done').waitFor();
  await walk.go('/run/beaker', '.ending');

  const runs = (await page.evaluate(async () => (await fetch('/api/log')).json())) as {
    runs: readonly { id: string }[];
  };
  const id = runs.runs[0]?.id ?? '';
  await walk.go('/log', '.log li');
  await walk.go(`/log/${id}`, '.scrubber, input[type=range]');
  await walk.go(`/report/${id}`, 'article.report[data-ready]');
  await walk.go(`/compare?runs=${id}`, '.seats li');
  await walk.go(`/weigh-in/${id}`, 'form');
  await walk.go(`/plan?continues=${id}`, '.origin');
  await walk.go('/baths', 'main li a');
  const bath = await page.locator('main li a, main h2 a').first().getAttribute('href');
  await walk.go(bath ?? '', 'main h2');
  await walk.go('/alerts', 'device-alarms');
  for (const part of ['', 'supply', 'tanks', 'baths', 'alerts', 'access', 'units']) {
    await walk.go(part === '' ? '/setup' : `/setup/${part}`, '.setup-nav ~ * p, .setup-parts');
  }
  await walk.go('/cautions', 'main h2');
  await walk.go('/nowhere', 'main h1');
  await page.route('**/api/session', (route) =>
    route.fulfill({ json: { role: null, signedIn: false, name: '' } }),
  );
  await walk.go('/', 'form input[type=password]');

  expect(walk.wrong).toEqual([]);
  expect(walk.seen.length).toBe(26);
  expect(walk.texts).toBeGreaterThan(2000);
  expect(visitor.complaints).toEqual([]);
  await visitor.close();
});
