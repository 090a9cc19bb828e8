/** Builds the dashboard in a made-up language, and finds what on its pages is not in it. */

import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { literalsIn, proseIn } from '../dashboard/page-texts.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const english = join(root, 'dashboard/words/en');

/** A tag that is kept for private use, so that no language is meant. */
const tag = 'qaa';

/** One that writes decimals with a comma. */
const locale = 'de-DE';

/** Words that are read by the page itself: a locale, and names of fields in the API. */
const kept: Readonly<Record<string, string>> = {
  figureWords: `locale: '${locale}'`,
  runWords: 'change: { ...made.change, fields: words.change.fields }',
};

function writeWords(folder: string): void {
  mkdirSync(folder, { recursive: true });
  const maker = join(root, 'tests/browser/made-up-words.ts');
  for (const file of readdirSync(english)) {
    const source = readFileSync(join(english, file), 'utf8');
    const names = [...source.matchAll(/^export const (\w+)/gm)].map(([, name = '']) => name);
    const made = names.map((name) => {
      const whole = `madeUp(english.${name})`;
      if (kept[name] === undefined) return `export const ${name} = ${whole};`;
      return `export const ${name} = ((words, made) => ({ ...made, ${kept[name]} }))(english.${name}, ${whole});`;
    });
    const imports = `import * as english from '${join(english, file)}';\nimport { madeUp } from '${maker}';`;
    writeFileSync(join(folder, file), `${imports}\n${made.join('\n')}\n`);
  }
}

/** Builds it below a folder for scratch; its pages lie in the folder that is returned. */
export function buildMadeUp(scratch: string): string {
  const words = join(scratch, tag);
  const outDir = join(scratch, 'dist');
  writeWords(words);
  const vite = join(root, 'node_modules/vite/bin/vite.js');
  const args = [
    vite,
    'build',
    'dashboard',
    '--outDir',
    outDir,
    '--emptyOutDir',
    '--logLevel',
    'error',
  ];
  const built = spawnSync(process.execPath, args, {
    cwd: root,
    env: { ...process.env, NODE_ENV: 'production', NIGHTBATH_LANGUAGE: words },
    encoding: 'utf8',
  });
  if (built.status !== 0) throw new Error(`The made-up language does not build:\n${built.stderr}`);
  return outDir;
}

/** Puts the pages of a build in place of those that the daemon serves; what they ask it stays. */
export async function servePages(page: Page, folder: string): Promise<void> {
  // A document that comes from no address may ask this machine only by leave.
  await page.context().grantPermissions(['local-network-access']);
  await page.route(
    ({ pathname }) => !pathname.startsWith('/api/'),
    async (route) => {
      const { pathname } = new URL(route.request().url());
      const file = join(folder, pathname);
      const found = pathname !== '/' && existsSync(file);
      await route.fulfill({ path: found ? file : join(folder, 'index.html') });
    },
  );
}

/** What stands on a page for people to see, or to hear of. */
export interface Shown {
  readonly text: string;
  readonly where: string;
}

/** Every text in sight, and every attribute that is read out or shown. */
export function shownOn(page: Page): Promise<readonly Shown[]> {
  return page.evaluate(() => {
    const found: { text: string; where: string }[] = [];
    const placeOf = (element: Element): string =>
      [element.closest('[id], [class]'), element]
        .map((one) => `${one?.localName}.${one?.getAttribute('class') ?? one?.id ?? ''}`)
        .join(' ');
    const add = (text: string | null, element: Element): void => {
      if (text !== null && text.trim() !== '') found.push({ text, where: placeOf(element) });
    };
    const inSight = (element: Element): boolean =>
      element.localName === 'option' || element.getClientRects().length > 0;
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const parent = texts.currentNode.parentElement;
      if (parent && !/^(script|style|noscript)$/.test(parent.localName) && inSight(parent)) {
        add(texts.currentNode.nodeValue, parent);
      }
    }
    const spoken = ['aria-label', 'aria-description', 'title', 'placeholder', 'alt'];
    for (const element of document.body.querySelectorAll('*')) {
      if (inSight(element)) for (const name of spoken) add(element.getAttribute(name), element);
    }
    add(document.title, document.head);
    return found;
  });
}

/** What reaches furthest out of the window on the right, for a message. */
export function widest(page: Page): Promise<readonly string[]> {
  return page.evaluate(() =>
    [...document.body.querySelectorAll('*')]
      .filter((one) => one.getBoundingClientRect().right > innerWidth + 1)
      .map((one) => `${one.localName}.${one.getAttribute('class') ?? ''}`)
      .slice(-4),
  );
}

const plainly = (text: string): string =>
  text.replaceAll('\u00a0', ' ').replaceAll('²', '2').replaceAll(/\s+/g, ' ').trim();

/** Everything in a text of JSON that is a text itself. */
function stringsIn(value: unknown): readonly string[] {
  if (typeof value === 'string') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(stringsIn) : [];
}

function sourcesUnder(folder: string): readonly string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => readFileSync(join(folder, name), 'utf8'));
}

/** Without these texts where they stand as whole words, the longest first. */
function without(text: string, known: readonly string[]): string {
  let left = text;
  for (const one of known) {
    for (let at = left.indexOf(one); at >= 0; at = left.indexOf(one, at + 1)) {
      const around = `${left[at - 1] ?? ' '}${left[at + one.length] ?? ' '}`;
      // A part of a longer word is another word.
      if (!/\p{L}/u.test(around)) left = `${left.slice(0, at)} ${left.slice(at + one.length)}`;
    }
  }
  return left;
}

const longestFirst = (texts: Iterable<string>): readonly string[] =>
  [...new Set([...texts].map(plainly))]
    .filter((text) => /\p{L}/u.test(text))
    .toSorted((a, b) => b.length - a.length);

/** What the browser puts between the last two of a list. */
function listWords(): readonly string[] {
  return new Intl.ListFormat(locale, { type: 'unit', style: 'short' })
    .formatToParts(['1', '2', '3'])
    .map(({ value }) => value);
}

/** What the daemon has said, or would say by those of its sources that pages use as well. */
export class DaemonsWords {
  readonly #heard = new Set<string>();
  readonly #hearing: Promise<void>[] = [];
  readonly #pieces: readonly string[];

  constructor() {
    const literals = ['chemistry', 'piece', 'run', 'wire']
      .flatMap((house) => sourcesUnder(join(root, 'daemon', house)))
      .flatMap((source) => literalsIn(source))
      // Sentences, and pieces of them; a bare small word is the name of a thing in the code.
      .filter((text) => /\s/.test(text) || /^\p{Lu}/u.test(text));
    this.#pieces = [...literals, ...listWords()];
  }

  /** Listens to all that the daemon answers this page, and to all that it tells by itself. */
  listen(page: Page): void {
    const hear = (text: string): void => {
      try {
        for (const one of stringsIn(JSON.parse(text))) this.#heard.add(one);
      } catch {
        // Not JSON: a file, or a picture.
      }
    };
    page.on('response', (response) => {
      if (!new URL(response.url()).pathname.startsWith('/api/')) return;
      this.#hearing.push(response.text().then(hear, () => undefined));
    });
    page.on('websocket', (socket) =>
      socket.on('framereceived', ({ payload }) => hear(payload.toString())),
    );
  }

  /** What of the texts is in no language: without what is marked, what is data, what the daemon says. */
  async unmarked(shown: readonly Shown[]): Promise<readonly string[]> {
    await Promise.all(this.#hearing);
    const known = longestFirst([...this.#heard, ...this.#pieces]);
    return shown.flatMap(({ text, where }) => {
      let left = text;
      for (let before = ''; before !== left;) {
        before = left;
        left = left.replaceAll(/⟦[^⟦⟧]*⟧/g, ' ');
      }
      if (proseIn(left).length === 0) return [];
      const words = proseIn(without(plainly(left), known));
      return words.length === 0 ? [] : [`${words.join(' ')} (of “${plainly(text)}”, ${where})`];
    });
  }
}
