/** Which language a build takes, and that another one has to say all that English says. */

import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import {
  documentLanguage,
  languageOf,
  placedBy,
  wordsAlias,
} from '../../dashboard/build-language.ts';
import type { Translation } from '../../dashboard/words/translation.ts';

const scratch = mkdtempSync(join(tmpdir(), 'nightbath-language-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

const english = languageOf(undefined);
const files = readdirSync(english.folder);

/** A folder of words with these files, empty ones. */
function folderOf(tag: string, names: readonly string[]): string {
  const folder = join(scratch, tag);
  mkdirSync(folder, { recursive: true });
  for (const name of names) writeFileSync(join(folder, name), '');
  return folder;
}

describe('the language of a build', () => {
  it('is English where nothing is set', () => {
    expect(english.tag).toBe('en');
    expect(basename(english.folder)).toBe('en');
    expect(files.length).toBeGreaterThan(20);
    expect(languageOf('')).toEqual(english);
    expect(languageOf(' en ')).toEqual(english);
  });

  it('is that of a folder elsewhere, named by its tag', () => {
    const folder = folderOf('pt-BR', files);
    expect(languageOf(folder)).toEqual({ tag: 'pt-BR', folder });
    const { find, replacement } = wordsAlias({ tag: 'pt-BR', folder });
    expect('#words/plan'.replace(find, replacement)).toBe(join(folder, 'plan.ts'));
  });

  it('has its words in the files that those in English would be in', () => {
    const folder = folderOf('fr', files);
    const isFrame = placedBy(/dashboard\/words\/[\w-]+\/common\.ts$/, languageOf(folder));
    expect(isFrame(join(folder, 'common.ts'))).toBe(true);
    expect(isFrame(join(folder, 'plan.ts'))).toBe(false);
    expect(isFrame(join(english.folder, 'common.ts'))).toBe(true);
  });

  it('names the folder that is not there, and the languages that are', () => {
    expect(() => languageOf('xx')).toThrow(
      /^NIGHTBATH_LANGUAGE is xx: there is no .*dashboard\/words\/xx\. Known here: en\.$/,
    );
  });

  it('names the files that are not there', () => {
    const folder = folderOf(
      'nl',
      files.filter((name) => !['plan.ts', 'run.ts'].includes(name)),
    );
    expect(() => languageOf(folder)).toThrow(`${folder} lacks plan.ts, run.ts.`);
  });

  it.each(['my words', 'x', 'english_words'])('refuses a folder called %j', (name) => {
    expect(() => languageOf(folderOf(name, files))).toThrow('named by a language tag');
  });

  it('stands in the document, with its words for a page without scripts', async () => {
    const { transformIndexHtml } = documentLanguage(english);
    if (typeof transformIndexHtml !== 'object') throw new Error('The document is left as it is.');
    const markup = '<html lang="%language%"><title>%title%</title>%noScript%</html>';
    const page = await Reflect.apply(transformIndexHtml.handler, null, [markup]);
    expect(page).toBe(
      '<html lang="en"><title>Nightbath</title>' +
        'This page needs JavaScript. The bench itself runs without it.</html>',
    );
  });
});

const words = {
  off: 'Off',
  left: (time: string) => `${time} left`,
  runs: (count: number, tank: string) => `${count} on ${tank}`,
  steps: [
    ['One', 'first'],
    ['Two', 'second'],
  ],
  states: { on: 'On', stopped: 'Stopped' },
} as const;

/** The type checker judges these; each bad one has to be an error, or the check itself is one. */
const translations: readonly Translation<typeof words>[] = [
  {
    off: 'Aus',
    left: (time) => `noch ${time}`,
    runs: (count, tank) => `${tank}: ${count}`,
    steps: [
      ['Eins', 'zuerst'],
      ['Zwei', 'danach'],
    ],
    states: { on: 'An', stopped: 'Gehalten' },
  },
];

type Said = Translation<typeof words>;
const whole = translations[0] as Said;
void ({
  ...whole,
  // @ts-expect-error A function for a text.
  off: (time: string) => time,
} satisfies Said);
void ({
  ...whole,
  // @ts-expect-error A text for a function.
  left: 'noch',
} satisfies Said);
void ({
  ...whole,
  // @ts-expect-error Another parameter.
  left: (time: number) => `${time}`,
} satisfies Said);
void ({
  ...whole,
  // @ts-expect-error A step too few.
  steps: [['Eins', 'zuerst']],
} satisfies Said);
void ({
  ...whole,
  // @ts-expect-error A name is missing.
  states: { on: 'An' },
} satisfies Said);
// @ts-expect-error A name is missing.
void ({ off: 'Aus' } satisfies Said);
void ({
  ...whole,
  // @ts-expect-error A name that English does not have.
  more: 'mehr',
} satisfies Said);

describe('a translation', () => {
  it('says the same things in its own order', () => {
    const [german] = translations;
    expect(german?.left('4 h')).toBe('noch 4 h');
    expect(german?.runs(2, 'Becher')).toBe('Becher: 2');
    expect(words.left('4 h')).toBe('4 h left');
  });
});
