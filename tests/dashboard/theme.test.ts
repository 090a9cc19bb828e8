/** Contrast of the theme's colours in both looks, by the formula of WCAG 2.2 (relative luminance). */

import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const css = readFileSync(new URL('../../dashboard/styles/tokens.css', import.meta.url), 'utf8');

type Look = 'light' | 'dark';

/** Each token with its colour by day and by night. */
const tokens = new Map(
  [...css.matchAll(/--([a-z-]+): light-dark\((#[0-9a-f]{6,8}), (#[0-9a-f]{6,8})\);/g)].map(
    ([, name = '', light = '', dark = '']) => [name, { light, dark }] as const,
  ),
);

function luminance(hex: string): number {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((from) => {
    const value = Number.parseInt(hex.slice(from, from + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(one: string, other: string, look: Look): number {
  const [a, b] = [one, other].map((name) => {
    const token = tokens.get(name);
    if (token === undefined) throw new Error(`There is no colour named ${name}.`);
    return luminance(token[look]);
  }) as [number, number];
  return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
}

const looks: readonly Look[] = ['light', 'dark'];
const texts = [
  ['text', 'ground'],
  ['text', 'raised'],
  ['text', 'slab'],
  ['quiet', 'ground'],
  ['quiet', 'raised'],
  ['stop', 'ground'],
  ['stop', 'raised'],
  ['soon', 'ground'],
  ['soon', 'raised'],
  ['on-strong', 'strong'],
] as const;
const shapes = [
  ['edge', 'ground'],
  ['edge', 'raised'],
  ['metal', 'ground'],
  ['metal', 'core'],
  ['metal', 'line'],
  ['text', 'slab'],
] as const;

describe.each(looks)('the %s look', (look) => {
  it('finds every colour it names', () => {
    expect(tokens.size).toBeGreaterThanOrEqual(15);
  });

  it.each(texts)('%s on %s can be read: 4.5 to 1', (one, other) => {
    expect(contrast(one, other, look)).toBeGreaterThanOrEqual(4.5);
  });

  it.each(shapes)('%s beside %s can be told apart: 3 to 1', (one, other) => {
    expect(contrast(one, other, look)).toBeGreaterThanOrEqual(3);
  });

  it('keeps the rings visible in the metal', () => {
    expect(contrast('metal', 'metal-deep', look)).toBeGreaterThanOrEqual(2);
  });
});

describe('the formula', () => {
  it('gives black on white 21 to 1, and #777 on white 4.48, as the standard does', () => {
    const white = luminance('#ffffff') + 0.05;
    expect(white / (luminance('#000000') + 0.05)).toBeCloseTo(21, 6);
    expect(white / (luminance('#777777') + 0.05)).toBeCloseTo(4.48, 2);
  });
});
