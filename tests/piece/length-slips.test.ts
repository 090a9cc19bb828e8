/** Lengths that were probably entered in another unit. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lengthSlip, pieceLengthSlips } from '../../daemon/piece/length-slips.ts';
import type { PartField } from '../../daemon/piece/model.ts';
import { definitionOf, kinds, partOf, pieceOf, typicalShape } from './arbitraries.ts';

function fieldOf(kind: string, name: string): PartField {
  const field = definitionOf(kind).fields.find((candidate) => candidate.name === name);
  if (field === undefined) throw new Error(`no ${name} of ${kind}`);
  return field;
}

describe('a length far from what is usual', () => {
  // An inch is 25.4 mm exactly; a thousandth of it 0.0254 mm.
  test.each([
    ['sheet', 'lengthMm', 1.5, 38.1, '1.5 could be inches (38.1 mm).'],
    ['loop', 'insideDiameterMm', 0.67, 17.02, '0.67 could be inches (17.02 mm).'],
    ['wire', 'wireDiameterMm', 0.05, 1.27, '0.05 could be inches (1.27 mm).'],
    [
      'loop',
      'insideDiameterMm',
      431.8,
      17,
      '431.8 could have been turned from inches twice (17 mm).',
    ],
    ['ball', 'diameterMm', 0.4, 10.16, '0.4 could be inches (10.16 mm).'],
    ['wire', 'lengthMm', 9, 228.6, '9 could be inches (228.6 mm).'],
    [
      'sheet',
      'thicknessMm',
      24,
      0.9449,
      '24 could have been turned from inches twice (0.9449 mm).',
    ],
    ['wire', 'wireDiameterMm', 800, 0.8, '800 could be micrometres (0.8 mm).'],
  ] as const)('of a %s, %s of %f, is named', (kind, name, value, meantMm, message) => {
    const slip = lengthSlip(fieldOf(kind, name), value);
    expect(slip).not.toBeNull();
    expect(slip).toEqual({ meantMm, message });
  });

  test('is left alone where no other unit explains it', () => {
    expect(lengthSlip(fieldOf('sheet', 'lengthMm'), 9_000)).toBeNull();
    expect(lengthSlip(fieldOf('wire', 'lengthMm'), 0.1)).toBeNull();
  });
});

test('usual lengths raise no suspicion, and what is no length never does', () => {
  for (const kind of kinds) {
    for (const field of definitionOf(kind).fields) {
      expect(lengthSlip(field, field.typical)).toBeNull();
      expect(lengthSlip(field, 0)).toBeNull();
      expect(lengthSlip(field, Number.NaN)).toBeNull();
      expect(lengthSlip(field, -3)).toBeNull();
      expect(field.unit === 'mm' || lengthSlip(field, field.typical / 25.4) === null).toBe(true);
    }
  }
});

test('a suspicion always means something inside the bounds and near the usual', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(...kinds),
      fc.double({ min: 1e-4, max: 1e5, noNaN: true }),
      (kind, value) => {
        for (const field of definitionOf(kind).fields) {
          const slip = lengthSlip(field, value);
          if (slip !== null) {
            expect(slip.meantMm).toBeGreaterThanOrEqual(field.min * 0.999);
            expect(slip.meantMm).toBeLessThanOrEqual(field.max * 1.001);
            expect(Math.abs(Math.log(slip.meantMm / field.typical))).toBeLessThan(Math.log(4.01));
            expect(Math.abs(Math.log(value / field.typical))).toBeGreaterThan(Math.log(9.99));
          }
        }
      },
    ),
  );
});

test('a whole piece names the field of each suspicion', () => {
  const ring = partOf('loop', { insideDiameterMm: 0.67, wireDiameterMm: 0.8 });
  const strip = partOf('sheet', { lengthMm: 1.5, widthMm: 20, thicknessMm: 0.5 });
  expect(pieceLengthSlips(pieceOf([ring, strip]))).toMatchObject([
    { field: 'parts[0].sizes.insideDiameterMm', value: 0.67, meantMm: 17.02 },
    { field: 'parts[1].sizes.lengthMm', value: 1.5, meantMm: 38.1 },
  ]);
  const mesh = partOf('mesh', { ...typicalShape('mesh').sizes, lengthMm: 0.4 });
  const origin = {
    fileName: 'a.stl',
    sha256: '0'.repeat(64),
    unit: 'millimetre',
    triangles: 12,
  } as const;
  expect(pieceLengthSlips(pieceOf([{ ...mesh, mesh: origin }]))).toEqual([]);
});
