/** A person's hands for browser tests: keys alone, keys held down, and two who press at the same time. */

import type { Locator, Page } from 'playwright-core';

/** More stops than lie between any two controls. */
const mostStops = 300;

/** Goes by Tab alone until this control has the focus; Shift+Tab goes the other way. */
export async function tabTo(wanted: Locator, key: 'Tab' | 'Shift+Tab' = 'Tab'): Promise<void> {
  const page = wanted.page();
  await wanted.first().waitFor();
  for (let count = 0; count < mostStops; count += 1) {
    const there = (all: Element[]): boolean =>
      document.activeElement !== null && all.includes(document.activeElement);
    if (await wanted.evaluateAll(there)) return;
    await page.keyboard.press(key);
  }
  throw new Error(`No Tab leads to ${String(wanted)}.`);
}

/** By Tab to a control, and Enter on it. */
export async function enterOn(wanted: Locator): Promise<void> {
  await tabTo(wanted);
  await wanted.page().keyboard.press('Enter');
}

/** By Tab to a field, and what stands in it typed over. */
export async function typeInto(wanted: Locator, text: string): Promise<void> {
  await tabTo(wanted);
  await wanted.page().keyboard.press('ControlOrMeta+A');
  await wanted.page().keyboard.type(text);
}

/** A key that is held down, as by a heavy hand: the browser repeats it. */
export async function holdDown({ keyboard }: Page, key: string): Promise<void> {
  for (let count = 0; count < 5; count += 1) await keyboard.down(key);
  await keyboard.up(key);
}

/** A double press of a slow hand, ms (common practice, no source). */
const slowDoubleMs = 500;

/**
 * Two presses that follow each other by the page's own clock as those of a slow double press do, however
 * long they take on a busy machine.
 */
export async function pressTwice(
  page: Page,
  { first, second }: { first: () => Promise<void>; second: () => Promise<void> },
): Promise<void> {
  const passes = (ms: number): Promise<void> =>
    page.evaluate((later) => {
      const atMs = performance.now() + later;
      performance.now = () => atMs;
    }, ms);
  await passes(0);
  await first();
  await passes(slowDoubleMs);
  await second();
  await page.evaluate(() => void Reflect.deleteProperty(performance, 'now'));
}

/** What has the focus, as its text; empty where nothing has. */
export function focused(page: Page): Promise<string> {
  return page.evaluate(() => {
    const { activeElement: at } = document;
    return at === null || at === document.body ? '' : `${at.tagName} ${at.textContent?.trim()}`;
  });
}

/** The last words of the address of each change that a page has asked for. */
export class Asked {
  readonly all: string[] = [];

  constructor(page: Page) {
    page.on('request', (request) => {
      if (request.method() === 'GET') return;
      this.all.push(new URL(request.url()).pathname.split('/').at(-1) ?? '');
    });
  }

  count(what: string): number {
    return this.all.filter((one) => one === what).length;
  }
}

/** Two people press at once: what the second has sent arrives after the first was answered. */
export async function overtaken(
  second: Page,
  what: string,
  { press, first }: { press: () => Promise<void>; first: () => Promise<void> },
): Promise<void> {
  let open = (): void => undefined;
  const gate = new Promise<void>((resolve) => (open = resolve));
  let tell = (): void => undefined;
  const sent = new Promise<void>((resolve) => (tell = resolve));
  await second.route(
    (url) => url.pathname.endsWith(`/${what}`),
    async (route) => {
      tell();
      await gate;
      await route.continue();
    },
    { times: 1 },
  );
  await press();
  await sent;
  await first();
  open();
}
