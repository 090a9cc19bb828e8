/** Weigh-ins against textbook problems, hand computation and a statistics library. */

import { describe, expect, test } from 'vitest';
import { metals } from '../../daemon/chemistry/metals.ts';
import type { Plan } from '../../daemon/run/model.ts';
import { calliperThicknessMm } from '../../daemon/run/weigh-in/callipers.ts';
import { weighInFigures } from '../../daemon/run/weigh-in/figures.ts';
import type { WeighIn } from '../../daemon/run/weigh-in/model.ts';
import { weighInProblems } from '../../daemon/run/weigh-in/problems.ts';
import { runningFigure } from '../../daemon/run/weigh-in/running.ts';
import { flat, part, pieceOf, planned } from './plan-fixtures.ts';

const nothing: WeighIn = {
  beforeGrams: null,
  afterGrams: null,
  balanceGrams: 0.01,
  hangersWeighed: true,
  calliperMm: 0.01,
  callipers: [],
  note: '',
};

const counted = (ampHours: number) => ({
  ampHours,
  lowAmpHours: ampHours,
  highAmpHours: ampHours,
});

/** A plan on a flat area in another metal, as a textbook has it; no cyanide bath is planned. */
function textbook(
  areaDm2: number,
  metal: Plan['metal'],
  supply = { meterUncertainty: 0.01 },
): Plan {
  const plan = planned({ request: { piece: pieceOf([flat(areaDm2)]) }, supply });
  return { ...plan, metal };
}

const outside = (beforeMm: number, afterMm: number) =>
  ({ label: 'shank', beforeMm, afterMm, growthPerThickness: 2 }) as const;

describe('a weigh-in by mass', () => {
  test('finds the 82.0 % and 0.243 cm of Masterton and Hurley, Principles and Reactions, 8th edition, problem 17.81', () => {
    // Silver on 6.25 cm2, 2.00 A for 2 h 25 min; the printed answers are 15.94 g and 0.243 cm at a
    // density of 10.5 g/cm3. The printed mass is 0.07 % below what its own figures give (15.951 g), so
    // 0.1 % is allowed; of the thickness half of the last printed digit.
    const silver = { ...metals['silver-I'], densityGramsPerCm3: 10.5 };
    const plan = textbook(0.0625, silver);
    const weighIn = { ...nothing, beforeGrams: 20, afterGrams: 35.94 };
    const figures = weighInFigures(plan, counted(2 * (2 + 25 / 60)), weighIn);
    expect(figures.gainGrams?.value).toBeCloseTo(15.94, 10);
    expect(Math.abs((figures.efficiency?.value ?? 0) - 0.82)).toBeLessThan(0.001);
    expect(Math.abs((figures.massMicrometres?.value ?? 0) - 2430)).toBeLessThan(5);
  });

  test('finds all of the charge in 0.1457 g of copper from 0.123 A·h, Instant Notes in Physical Chemistry, C2', () => {
    const plan = textbook(0.3, metals['copper-II']);
    const weighIn = { ...nothing, beforeGrams: 10, afterGrams: 10.1457, balanceGrams: 0.0001 };
    const { efficiency } = weighInFigures(plan, counted(0.123), weighIn);
    expect(Math.abs((efficiency?.value ?? 0) - 1)).toBeLessThan(0.001);
  });

  test('carries one step of the balance and the meter into the efficiency', () => {
    // 3.00 g ± 0.01 g is 0.333 %, the meter 1 %: by hand hypot(0.333, 0.990) below, hypot(0.333,
    // 1.010) above, of 3.00 / (2.60 x 1.185494) = 0.97328.
    const plan = textbook(0.3, metals['copper-II']);
    const weighIn = { ...nothing, beforeGrams: 12, afterGrams: 15 };
    const { efficiency } = weighInFigures(plan, counted(2.6), weighIn);
    expect(efficiency?.value).toBeCloseTo(0.97328, 4);
    expect(efficiency?.low).toBeCloseTo(0.97328 * (1 - Math.hypot(0.003333, 0.0099)), 4);
    expect(efficiency?.high).toBeCloseTo(0.97328 * (1 + Math.hypot(0.003333, 0.0101)), 4);
  });

  test('carries the doubt about the area into the thickness and not into the efficiency', () => {
    const of = (share: number) => {
      const plan = planned({ request: { piece: pieceOf([flat(0.3)], share) } });
      return weighInFigures(plan, counted(2.6), { ...nothing, beforeGrams: 12, afterGrams: 15 });
    };
    const [sure, leafy] = [of(0.1), of(0.3)];
    expect(leafy.efficiency).toEqual(sure.efficiency);
    expect(leafy.massMicrometres?.value).toBeCloseTo(sure.massMicrometres?.value ?? 0, 9);
    const width = ({ massMicrometres: range }: typeof sure) =>
      (range?.high ?? 0) - (range?.low ?? 0);
    expect(width(leafy)).toBeGreaterThan(2.5 * width(sure));
    // By hand: 3.00 g / 8.96 g/cm3 / 30 cm2 = 111.6 micrometres.
    expect(sure.massMicrometres?.value).toBeCloseTo(111.61, 1);
  });

  test('takes gaps of the charge into the range', () => {
    const plan = textbook(0.3, metals['copper-II']);
    const weighIn = { ...nothing, beforeGrams: 12, afterGrams: 15 };
    const charge = { ampHours: 2.6, lowAmpHours: 2.6, highAmpHours: 3.0 };
    const { efficiency, remarks } = weighInFigures(plan, charge, weighIn);
    expect(efficiency?.low).toBeLessThan(3 / (3.0 * 1.1855));
    expect(remarks.map(({ code }) => code)).toContain('gaps');
  });

  test('reckons metal on hangers in that were not on the balance', () => {
    // Equal flat areas: the hanger's wire of 20 mm2 stands for a quarter of 80 mm2.
    const hanger = part('hanger', { wireDiameterMm: 1, submergedLengthMm: 20 / Math.PI });
    const piece = pieceOf([part('measured', { areaMm2: 60 }), hanger]);
    const plan = planned({ request: { piece, target: { kind: 'thickness', micrometres: 1 } } });
    const share = 1 - 60 / plan.growth.areaMm2;
    const weighIn = { ...nothing, beforeGrams: 1, afterGrams: 1.003, balanceGrams: 0.0001 };
    const of = (hangersWeighed: boolean) =>
      weighInFigures(plan, counted(0.0036), { ...weighIn, hangersWeighed });
    const ratio = (of(false).efficiency?.value ?? 0) / (of(true).efficiency?.value ?? 1);
    expect(ratio).toBeCloseTo(1 / (1 - share), 1);
    expect(of(false).remarks.map(({ code }) => code)).toContain('hangers-not-weighed');
  });

  test('says what may be wrong with an efficiency far from 1', () => {
    const plan = textbook(0.3, metals['copper-II']);
    const of = (afterGrams: number) =>
      weighInFigures(plan, counted(2.6), { ...nothing, beforeGrams: 12, afterGrams }).remarks.map(
        ({ code }) => code,
      );
    expect(of(14.5)).toContain('little-metal');
    expect(of(15.3)).toContain('much-metal');
    expect(of(15)).toEqual([]);
    expect(of(12.1)).toContain('coarse-balance');
  });

  test('has nothing to say while a mass is missing, and no charge is refused', () => {
    const plan = textbook(0.3, metals['copper-II']);
    const figures = weighInFigures(plan, counted(2.6), { ...nothing, beforeGrams: 12 });
    expect(figures.efficiency).toBeNull();
    expect(figures.massMicrometres).toBeNull();
    expect(figures.countedMicrometres.value).toBeGreaterThan(90);
    expect(() => weighInFigures(plan, counted(0), nothing)).toThrow(/ampHours is 0/);
  });
});

describe('callipers', () => {
  test('give mean and range as Student has them', () => {
    // scipy 1.17: mean of 0.155, 0.14, 0.165, 0.15 is 0.1525; t(0.975, 3) s / sqrt(4) = 0.016559.
    const readings = [outside(2, 2.31), outside(2, 2.28), outside(2, 2.33), outside(2, 2.3)];
    const thickness = calliperThicknessMm(readings, 0.01);
    expect(thickness?.value).toBeCloseTo(0.1525, 6);
    const half = Math.hypot(0.016559, 0.005);
    expect(thickness?.low).toBeCloseTo(0.1525 - half, 4);
    expect(thickness?.high).toBeCloseTo(0.1525 + half, 4);
  });

  test('count a bore that shrinks as growth, and one face at its full change', () => {
    const readings = [
      { label: 'bore', beforeMm: 17, afterMm: 16.7, growthPerThickness: -2 },
      { label: 'back', beforeMm: 1, afterMm: 1.15, growthPerThickness: 1 },
      outside(2, 2.3),
    ] as const;
    expect(calliperThicknessMm(readings, 0.01)?.value).toBeCloseTo(0.15, 9);
  });

  test('need three places, and growth', () => {
    expect(calliperThicknessMm([outside(2, 2.3), outside(2, 2.3)], 0.01)).toBeNull();
    const shrunk = [outside(2.3, 2), outside(2.3, 2), outside(2.3, 2)];
    expect(calliperThicknessMm(shrunk, 0.01)).toBeNull();
  });

  test('and metal together give back the area that was not in the plan', () => {
    // A wire of which only half was entered: as much metal as grows 0.15 mm on all of it. The metal
    // is that of a hollow cylinder, pi L ((r + t)^2 - r^2), worked out here and not by the project.
    const [radius, length, grown] = [1, 100, 0.15];
    const wholeMm3 = Math.PI * length * ((radius + grown) ** 2 - radius ** 2);
    const piece = pieceOf([part('wire', { wireDiameterMm: 2 * radius, lengthMm: length / 2 })]);
    const plan = planned({ request: { piece } });
    const grams = (wholeMm3 / 1000) * plan.metal.densityGramsPerCm3;
    const weighIn = {
      ...nothing,
      beforeGrams: 5,
      afterGrams: 5 + grams,
      callipers: [outside(2, 2.3), outside(2, 2.3), outside(2, 2.3)],
    };
    const { areaFactor } = weighInFigures(plan, counted(grams / 1.1855), weighIn);
    expect(areaFactor?.value).toBeCloseTo(2, 6);
    expect(areaFactor?.low).toBeLessThan(1.97);
    expect(areaFactor?.high).toBeGreaterThan(2.03);
  });

  test('take the place of the balance with the doubt about the area in it', () => {
    const plan = planned({ request: { piece: pieceOf([flat(0.3)], 0.2) } });
    const callipers = [outside(2, 2.3), outside(2, 2.3), outside(2, 2.3)];
    const figures = weighInFigures(plan, counted(3.4), { ...nothing, callipers });
    // 0.15 mm on 0.3 dm2 is 4.032 g, which is 3.401 A·h.
    expect(figures.efficiency).toBeNull();
    expect(figures.calliperEfficiency?.value).toBeCloseTo(1, 3);
    const { low = 0, high = 0 } = figures.calliperEfficiency ?? {};
    expect(high - low).toBeGreaterThan(0.4);
  });
});

describe('several weigh-ins together', () => {
  const sample = (value: number) => ({ value, low: value - 0.01, high: value + 0.01 });

  test('have median and spread of the textbook example 1, 1, 2, 2, 4, 6, 9', () => {
    // "Median absolute deviation", Wikipedia: median 2, MAD 1; scipy 1.17 scales it to 1.4826.
    const figure = runningFigure([1, 1, 2, 2, 4, 6, 9].map(sample), 0);
    expect(figure).toMatchObject({ count: 7, value: 2 });
    expect(figure?.spread).toBeCloseTo(1.4826, 4);
  });

  test('are not moved by one that went wrong', () => {
    // numpy and scipy 1.17: median 0.9795, scaled MAD 0.008896.
    const figure = runningFigure([0.981, 0.972, 0.995, 0.978, 0.62, 0.984].map(sample), 0);
    expect(figure?.value).toBeCloseTo(0.9795, 6);
    expect(figure?.spread).toBeCloseTo(0.0089, 3);
    expect(figure?.halfWidth).toBeCloseTo(2 * (figure?.spread ?? 0), 9);
  });

  test('claim no more than the single ones, and no more than was known while they are few', () => {
    expect(runningFigure([sample(0.98), sample(0.98), sample(0.98)], 0.02)?.halfWidth).toBeCloseTo(
      0.01,
      9,
    );
    expect(runningFigure([sample(0.98)], 0.02)?.halfWidth).toBe(0.02);
    expect(runningFigure([], 0.02)).toBeNull();
  });

  test('leave out old ones', () => {
    const newest = Array.from({ length: 12 }, () => sample(0.98));
    const figure = runningFigure([...newest, ...Array.from({ length: 30 }, () => sample(0.5))], 0);
    expect(figure).toMatchObject({ count: 12, value: 0.98 });
  });
});

describe('a weigh-in that cannot be', () => {
  test('names the field, the value and the bound', () => {
    expect(weighInProblems({ ...nothing, beforeGrams: 12, afterGrams: 11.5 })).toEqual([
      {
        field: 'afterGrams',
        value: '11.5',
        bound: 'more than the mass before, 12 g',
        message: expect.stringContaining('11.5 g'),
      },
    ]);
    expect(weighInProblems(nothing)[0]?.field).toBe('beforeGrams');
    expect(weighInProblems({ ...nothing, beforeGrams: 12 })).toEqual([]);
  });
});
