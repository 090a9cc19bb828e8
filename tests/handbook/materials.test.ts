/** The shipped table of materials against published statements about minerals, finds and metals. */

import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { MaterialVerdict } from '../../daemon/piece/material.ts';
import { materialByName } from '../../daemon/piece/material-search.ts';
import { loadMaterials, packageRoot } from '../../daemon/settings/door.ts';

const table = loadMaterials({}, join(packageRoot(), 'config', 'bench.toml'));

function verdictOf(name: string): MaterialVerdict {
  const material = materialByName(name, table);
  if (material === null) throw new Error(`The table has no ${name}.`);
  return material.verdict;
}

// Each source was read, some as an excerpt; what it says is put in our words.
const published: readonly {
  readonly source: string;
  readonly says: string;
  readonly keepOut?: readonly string[];
  readonly caution?: readonly string[];
}[] = [
  {
    source: 'GIA, Peridot care and cleaning',
    says: 'sulfuric acid attacks peridot readily',
    keepOut: ['peridot'],
  },
  {
    source: 'GIA, Gems and Gemology, Fall 2013, lab notes',
    says: 'hydrophane opal absorbs liquid and may crack when immersed',
    keepOut: ['hydrophane opal', 'Ethiopian opal'],
  },
  {
    source: 'GIA, Tanzanite care and cleaning',
    says: 'hydrochloric and hydrofluoric acid attack tanzanite, and it suffers thermal shock',
    caution: ['tanzanite'],
  },
  {
    source: 'GIA, Lapis lazuli care and cleaning',
    says: 'acids decompose lapis',
    keepOut: ['lapis lazuli'],
  },
  {
    source: 'GIA, Pearl care and cleaning',
    says: 'all acids damage pearls',
    keepOut: ['pearl', 'mother of pearl'],
  },
  {
    source: 'University of Alaska Southeast, mineral pages after Perkins, Mineralogy, 2002',
    says: 'calcite, malachite and azurite effervesce; apatite dissolves in most acids',
    keepOut: ['calcite', 'malachite', 'azurite', 'apatite'],
  },
  {
    source: 'W. H. Hobbs, Earth Features and Their Meaning',
    says: 'limestone effervesces in cold dilute mineral acid',
    keepOut: ['limestone', 'marble'],
  },
  {
    source: 'ScienceViews, organic gems',
    says: 'coral and pearl are calcium carbonate, which acids attack',
    keepOut: ['coral', 'shell'],
  },
  {
    source: 'Steine und Minerale, list of minerals soluble in 5 to 10 % hydrochloric acid',
    says: 'the list holds these',
    keepOut: [
      'turquoise',
      'sodalite',
      'dioptase',
      'chrysocolla',
      'rhodochrosite',
      'smithsonite',
      'dolomite',
      'magnesite',
      'aragonite',
      'pectolite',
      'gypsum',
    ],
  },
  {
    source: 'University of California Berkeley, notes on pyrite',
    says: 'pyrite and marcasite oxidise to sulfuric acid',
    keepOut: ['marcasite', 'pyrite'],
    // The excerpt does not say how pyrite fares sealed; it stands with marcasite, the stricter.
  },
];

describe.each(published)('$source: $says', ({ keepOut = [], caution = [] }) => {
  test('the table agrees', () => {
    expect(keepOut.length + caution.length).toBeGreaterThan(0);
    for (const name of keepOut) expect([name, verdictOf(name)]).toEqual([name, 'keepOut']);
    for (const name of caution) expect([name, verdictOf(name)]).toEqual([name, 'caution']);
  });
});

// From memory, high or medium confidence; the standard works on gems and minerals were not opened.
const remembered: Readonly<Record<MaterialVerdict, string>> = {
  withstands:
    'diamond, natural ruby, sapphire, chrysoberyl, topaz, spinel, aquamarine, morganite, zircon, ' +
    'tourmaline, garnet, quartz, amethyst, citrine, rose quartz, ' +
    "tiger's-eye, obsidian, soda-lime glass, moldavite, talc, " +
    'kyanite, epoxy resin, silver paint, copper paint, nickel paint, ' +
    'graphite paint, lacquer, copper, silver, gold',
  caution:
    'emerald, iolite, kunzite, moonstone, amazonite, sunstone, labradorite, ' +
    'Australian opal, stabilised turquoise, amber, copal, jet, tortoiseshell, horn, ' +
    'hematite, magnetite, native copper, lead crystal, enamel, glaze, serpentine, ' +
    'dyed jade, rhodonite, leaves, seed pod, flower, wood, PLA, PETG, ABS, photopolymer, ' +
    'dyed quartz, crackle quartz, dyed agate, brass, nickel, demantoid, ' +
    'agate, chalcedony, jasper, nephrite, jadeite, jade, barite, celestine, soapstone',
  keepOut:
    'lead glass filled ruby, opal doublet, opal triplet, fluorite, howlite, larimar, ' +
    'onyx marble, bone, ivory, antler, tooth, selenite, alabaster, halite, galena, ' +
    'variscite, wavellite, sphalerite, abalone, meteorite, iron, steel, zinc, aluminium, tin, pewter',
};

test.each(Object.entries(remembered))('from memory, these are "%s"', (verdict, names) => {
  for (const name of names.split(', ')) {
    expect([name, verdictOf(name)]).toEqual([name, verdict]);
  }
});

test('acid copper is kept off bare iron and off metals above copper', () => {
  // A plating shop's pages on acid copper say so of iron and of the metals above copper; the list of
  // which metals those are is the electrochemical series, from memory.
  for (const name of ['iron', 'zinc', 'aluminium', 'tin']) {
    expect(materialByName(name, table)).toMatchObject({ baseMetal: true, verdict: 'keepOut' });
  }
  for (const name of ['copper', 'silver', 'gold']) {
    expect(materialByName(name, table)?.baseMetal).toBe(false);
  }
});
