/** What the Plan page makes of typed densities, sizes and blanks, and of the daemon's answers. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import type { Plan, PlanRequest } from '../../daemon/run/model.ts';
import { meaningsOf, outlookOf, paceOf } from '../../daemon/run/outlook.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import { whyNotArmed } from '../../dashboard/plan-arming.ts';
import { blankFor } from '../../dashboard/plan-blank.ts';
import { comparedDensities, suggested } from '../../dashboard/plan-compare.ts';
import { densityReading, windowLabel, windowPercent } from '../../dashboard/plan-density.ts';
import { doubtSentences } from '../../dashboard/plan-doubt.ts';
import { formWords } from '../../dashboard/plan-evenness.ts';
import { startWords } from '../../dashboard/plan-form.ts';
import { thinMeaning } from '../../dashboard/plan-goal.ts';
import { entryOf, fieldsOfPage } from '../../dashboard/plan-problems.ts';
import { aimedSize, inWords, lengthMm } from '../../dashboard/plan-sizes.ts';
import { statusOf } from '../../dashboard/plan-status.ts';
import { acidCopper, tank } from './plan-samples.ts';

function planned(changes: Partial<PlanRequest> = {}): Plan {
  const request = { ...demoPlanRequest('beaker', acidCopper.id), ...changes };
  const result = planRun(request, acidCopper, tank);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.plan;
}

const ring: PlanRequest['piece'] = {
  name: 'Ring',
  areaUncertainty: 0.05,
  parts: [
    {
      kind: 'loop',
      label: 'Shank',
      count: 1,
      platedFraction: 1,
      sizes: { insideDiameterMm: 17.4, wireDiameterMm: 1 },
    },
  ],
};

describe('a typed density', () => {
  it('is read with its unit, and named as a slip where a likely one leads back into the window', () => {
    const meaningsOfTyped = (densityTyped: string) => {
      const { ampsPerDm2 = 0 } = densityReading(densityTyped, acidCopper, null) ?? {};
      return meaningsOf(planned({ densityTyped, densityAmpsPerDm2: ampsPerDm2 }));
    };
    expect(densityReading('1 A/in2', acidCopper, null)?.ampsPerDm2).toBeCloseTo(1 / 0.064516, 9);
    const meanings = meaningsOfTyped('1 A/in2');
    expect(meanings.map(({ text }) => text)).toEqual(['0.1 A/in2', '1 A/dm2']);
    for (const { text } of meanings) {
      expect(meaningsOfTyped(text), `${text} lies inside the window`).toEqual([]);
    }
  });

  it('that is empty is the usual one, and one that cannot be read is none', () => {
    expect(densityReading(' ', acidCopper, null)).toMatchObject({ ampsPerDm2: 1.3, typed: null });
    expect(densityReading('1.3 volts', acidCopper, null)).toBeNull();
  });

  it.each([
    ['0.3', 'Below the window'],
    ['0.5', 'Low in the window'],
    ['1.3', 'In the middle'],
    ['2', 'High in the window'],
    ['2.2', 'Above the window'],
  ])('of %s A/dm2 is said to lie where it does', (text, words) => {
    expect(densityReading(text, acidCopper, null)?.meaning).toContain(words);
  });

  it('says what it grows in an hour: 1 A/dm2 of copper is 13.2 µm at full efficiency', () => {
    // Faraday's law: 63.546 / (2 * 96485.33) g/C, 3600 C on 1 dm2, 8.96 g/cm3.
    const full = ((63.546 / (2 * 96_485.332_12)) * 3600) / 8.96 / 100;
    expect(full * 10_000).toBeCloseTo(13.2, 1);
    const pace = paceOf(planned());
    expect(pace.micrometresPerHour).toBeCloseTo(full * 10_000 * 0.985, 6);
    expect(densityReading('1', acidCopper, pace)?.meaning).toMatch(/About 13(\.0)? µm an hour\.$/);
    const other = { ...pace, bathId: 'another' };
    expect(densityReading('1', acidCopper, other)?.meaning).not.toContain('an hour');
  });

  it('is drawn in its place, and never outside the drawing', () => {
    const at = (density: number): number => windowPercent(acidCopper, density);
    expect(at(0.5)).toBeLessThan(at(1.3));
    expect(at(1.3)).toBeLessThan(at(2));
    expect(at(2)).toBeLessThan(at(99));
    expect(at(99)).toBe(99);
    expect(at(0)).toBe(1);
  });
});

it('takes a thin target for millimetres or for thousandths of an inch (25.4 µm)', () => {
  expect(thinMeaning('0,15')).toBe('150');
  expect(thinMeaning('6')).toBe('152.4');
  expect(thinMeaning('thin')).toBeNull();
});

describe('sizes before and after', () => {
  it('agree with a plan that ends at one of them', () => {
    const target = {
      kind: 'final-size',
      partIndex: 0,
      dimension: 'insideDiameterMm',
      mm: 17.1,
    } as const;
    const plan = planned({ piece: ring, target });
    const outlook = outlookOf(plan);
    const [part] = outlook.sizes;
    const inside = part?.sizes.find(({ name }) => name === 'insideDiameterMm');
    expect(inside?.after.value).toBeCloseTo(17.1, 9);
    expect(aimedSize(plan, outlook)).toEqual(inside?.after);
    expect(aimedSize(planned({ piece: ring }), outlook), 'no size is aimed at').toBeNull();
    expect(inside?.after.low).toBeLessThan(17.1);
    // A bore in the shade may get less: its range goes further up than down.
    expect((inside?.after.high ?? 0) - 17.1).toBeGreaterThan(17.1 - (inside?.after.low ?? 0));
  });

  it('say rings in ring sizes (ISO 8653) and wires in gauges (ASTM B258)', () => {
    const plan = planned({ piece: ring, target: { kind: 'thickness', micrometres: 150 } });
    const [part] = outlookOf(plan).sizes;
    const said = (name: string): readonly string[] => {
      const size = part?.sizes.find((one) => one.name === name);
      return size ? inWords(size) : [];
    };
    // 17.4 mm is a circumference of 54.66 mm; 17.1 mm one of 53.72 mm.
    expect(said('insideDiameterMm')[0]).toMatch(/^From ISO 55, .*, to ISO 54, /);
    // 18 AWG is 1.024 mm, 16 AWG 1.291 mm.
    expect(said('wireDiameterMm')[0]).toBe(
      'From 18 AWG, 0.02 mm thinner, to 16 AWG, 0.01 mm thicker.',
    );
    expect(said('outsideDiameterMm')).toEqual([]);
  });

  it('name what shuts first', () => {
    expect(outlookOf(planned()).closures).toEqual([]);
    expect(outlookOf(planned({ piece: ring })).closures[0]).toMatchObject({
      partName: 'Shank',
      closesAtMm: 8.7,
      acceptName: 'Shank',
    });
  });

  it.each([
    [0, '0.00'],
    [0.05, '0.050'],
    [0.8, '0.80'],
    [17.188, '17.19'],
    [120, '120.0'],
    [Number.NaN, '–'],
  ])('write %d mm as %s', (mm, text) => {
    expect(lengthMm(mm)).toBe(text);
  });
});

describe('what to wrap to', () => {
  const deposit = { low: 0.14, value: 0.15, high: 0.16 };

  it('is the size when done and twice the deposit, the wire pi times its middle', () => {
    const answer = blankFor({ scale: 'mm', size: '17.0', wire: '1.2 mm' }, deposit);
    expect(answer.ok && answer.value.insideDiameter.value).toBeCloseTo(17.3, 9);
    expect(answer.ok && answer.value.blankLength.value).toBeCloseTo(Math.PI * 18.5, 9);
  });

  it('gives a ring that a plan brings to that very size', () => {
    const plan = planned({ piece: ring, target: { kind: 'thickness', micrometres: 150 } });
    const [part] = outlookOf(plan).sizes;
    const after = part?.sizes.find(({ name }) => name === 'insideDiameterMm')?.after.value ?? 0;
    const answer = blankFor({ scale: 'mm', size: String(after), wire: '18 AWG' }, deposit);
    expect(answer.ok && answer.value.insideDiameter.value).toBeCloseTo(17.4, 9);
  });

  it.each([
    [{ scale: 'iso', size: 'N', wire: '1 mm' }, 'blank.size'],
    [{ scale: 'mm', size: '', wire: '1 mm' }, 'blank.size'],
    [{ scale: 'uk', size: 'N', wire: 'thick' }, 'blank.wire'],
  ] as const)('names what cannot be read in %o', (entries, field) => {
    const answer = blankFor(entries, deposit);
    expect(answer.ok).toBe(false);
    expect(!answer.ok && answer.problem.field).toBe(field);
  });
});

describe('densities to compare', () => {
  it('are suggested inside the window, slow to fast', () => {
    expect(suggested(acidCopper)).toEqual(['0.9 A/dm2', '1.3 A/dm2', '1.6 A/dm2']);
  });

  it('are read with their units; empty ones are left out and wrong ones named', () => {
    expect(comparedDensities(['1', '', '0.1 A/in2']).densities).toHaveLength(2);
    const { problems } = comparedDensities(['1', 'x', '']);
    expect(problems.map(({ field }) => field)).toEqual(['compare[1]']);
  });
});

describe('the words of a plan', () => {
  it('say how it starts and why', () => {
    expect(startWords(planned())).toMatch(/^Strike at .* for 30 min, then ramp .*copper paint/i);
    expect(startWords(planned({ paint: 'none' }))).toContain('Bare metal');
    const own = { strikeShare: 0.5, strikeMinutes: 5, rampMinutes: 10 };
    const text = startWords(planned({ start: own, densityAmpsPerDm2: 1.2 }));
    expect(text).toContain('0.600 A/dm² (50 % of the full density) for 5 min');
    expect(text).toContain('By your own figures.');
    const contact = { points: 1, farthestMm: 200 };
    expect(startWords(planned({ paint: 'graphite', contact }))).toContain('contacts bear');
  });

  it('name the form with its published ratio, and the doubt with what shrinks it', () => {
    expect(formWords(planned({ piece: ring }))).toMatch(/^Shank is taken for .* is 2 \(ASTM B507/);
    const [range, cause, remedy] = doubtSentences(planned());
    expect(range).toMatch(/^The mean will lie between \d+ µm and \d+ µm\.$/);
    expect(cause).toMatch(/^\d+ % of the doubt is the area of the piece, known to ± \d+ %\.$/);
    expect(remedy).toContain('Measure its parts again');
  });
});

it('brings problems to the fields that stand on the page', () => {
  const at = (field: string): string | undefined =>
    fieldsOfPage([{ field, value: '', bound: '', message: `${field} is 1; it must be 2.` }])[0]
      ?.message;
  expect(at('target.goal.micrometres')).toBe('target.micrometres is 1; it must be 2.');
  expect(at('densityTyped')).toBe('densityAmpsPerDm2 is 1; it must be 2.');
  expect(at('target.partIndex')).toBe('target.dimension is 1; it must be 2.');
  expect(at('target.localTime')).toBe('target.localTime is 1; it must be 2.');
});

it.each([
  ['target', 'target.kind'],
  ['densityTyped', 'densityAmpsPerDm2'],
  ['piece.parts[2]', 'piece.parts[2].label'],
  ['piece.parts[2].sizes.lengthMm', 'piece.parts[2].sizes.lengthMm'],
  ['tank.maxHours', null],
  ['piece.parts', null],
])('leads from a notice about %s to %s', (field, entry) => {
  expect(entryOf(field)).toBe(entry);
});

it('says why a plan cannot be armed, the first reason first', () => {
  const sound = { plan: planned(), tank: null, live: true, reached: false, carrying: null };
  const all = new Set(checklistItems.map((item) => item.id as string));
  expect(whyNotArmed({ ...sound, checked: all })).toBe('');
  expect(whyNotArmed({ ...sound, checked: new Set(['air']) })).toBe('5 checks are still open.');
  expect(whyNotArmed({ ...sound, plan: null, checked: all })).toContain('waits for a plan');
  expect(whyNotArmed({ ...sound, live: false, checked: all })).toContain('live again');
  expect(whyNotArmed({ ...sound, reached: true, checked: all })).toContain('passed this target');
  const refused = planned({ densityAmpsPerDm2: 50 });
  expect(whyNotArmed({ ...sound, plan: refused, checked: all })).toContain('refused');
});

it('arms nothing while an earlier run is on its way, or could not be fetched', () => {
  const sound = { plan: planned(), tank: null, live: true, reached: false };
  const checked = new Set(checklistItems.map((item) => item.id as string));
  const why = (error: string): string =>
    whyNotArmed({ ...sound, checked, carrying: { runId: 'r', error } });
  expect(why('')).toBe('The earlier run is still being fetched.');
  expect(why('There is no run of this id.')).toContain('could not be fetched');
});

it('says the window of a bath in words, its usual density within it', () => {
  expect(windowLabel(acidCopper)).toBe('This bath’s window: 0.5 to 2 A/dm², usually 1.3.');
});

describe('the line under the decisive numbers', () => {
  const facts = { error: '', pending: false, problems: [], plan: planned() };
  const refused = planned({ densityAmpsPerDm2: 50 });

  it('says that a plan is refused, and the first reason', () => {
    const { text, refused: is } = statusOf({ ...facts, plan: refused });
    expect(is).toBe(true);
    const reason = refused.notices.find(({ severity }) => severity === 'refuse');
    expect(reason?.message).toBeTruthy();
    expect(text).toMatch(/^Refused: .*50\sA\/dm²/);
  });

  it('says what else there is to say first', () => {
    expect(statusOf(facts)).toEqual({
      text: 'Worked out for these entries.',
      refused: false,
    });
    expect(statusOf({ ...facts, plan: refused, pending: true }).text).toBe('Working it out.');
    expect(statusOf({ ...facts, plan: refused, error: 'No answer.' }).text).toBe('No answer.');
    expect(statusOf({ ...facts, plan: refused, problems: [1] }).text).toContain('need a look');
    expect(statusOf({ ...facts, plan: null }).text).toBe('');
  });
});
