/** A mesh whose unit is chosen again after a reload, when its file is not at hand any more. */

import { expect, it } from 'vitest';
import { pieceDraftFrom, newPart, newPieceDraft } from '../../dashboard/piece/draft.ts';
import { inOtherUnit } from '../../dashboard/piece/mesh-reader.ts';
import { toPart } from '../../daemon/piece/mesh/part.ts';
import type { MeshMeasure } from '../../daemon/piece/mesh/measure.ts';

const file = { fileName: 'pod.stl', sha256: 'a'.repeat(64) };

/** A box of 2 by 1 by 1 of whatever unit: surface 10, volume 2, mean curvature 4 pi by Steiner's formula. */
const box = {
  area: 10,
  volume: 2,
  meanCurvature: { value: 4 * Math.PI, sharpShare: 0 },
  gaussThird: { value: (4 * Math.PI) / 3 },
  box: { min: [0, 0, 0], max: [2, 1, 1] },
  triangles: 12,
} as unknown as MeshMeasure;

const texts = (sizes: Readonly<Record<string, number>>): Record<string, string> =>
  Object.fromEntries(Object.entries(sizes).map(([name, value]) => [name, String(value)]));

it('has the figures that the file would have had in that unit', () => {
  const held = texts(toPart(box, 'millimetre', file).sizes);
  const other = inOtherUnit(held, 'millimetre', 'inch');
  const direct = toPart(box, 'inch', file).sizes;
  for (const [name, value] of Object.entries(direct)) {
    expect(Number(other[name]) / value, name).toBeCloseTo(1, 12);
  }
  // NIST SP 811: 1 in2 is 645.16 mm2, exactly.
  expect(Number(other['areaMm2'])).toBeCloseTo(6451.6, 9);
  const back = inOtherUnit(other, 'inch', 'millimetre');
  expect(Number(back['volumeMm3'])).toBeCloseTo(2, 12);
});

it('is kept over a reload, with its unit', () => {
  const { sizes, mesh } = toPart(box, 'inch', file);
  const part = { ...newPart('mesh'), sizes: texts(sizes), mesh };
  const kept = pieceDraftFrom(JSON.parse(JSON.stringify({ ...newPieceDraft(), parts: [part] })));
  expect(kept.parts[0]?.mesh).toEqual(mesh);
  expect(kept.parts[0]?.sizes).toEqual(part.sizes);
});
