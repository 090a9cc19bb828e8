/** Measures of a page as it is laid out: what sticks out, is cut off, too small to press, covered, or moves. */

import type { Page } from 'playwright-core';

/** From the narrowest phone to a wide desk screen, CSS px. */
export const widths = [360, 390, 768, 1280, 1920] as const;

/** Least side of what can be pressed, CSS px: WCAG 2.2, success criterion 2.5.8. */
const leastSide = 24;

interface Seen {
  readonly element: Element;
  readonly box: DOMRect;
  /** Inside of something that is scrolled sideways by itself. */
  readonly scrolls: boolean;
  /** Lies over the page on purpose. */
  readonly floats: boolean;
}

/* The functions below run inside the page, as text; they may use each other and nothing else. */

function named(element: Element): string {
  const text = (element.getAttribute('aria-label') ?? element.textContent ?? '').trim();
  const id = element.id === '' ? '' : `#${element.id}`;
  const kind = element.className === '' ? '' : `.${String(element.getAttribute('class'))}`;
  return `${element.tagName.toLowerCase()}${id}${kind} "${text.replaceAll(/\s+/g, ' ').slice(0, 40)}"`;
}

/** What an element takes from those around it: clipped for the ears alone, scrolled sideways, floating. */
function around(element: Element): { clipped: boolean; scrolls: boolean; floats: boolean } {
  const known = ((globalThis as { known?: WeakMap<Element, object> }).known ??= new WeakMap());
  const kept = known.get(element);
  if (kept !== undefined) return kept as ReturnType<typeof around>;
  const parent = element.parentElement;
  const outer =
    parent === null ? { clipped: false, scrolls: false, floats: false } : around(parent);
  const { clipPath, overflowX, position } = getComputedStyle(element);
  const found = {
    clipped: outer.clipped || clipPath !== 'none',
    scrolls: outer.scrolls || ['auto', 'scroll'].includes(overflowX),
    floats: outer.floats || ['fixed', 'sticky'].includes(position),
  };
  known.set(element, found);
  return found;
}

/** Shown to those who see: neither hidden, nor folded away, nor for the ears alone. */
function isShown(element: Element): boolean {
  if (!element.checkVisibility({ checkVisibilityCSS: true, checkOpacity: true })) return false;
  const { width, height, right } = element.getBoundingClientRect();
  return width > 0 && height > 0 && right > 0 && !around(element).clipped;
}

/** What a press may be meant for, with the label that presses it too. */
function targets(): Seen[] {
  const all =
    'a[href], button, input, select, textarea, summary, label:has([type=file]), [tabindex="0"]';
  return Array.from(document.querySelectorAll(all)).flatMap((element): Seen[] => {
    // Marks of events stand where the events were, however close; the list and two buttons lead there too.
    if (!isShown(element) || element.matches('event-marks *')) return [];
    const { left, top, right, bottom } = element.getBoundingClientRect();
    const box = { left, top, right, bottom };
    const labels = element instanceof HTMLInputElement ? Array.from(element.labels ?? []) : [];
    for (const label of labels.filter((one) => one.contains(element))) {
      const outer = label.getBoundingClientRect();
      box.left = Math.min(box.left, outer.left);
      box.top = Math.min(box.top, outer.top);
      box.right = Math.max(box.right, outer.right);
      box.bottom = Math.max(box.bottom, outer.bottom);
    }
    const { left: x, top: y } = box;
    const whole = new DOMRect(x, y, box.right - x, box.bottom - y);
    return [{ element, box: whole, ...around(element) }];
  });
}

/** Links within a sentence are exempt from the least side; they are as high as their line. */
function isInSentence(element: Element): boolean {
  if (getComputedStyle(element).display !== 'inline') return false;
  const whole = element.parentElement?.textContent?.trim() ?? '';
  return whole.length > (element.textContent ?? '').trim().length;
}

/** Too small counts unless a circle of the least side around its middle touches no other target. */
function tooSmall(all: readonly Seen[], least: number): string[] {
  const middle = (box: DOMRect) => [box.left + box.width / 2, box.top + box.height / 2] as const;
  const isSmall = ({ box }: Seen): boolean => box.width < least - 0.5 || box.height < least - 0.5;
  return all.filter(isSmall).flatMap((one) => {
    if (isInSentence(one.element)) return [];
    const [x, y] = middle(one.box);
    const near = all.find((other) => {
      if (other === one || other.element.contains(one.element)) return false;
      if (isSmall(other)) {
        const [otherX, otherY] = middle(other.box);
        return Math.hypot(otherX - x, otherY - y) < least;
      }
      const { box } = other;
      const awayX = Math.max(box.left - x, 0, x - box.right);
      const awayY = Math.max(box.top - y, 0, y - box.bottom);
      return Math.hypot(awayX, awayY) < least / 2;
    });
    if (near === undefined) return [];
    const size = `${Math.round(one.box.width)} by ${Math.round(one.box.height)}`;
    return [`${named(one.element)} is ${size}, close to ${named(near.element)}`];
  });
}

function overlapping(all: readonly Seen[]): string[] {
  const found: string[] = [];
  for (const [index, one] of all.entries()) {
    for (const other of all.slice(index + 1)) {
      if (one.element.contains(other.element) || other.element.contains(one.element)) continue;
      if (one.floats !== other.floats) continue;
      const across =
        Math.min(one.box.right, other.box.right) - Math.max(one.box.left, other.box.left);
      const down =
        Math.min(one.box.bottom, other.box.bottom) - Math.max(one.box.top, other.box.top);
      if (across > 1 && down > 1)
        found.push(`${named(one.element)} lies over ${named(other.element)}`);
    }
  }
  return found;
}

/** Brought into sight, the middle of each target has to be its own. */
function covered(all: readonly Seen[]): string[] {
  return all.flatMap(({ element }) => {
    if (element.matches('.skip')) return [];
    element.scrollIntoView({ block: 'center', inline: 'center' });
    const { left, top, width, height } = element.getBoundingClientRect();
    const lines =
      getComputedStyle(element).display === 'inline' ? element.getClientRects()[0] : null;
    const x = lines ? lines.left + lines.width / 2 : left + width / 2;
    const y = lines ? lines.top + lines.height / 2 : top + height / 2;
    const hit = document.elementFromPoint(x, y);
    const label = hit?.closest('label');
    const own = hit !== null && (element.contains(hit) || hit.contains(element));
    if (own || label?.control === element) return [];
    return [`${named(element)} is covered by ${hit === null ? 'nothing' : named(hit)}`];
  });
}

/** Lines of text as they are drawn. */
function lines(): Seen[] {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const found: Seen[] = [];
  const range = document.createRange();
  for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
    const element = node.parentElement;
    if (element === null || node.textContent?.trim() === '') continue;
    if (element.matches('option, noscript, script, style') || !isShown(element)) continue;
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      if (box.width > 1) found.push({ element, box, ...around(element) });
    }
  }
  return found;
}

/** Text that stands out of the window, or out of what cuts it off. */
function cutOff(all: readonly Seen[]): string[] {
  return all.flatMap(({ element, box, scrolls }) => {
    if (scrolls) return [];
    if (box.left < -0.5 || box.right > innerWidth + 0.5)
      return [`${named(element)} leaves the window`];
    const { textOverflow } = getComputedStyle(element);
    for (
      let at: Element | null = element;
      at !== null && at !== document.body;
      at = at.parentElement
    ) {
      const style = getComputedStyle(at);
      if (style.overflowX !== 'hidden' && style.overflowX !== 'clip') continue;
      const { left, right, top, bottom } = at.getBoundingClientRect();
      const out =
        box.left < left - 1 ||
        box.right > right + 1 ||
        box.top < top - 3 ||
        box.bottom > bottom + 3;
      if (out && textOverflow !== 'ellipsis')
        return [`${named(element)} is cut off by ${named(at)}`];
    }
    return [];
  });
}

/** Text over text; the room of a line above and below its letters may be shared. */
function textOverText(all: readonly Seen[]): string[] {
  const plain = all
    .filter(({ element, floats }) => !floats && element.closest('svg') === null)
    .map(({ element, box }) => ({
      element,
      left: box.left,
      right: box.right,
      top: box.top + box.height * 0.3,
      bottom: box.bottom - box.height * 0.3,
    }))
    .toSorted((one, other) => one.top - other.top);
  const found: string[] = [];
  for (const [index, one] of plain.entries()) {
    for (const other of plain.slice(index + 1)) {
      if (other.top >= one.bottom) break;
      const across = Math.min(one.right, other.right) - Math.max(one.left, other.left);
      if (across > 1) found.push(`${named(one.element)} is written over ${named(other.element)}`);
    }
  }
  return found;
}

/** At the foot of the page nothing may be left under the bar with the switches. */
function underTheBar(): string[] {
  scrollTo(0, document.documentElement.scrollHeight);
  const bar = document.querySelector('off-bar')?.getBoundingClientRect();
  const foot = document.querySelector('footer')?.getBoundingClientRect();
  scrollTo(0, 0);
  if (bar === undefined || foot === undefined || bar.height === 0 || foot.height === 0) return [];
  return foot.bottom > bar.top + 1
    ? [`the foot of the page lies ${foot.bottom - bar.top} px under the bar`]
    : [];
}

function misfits(least: number): string[] {
  Reflect.deleteProperty(globalThis, 'known');
  scrollTo(0, 0);
  const all = targets().filter(({ element }) => !element.matches('.skip'));
  const text = lines();
  const wide = document.documentElement.scrollWidth - innerWidth;
  const out = all.filter(
    ({ box, scrolls }) => !scrolls && (box.left < -0.5 || box.right > innerWidth + 0.5),
  );
  return [
    ...(wide > 0 ? [`the page is ${wide} px wider than its window`] : []),
    ...out.map(({ element }) => `${named(element)} leaves the window`),
    ...tooSmall(all, least),
    ...overlapping(all),
    ...cutOff(text),
    ...textOverText(text),
    ...covered(all),
    ...underTheBar(),
  ];
}

/** Elements that would move by themselves, or on the way from one look to another. */
function moving(): string[] {
  const found: string[] = [];
  for (const element of document.querySelectorAll('*')) {
    for (const which of ['', '::before', '::after'] as const) {
      const style = getComputedStyle(element, which === '' ? null : which);
      const { transitionDuration, animationDuration, animationName, scrollBehavior } = style;
      const long = (text: string): boolean =>
        text.split(',').some((one) => Number.parseFloat(one) > 0);
      const animates = animationName !== 'none' && long(animationDuration);
      if (long(transitionDuration) || animates || scrollBehavior === 'smooth') {
        found.push(named(element) + which);
      }
    }
  }
  return found;
}

/** The control that holds the focus, as the Tab key has left it, and what is wrong with how it is shown. */
function stop(): { name: string; over: boolean; wrong: string } {
  const element = document.activeElement;
  if (element === null || element === document.body) return { name: '', over: true, wrong: '' };
  const name = named(element);
  const last = element.getAttribute('data-stop') === 'last';
  // Past its end a page without a browser's own controls begins anew. A date has three stops of its own.
  if (element.hasAttribute('data-stop')) return { name, over: !last, wrong: '' };
  document.querySelector('[data-stop=last]')?.setAttribute('data-stop', '');
  element.setAttribute('data-stop', 'last');
  const label = element instanceof HTMLInputElement ? element.labels?.[0] : null;
  const shown = isShown(element) ? element : label;
  if (!shown) return { name, over: false, wrong: `${name} has the focus and cannot be seen` };
  const { outlineStyle, outlineWidth } = getComputedStyle(shown);
  const marked = outlineStyle !== 'none' && Number.parseFloat(outlineWidth) >= 2;
  const { left, right, top, bottom } = shown.getBoundingClientRect();
  const inline = getComputedStyle(shown).display === 'inline' ? shown.getClientRects()[0] : null;
  const x = inline ? inline.left + inline.width / 2 : Math.min(innerWidth - 1, (left + right) / 2);
  const high = inline ?? { top, bottom };
  const y = (Math.max(0, high.top) + Math.min(innerHeight, high.bottom)) / 2;
  const hit = document.elementFromPoint(x, y);
  const seen = hit !== null && (shown.contains(hit) || hit.contains(shown));
  const wrong = marked
    ? seen
      ? ''
      : `${name} has the focus under ${hit ? named(hit) : 'the edge'}`
    : `${name} does not show its focus`;
  return { name, over: false, wrong };
}

/** What can be pressed and was never reached. */
function missed(): string[] {
  const all = targets().filter(({ element }) => {
    if (element.hasAttribute('data-stop') || (element as HTMLButtonElement).disabled) return false;
    if ((element as HTMLElement).tabIndex < 0) return false;
    if (!(element instanceof HTMLInputElement) || element.type !== 'radio') return true;
    const group = document.querySelectorAll<HTMLInputElement>(`[name="${element.name}"]`);
    return !Array.from(group).some((one) => one.hasAttribute('data-stop'));
  });
  for (const one of document.querySelectorAll('[data-stop]')) one.removeAttribute('data-stop');
  return all.map(({ element }) => `${named(element)} is not reached`);
}

const inPage = [
  named,
  around,
  isShown,
  targets,
  isInSentence,
  tooSmall,
  overlapping,
  covered,
  lines,
  cutOff,
  textOverText,
  underTheBar,
  misfits,
  moving,
  stop,
  missed,
]
  .map(String)
  .join('\n');

/** What does not fit at each of these widths, as one line each; the page is left at the last of them. */
export async function misfitsAt(page: Page, at: readonly number[]): Promise<readonly string[]> {
  const found: string[] = [];
  for (const width of at) {
    await page.setViewportSize({ width, height: width < 600 ? 844 : 800 });
    // One frame for what follows the width, and one for what follows that.
    await page.evaluate(
      () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
    );
    const here = await page.evaluate<string[]>(
      `(() => { ${inPage}; return misfits(${leastSide}); })()`,
    );
    found.push(...new Set(here.map((line) => `${width}: ${line}`)));
  }
  return found;
}

/** What would move on this page with the settings of its reader as they are. */
export function movingOn(page: Page): Promise<string[]> {
  return page.evaluate<string[]>(`(() => { ${inPage}; return moving(); })()`);
}

/** More stops than any page has. */
const mostStops = 400;

/**
 * Goes through the page by the Tab key, from its start until the focus leaves it: what does not show its
 * focus, hides it, is never reached, or holds it fast.
 */
export async function stopsOf(page: Page): Promise<readonly string[]> {
  // What is fetched when it comes into sight is there then.
  await page.evaluate(() => scrollTo(0, document.body.scrollHeight));
  await page.waitForTimeout(250);
  await page.evaluate(() => {
    scrollTo(0, 0);
    document.body.tabIndex = -1;
    document.body.focus();
    document.body.removeAttribute('tabindex');
  });
  const found: string[] = [];
  for (let count = 0; ; count += 1) {
    await page.keyboard.press('Tab');
    const { name, over, wrong } = await page.evaluate<ReturnType<typeof stop>>(
      `(() => { ${inPage}; return stop(); })()`,
    );
    if (over) break;
    if (wrong !== '') found.push(wrong);
    if (count > mostStops) throw new Error(`The focus does not get past ${name}.`);
  }
  const missing = await page.evaluate<string[]>(`(() => { ${inPage}; return missed(); })()`);
  return [...found, ...missing];
}

/**
 * Has every page from now on keep what shifts on it without anybody having pressed anything, and whether
 * its first frame came before it had heard its bench, which the head of the page then does not name.
 */
export async function watchShifts(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const seen: { value: number; what: string }[] = [];
    Reflect.set(globalThis, 'shifts', seen);
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries() as (PerformanceEntry & {
        value: number;
        hadRecentInput: boolean;
        sources: { node: Node | null; previousRect: DOMRect; currentRect: DOMRect }[];
      })[]) {
        if (entry.hadRecentInput) continue;
        const what = entry.sources.map(({ node, previousRect: was, currentRect: is }) => {
          const at = node instanceof Element ? node : node?.parentElement;
          const where = `${Math.round(was.y)}+${Math.round(was.height)} to ${Math.round(is.y)}+${Math.round(is.height)}`;
          return `${at?.tagName} ${at?.getAttribute('class') ?? ''} ${where}`;
        });
        seen.push({ value: entry.value, what: what.join('; ') });
      }
    }).observe({ type: 'layout-shift', buffered: true });
    new MutationObserver((_, observer) => {
      if (document.querySelector('[data-waits]') !== null) return;
      observer.disconnect();
      requestAnimationFrame(() => {
        Reflect.set(globalThis, 'early', document.querySelector('.studio')?.textContent === '');
      });
    }).observe(document, { subtree: true, attributeFilter: ['data-waits'] });
  });
}

interface Shifts {
  readonly sum: number;
  readonly what: string;
  /** The page has lost patience: it was shown before it had heard its bench. */
  readonly early: boolean;
}

/** The sum of what has shifted since the page was opened, and where. */
export async function shiftsOf(page: Page): Promise<Shifts> {
  const { seen, early } = await page.evaluate(() => ({
    seen: Reflect.get(globalThis, 'shifts') as { value: number; what: string }[],
    early: Reflect.get(globalThis, 'early') === true,
  }));
  const sum = seen.reduce((total, { value }) => total + value, 0);
  const what = seen.map((one) => `${one.value.toFixed(4)}: ${one.what}`).join('\n');
  return { sum, what, early };
}
