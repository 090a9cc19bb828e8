/** Which language a build of the dashboard speaks, and what of it goes into the document. */

import { readdirSync } from 'node:fs';
import { basename, join, resolve } from 'node:path';
import { runnerImport, type Plugin } from 'vite';
import type { pageWords } from './words/en/page.ts';

const shipped = join(import.meta.dirname, 'words');

export interface Language {
  /** A BCP 47 tag, such as `en` or `pt-BR`: the name of the folder. */
  readonly tag: string;
  /** Where its words stand, a file for each of those in English. */
  readonly folder: string;
}

function namesIn(folder: string, type: 'file' | 'folder'): readonly string[] {
  return readdirSync(folder, { withFileTypes: true })
    .filter((one) => (type === 'file' ? one.isFile() : one.isDirectory()))
    .map(({ name }) => name)
    .toSorted();
}

function wordsIn(folder: string, asked: string): readonly string[] {
  try {
    return namesIn(folder, 'file');
  } catch {
    const known = namesIn(shipped, 'folder').join(', ');
    throw new Error(`NIGHTBATH_LANGUAGE is ${asked}: there is no ${folder}. Known here: ${known}.`);
  }
}

function isTag(name: string): boolean {
  try {
    return Intl.getCanonicalLocales(name)[0]?.toLowerCase() === name.toLowerCase();
  } catch {
    return false;
  }
}

/**
 * The language of the setting NIGHTBATH_LANGUAGE, English where there is none: the name of a folder
 * beside that of English, or the path of one elsewhere. Throws for one that is not there or not whole.
 */
export function languageOf(setting: string | undefined): Language {
  const asked = setting?.trim() || 'en';
  const folder = /[\\/]/.test(asked) ? resolve(asked) : join(shipped, asked);
  const tag = basename(folder);
  const present = wordsIn(folder, asked);
  if (!isTag(tag)) {
    throw new Error(
      `NIGHTBATH_LANGUAGE is ${asked}: the folder has to be named by a language tag, such as de or pt-BR.`,
    );
  }
  const missing = namesIn(join(shipped, 'en'), 'file').filter((name) => !present.includes(name));
  if (missing.length === 0) return { tag, folder };
  throw new Error(`NIGHTBATH_LANGUAGE is ${asked}: ${folder} lacks ${missing.join(', ')}.`);
}

/** Where `#words/…` leads in this language. */
export function wordsAlias({ folder }: Language): { find: RegExp; replacement: string } {
  return { find: /^#words\/(.+)$/, replacement: `${folder}/$1.ts` };
}

/** Judges files by their path; words of the language stand where those in English would. */
export function placedBy(pattern: RegExp, { folder }: Language): (file: string) => boolean {
  return (file) =>
    pattern.test(file.startsWith(folder) ? file.replace(folder, join(shipped, 'en')) : file);
}

/** Puts the tag of the language and its few words for the document into their places there. */
export function documentLanguage({ tag, folder }: Language): Plugin {
  return {
    name: 'document-language',
    transformIndexHtml: {
      order: 'pre',
      async handler(markup) {
        const { module } = await runnerImport<{ pageWords: typeof pageWords }>(
          join(folder, 'page.ts'),
        );
        const { title, noScript } = module.pageWords;
        return markup
          .replace('%language%', tag)
          .replace('%title%', title)
          .replace('%noScript%', noScript);
      },
    },
  };
}
