/** The trickle counts wherever current, charge, time and thickness are judged. */

import { describe, expect, test } from 'vitest';
import type { PlanQuestion } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { beaker, flat, part, pieceOf, planned, stillCopper, twigRequest } from './plan-fixtures.ts';

const codes = (plan: ReturnType<typeof planned>) => plan.notices.map(({ code }) => code);
const trickle = (densityAmpsPerDm2: number, maxHours = 8) => ({ densityAmpsPerDm2, maxHours });
const large = { piece: pieceOf([flat(4)]), densityAmpsPerDm2: 0.5 };

describe('a trickle stronger than the hold', () => {
  test('above what tank and supply allow is refused, and what it is told fits', () => {
    const tank = { maxAmps: 3, anodeAreaDm2: 8, volumeLitres: 20 };
    const asked = (density: number) =>
      planned({ request: { ...large, trickle: trickle(density) }, tank, supply: { maxAmps: 3 } });
    const refused = asked(1.2);
    expect(refused.startable).toBe(false);
    expect(codes(refused)).toContain('trickleBeyondBound');
    expect(codes(asked(0.73))).not.toContain('trickleBeyondBound');
  });

  test('is what hanger, bath and anodes are judged by', () => {
    const hanger = part('hanger', { wireDiameterMm: 0.3, submergedLengthMm: 20 });
    const piece = pieceOf([flat(4), hanger]);
    const tank = { anodeAreaDm2: 1.5, volumeLitres: 8 };
    const calm = planned({ request: { ...large, piece }, tank });
    const strong = planned({ request: { ...large, piece, trickle: trickle(1.2) }, tank });
    for (const code of ['bathLoading', 'anodeDensityHigh']) {
      expect(codes(calm)).not.toContain(code);
      expect(codes(strong)).toContain(code);
    }
    // 4 dm2 and a little wire at 1.2 A/dm2.
    expect(strong.hanger?.amps).toBeGreaterThan(4.8);
    expect(calm.hanger?.amps).toBeLessThan(2.1);
    expect(strong.expectedVolts.value).toBeGreaterThan(calm.expectedVolts.value);
  });
});

test('what the trickle takes of anode and energy is counted', () => {
  const without = planned();
  const with8h = planned({ request: { trickle: trickle(0.1) } });
  // A flat area of 0.3 dm2 at 0.1 A/dm2 for 8 h is 0.24 A·h; Faraday's 1.1855 g/A·h of copper.
  expect(with8h.anodeLossGrams - without.anodeLossGrams).toBeCloseTo(0.24 * 1.1855, 3);
  const extra = with8h.energyWattHours - without.energyWattHours;
  expect(extra).toBeGreaterThan(0);
  expect(extra).toBeLessThan(0.24 * with8h.expectedVolts.high);
});

describe('with the trickle', () => {
  // A bore of 1 mm shuts at 500 µm.
  const tube = part(
    'tube',
    { outsideDiameterMm: 3, insideDiameterMm: 1, lengthMm: 5 },
    { label: 'Bead' },
  );
  const piece = pieceOf([flat(0.3), tube], 0.05);
  const target = { kind: 'thickness', micrometres: 410 } as const;
  const shut = (more: object) =>
    codes(planned({ request: { piece, target, ...more }, tank: { maxHours: 100 } })).filter(
      (code) => code.startsWith('bore'),
    );

  test('the upper end of the range may shut a bore that the run alone leaves open', () => {
    expect(shut({})).toEqual([]);
    // 0.1 A/dm2 for 5 h is 0.5 A·h/dm2, about 7 µm; for 20 h about 26 µm.
    expect(shut({ trickle: trickle(0.2, 20) })).toEqual(['boreMayClose']);
  });

  test('the size that a run ends at may go on shrinking', () => {
    const ring = part('loop', { insideDiameterMm: 17, wireDiameterMm: 2 });
    const final = {
      piece: pieceOf([ring]),
      target: { kind: 'final-size', partIndex: 0, dimension: 'insideDiameterMm', mm: 16.6 },
    } as const;
    const alone = planned({ request: final });
    const kept = planned({ request: { ...final, trickle: trickle(0.1, 10) } });
    // 1 A·h/dm2 of copper at 0.98 is 13.0 µm on each side.
    const further = (alone.finalSize?.afterMm.low ?? 0) - (kept.finalSize?.afterMm.low ?? 0);
    expect(further).toBeCloseTo(0.026, 3);
    expect(kept.finalSize?.afterMm.high).toBe(alone.finalSize?.afterMm.high);
    expect(kept.finalSize?.afterMm.value).toBeCloseTo(16.6, 9);
  });
});

test('a request without a word of a trickle has none', () => {
  const { trickle: _, ...rest } = twigRequest;
  const result = planRun(rest as PlanQuestion, stillCopper, beaker);
  expect(result).toEqual(planRun(twigRequest, stillCopper, beaker));
});
