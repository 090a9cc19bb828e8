/** Lengths that were probably entered in another unit. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lengthSlip } from '../../daemon/piece/length-slip.ts';
import { pieceLengthSlips } from '../../daemon/piece/length-slips.ts';
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

describe('a piece is asked about', () => {
  const asked = (kind: string, sizes: Readonly<Record<string, number>>) =>
    pieceLengthSlips(pieceOf([partOf(kind, sizes)])).map(({ field }) => field.split('.').at(-1));

  test.each([
    ['a wire whose length is in inches', 'wire', { wireDiameterMm: 0.8, lengthMm: 2.4 }],
    ['a ring in inches', 'loop', { insideDiameterMm: 0.67, wireDiameterMm: 0.8 }],
    ['a ring of 17 mm in centimetres', 'loop', { insideDiameterMm: 1.7, wireDiameterMm: 0.8 }],
    ['a ring of 18 mm in centimetres', 'loop', { insideDiameterMm: 1.8, wireDiameterMm: 1 }],
    ['a whole ring in centimetres', 'loop', { insideDiameterMm: 1.7, wireDiameterMm: 0.07 }],
    ['a ring turned from inches twice', 'loop', { insideDiameterMm: 431.8, wireDiameterMm: 0.8 }],
    ['wire in micrometres', 'wire', { wireDiameterMm: 800, lengthMm: 60 }],
    ['a sheet in inches', 'sheet', { lengthMm: 1.5, widthMm: 0.8, thicknessMm: 0.5 }],
  ] as const)('%s', (_, kind, sizes) => {
    expect(asked(kind, sizes)).not.toEqual([]);
  });

  // Ordinary small work of a jeweller's bench: invented, from common practice.
  test.each([
    ['a jump ring', 'loop', { insideDiameterMm: 3, wireDiameterMm: 0.8 }],
    ['a small jump ring', 'loop', { insideDiameterMm: 2, wireDiameterMm: 0.5 }],
    ['a hoop', 'loop', { insideDiameterMm: 60, wireDiameterMm: 1 }],
    ['a bangle', 'loop', { insideDiameterMm: 66, wireDiameterMm: 4 }],
    ['a ring on fine wire', 'loop', { insideDiameterMm: 17, wireDiameterMm: 0.4 }],
    ['a spine', 'wire', { wireDiameterMm: 0.9, lengthMm: 7 }],
    ['a bristle', 'wire', { wireDiameterMm: 0.3, lengthMm: 4 }],
    ['a stalk', 'wire', { wireDiameterMm: 3.2, lengthMm: 48 }],
    ['a long wire', 'wire', { wireDiameterMm: 0.8, lengthMm: 1200 }],
    ['a narrow strip', 'sheet', { lengthMm: 20, widthMm: 1.5, thicknessMm: 0.5 }],
    ['a small tab', 'sheet', { lengthMm: 4, widthMm: 2.5, thicknessMm: 0.5 }],
    ['foil', 'sheet', { lengthMm: 30, widthMm: 20, thicknessMm: 0.03 }],
    ['a granule', 'ball', { diameterMm: 0.8 }],
    ['a bead', 'ball', { diameterMm: 2 }],
    ['a seed pearl', 'ellipsoid', { lengthMm: 2, widthMm: 1.5, heightMm: 1 }],
    ['a large ball', 'ball', { diameterMm: 40 }],
    ['a short hanger', 'hanger', { wireDiameterMm: 0.8, submergedLengthMm: 2 }],
    ['a crimp tube', 'tube', { outsideDiameterMm: 1.5, insideDiameterMm: 1, lengthMm: 2 }],
    ['a small stone', 'bezel-round', { diameterMm: 2, heightMm: 1.2, thicknessMm: 0.25 }],
    ['a narrow band', 'band', { insideDiameterMm: 17, widthMm: 1.5, thicknessMm: 0.6 }],
    ['a seed bead hole', 'disc', { diameterMm: 4, thicknessMm: 0.5, holeDiameterMm: 0.8 }],
    ['a small leaf', 'leaf', { lengthMm: 8, widthMm: 4, thicknessMm: 0.2, fullness: 0.667 }],
    ['a tight coil', 'coil', { insideDiameterMm: 2, wireDiameterMm: 0.4, pitchMm: 0.6, turns: 10 }],
  ] as const)('and %s is not', (_, kind, sizes) => {
    expect(asked(kind, sizes)).toEqual([]);
  });
});
