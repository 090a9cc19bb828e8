/** Judging what a piece is made of, on the shipped table and on tables made wrong on purpose. */

import * as fc from 'fast-check';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { materialByName, materialMatches } from '../../daemon/piece/material-search.ts';
import { actionWords, confidenceWords, verdictWords } from '../../daemon/piece/material.ts';
import type { Material } from '../../daemon/piece/material.ts';
import { baseMetals, judgeMaterials, materialsProblems } from '../../daemon/piece/materials.ts';
import { loadMaterials, packageRoot } from '../../daemon/settings/door.ts';

const table = loadMaterials({}, join(packageRoot(), 'config', 'bench.toml'));

function row(id: string): Material {
  const found = table.find((material) => material.id === id);
  if (found === undefined) throw new Error(`There is no row ${id}.`);
  return found;
}

function judged(id: string) {
  const [judgement] = judgeMaterials([id], table).materials;
  if (judgement === undefined) throw new Error(`${id} was not judged.`);
  return judgement;
}

describe('hardness misleads both ways', () => {
  // Peridot: GIA, Peridot care and cleaning, has it attacked by sulfuric acid. Talc: from memory.
  test('a hard stone that acid eats is kept out, and the warning says so', () => {
    const peridot = judged('peridot');
    expect(row('peridot').mohs).toEqual({ low: 6.5, high: 7 });
    expect(peridot.verdict).toBe('keepOut');
    expect(peridot.actions).toContain('keepOut');
    expect(peridot.warnings[0]).toMatch(/^Hard is not acid-proof: Mohs 6.5 to 7 /);
  });

  test('a soft one that survives is let in, and the warning says so', () => {
    expect(judged('talc').verdict).toBe('withstands');
    expect(judged('talc').warnings[0]).toMatch(/^Soft is not acid-shy.*usually leaves it alone/);
    expect(row('talc').mohs).toEqual({ low: 1, high: 1 });
    // Jet and barite are as soft and are hardly eaten; they need care for other reasons.
    for (const id of ['jet', 'barite']) {
      expect(judged(id).verdict).toBe('caution');
      expect(judged(id).why).toMatch(/soft as (it is|they are)/);
      expect(judged(id).actions).not.toContain('keepOut');
    }
  });

  test('softer stones beat harder ones more than once', () => {
    const pairs = [
      ['lapis', 'obsidian'],
      ['apatite', 'kyanite'],
      ['peridot', 'talc'],
      ['opal-hydrophane', 'talc'],
      ['glass-filled-ruby', 'quartz'],
    ] as const;
    for (const [fails, survives] of pairs) {
      expect(row(survives).mohs?.low).toBeLessThanOrEqual(row(fails).mohs?.high ?? 0);
      expect(row(fails).verdict).toBe('keepOut');
      expect(row(survives).verdict).toBe('withstands');
    }
  });

  test('no such warning stands where hardness and acid agree', () => {
    for (const id of ['quartz', 'calcite', 'iron-steel', 'silver', 'plant']) {
      expect(judged(id).warnings.join(' ')).not.toMatch(/Mohs/);
    }
  });
});

describe('a piece', () => {
  test('is judged worst first, each material once', () => {
    const { verdict, materials } = judgeMaterials(
      ['quartz', 'amber', 'peridot', 'quartz', 'pearl'],
      table,
    );
    expect(verdict).toBe('keepOut');
    expect(materials.map(({ id }) => id)).toEqual(['peridot', 'pearl', 'amber', 'quartz']);
  });

  test('that names nothing has no verdict, and still the notice', () => {
    const judgement = judgeMaterials([], table);
    expect(judgement.verdict).toBeNull();
    expect(judgement.materials).toEqual([]);
    expect(judgement.notice).toMatch(/advice, never a guarantee/);
    expect(judgement.notice).toMatch(/scrap of the same material first, but never one that may/);
    expect(judgement.notice).toMatch(/Local rules and licensed practice decide/);
    expect(judgement.notice).toMatch(/Masking is not sealing/);
  });

  test('keeps an unknown material out, tries no scrap of it, and is told what may be meant', () => {
    const unknown = judged('peridott');
    expect(unknown).toMatchObject({ known: false, verdict: 'keepOut', confidence: null });
    expect(unknown.actions).toEqual(['keepOut']);
    expect(unknown.why).toMatch(/may give off a poison in acid/);
    expect(unknown.advice).toMatch(/^Keep it out until you know/);
    expect(unknown.warnings).toEqual([expect.stringMatching(/^Do not try even a scrap in acid/)]);
    expect(unknown.suggestions[0]?.id).toBe('peridot');
    expect(judged('zzzz').suggestions).toEqual([]);
  });

  test('of any ids at all loses none of them and is never better than its worst', () => {
    const order = ['keepOut', 'caution', 'withstands'];
    const anyId = fc.oneof(fc.constantFrom(...table.map(({ id }) => id)), fc.string());
    fc.assert(
      fc.property(fc.array(anyId, { maxLength: 12 }), (ids) => {
        const { verdict, materials } = judgeMaterials(ids, table);
        expect(materials.map(({ id }) => id).toSorted()).toEqual([...new Set(ids)].toSorted());
        const ranks = materials.map((material) => order.indexOf(material.verdict));
        expect(ranks).toEqual(ranks.toSorted((left, right) => left - right));
        expect(verdict).toBe(materials[0]?.verdict ?? null);
      }),
    );
  });
});

describe('traits', () => {
  test('a conductor is said to plate and to count in the area', () => {
    for (const id of ['pyrite', 'hematite', 'magnetite', 'galena', 'copper', 'silver-paint']) {
      expect(judged(id).warnings).toContain(
        'It conducts: what is bare takes copper and counts in the area.',
      );
    }
    expect(judged('pyrite').actions).toContain('insulate');
  });

  test('base metals are kept from bare copper, each of them', () => {
    const ids = ['iron-steel', 'zinc', 'aluminium', 'tin-pewter', 'plated-finding', 'meteorite'];
    expect(baseMetals(table).map(({ id }) => id)).toEqual(ids);
    for (const id of ids) {
      expect(judged(id).verdict).toBe('keepOut');
      expect(judged(id).warnings.join(' ')).toMatch(/Copper must not touch it bare/);
    }
    for (const name of ['binding wire', 'zinc clasp', 'pewter', 'soft solder', 'aluminum']) {
      expect(materialByName(name, table)?.baseMetal).toBe(true);
    }
  });

  test('metals that take copper say what happens', () => {
    for (const id of ['copper', 'brass-bronze', 'silver', 'gold', 'nickel']) {
      expect(row(id)).toMatchObject({ baseMetal: false, conducts: true });
      expect(row(id).verdict).not.toBe('keepOut');
    }
  });

  test('what poisons when tested is never sent to a scrap test, and all else always is', () => {
    for (const { id, poisonsWhenTested } of table) {
      expect(judged(id).actions.includes('scrapTest')).toBe(!poisonsWhenTested);
    }
    expect(row('fluorite')).toMatchObject({ verdict: 'keepOut', poisonsWhenTested: true });
    expect(judged('fluorite').why).toMatch(/hydrofluoric acid/);
    expect(judged('lapis').why).toMatch(/hydrogen sulfide/);
    expect(judged('fluorite').warnings[0]).toMatch(/^Do not try even a scrap in acid/);
  });
});

test('no row promises that the bath or a lacquer does no harm', () => {
  const flat = /stands? the acid|leaves? it alone|needs? no seal|bears? the bath|resists? the acid/;
  let seen = 0;
  for (const { id, why, advice } of table) {
    for (const sentence of `${why} ${advice}`.split(/(?<=[.;:])\s/)) {
      expect(sentence, id).not.toMatch(/\b(safe|harmless|guaranteed|lacquer keeps copper off)\b/i);
      if (!flat.test(sentence)) continue;
      seen += 1;
      expect(sentence, id).toMatch(/\busually\b/);
    }
  }
  expect(seen).toBeGreaterThan(15);
});

test('a row that gives off a poison is kept out, and its words send nobody to a test', () => {
  const poisons = table.filter(({ poisonsWhenTested }) => poisonsWhenTested);
  expect(poisons.length).toBeGreaterThan(8);
  for (const { verdict, why, advice, actions } of poisons) {
    expect(verdict).toBe('keepOut');
    expect(actions).not.toContain('scrapTest');
    expect(why).toMatch(/poison/);
    expect(advice).not.toMatch(/(?<!do not )\b(test|try)\b/i);
  }
});

test('silver speaks of the gas that tarnish may give off in acid', () => {
  expect(row('silver').advice).toMatch(/not with acid, which may set hydrogen sulfide free/);
});

test('only galena is said to hold lead and to conduct, and not sphalerite', () => {
  expect(row('galena')).toMatchObject({ conducts: true, poisonsWhenTested: true });
  expect(row('sphalerite')).toMatchObject({ conducts: false, poisonsWhenTested: true });
  expect(row('sphalerite').why).not.toMatch(/lead|conducts/);
});

test('every row can be said in words', () => {
  for (const material of table) {
    expect(verdictWords[material.verdict]).toMatch(/\w/);
    expect(confidenceWords[material.confidence]).toMatch(/\w/);
    for (const action of material.actions) expect(actionWords[action]).toMatch(/\.$/);
    for (const sentence of [material.why, material.advice])
      expect(sentence).toMatch(/^[A-Z].*\.$/s);
  }
});

test('a row is as sure as the weakest of what it rests on', () => {
  for (const { confidence, source } of table) {
    if (confidence === 'read') {
      expect(source).toMatch(/read/);
      expect(source).not.toMatch(/from memory|no source/);
    }
    if (confidence === 'fromMemoryHigh') expect(source).toMatch(/from memory/);
    if (source.includes('medium confidence')) expect(confidence).toBe('fromMemoryMedium');
    if (confidence === 'fromMemoryMedium') expect(source).toMatch(/medium confidence/);
    if (confidence === 'fromMemoryLow') expect(source).toMatch(/low confidence/);
    if (confidence === 'commonPractice') expect(source).toMatch(/common practice, no source/);
  }
});

describe('search', () => {
  test.each([
    ['peridott', 'peridot'],
    ['olivine', 'peridot'],
    ['amethist', 'quartz'],
    ['turqoise', 'turquoise'],
    ['flourite', 'fluorite'],
    ['malakite', 'malachite'],
    ['labrodorite', 'labradorite'],
    ['leafs', 'plant'],
    ['Pine cone', 'plant'],
    ["Fool's Gold", 'pyrite'],
    ['tigers eye', 'tigers-eye'],
    ['mother of pearl', 'pearl'],
    ['sea shell', 'pearl'],
    ['binding wire', 'iron-steel'],
    ['ethiopian', 'opal-hydrophane'],
    ['uv resin', 'cured-resin'],
    ['3D print', 'print'],
    ['lapis lazuli', 'lapis'],
  ])('"%s" finds %s among the first three', (typed, id) => {
    const found = materialMatches(typed, table, 3).map((match) => match.id);
    expect(found).toContain(id);
  });

  test('the very name comes first, and every name finds its row', () => {
    for (const { id, name, synonyms } of table) {
      for (const typed of [name, ...synonyms]) {
        expect(materialMatches(typed, table)[0]).toMatchObject({ id, distance: 0 });
        expect(materialByName(typed.toUpperCase(), table)?.id).toBe(id);
      }
    }
  });

  test('nothing is found for an empty, a far or an endless text, and the limit holds', () => {
    expect(materialMatches('  ', table)).toEqual([]);
    expect(materialMatches('xx', table)).toEqual([]);
    expect(materialMatches('kryptonite alloy of the moon', table)).toEqual([]);
    expect(materialMatches('x'.repeat(100_000), table)).toEqual([]);
    expect(materialMatches('a', table, 2)).toHaveLength(2);
    expect(materialByName('', table)).toBeNull();
  });
});

describe('a table', () => {
  const peridot = row('peridot');
  const quartz = row('quartz');
  const lapis = row('lapis');

  test('that is shipped has nothing wrong with it', () => {
    expect(materialsProblems(table)).toEqual([]);
  });

  test.each([
    [{ ...quartz, id: 'peridot' }, 'materials[1].id', 'unlike that of materials[0]'],
    [{ ...quartz, synonyms: ['OLIVINE'] }, 'materials[1].synonyms[0]', 'materials[0] has this one'],
    [{ ...quartz, name: 'Olivine' }, 'materials[1].name', 'a name of its own'],
    [{ ...quartz, mohs: { low: 7, high: 6 } }, 'materials[1].mohs.low', 'at most mohs.high, 6'],
    [{ ...quartz, actions: ['keepOut'] }, 'materials[1].actions', 'without "keepOut"'],
    [{ ...quartz, verdict: 'keepOut' }, 'materials[1].actions', 'a list with "keepOut"'],
    [{ ...quartz, baseMetal: true }, 'materials[1].verdict', '"caution" or "keepOut"'],
    [{ ...quartz, poisonsWhenTested: true }, 'materials[1].verdict', '"keepOut", as poisons'],
    [
      { ...lapis, actions: ['keepOut', 'scrapTest'] },
      'materials[1].actions',
      'a list without "scrapTest"',
    ],
  ] as const)('that contradicts itself is refused by name', (wrong, field, bound) => {
    const [problem, ...others] = materialsProblems([peridot, wrong]);
    expect(others).toEqual([]);
    expect(problem?.field).toBe(field);
    expect(problem?.bound).toContain(bound);
    expect(problem?.message).toContain(`${field} is `);
  });
});
