/** The baths that ship with the bench parse, keep the wire's shape and agree with themselves. */

import { readdirSync, readFileSync } from 'node:fs';
import { parse } from 'smol-toml';
import { describe, expect, test } from 'vitest';
import { bathProblems } from '../../daemon/chemistry/baths.ts';
import type { Bath } from '../../daemon/chemistry/model.ts';
import { bathSchema } from '../../daemon/wire/plan.ts';

const folder = new URL('../../config/baths/', import.meta.url);
const files = readdirSync(folder).filter((file) => file.endsWith('.toml'));

function read(file: string): Bath {
  return bathSchema.parse(parse(readFileSync(new URL(file, folder), 'utf8')));
}

test('the five baths of the bench are there', () => {
  expect(files.toSorted()).toEqual([
    'acid-copper-agitated.toml',
    'acid-copper-still.toml',
    'high-throw-acid-copper.toml',
    'nickel-sulfamate.toml',
    'watts-nickel.toml',
  ]);
});

describe.each(files)('%s', (file) => {
  const bath = read(file);

  test('is called by its file name', () => {
    expect(`${bath.id}.toml`).toBe(file);
  });

  test('has no problem and is not refused', () => {
    expect(bathProblems(bath)).toEqual([]);
  });

  test('says where each figure comes from, in words a reader can weigh', () => {
    for (const figure of [
      bath.window,
      bath.efficiency,
      bath.temperature,
      bath.conductivity,
      bath.loading,
    ]) {
      expect(figure.source).toMatch(
        /from memory|common practice, no source|Guide Book|Britannica|data sheet/,
      );
    }
  });

  test('tells the maker to follow safety data sheets and local rules', () => {
    expect(bath.notes.join(' ')).toMatch(/Safety data sheets.*local rules/);
  });
});

test('acid copper turns 97 to 100 % of the charge into metal', () => {
  for (const file of files.filter((name) => name.includes('acid-copper'))) {
    const { value, uncertainty } = read(file).efficiency;
    expect(value - uncertainty).toBeCloseTo(0.97, 12);
    expect(value + uncertainty).toBeCloseTo(1, 12);
  }
});

test('the agitated bath holds the 2 to 4 A/dm2 of moderate movement (from memory, Lowenheim)', () => {
  const { minAmpsPerDm2, maxAmpsPerDm2 } = read('acid-copper-agitated.toml').window;
  expect(minAmpsPerDm2).toBeLessThanOrEqual(2);
  expect(maxAmpsPerDm2).toBe(4);
});

test('electrotyping practice of 1911, 10 A/ft2 or 1.08 A/dm2, lies inside the still window', () => {
  // Encyclopaedia Britannica, 11th edition, "Electrotyping".
  const { minAmpsPerDm2, maxAmpsPerDm2 } = read('acid-copper-still.toml').window;
  expect(10 / 9.290304).toBeGreaterThan(minAmpsPerDm2);
  expect(10 / 9.290304).toBeLessThan(maxAmpsPerDm2);
});
