/** Spoiled settings, dialects and baths: loaded, or refused with every problem named; never crashed. */

import { readFileSync, readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'smol-toml';
import { expect, onTestFinished, test } from 'vitest';
import { loadBaths, packageRoot, SettingsError } from '../../daemon/settings/door.ts';
import { DialectError, parseDialect } from '../../drivers/scpi/dialect.ts';
import { BenchFolder } from '../settings/bench-folder.ts';
import { effort, Findings, patienceMs, polluted, seed } from './effort.ts';
import { Chance, spoil } from './random.ts';

const dictionary = [
  '[',
  ']',
  '[[',
  ']]',
  '=',
  '"',
  "'",
  '{',
  '}',
  '\n',
  '#',
  '__proto__',
  '[__proto__]\nmaxAmps = 99\n',
  'constructor.prototype',
  '-1',
  '1e999',
  'nan',
  'inf',
  '0x7fffffff',
  '99999999999999999999',
  'true',
  '1979-05-27',
  '""',
  '(a+)+$',
  '\\',
  '\ud83d',
  '\t',
  'unknown = 1\n',
];

/** Baths and benches share one folder; each kind replaces its own file. */
function tryTexts(
  name: string,
  texts: readonly string[],
  load: (text: string) => void,
  share: number,
): void {
  const chance = new Chance(seed);
  const findings = new Findings(name);
  for (const text of texts) expect(() => load(text)).not.toThrow();
  for (let count = effort('BODIES', share, 250); count > 0; count -= 1) {
    const text = spoil(chance, chance.one(texts), dictionary);
    const kind = findings.timed(text.slice(0, 200), () => {
      try {
        load(text);
        return 'loaded';
      } catch (error) {
        const named =
          error instanceof SettingsError
            ? error.problems.length > 0
            : error instanceof DialectError;
        if (!named) findings.add(String(error), text);
        return 'refused';
      }
    });
    findings.count(kind);
    if (polluted()) findings.add('reached a prototype', text);
  }
  findings.tell();
}

function shipped(folder: string): string[] {
  const path = join(packageRoot(), 'config', folder);
  return readdirSync(path).map((name) => readFileSync(join(path, name), 'utf8'));
}

function folder(): BenchFolder {
  const bench = new BenchFolder();
  onTestFinished(() => bench.remove());
  return bench;
}

test('settings: spoiled benches', { timeout: patienceMs }, () => {
  const bench = folder();
  const text = readFileSync(join(packageRoot(), 'config', 'bench.toml'), 'utf8');
  // The comments take most of it, and most changes would fall into one.
  const bare = text.replaceAll(/^#.*\n/gm, '');
  tryTexts('settings', [text, bare], (spoiled) => void bench.load(spoiled), 0.05);
});

test('settings: spoiled baths', { timeout: patienceMs }, () => {
  const bench = folder();
  const load = (text: string): void => {
    const id = /^id = "([a-z0-9-]{1,40})"$/m.exec(text)?.[1] ?? 'acid-copper-still';
    const file = bench.write(`baths/${id}.toml`, text);
    try {
      loadBaths({ HOME: bench.path }, bench.file);
    } finally {
      rmSync(file);
    }
  };
  tryTexts('baths', shipped('baths'), load, 0.02);
});

test('settings: spoiled dialects', { timeout: patienceMs }, () => {
  const load = (text: string): void => {
    let value: unknown;
    try {
      value = parse(text, { maxDepth: 32 });
    } catch {
      // That TOML itself is refused by name is tried with the benches.
      return;
    }
    parseDialect(value);
  };
  tryTexts('dialects', shipped('dialects'), load, 0.2);
});
