/** The file of materials: the shipped one loads, the maker's own adds and wins, a broken one is refused. */

import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { loadMaterials, SettingsError } from '../../daemon/settings/door.ts';
import { materialSchema } from '../../daemon/wire/materials.ts';
import { BenchFolder } from './bench-folder.ts';

const ownRow = `
[[materials]]
id = "trial-stone"
name = "Trial stone"
group = "stone"
mohs = { low = 3, high = 4 }
verdict = "caution"
why = "Invented for the test."
actions = ["seal"]
advice = "Invented for the test."
source = "invented for the test"
confidence = "fromMemoryLow"
porous = true
`;

let folder = new BenchFolder();
beforeEach(() => {
  folder.remove();
  folder = new BenchFolder();
});
afterAll(() => folder.remove());

const load = () => loadMaterials({ HOME: folder.path }, folder.file);

function refusals(text: string) {
  folder.write('materials.toml', text);
  try {
    load();
  } catch (error) {
    if (error instanceof SettingsError) return error.problems;
    throw error;
  }
  throw new Error('Nothing was refused.');
}

describe('materials', () => {
  it('are the shipped ones where the maker has none', () => {
    const shipped = load();
    expect(shipped.length).toBeGreaterThan(80);
    for (const material of shipped) expect(materialSchema.parse(material)).toEqual(material);
  });

  it('of the maker stand after the shipped ones, with what they leave out filled in', () => {
    const shipped = load();
    folder.write('materials.toml', ownRow);
    const all = load();
    expect(all.slice(0, -1)).toEqual(shipped);
    expect(all.at(-1)).toMatchObject({ synonyms: [], porous: true, conducts: false });
  });

  it('of the maker win over shipped ones of the same id, in their place', () => {
    const place = load().findIndex(({ id }) => id === 'quartz');
    folder.write('materials.toml', ownRow.replace('"trial-stone"', '"quartz"'));
    expect(load()[place]).toMatchObject({ id: 'quartz', name: 'Trial stone' });
    expect(load().filter(({ id }) => id === 'quartz')).toHaveLength(1);
  });

  it('of the maker may not send what poisons to a scrap test', () => {
    const poison = ownRow
      .replace('"caution"', '"keepOut"')
      .replace('porous', 'poisonsWhenTested')
      .replace('["seal"]', '["keepOut", "scrapTest"]');
    expect(refusals(poison)).toMatchObject([
      { field: 'materials[0].actions', value: '"keepOut, scrapTest"' },
    ]);
    folder.write('materials.toml', poison.replace(', "scrapTest"', ''));
    expect(load().at(-1)).toMatchObject({ verdict: 'keepOut', poisonsWhenTested: true });
  });

  it.each([
    ['verdict = "caution"', 'verdict = "fine"', 'materials[0].verdict', /"fine"/],
    ['high = 4', 'high = 11', 'materials[0].mohs.high', /is 11; it must be/],
    ['low = 3', 'low = 5', 'materials[0].mohs.low', /is 5; it must be at most mohs.high, 4/],
    ['porous = true', 'porus = true', 'materials[0].porus', /Did you mean "porous"\?/],
    ['porous = true', 'porous = "yes"', 'materials[0].porous', /"yes"/],
    ['["seal"]', '["boil"]', 'materials[0].actions[0]', /"boil"/],
    ['["seal"]', '[]', 'materials[0].actions', /a list of 0/],
    ['id = "trial-stone"', 'id = "Trial Stone"', 'materials[0].id', /small letters/],
    ['source = "invented for the test"', '', 'materials[0].source', /is missing/],
    ['[[materials]]', '[[stuff]]', 'materials', /is missing/],
    ['verdict = "caution"', 'verdict = "keepOut"', 'materials[0].actions', /with "keepOut"/],
    [
      'porous = true',
      'poisonsWhenTested = true',
      'materials[0].verdict',
      /poisonsWhenTested is true/,
    ],
  ])('are refused with %s turned into %s', (from, to, field, words) => {
    const problems = refusals(ownRow.replace(from, to));
    const problem = problems.find((one) => one.field === field);
    expect(problem?.message).toMatch(words);
    expect(problem?.file).toContain('materials.toml');
  });

  it('are refused with the line where the fault stands', () => {
    expect(refusals(ownRow.replace('high = 4', 'high = 11'))[0]?.line).toBe(6);
    expect(refusals(`${ownRow}${ownRow}`)[0]).toMatchObject({
      field: 'materials[1].id',
      bound: 'unlike that of materials[0]',
    });
  });

  it('are refused as a whole when the file is not TOML', () => {
    expect(refusals('[[materials')[0]?.message).toMatch(/not TOML/);
  });
});
