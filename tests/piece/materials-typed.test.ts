/** What a typed name leads to: never to a row milder than the strictest thing the name may mean. */

import * as fc from 'fast-check';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { byStrictness, verdictsFromWorst } from '../../daemon/piece/material.ts';
import type { Material, MaterialVerdict } from '../../daemon/piece/material.ts';
import { materialByName, materialMatches } from '../../daemon/piece/material-search.ts';
import { judgeMaterials } from '../../daemon/piece/materials.ts';
import { loadMaterials, packageRoot } from '../../daemon/settings/door.ts';

const table = loadMaterials({}, join(packageRoot(), 'config', 'bench.toml'));

/** `poison` is a keepOut of which not even a scrap is tried; `unknown` offers no row at all. */
type Level = MaterialVerdict | 'poison' | 'unknown';

function levelOf(row: Material): Level {
  return row.poisonsWhenTested ? 'poison' : row.verdict;
}

function rowOf(id: string): Material {
  const row = table.find((one) => one.id === id);
  if (row === undefined) throw new Error(`There is no row ${id}.`);
  return row;
}

function firstOffered(typed: string): Level {
  const [first] = materialMatches(typed, table, 1);
  return first === undefined ? 'unknown' : levelOf(rowOf(first.id));
}

// The verdicts are those of the handbook rows; which stone, glass or metal hides behind a name of the
// trade is from memory.
const typedNames: Readonly<Record<Level, string>> = {
  poison:
    'lapis, lapiz lazuli, lazurite, hauyne, hauynite, haüyne, hackmanite, fluorite, ' +
    'flourite, fluorspar, Blue John, galena, gallena, sphalerite, spalerite, ' +
    'zinc blende, pyrrhotite, pyrhotite, chalcopyrite, peacock ore, realgar, relagar, ' +
    'orpiment, cinnabar, cinabar, stibnite, bumblebee jasper, bumble bee jasper, ' +
    'arsenopyrite, patina, liver of sulfur, liver of sulphur, Liver of Sulpher, ' +
    "oxidized silver, blackened silver, tarnish, pyrite, pyrit, fool's gold, " +
    'iron pyrites, marcasite, markasite, crystal, crystal point, cristal, bead, pebble, ' +
    'gemstone, tumbled stone, lead, mercury, ammonite, petrifed wood, petrified wood',
  keepOut:
    'peridot, peridott, olivine, opal, opel, white opal, black opal, fire opal, ' +
    'opal triplet, ruby, rubby, filled ruby, onyx, onix, green onyx, geode, geodes, ' +
    'turquoise, turqoise, sodalite, apatite, apetite, malachite, malakite, azurite, ' +
    'rhodocrosite, howlite, white turquoise, mountain jade, calcite, marbel, ' +
    'picasso jasper, desert rose, selenite, halite, anorthite, pearl, perl, sea shell, ' +
    'coral, bone, ivory, iron, steel, binding wire, zinc, pewter, pewtre, clasp, ' +
    'jump ring, penny, magnet, gold plated, nickel plated, craft wire, meteorite',
  caution:
    'glass, glass bead, glas bead, seed bead, murano glass, opalite, goldstone, ' +
    'lead crystal, agate, agat, jasper, chalcedony, carnelian, jade, greenstone, ' +
    'nephrite, barite, celestite, soapstone, serpentine, demantoid, ruby zoisite, ' +
    'ruby in fuchsite, amber, jet, emerald, labradorite, labrodorite, moonstone, ' +
    'hematite, magnetite, australian opal, mystic topaz, leaf, pine cone, brass, ' +
    'gold filled, gold leaf, print, b jade, stabilized turquoise, enamel, iolite',
  withstands:
    'quartz, amethist, citrine, rose quartz, sapphire, saphire, natural ruby, topaz, ' +
    'garnet, bottle glass, obsidian, kyanite, talc, silver, copper',
  unknown: 'moon cheese, charoite, vanadinite, larvikite, kryptonite alloy of the moon',
};

const levels: readonly Level[] = ['poison', 'keepOut', 'caution', 'withstands', 'unknown'];
const cases = levels.flatMap((level) =>
  typedNames[level].split(', ').map((typed) => [typed, level] as const),
);

test('the list of typed names is long and holds none of them twice', () => {
  expect(cases.length).toBeGreaterThan(150);
  expect(new Set(cases.map(([typed]) => typed)).size).toBe(cases.length);
});

describe('a typed name', () => {
  test.each(cases)('"%s" leads first to: %s', (typed, level) => {
    expect(firstOffered(typed)).toBe(level);
  });

  test.each(cases)('"%s" taken as it stands is never judged milder than: %s', (typed, level) => {
    const asTyped = typed.toLowerCase().replaceAll(/[^a-z0-9]+/g, '-');
    const id = materialByName(typed, table)?.id ?? asTyped;
    const [judgement] = judgeMaterials([id], table).materials;
    const mayBeTried = judgement?.actions.includes('scrapTest');
    if (level === 'poison' || level === 'unknown') expect(mayBeTried).toBe(false);
    const mildest = level === 'poison' || level === 'unknown' ? 'keepOut' : level;
    const rank = (verdict: MaterialVerdict) => verdictsFromWorst.indexOf(verdict);
    expect(rank(judgement?.verdict ?? 'withstands')).toBeLessThanOrEqual(rank(mildest));
    if (judgement?.known === false) expect(judgement.actions).toEqual(['keepOut']);
  });
});

test.each([
  ['ruby', ['glass-filled-ruby', 'corundum']],
  ['opal', ['opal-hydrophane', 'opal-solid', 'opal-doublet']],
  ['onyx', ['calcite', 'agate', 'dyed-agate']],
  ['geode', ['calcite', 'agate']],
  ['crystal', ['stone-of-unknown-kind', 'quartz', 'lead-crystal', 'halite', 'fluorite', 'calcite']],
  ['glass', ['lead-crystal', 'obsidian', 'glass-filled-ruby']],
  ['jade', ['jade', 'jade-treated']],
  ['turquoise', ['turquoise', 'turquoise-stabilised']],
  ['patina', ['sulfide-patina']],
] as const)('"%s" may mean several things, and all of them are offered', (typed, ids) => {
  const offered = materialMatches(typed, table).map(({ id }) => id);
  expect(offered).toEqual(expect.arrayContaining([...ids]));
});

test('of rows that fit a text as well as each other, the strictest stands first', () => {
  const names = table.flatMap(({ name, synonyms }) => [name, ...synonyms]);
  const beginnings = fc
    .tuple(fc.constantFrom(...names), fc.integer({ min: 1, max: 12 }))
    .map(([name, letters]) => name.slice(0, letters));
  fc.assert(
    fc.property(beginnings, (typed) => {
      const matches = materialMatches(typed, table, table.length);
      for (const [index, match] of matches.entries()) {
        const next = matches[index + 1];
        if (next === undefined || next.distance > match.distance) continue;
        expect(byStrictness(rowOf(match.id), rowOf(next.id))).toBeLessThanOrEqual(0);
      }
    }),
  );
});

test('a name that the maker gives to a row of their own never hides a stricter one', () => {
  const lapis = rowOf('lapis');
  const own = { ...rowOf('quartz'), id: 'own-blue', name: 'My blue one', synonyms: ['lapis'] };
  for (const both of [
    [own, lapis],
    [lapis, own],
  ]) {
    expect(materialByName('Lapis', both)?.id).toBe('lapis');
    expect(materialMatches('Lapis', both)[0]?.id).toBe('lapis');
  }
});
