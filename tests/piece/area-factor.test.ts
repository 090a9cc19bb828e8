/** The area factor that weigh-ins found: it scales the whole growth, and brings a range of its own. */

import { describe, expect, test } from 'vitest';
import { metals } from '../../daemon/chemistry/metals.ts';
import { pieceAreaUncertainty } from '../../daemon/piece/area-uncertainty.ts';
import { hangerShare, pieceGrowth, pieceProblems } from '../../daemon/piece/piece.ts';
import { depositOnParts, thicknessMmOfCharge } from '../../daemon/run/deposit.ts';
import { pieceSchema } from '../../daemon/wire/piece.ts';
import { partOf, pieceOf } from './arbitraries.ts';
import { planned } from '../run/plan-fixtures.ts';

const wire = partOf('wire', { wireDiameterMm: 0.8, lengthMm: 100 });
const hanger = partOf('hanger', { wireDiameterMm: 1, submergedLengthMm: 40 });
const plain = pieceOf([wire, hanger]);
const leafy = { ...plain, areaFactor: 1.25, areaUncertainty: 0.04 };

describe('an area factor', () => {
  test('scales every term of the growth, and leaves the share of the hangers', () => {
    const [one, other] = [pieceGrowth(plain), pieceGrowth(leafy)];
    expect(other.areaMm2).toBeCloseTo(1.25 * one.areaMm2, 9);
    expect(other.meanCurvatureMm).toBeCloseTo(1.25 * one.meanCurvatureMm, 9);
    expect(other.gaussThird).toBeCloseTo(1.25 * one.gaussThird, 9);
    expect(hangerShare(leafy)).toBeCloseTo(hangerShare(plain), 12);
  });

  test('brings its own range in place of that of the parts', () => {
    expect(pieceAreaUncertainty(leafy)).toBe(0.04);
    expect(pieceAreaUncertainty(plain)).toBeGreaterThan(0.04);
  });

  test('is in the deposit too where parts may close', () => {
    const of = (piece: typeof plain) =>
      depositOnParts(piece, ['nothing of that name'], metals['copper-II'], 1);
    // 1.25 times the surface at 1.25 times the charge grows as thick.
    expect(thicknessMmOfCharge(of(leafy), 1.25)).toBeCloseTo(thicknessMmOfCharge(of(plain), 1), 9);
  });

  test('makes a plan of the same thickness take that much more charge and current', () => {
    const of = (areaFactor?: number) =>
      planned({ request: { piece: { ...pieceOf([wire]), ...(areaFactor && { areaFactor }) } } });
    const [one, other] = [of(), of(1.25)];
    expect(other.targetChargeAmpHours).toBeCloseTo(1.25 * one.targetChargeAmpHours, 9);
    expect(other.holdEndAmps).toBeCloseTo(1.25 * one.holdEndAmps, 9);
    expect(other.durationMs).toBeCloseTo(one.durationMs, 3);
  });

  test.each([0.1, 6, Number.NaN])('of %s is refused by field, value and bound', (areaFactor) => {
    expect(pieceProblems({ ...plain, areaFactor })).toMatchObject([
      { field: 'areaFactor', value: String(areaFactor), bound: 'a number from 0.2 to 5' },
    ]);
    expect(pieceSchema.safeParse({ ...plain, areaFactor }).success).toBe(false);
  });
});
