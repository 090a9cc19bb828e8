/** Weigh-ins and entries while they are typed: what they mean, and what cannot be read. */

import { describe, expect, test } from 'vitest';
import { ledgerEntrySchema, type SavedEntry } from '../../daemon/wire/ledger.ts';
import { weighInSchema } from '../../daemon/wire/weigh-in.ts';
import {
  emptyEntry,
  entryDraftOf,
  entryOf,
  fieldTime,
  figuresOf,
} from '../../dashboard/ledger/entry-draft.ts';
import { celsiusOf, thermometersOf } from '../../dashboard/ledger/thermometer.ts';
import { typedNumber } from '../../dashboard/ledger/typed-figures.ts';
import {
  asOnPage,
  draftFrom,
  draftOf,
  emptyPlace,
  weighInOf,
} from '../../dashboard/ledger/weigh-in-draft.ts';
import { routeOf } from '../../dashboard/route.ts';
import { aWeighIn } from '../store/a-weigh-in.ts';
import { tankSnapshot } from '../web/fixture.ts';

const reading = { label: 'shank', beforeMm: 2, afterMm: 2.25, growthPerThickness: -2 } as const;

test.each([
  ['12,3', 12.3],
  [' 0.01 ', 0.01],
  ['.5', 0.5],
  ['-4', -4],
  ['12.3.4', null],
  ['heavy', null],
  ['', null],
  ['1e3', null],
])('%j is read as %s', (text, value) => {
  expect(typedNumber(text)).toBe(value);
});

describe('a weigh-in that is typed', () => {
  test('means what was saved, to the last digit', () => {
    const saved = aWeighIn({ afterGrams: 15.0123, callipers: [reading], note: 'dry' });
    const { weighIn, problems } = weighInOf(draftOf(saved));
    expect(problems).toEqual([]);
    expect(weighIn).toEqual(saved);
    expect(weighInSchema.safeParse(weighIn).success).toBe(true);
  });

  test('begins with a usual balance, and has nothing else in it', () => {
    expect(weighInOf(draftOf(null)).weighIn).toEqual(
      aWeighIn({ beforeGrams: null, afterGrams: null }),
    );
  });

  test('names what cannot be read by its field and its text', () => {
    const draft = { ...draftOf(null), before: 'l2', step: '' };
    expect(weighInOf(draft).problems).toMatchObject([
      { field: 'beforeGrams', value: 'l2', bound: 'a number' },
      {
        field: 'balanceGrams',
        value: 'empty',
        message: 'Balance step is empty; it must be a number.',
      },
    ]);
  });

  test('leaves blank places out, and puts problems beside the place they are about', () => {
    const places = [emptyPlace, { ...emptyPlace, before: '2', after: 'x' }];
    const draft = { ...draftOf(null), places };
    const { weighIn, problems } = weighInOf(draft);
    expect(weighIn.callipers).toHaveLength(1);
    expect(problems.map(({ field }) => field)).toEqual(['callipers[1].afterMm']);
    const sent = { value: '0', bound: 'more than 0', message: '' };
    const onPage = asOnPage({ ...sent, field: 'weighIn.callipers[0].beforeMm' }, draft);
    expect(onPage.field).toBe('callipers[1].beforeMm');
    expect(asOnPage({ ...sent, field: 'weighIn.balanceGrams' }, draft).field).toBe('balanceGrams');
  });

  test('is taken back from this browser only where it is one', () => {
    const draft = { ...draftOf(aWeighIn()), places: [emptyPlace] };
    expect(draftFrom(JSON.stringify(draft))).toEqual(draft);
    for (const text of [null, '', '{', '[]', '{"before":1}', '"x"']) {
      expect(draftFrom(text)).toBeNull();
    }
    const broken = { ...draft, places: [{ ...emptyPlace, growth: 3 }] };
    expect(draftFrom(JSON.stringify(broken))).toBeNull();
  });
});

describe('an entry that is typed', () => {
  const atWallMs = new Date(2026, 0, 10, 21, 5).getTime();
  const saved = (entry: SavedEntry['entry']): SavedEntry => ({
    id: 1,
    tankId: 'beaker',
    bathId: 'still',
    version: 1,
    savedWallMs: atWallMs,
    by: 'Mara',
    atWallMs,
    entry,
  });

  test.each([
    { kind: 'addition', name: 'Part A', unit: 'g', amount: 0.25, note: 'slowly' },
    { kind: 'addition', name: 'Part A', unit: 'mL', amount: 4, plannedAmount: 10, note: '' },
    { kind: 'anode', grams: 412.5, note: '' },
    { kind: 'temperature', celsius: 21.5, note: '' },
    { kind: 'symptom', symptom: 'rough', runId: 'night', note: '' },
    { kind: 'upkeep', what: 'filter', note: '' },
  ] as const)('of kind $kind means what was saved', (entry) => {
    const draft = entryDraftOf(saved(entry));
    if (draft === null) throw new Error('It has a form.');
    const read = entryOf(draft, 'night');
    expect(read).toEqual({ entry, atWallMs, problems: [] });
    expect(ledgerEntrySchema.safeParse(read.entry).success).toBe(true);
  });

  test('has no form where it was taken back, or has one of its own', () => {
    expect(entryDraftOf(saved(null))).toBeNull();
    const efficiency = { value: 0.97, uncertainty: 0.01, weighIns: 3, note: '' };
    expect(entryDraftOf(saved({ kind: 'efficiency', ...efficiency }))).toBeNull();
  });

  test('is of now where no time is typed, and names a time that is none', () => {
    const draft = { ...emptyEntry, kind: 'temperature', celsius: '21' } as const;
    expect(entryOf(draft, null).atWallMs).toBeNull();
    expect(fieldTime(atWallMs)).toBe('2026-01-10T21:05');
    const { problems } = entryOf({ ...draft, when: 'yesterday' }, null);
    expect(problems).toMatchObject([{ field: 'atWallMs', value: 'yesterday' }]);
  });

  test('of a dose leaves nothing due where as much was given as was planned, or more', () => {
    for (const amount of ['10', '12']) {
      const draft = { ...emptyEntry, name: 'Part A', amount, planned: '10' };
      expect(entryOf(draft, null).entry).not.toHaveProperty('plannedAmount');
    }
    const draft = { ...emptyEntry, name: 'Part A', amount: '4', planned: 'ten' };
    expect(entryOf(draft, null).problems).toMatchObject([{ field: 'plannedAmount', value: 'ten' }]);
  });

  test('names a missing additive and amount', () => {
    const { problems } = entryOf({ ...emptyEntry, amount: 'a drop' }, null);
    expect(problems.map(({ field, value }) => [field, value])).toEqual([
      ['name', 'empty'],
      ['amount', 'a drop'],
    ]);
  });

  test('of figures names each one that cannot be read', () => {
    const additive = { name: '', unit: 'mL', rate: '0,2', least: 'x', source: '' } as const;
    const { entry, problems } = figuresOf({ additives: [additive], carbon: '', anodes: 'soluble' });
    expect(problems.map(({ field }) => field)).toEqual([
      'additives[0].name',
      'additives[0].leastAmount',
    ]);
    expect(entry).toMatchObject({
      additives: [{ perAmpHour: 0.2 }],
      carbonAmpHoursPerLitre: null,
    });
  });
});

test.each([
  [21.46, '°C', 21.5],
  [21.46, 'C', 21.5],
  // Freezing and boiling of water by the definition of the scale.
  [32, '°F', 0],
  [212, '° F', 100],
  [294.6, 'K', null],
  [null, '°C', null],
])('a thermometer at %s %s offers %s °C', (value, unit, celsius) => {
  expect(celsiusOf({ value, unit })).toBe(celsius);
});

test('thermometers are those of the tank that holds the bath today', () => {
  const sensor = { name: 'x', unit: '°C', value: 21, state: 'well', message: '' } as const;
  const bounds = { low: null, high: null };
  const sensors = [
    { ...sensor, ...bounds, id: 'bath', kind: 'temperature' as const },
    { ...sensor, ...bounds, id: 'gauge', kind: 'level' as const },
  ];
  const tank = { ...tankSnapshot({}), sensors };
  expect(thermometersOf(tank, { current: true }).map(({ id }) => id)).toEqual(['bath']);
  expect(thermometersOf(tank, { current: false })).toEqual([]);
  expect(thermometersOf(null, { current: true })).toEqual([]);
});

test.each([
  ['/baths', { page: 'ledger', place: null }],
  ['/baths/beaker/still', { page: 'ledger', place: { tankId: 'beaker', bathId: 'still' } }],
  ['/baths/beaker', { page: 'unknown' }],
  ['/weigh-in/2026-01-10-beaker', { page: 'weigh-in', runId: '2026-01-10-beaker' }],
])('the address %s leads to its page', (address, route) => {
  expect(routeOf(address)).toEqual(route);
});
