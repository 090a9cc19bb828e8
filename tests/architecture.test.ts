/** The houses and their doors: who may import whom, over every source file, and proof that it looked. */

import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { importsOf, judge, untidiness, zoneOf, zones } from './architecture.ts';

const root = fileURLToPath(new URL('..', import.meta.url));

function sourcesUnder(folder: string): string[] {
  return readdirSync(join(root, folder), { withFileTypes: true }).flatMap((entry) => {
    const path = `${folder}/${entry.name}`;
    if (entry.isDirectory()) return entry.name === 'node_modules' ? [] : sourcesUnder(path);
    return /\.[cm]?[jt]sx?$/.test(entry.name) ? [path] : [];
  });
}

const files = new Map(
  ['daemon', 'drivers', 'dashboard', 'tests']
    .flatMap(sourcesUnder)
    .map((path) => [path, readFileSync(join(root, path), 'utf8')] as const),
);
const lines = (violations: readonly { file: string; what: string }[]) =>
  violations.map(({ file, what }) => `${file} ${what}`);

describe('the tree', () => {
  it('keeps to the table of houses', () => {
    expect(lines(judge(files))).toEqual([]);
  });

  it('was looked at as a whole', () => {
    const seen = [...files.keys()];
    expect(seen.length).toBeGreaterThan(120);
    expect(seen.filter((file) => file.endsWith('.test.ts')).length).toBeGreaterThan(20);
    const looked = new Set(seen.map(zoneOf));
    for (const zone of Object.keys(zones)) {
      expect(looked, zone).toContain(zone);
    }
    const imports = [...files.values()].reduce((sum, source) => sum + importsOf(source).length, 0);
    expect(imports).toBeGreaterThan(4 * seen.length - 200);
    // As many as a plain count of lines that end an import, give or take those inside texts.
    const plain = [...files.values()].join('\n').match(/^(?:import|export|\}).* from '[^']+';$/gm);
    expect(imports).toBeGreaterThanOrEqual((plain?.length ?? 0) * 0.98);
  });

  it('has a house for every folder', () => {
    const folders = ['daemon', 'drivers', 'dashboard'].flatMap((top) =>
      readdirSync(join(root, top), { withFileTypes: true })
        .filter((entry) => entry.isDirectory() && entry.name !== 'node_modules')
        .map((entry) => `${top}/${entry.name}`),
    );
    expect(folders.length).toBeGreaterThan(12);
    expect(folders.filter((folder) => zoneOf(`${folder}/x.ts`) === null)).toEqual([]);
  });
});

describe('the reader of imports', () => {
  it('finds every form', () => {
    const source = `
      import a from 'one';
      import type { B } from "two";
      import * as c from 'three';
      import 'four';
      import d, { e, type F } from 'five';
      export { g } from 'six';
      export * from 'seven';
      export type { H } from 'eight';
      const i = await import('nine');
      const j = require('ten');
      import {
        k,
        l,
      } from 'eleven';
      type M = import('twelve').M;
    `;
    const names = 'one two three five six seven eight eleven four nine ten twelve'.split(' ');
    expect(importsOf(source).map(({ specifier }) => specifier)).toEqual(names);
  });

  it('is not misled by comments, texts, templates and regular expressions', () => {
    const source = [
      "// import a from 'no-1';",
      "/* import b from 'no-2'; */",
      `const text = "import c from 'no-3'";`,
      'const template = `import d from "no-4" ${inner(`import e from \'no-5\'`)} tail`;',
      "const regex = /import f from 'no-6'/;",
      "const half = total / 2; const other = '/';",
      "import real from 'yes';",
      'const quote = /["\'`]/g;',
      "import last from 'also';",
    ].join('\n');
    expect(importsOf(source).map(({ specifier }) => specifier)).toEqual(['yes', 'also']);
  });

  it('reports an import whose target is computed', () => {
    expect(importsOf('await import(path);')).toEqual([{ specifier: null }]);
    expect(importsOf('await import(`./${name}.ts`);')).toEqual([{ specifier: null }]);
  });
});

const opening = '/** Opens well. */\n';
const planted: readonly [string, string, string][] = [
  ['daemon/cellar/a.ts', 'const a = 1;', 'no house owns'],
  ['daemon/loose.ts', 'const a = 1;', 'no house owns'],
  ['daemon/chemistry/a.ts', "import { b } from '../piece/b.ts';", 'may not know'],
  ['daemon/chemistry/a.ts', "import { z } from 'zod';", 'package zod'],
  ['daemon/chemistry/a.ts', "import { readFileSync } from 'node:fs';", 'no use of the system'],
  ['daemon/chemistry/a.ts', 'const now = Date.now();', 'pure'],
  ['daemon/piece/a.ts', "import type { C } from '../run/model.ts';", 'may not know'],
  ['daemon/piece/a.ts', 'const dice = Math.random();', 'pure'],
  ['daemon/run/a.ts', "export { d } from '../wire/plan.ts';\nconst a = 1;", 'may not know'],
  ['daemon/run/a.ts', 'export async function a() {}', 'pure'],
  ['daemon/wire/a.ts', "import { z } from 'zod';", 'package zod'],
  ['daemon/wire/a.ts', "import type { Settings } from '../settings/model.ts';", 'may not know'],
  ['drivers/scpi/a.ts', "import { e } from '../../daemon/wire/run.ts';", 'may not know'],
  ['drivers/scpi/a.ts', "import { pino } from 'pino';", 'package pino'],
  ['daemon/control/a.ts', "import { f } from '../store/writer.ts';", 'past its door'],
  ['daemon/control/a.ts', "import { g } from '../web/server.ts';", 'may not know'],
  ['daemon/control/a.ts', "import { h } from '../../drivers/scpi/driver.ts';", 'may not know'],
  ['daemon/control/a.ts', "import Database from 'better-sqlite3';", 'package better-sqlite3'],
  ['daemon/control/a.ts', 'const own = await import(where);', 'only known when it runs'],
  ['daemon/store/a.ts', "import { i } from '../control/door.ts';", 'may not know'],
  ['daemon/web/a.ts', "import { j } from '../../drivers/registry.ts';", 'may not know'],
  ['daemon/web/a.ts', "import { k } from '../control/tank.ts';", 'past its door'],
  ['daemon/sentinel/a.ts', "import { SerialPort } from 'serialport';", 'package serialport'],
  ['daemon/settings/a.ts', "import { l } from '../store/door.ts';", 'may not know'],
  ['daemon/settings/a.ts', "import { m } from '../../tests/settings/x.ts';", 'may not know'],
  ['daemon/cli/a.ts', "import('../settings/load.ts');", 'past its door'],
  ['dashboard/pages/a.ts', "import { n } from '../../daemon/settings/door.ts';", 'may not know'],
  ['dashboard/pages/a.ts', "import { readFileSync } from 'node:fs';", 'no use of the system'],
  ['dashboard/pages/a.ts', "import { z } from 'zod';", 'package zod'],
  ['daemon/web/index.ts', 'const a = 1;', 'index file'],
  ['daemon/web/all.ts', "export { a } from './a.ts';\nexport * from './b.ts';", 'barrel'],
  ['daemon/web/a.ts', '// TODO later\nconst a = 1;', 'unfinished'],
];

describe('the judge', () => {
  it.each(planted)('refuses in %s: %s', (file, source, words) => {
    const found = judge(new Map([[file, opening + source]]));
    expect(found).toHaveLength(1);
    expect(found[0]?.what).toContain(words);
  });

  it('asks for an opening sentence', () => {
    expect(untidiness('daemon/web/a.ts', 'const a = 1;')).toEqual([
      expect.stringContaining('does not open'),
    ]);
    expect(untidiness('daemon/cli/a.js', `#!/usr/bin/env node\n${opening}run();`)).toEqual([]);
  });

  it.each([
    ['daemon/piece/a.ts', "import { a } from '../chemistry/metals.ts';"],
    ['daemon/run/a.ts', "import { a } from '../piece/parts.ts';"],
    ['daemon/wire/a.ts', "import * as z from 'zod/mini';\nimport { b } from '../run/model.ts';"],
    ['daemon/control/a.ts', "import { a } from '../store/door.ts';"],
    ['daemon/control/a.ts', "import { a } from '../../drivers/registry.ts';"],
    ['daemon/web/a.ts', "import { a } from '../control/door.ts';\nimport { Hono } from 'hono';"],
    ['daemon/store/door.ts', "export { a } from './writer.ts';"],
    ['drivers/link/a.ts', "import { SerialPort } from 'serialport';\nimport 'node:fs';"],
    ['dashboard/pages/a.ts', "import { a } from '../../daemon/wire/run.ts';\nimport 'lit';"],
    ['tests/a.test.ts', "import { a } from '../daemon/store/writer.ts';\nimport 'anything';"],
  ])('lets %s do: %s', (file, source) => {
    expect(judge(new Map([[file, opening + source]]))).toEqual([]);
  });
});
