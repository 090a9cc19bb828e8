/** The scripts beside the tests, which no compiler reads, ask the program for names that it has. */

import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const scripts = readdirSync(join(root, 'tests'), { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('.js') && !path.startsWith('output/'))
  .map((path) => join('tests', path));

/** The source of what a script imports: the compiled program stands in `dist` under the same path. */
function sourceOf(script: string, specifier: string): string {
  const path = join(dirname(script), specifier);
  return path.startsWith('dist/') ? path.slice('dist/'.length).replace(/\.js$/, '.ts') : path;
}

/** The names in a list between braces, as the other side knows them. */
function namesIn(list: string): readonly string[] {
  const names = list.split(',').map((name) => name.trim());
  return names.filter((name) => name !== '' && !name.startsWith('type '));
}

function importsOf(source: string) {
  const found = source.matchAll(/^import \{([^}]*)\} from '(\.[^']+)'/gm);
  return [...found].map(([, list = '', specifier = '']) => ({
    names: namesIn(list).map((name) => name.split(' as ')[0] ?? name),
    specifier,
  }));
}

function exportsOf(source: string): readonly string[] {
  const declared = source.matchAll(/^export (?:async )?(?:const|let|class|function\*?) (\w+)/gm);
  const taken = source.matchAll(/^export const \{([^}]*)\} =/gm);
  const listed = source.matchAll(/^export \{([^}]*)\}/gm);
  return [
    ...[...declared].map(([, name = '']) => name),
    ...[...listed, ...taken].flatMap(([, list = '']) =>
      namesIn(list).map((name) => name.split(' as ').at(-1) ?? name),
    ),
  ];
}

function missingIn(script: string, source: string): readonly string[] {
  return importsOf(source).flatMap(({ names, specifier }) => {
    const from = sourceOf(script, specifier);
    const there = exportsOf(readFileSync(join(root, from), 'utf8'));
    return names.filter((name) => !there.includes(name)).map((name) => `${name} of ${from}`);
  });
}

describe('the scripts beside the tests', () => {
  it('are there, and import from the program', () => {
    const sources = scripts.map((path) => readFileSync(join(root, path), 'utf8'));
    expect(sources.flatMap(importsOf).length).toBeGreaterThan(50);
  });

  it.each(scripts)('%s', (path) => {
    expect(missingIn(path, readFileSync(join(root, path), 'utf8'))).toEqual([]);
  });

  it('are told of a name that is not there', () => {
    const planted = `import { systemClock, noSuchName } from '../../dist/drivers/registry.js';\n`;
    expect(missingIn('tests/trials/planted.js', planted)).toEqual([
      'noSuchName of drivers/registry.ts',
    ]);
  });
});
