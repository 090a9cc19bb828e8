/** Densities and areas of anodes in the unit that is chosen: shown, told, typed, and never out of bounds by rounding. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readDensityText } from '../../daemon/chemistry/density-text.ts';
import type { Bath } from '../../daemon/chemistry/model.ts';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import type { Notice } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { suggested } from '../../dashboard/plan-compare.ts';
import { draftFrom, newDraft, withBareUnit } from '../../dashboard/plan-draft.ts';
import { SettingsForm, type Field } from '../../dashboard/setup/form.ts';
import { SetupDesk } from '../../dashboard/setup/desk.ts';
import {
  densityBounds,
  densityRange,
  perAreaUnit,
  perDensityUnit,
  plannedDensityText,
  told,
  offeredDensity,
  toldOfNotice,
  toldOfSettings,
  typedDensity,
} from '../../dashboard/units.ts';
import { asked, acidCopper, tank } from './plan-samples.ts';

// NIST SP 811, appendix B.8, cited from memory: 1 ft2 is 9.290 304 E-02 m2 and 1 in2 is
// 6.4516 E-04 m2, both exact; 1 dm2 is 1 E-02 m2.
const squareMetres = { 'A/ft2': 9.290_304e-2, 'A/in2': 6.4516e-4, 'A/dm2': 1e-2 } as const;
const units = ['A/dm2', 'A/ft2', 'A/in2'] as const;
const foreign = ['A/ft2', 'A/in2'] as const;

/** What is said of a density itself; what its current asks of the supply is another matter. */
function noticesOf(densityAmpsPerDm2: number, bath: Bath): readonly Notice[] {
  const request = { ...demoPlanRequest('beaker', acidCopper.id), densityAmpsPerDm2 };
  const result = planRun(request, bath, tank);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.plan.notices.filter(({ code }) => code.startsWith('density'));
}

function planned(densityAmpsPerDm2: number): readonly string[] {
  const request = { ...demoPlanRequest('beaker', acidCopper.id), densityAmpsPerDm2 };
  const result = planRun(request, acidCopper, tank);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.plan.notices
    .filter(({ field }) => field === 'densityAmpsPerDm2')
    .map(({ message, remedy }) => `${message} ${remedy}`);
}

describe('the factors of the page', () => {
  it.each(units)('are those of the table for %s', (unit) => {
    const expected = squareMetres['A/dm2'] / squareMetres[unit];
    expect(perDensityUnit(unit) / expected).toBeCloseTo(1, 12);
    expect(perAreaUnit(unit) * expected).toBeCloseTo(1, 12);
  });

  it('show 1 A/ft2 as 0.10764 A/dm2, and the same of an inch', () => {
    // The same table, rounded: 1 / 9.290304 and 1 / 0.064516.
    expect(perDensityUnit('A/ft2')).toBeCloseTo(0.107_64, 5);
    expect(perDensityUnit('A/in2')).toBeCloseTo(15.500_03, 5);
    expect(plannedDensityText(1.5, 'A/ft2')).toBe('13.9 A/ft²');
    expect(plannedDensityText(1.55, 'A/in2')).toBe('0.1 A/in²');
    expect(plannedDensityText(1.5, 'A/dm2')).toBe('1.5 A/dm²');
  });
});

describe('a sentence of the daemon', () => {
  it('is told in the unit that is chosen', () => {
    const text = 'Density changed from 1.2 A/dm2 to 1.5 A/dm2 by Maker.';
    expect(told(text, 'A/ft2')).toBe(
      'Density changed from 11.1\u00a0A/ft² to 13.9\u00a0A/ft² by Maker.',
    );
    expect(told(text, 'A/dm2')).toBe(
      'Density changed from 1.2\u00a0A/dm² to 1.5\u00a0A/dm² by Maker.',
    );
    expect(told('1.5 A of 2 A, 0.4 dm2', 'A/ft2')).toBe('1.5\u00a0A of 2\u00a0A, 0.4\u00a0dm²');
  });

  it('says what was refused, and its bound, in that unit', () => {
    const text =
      'window.minAmpsPerDm2 is 200; it must be a number from 0.001 to 100 A/dm2. Look again.';
    expect(told(text, 'A/ft2')).toBe(
      'window.minAmpsPerDm2 is 1858.06; it must be a number from 0.0093 to 929\u00a0A/ft². Look again.',
    );
  });

  it('says no figure twice that was typed in that unit', () => {
    expect(told('30 A/ft2 is 3.23 A/dm2, above the 2 A/dm2 that it carries.', 'A/ft2')).toBe(
      '30\u00a0A/ft² is above the 18.5\u00a0A/ft² that it carries.',
    );
    expect(told('1 A/ft2 is 0.108 A/dm2, below the 0.5 A/dm2 it begins at.', 'A/ft2')).toBe(
      '1\u00a0A/ft² is below the 4.65\u00a0A/ft² it begins at.',
    );
    expect(told('If A/dm2 was meant, 1.5 A/dm2 lies inside the window.', 'A/ft2')).toBe(
      'If A/dm² was meant, 1.5\u00a0A/dm² lies inside the window.',
    );
  });

  it('about the settings tells the area of anodes by it too', () => {
    const text = 'tanks[0].anodeAreaDm2 is 0; it must be a number from 0.01 to 1000 dm2.';
    expect(toldOfSettings(text, 'A/in2')).toBe(
      'tanks[0].anodeAreaDm2 is 0; it must be a number from 0.156 to 15500 in².',
    );
  });
});

describe('a density that is offered', () => {
  it('is typed in the chosen unit, unless A/dm2 itself was meant', () => {
    const both = { text: '1.61 A/dm2', clause: 'both sides make it', ampsPerDm2: 15 / 9.290_304 };
    expect(offeredDensity(both, 'A/ft2')).toBe('15 A/ft2');
    expect(offeredDensity(both, 'A/dm2')).toBe('1.61 A/dm2');
    const meant = { text: '1.5 A/dm2', clause: 'if A/dm2 was meant, 1.5', ampsPerDm2: 1.5 };
    expect(offeredDensity(meant, 'A/ft2')).toBe('1.5 A/dm2');
    const inches = { text: '0.1 A/in2', clause: '0.1 A/in2 would be', ampsPerDm2: 1.55 };
    expect(offeredDensity(inches, 'A/ft2')).toBe('0.1 A/in2');
  });
});

/** By so much of itself a density may lie outside of the window before the daemon says a word. */
const slack = 1e-9;

/** What the settings hold of a figure that was typed in a unit. */
function stored(typed: number, unit: (typeof units)[number]): number {
  return Number((typed * perDensityUnit(unit)).toPrecision(12));
}

function ampsPerDm2Of(text: string): number {
  const read = readDensityText(text);
  if (!read.ok) throw new Error(`${text}: ${read.bound}`);
  return read.density.ampsPerDm2;
}

/** Three digits at the most, as a sheet of a supplier gives them. */
const figures = fc
  .tuple(fc.integer({ min: 1, max: 999 }), fc.constantFrom(0.01, 0.1, 1))
  .map(([digits, scale]) => Number((digits * scale).toPrecision(3)));
const typedWindows = fc
  .tuple(figures, figures)
  .filter(([one, other]) => one !== other)
  .map(([one, other]): [number, number] => [Math.min(one, other), Math.max(one, other)]);

describe('rounding', () => {
  it.each(units)('shows a window that was typed in %s as it was typed', (unit) => {
    for (let typed = 1; typed <= 100; typed += 1) {
      const kept = stored(typed, unit);
      expect(densityBounds(kept, kept, unit)).toEqual([String(typed), String(typed)]);
    }
    fc.assert(
      fc.property(typedWindows, ([low, high]) => {
        expect(densityBounds(stored(low, unit), stored(high, unit), unit)).toEqual([
          String(low),
          String(high),
        ]);
      }),
    );
  });

  it.each(units.flatMap((typed) => units.map((shown) => [typed, shown] as const)))(
    'of a window typed in %s and shown in %s leaves no end outside of it',
    (typed, shown) => {
      fc.assert(
        fc.property(typedWindows, (window) => {
          const [low, high] = [stored(window[0], typed), stored(window[1], typed)];
          const [least, most] = densityBounds(low, high, shown);
          expect(ampsPerDm2Of(`${least} ${shown}`)).toBeGreaterThanOrEqual(low * (1 - slack));
          expect(ampsPerDm2Of(`${least} ${shown}`)).toBeLessThan(low * 1.0101);
          expect(ampsPerDm2Of(`${most} ${shown}`)).toBeLessThanOrEqual(high * (1 + slack));
          expect(ampsPerDm2Of(`${most} ${shown}`)).toBeGreaterThan(high * 0.99);
        }),
      );
    },
  );

  it('in A/dm2 goes inwards too', () => {
    // 10 A/ft2 is 1.0764 A/dm2 by the same table, which 1.08 is above.
    expect(densityBounds(stored(10, 'A/ft2'), stored(10, 'A/ft2'), 'A/dm2')).toEqual([
      '1.08',
      '1.07',
    ]);
  });

  it.each(units.flatMap((typed) => units.map((shown) => [typed, shown] as const)))(
    'names a bound typed in %s so that it is taken when it is typed in %s',
    (typed, shown) => {
      for (const most of typed === 'A/in2' ? [0.07, 0.12, 0.13] : [0.9, 1.9, 10, 11, 16]) {
        const maxAmpsPerDm2 = stored(most, typed);
        const window = {
          ...acidCopper.window,
          minAmpsPerDm2: 0.4 * maxAmpsPerDm2,
          typicalAmpsPerDm2: maxAmpsPerDm2,
          maxAmpsPerDm2,
        };
        const bath = { ...acidCopper, window };
        const above = noticesOf(1.2 * maxAmpsPerDm2, bath).find(
          ({ severity }) => severity === 'warn',
        );
        if (above === undefined) throw new Error(`${most} ${typed} was not warned of`);
        const said = toldOfNotice(`${above.message} ${above.remedy} ${above.bound}`, above, shown);
        const plain = said.replaceAll('\u00a0', ' ').replaceAll('²', '2');
        const patterns = [
          /above the ([\d.]+ \S+) that/,
          /Take ([\d.]+ \S+) or/,
          / to ([\d.]+ \S+) in /,
        ];
        for (const pattern of [...patterns, /; ([\d.]+ \S+) is usual/]) {
          const [, named = ''] = pattern.exec(plain) ?? [];
          if (typed === shown) expect(named).toBe(`${most} ${shown}`);
          expect(noticesOf(ampsPerDm2Of(named), bath), `${named} of "${plain}"`).toEqual([]);
        }
      }
    },
  );

  it.each(foreign)('names no bound in %s that would be refused', (unit) => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 90, noNaN: true }), (bound) => {
        const shown = Number(bound.toPrecision(3));
        const most = told(`at most ${shown} A/dm2`, unit);
        const least = told(`at least ${shown} A/dm2`, unit);
        const [high, low] = [most, least].map((text) => {
          const read = readDensityText(text.replace(/^at (?:most|least) /, ''));
          return read.ok ? read.density.ampsPerDm2 : Number.NaN;
        });
        expect(high).toBeLessThanOrEqual(shown * (1 + slack));
        expect(high).toBeGreaterThan(0.99 * shown);
        expect(low).toBeGreaterThanOrEqual(shown * (1 - slack));
        expect(low).toBeLessThan(1.01 * shown);
      }),
    );
  });

  it.each(units)('shows a window in %s whose ends are taken without a word', (unit) => {
    const { minAmpsPerDm2, maxAmpsPerDm2 } = acidCopper.window;
    for (const end of densityBounds(minAmpsPerDm2, maxAmpsPerDm2, unit)) {
      const read = readDensityText(`${end} ${unit}`);
      if (!read.ok) throw new Error(read.bound);
      expect(planned(read.density.ampsPerDm2), `${end} ${unit}`).toEqual([]);
    }
    expect(densityRange(minAmpsPerDm2, maxAmpsPerDm2, unit)).toContain(' to ');
  });

  it.each(foreign)('suggests densities in %s that lie in the window', (unit) => {
    for (const text of suggested(acidCopper, unit)) {
      expect(text.endsWith(unit)).toBe(true);
      const read = readDensityText(text);
      expect(planned(read.ok ? read.density.ampsPerDm2 : 0)).toEqual([]);
    }
  });
});

describe('a bare number', () => {
  const typed = { ...newDraft(), density: '14', trickle: true, trickleDensity: '0.5' };

  it('is taken in the unit in which it was typed', () => {
    const { request } = asked({ ...typed, bareUnit: 'A/ft2' });
    expect(request.densityTyped).toBe('14 A/ft2');
    expect(request.trickle?.densityAmpsPerDm2).toBeCloseTo(0.5 / 9.290_304, 9);
    expect(asked(typed).request.densityTyped).toBe('14');
    expect(typedDensity('0.1 A/in2', 'A/ft2')).toBe('0.1 A/in2');
  });

  it('keeps that unit when another one is chosen, and over a reload', () => {
    const inFeet = { ...typed, bareUnit: 'A/ft2', compare: ['9', '', '1 A/dm2'] };
    const kept = draftFrom(JSON.stringify(inFeet));
    expect(kept.bareUnit).toBe('A/ft2');
    const written = withBareUnit(kept, 'A/in2');
    expect(written).toMatchObject({
      density: '14 A/ft2',
      trickleDensity: '0.5 A/ft2',
      compare: ['9 A/ft2', '', '1 A/dm2'],
      bareUnit: 'A/in2',
    });
    expect(asked(written).request.densityTyped).toBe('14 A/ft2');
  });
});

describe('a field of the settings in another unit', () => {
  const field: Field = {
    path: ['maxAmpsPerDm2'],
    label: 'Most density',
    kind: 'number',
    unit: 'A/ft²',
    perUnit: perDensityUnit('A/ft2'),
  };

  function form(present: number): SettingsForm {
    const desk = new SetupDesk(() => undefined);
    desk.file = { data: { window: { maxAmpsPerDm2: present } } } as SetupDesk['file'];
    return new SettingsForm(desk, ['window'], () => undefined);
  }

  it('shows what the file has, and writes what was typed', () => {
    const own = form(2);
    expect(own.value(field)).toBe('18.58');
    expect(own.changes([field])).toEqual([]);
    own.set(field.path, '18.58');
    expect(own.changes([field])).toEqual([]);
    own.set(field.path, '20');
    const [change] = own.changes([field]);
    expect(change).toMatchObject({ kind: 'set', path: ['window', 'maxAmpsPerDm2'] });
    expect(change?.kind === 'set' ? change.value : 0).toBeCloseTo(20 / 9.290_304, 10);
  });

  it('takes the bound itself as it is shown', () => {
    const own = form(2);
    // 100 A/dm2 is the most that a bath may have, and 929.0304 A/ft2 by the table.
    own.set(field.path, '929.0304');
    const [change] = own.changes([field]);
    expect(change).toMatchObject({ value: 100 });
  });
});
