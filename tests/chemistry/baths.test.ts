/** A bath whose figures disagree is told so, and a cyanide bath is refused by any name. */

import { describe, expect, test } from 'vitest';
import { bathProblems, licensedBathRefusal } from '../../daemon/chemistry/baths.ts';
import type { Bath } from '../../daemon/chemistry/model.ts';

const sound: Bath = {
  id: 'trial',
  name: 'Trial',
  metal: 'copper-II',
  agitation: 'still',
  window: { minAmpsPerDm2: 0.5, typicalAmpsPerDm2: 1, maxAmpsPerDm2: 2, source: 'from memory' },
  efficiency: { value: 0.98, uncertainty: 0.02, source: 'from memory' },
  temperature: { minCelsius: 18, maxCelsius: 28, source: 'from memory' },
  conductivity: { siemensPerMetre: 15, source: 'from memory' },
  loading: { maxAmpsPerLitre: 0.5, source: 'from memory' },
  notes: [],
};

function fieldsOf(bath: Bath): readonly string[] {
  return bathProblems(bath).map((problem) => problem.field);
}

test('a sound bath has none', () => {
  expect(bathProblems(sound)).toEqual([]);
});

test('a window may be a single density', () => {
  const window = { ...sound.window, minAmpsPerDm2: 1, maxAmpsPerDm2: 1 };
  expect(bathProblems({ ...sound, window })).toEqual([]);
});

test('a typical density above the window names the field, the value and the bound', () => {
  const window = { ...sound.window, typicalAmpsPerDm2: 3 };
  expect(bathProblems({ ...sound, window })).toEqual([
    {
      field: 'window.typicalAmpsPerDm2',
      value: '3',
      bound: 'at most 2 A/dm2, window.maxAmpsPerDm2',
      message:
        'window.typicalAmpsPerDm2 is 3 A/dm2; it must be at most 2 A/dm2, which is window.maxAmpsPerDm2.',
    },
  ]);
});

test('a window upside down is found from both ends', () => {
  const window = { ...sound.window, minAmpsPerDm2: 2, maxAmpsPerDm2: 0.5 };
  expect(fieldsOf({ ...sound, window })).toEqual([
    'window.maxAmpsPerDm2',
    'window.typicalAmpsPerDm2',
    'window.typicalAmpsPerDm2',
  ]);
});

test('temperatures upside down are found', () => {
  const temperature = { ...sound.temperature, minCelsius: 30 };
  expect(fieldsOf({ ...sound, temperature })).toEqual(['temperature.maxCelsius']);
});

test('a spread as wide as the efficiency itself is found', () => {
  const efficiency = { ...sound.efficiency, value: 0.3, uncertainty: 0.3 };
  expect(fieldsOf({ ...sound, efficiency })).toEqual(['efficiency.uncertainty']);
});

test('an efficiency in per cent is out of range', () => {
  const efficiency = { ...sound.efficiency, value: 98 };
  expect(bathProblems({ ...sound, efficiency })[0]).toMatchObject({
    field: 'efficiency.value',
    value: '98',
    bound: '0.01 to 1',
  });
});

test.each([
  ['window.minAmpsPerDm2', { window: { ...sound.window, minAmpsPerDm2: 0 } }],
  ['window.minAmpsPerDm2', { window: { ...sound.window, minAmpsPerDm2: Number.NaN } }],
  ['window.maxAmpsPerDm2', { window: { ...sound.window, maxAmpsPerDm2: 1000 } }],
  ['efficiency.uncertainty', { efficiency: { ...sound.efficiency, uncertainty: -0.01 } }],
  ['temperature.maxCelsius', { temperature: { ...sound.temperature, maxCelsius: 212 } }],
  ['conductivity.siemensPerMetre', { conductivity: { siemensPerMetre: 0, source: 'x' } }],
  ['conductivity.siemensPerMetre', { conductivity: { siemensPerMetre: 550, source: 'x' } }],
  ['loading.maxAmpsPerLitre', { loading: { maxAmpsPerLitre: -1, source: 'x' } }],
  ['loading.source', { loading: { maxAmpsPerLitre: 1, source: '  ' } }],
] as const)('%s out of bounds is found', (field, change) => {
  expect(fieldsOf({ ...sound, ...change })).toEqual([field]);
});

test('an unknown metal from outside is named with the known ones', () => {
  const bath: Bath = JSON.parse(JSON.stringify({ ...sound, metal: 'rhodium' }));
  expect(bathProblems(bath)[0]).toMatchObject({ field: 'metal', value: 'rhodium' });
  expect(bathProblems(bath)[0]?.bound).toContain('copper-II');
});

test.each([
  ['id', { id: 'silver-kcn' }],
  ['name', { name: 'Silver cyanide strike' }],
  ['notes[1]', { notes: ['Keep it cool.', 'Top up potassium cyanide weekly.'] }],
])('a cyanide bath is refused by its %s', (field, change) => {
  const [first] = bathProblems({ ...sound, ...change });
  expect(first?.field).toBe(field);
  expect(first?.message).toMatch(/hydrogen cyanide/);
});
const refused = [
  'cyanide',
  'CYANIDE copper',
  'Copper cyanide strike',
  'potassium cyanide',
  'Sodium Cyanides',
  'silver-cyanide',
  'silver_cyanide_bright',
  'gold potassium cyanide',
  'potassium gold cyanide',
  'free cyanide 20 g/L',
  'cyanide free 20 g/L',
  'KCN',
  'kcn-strike',
  'silver_kcn',
  'add 30 g/L KCN.',
  'NaCN',
  'AgCN',
  'CuCN',
  'Zn(CN)2',
  'KAu(CN)2',
  'KAu(CN)₂',
  'K[Ag(CN)2]',
  'KAuCN2',
  'CN silver',
  'HCN',
  'aurocyanide',
  'dicyanoaurate(I)',
  'cyanocuprate',
  'hydrocyanic',
  'prussic acid',
  'c-y-a-n-i-d-e',
  'c y a n i d e',
  'cyan ide',
  'cianide',
  'cynide',
  'cynaide',
  'cyannide',
  'syanide',
  'Zyanid',
  'Kaliumcyanid',
  'cyanure de potassium',
  'cianuro de plata',
  'Cyjanek potasu',
  '氰化钾',
  'シアン化銀',
  'цианид калия',
  'not cyanide-free',
  'not a non-cyanide bath',
  "isn't cyanide free",
  'no cyanide-free alternative',
  'non-cyanide look, with potassium cyanide',
  'cyanide-free? add KCN',
];

const welcome = [
  'Acid copper, still',
  'Silver, succinimide, non-cyanide',
  'Non-Cyanide silver',
  'noncyanide',
  'non cyanide silver',
  'NON-CN silver',
  'cyanide-free',
  'Cyanide free silver',
  'silver_cyanide-free',
  'cyanidfrei',
  'Silber, cyanidfreies Bad',
  'free of cyanide',
  'free from any cyanide',
  'without cyanide',
  'contains no cyanide',
  'Watts nickel',
  'Nickel sulfamate',
  'Mask with cyanoacrylate glue',
  'cyan paint',
  'kyanite',
  'succinimide',
  'silver thiosulfate',
  'thiocyanate',
  'Policy: an idea a day',
  'cnc milled mandrel',
  '',
];

describe('licensedBathRefusal', () => {
  test('says why: the gas, and whose work it is', () => {
    const refusal = licensedBathRefusal('Silver cyanide');
    expect(refusal).toMatch(/"Silver cyanide"/);
    expect(refusal).toMatch(/[Aa]cid and cyanide .* hydrogen cyanide/);
    expect(refusal).toMatch(/licensed shops/);
    expect(refusal).toMatch(/[Ll]ocal rules/);
  });

  test.each(refused)('refuses "%s"', (text) => {
    expect(licensedBathRefusal(text)).not.toBeNull();
  });

  test.each(welcome)('lets "%s" pass', (text) => {
    expect(licensedBathRefusal(text)).toBeNull();
  });
});
