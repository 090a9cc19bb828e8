/** Meshes of known solids: area, volume, growth terms, and what is said of those that are not whole. */

import { describe, expect, test } from 'vitest';
import { measureMesh } from '../../../daemon/piece/mesh/measure.ts';
import { toPart } from '../../../daemon/piece/mesh/part.ts';
import { previewOf } from '../../../daemon/piece/mesh/preview.ts';
import { prepareSurface } from '../../../daemon/piece/mesh/surface.ts';
import {
  asciiStl,
  ball,
  binaryStl,
  box,
  codeOf,
  fan,
  insideOut,
  lBlock,
  measureBody,
  moved,
  obj,
  prism,
  read,
  relativeError,
  ring,
  together,
  torus,
} from './bodies.ts';
import type { Body, Face } from './bodies.ts';

const fourThirdsPi = (4 * Math.PI) / 3;

describe('solids with a closed form', () => {
  // Box a, b, c: A = 2(ab + bc + ca), V = abc, H = pi (a + b + c), K = 4 pi / 3 (Steiner's formula).
  test('a box is exact', () => {
    const measured = measureBody(box(20, 10, 1));
    expect(measured.area).toBeCloseTo(460, 10);
    expect(measured.volume).toBeCloseTo(200, 10);
    expect(measured.meanCurvature.value).toBeCloseTo(Math.PI * 31, 10);
    expect(measured.gaussThird.value).toBeCloseTo(fourThirdsPi, 12);
    expect(measured).toMatchObject({
      triangles: 12,
      vertices: 8,
      closed: true,
      shells: 1,
      eulerCharacteristic: 2,
      concaveEdges: 0,
      concaveLimit: null,
      box: { min: [0, 0, 0], max: [20, 10, 1] },
      notes: [],
    });
  });

  // Regular tetrahedron of edge a: A = sqrt(3) a2, V = a3 / (6 sqrt 2), exterior angle pi - acos(1/3).
  test('a regular tetrahedron is exact', () => {
    const tetrahedron: Body = {
      points: [
        [1, 1, 1],
        [1, -1, -1],
        [-1, 1, -1],
        [-1, -1, 1],
      ],
      faces: [
        [0, 1, 2],
        [0, 3, 1],
        [0, 2, 3],
        [1, 3, 2],
      ],
    };
    const edge = Math.sqrt(8);
    const measured = measureBody(tetrahedron);
    expect(measured.area).toBeCloseTo(Math.sqrt(3) * edge ** 2, 12);
    expect(measured.volume).toBeCloseTo(edge ** 3 / (6 * Math.SQRT2), 12);
    expect(measured.meanCurvature.value).toBeCloseTo(3 * edge * (Math.PI - Math.acos(1 / 3)), 12);
  });

  test('a ball comes to its formulas in the limit of a fine mesh', () => {
    const errors = [20, 40, 80].map((rows) => {
      const measured = measureBody(ball(25, rows));
      return [
        relativeError(measured.area, 4 * Math.PI * 625),
        relativeError(measured.volume, fourThirdsPi * 25 ** 3),
        relativeError(measured.meanCurvature.value, 4 * Math.PI * 25),
        relativeError(measured.gaussThird.value, fourThirdsPi),
      ] as const;
    });
    const [coarse, , fine] = errors;
    for (const [index, bound] of [1e-3, 1.2e-3, 1e-3, 1e-12].entries()) {
      expect(fine?.[index]).toBeLessThan(bound);
    }
    // Four times the triangles each way: inscribed facets lose with the square of their size.
    for (const index of [0, 1, 2]) {
      expect((coarse?.[index] ?? 0) / (fine?.[index] ?? 1)).toBeGreaterThan(12);
    }
  });

  // Cylinder r, h: H = pi h + pi^2 r.
  test('a cylinder grows as its closed form', () => {
    const measured = measureBody(prism(ring(256, 4), 30, fan(256)));
    expect(relativeError(measured.area, 2 * Math.PI * 4 * 34)).toBeLessThan(1e-4);
    expect(
      relativeError(measured.meanCurvature.value, Math.PI * 30 + Math.PI ** 2 * 4),
    ).toBeLessThan(1e-4);
  });

  // Torus R, r: A = 4 pi^2 R r, V = 2 pi^2 R r^2, H = 2 pi^2 R, K = 0.
  test('a ring has Euler characteristic 0 and no cubic term', () => {
    const measured = measureBody(torus(9, 2, 240, 120));
    expect(measured.eulerCharacteristic).toBe(0);
    expect(measured.gaussThird).toEqual({ value: 0, low: 0, high: 0 });
    expect(relativeError(measured.area, 4 * Math.PI ** 2 * 18)).toBeLessThan(5e-4);
    expect(relativeError(measured.volume, 2 * Math.PI ** 2 * 36)).toBeLessThan(1e-3);
    expect(relativeError(measured.meanCurvature.value, 2 * Math.PI ** 2 * 9)).toBeLessThan(1e-3);
  });

  test('the bore of a ring bounds the thickness at about its radius', () => {
    const { concaveLimit } = measureBody(torus(9, 2, 120, 60));
    // The inside of the ring curves inwards with a radius of 7 in its plane.
    expect(concaveLimit).toBeGreaterThan(6.5);
    expect(concaveLimit).toBeLessThan(7.5);
  });
});

describe('a concave edge', () => {
  // Square of 20 less a quarter, 20 high. Exact growth for small t: the block's faces less what two
  // of them lose at the inner edge, t tan(45 degrees) each; 16 outer edges turn by 90 degrees.
  test('counts -2 tan(angle / 2) in place of its angle', () => {
    const measured = measureBody(lBlock);
    const convexLength = 2 * 80 + 5 * 20;
    const exact = (convexLength * (Math.PI / 2) - 20 * 2 * Math.tan(Math.PI / 4)) / 2;
    expect(measured.meanCurvature.value).toBeCloseTo(exact, 10);
    expect(measured.area).toBeCloseTo(2 * 300 + 80 * 20, 10);
    expect(measured.volume).toBeCloseTo(6000, 9);
    expect(measured.concaveEdges).toBe(1);
  });

  test('tells a thickness that no face beside it has lost before', () => {
    const { concaveLimit } = measureBody(lBlock);
    expect(concaveLimit).toBeGreaterThan(0);
    expect(concaveLimit).toBeLessThanOrEqual(5);
  });

  // The volume between two L-blocks offset outwards with sharp inner and round outer edges.
  test('makes the growth of an L-block right to first and second order', () => {
    const { area, meanCurvature } = measureBody(lBlock);
    const t = 0.01;
    // Sum of: faces x t, quarter cylinders along outer edges, minus the square t x t along the inner.
    const exact = area * t + (Math.PI / 4) * t * t * 260 - t * t * 20;
    const ours = area * t + meanCurvature.value * t * t;
    // What is left is of third order: the corners.
    expect(Math.abs(ours - exact)).toBeLessThan(20 * t ** 3);
  });

  test('that is sharper than a crack is counted as one, and said so', () => {
    const crack: Body = prism(
      [
        [0, 0],
        [20, 0],
        [20, 10],
        [10.1, 10],
        [10, 2],
        [9.9, 10],
        [0, 10],
      ],
      20,
      [
        [0, 1, 4],
        [1, 2, 4],
        [2, 3, 4],
        [0, 4, 6],
        [4, 5, 6],
      ],
    );
    const measured = measureBody(crack);
    expect(measured.notes.join(' ')).toContain('sharper than 12 degrees');
    expect(Number.isFinite(measured.meanCurvature.value)).toBe(true);
  });
});

describe('a surface that is not closed', () => {
  const openBox: Body = { ...box(10, 10, 10), faces: box(10, 10, 10).faces.slice(2) };

  test('has an area and no volume, and its growth has a range', () => {
    const measured = measureBody(openBox);
    expect(measured.area).toBeCloseTo(500, 10);
    expect(measured.volume).toBeNull();
    expect(measured).toMatchObject({ closed: false, openEdges: 4, eulerCharacteristic: 1 });
    const { value, low, high } = measured.meanCurvature;
    expect(low).toBe(value);
    // A rim of 40 around which metal may turn by half a turn.
    expect(high - low).toBeCloseTo((Math.PI / 2) * 40, 10);
    expect(measured.gaussThird.low).toBeCloseTo(fourThirdsPi / 2, 12);
    expect(measured.gaussThird.high).toBeCloseTo(fourThirdsPi, 12);
    expect(measured.notes.join(' ')).toContain('4 open edges');
  });

  test('of one side only has no winding, and says so', () => {
    const steps = 16;
    const points = Array.from({ length: 2 * steps }, (_, k) => {
      const angle = (2 * Math.PI * (k >> 1)) / steps;
      const side = k % 2 === 0 ? 1 : -1;
      const r = 10 + side * 2 * Math.cos(angle / 2);
      return [r * Math.cos(angle), r * Math.sin(angle), side * 2 * Math.sin(angle / 2)] as const;
    });
    const faces = Array.from({ length: steps }, (_, k): Face[] => {
      const [a, b] = [2 * k, 2 * k + 1];
      const last = k === steps - 1;
      const c = last ? 1 : 2 * k + 2;
      const d = last ? 0 : 2 * k + 3;
      return [
        [a, c, b],
        [b, c, d],
      ];
    }).flat();
    const measured = measureBody({ points, faces });
    expect(measured.windingConflicts).toBeGreaterThan(0);
    expect(measured.volume).toBeNull();
    expect(measured.eulerCharacteristic).toBe(0);
    expect(measured.notes.join(' ')).toContain('one side only');
  });
});

describe('winding', () => {
  test('a mesh that is inside out is turned over, and measures the same', () => {
    const right = measureBody(lBlock);
    const turned = measureBody(insideOut(lBlock));
    expect(turned.insideOut).toBe(true);
    expect(turned.volume).toBeCloseTo(right.volume ?? Number.NaN, 9);
    expect(turned.meanCurvature.value).toBeCloseTo(right.meanCurvature.value, 9);
    expect(turned.concaveLimit).toBe(right.concaveLimit);
    expect(turned.notes.join(' ')).toContain('inside out');
  });

  test('triangles wound against their neighbours are turned over and counted', () => {
    const { points, faces } = ball(10, 12);
    const wrong = new Set([3, 40, 41, 99]);
    const mixed = faces.map(([a, b, c], k): Face => (wrong.has(k) ? [a, c, b] : [a, b, c]));
    const right = measureBody({ points, faces });
    const measured = measureBody({ points, faces: mixed });
    expect(measured.turnedTriangles).toBe(4);
    expect(measured.closed).toBe(true);
    expect(measured.volume).toBeCloseTo(right.volume ?? Number.NaN, 9);
    expect(measured.meanCurvature.value).toBeCloseTo(right.meanCurvature.value, 9);
  });
});

describe('several shells', () => {
  test('side by side add up, and each is a body', () => {
    const measured = measureBody(together(box(1, 2, 3), box(4, 4, 4, [10, 0, 0])));
    expect(measured).toMatchObject({ shells: 2, enclosedShells: 0, eulerCharacteristic: 4 });
    expect(measured.area).toBeCloseTo(22 + 96, 10);
    expect(measured.volume).toBeCloseTo(70, 10);
    expect(measured.gaussThird.value).toBeCloseTo(2 * fourThirdsPi, 12);
  });

  test('one inside another is left out of the area: no bath gets there', () => {
    const hollow = together(box(10, 10, 10), insideOut(box(6, 6, 6, [2, 2, 2])));
    const measured = measureBody(hollow);
    expect(measured.area).toBeCloseTo(600, 10);
    expect(measured.enclosedArea).toBeCloseTo(216, 10);
    expect(measured.volume).toBeCloseTo(1000 - 216, 10);
    expect(measured.meanCurvature.value).toBeCloseTo(Math.PI * 30, 10);
    expect(measured).toMatchObject({ shells: 2, enclosedShells: 1, insideOut: false });
  });

  test('links through one another enclose nothing, though their boxes overlap', () => {
    const link = torus(9, 1, 48, 16);
    const other = moved(link, ([x, y, z]) => [x + 9, z, y]);
    const measured = measureBody(together(link, other));
    expect(measured).toMatchObject({ shells: 2, enclosedShells: 0, eulerCharacteristic: 0 });
    expect(measured.volume).toBeGreaterThan(0);
  });

  test('one of two bodies that is inside out is turned over alone', () => {
    const measured = measureBody(together(box(1, 2, 3), insideOut(box(4, 4, 4, [10, 0, 0]))));
    expect(measured.insideOut).toBe(true);
    expect(measured.volume).toBeCloseTo(70, 10);
  });

  test('two boxes that share an edge stay two bodies of their own', () => {
    const measured = measureBody(together(box(1, 1, 1), box(1, 1, 1, [1, 1, 0])));
    expect(measured).toMatchObject({
      closed: true,
      shells: 2,
      nonManifoldEdges: 1,
      eulerCharacteristic: 4,
    });
    expect(measured.volume).toBeCloseTo(2, 12);
    expect(measured.meanCurvature.value).toBeCloseTo(2 * Math.PI * 3, 10);
  });

  test('two boxes that touch in one corner count that corner twice', () => {
    const measured = measureBody(together(box(1, 1, 1), box(1, 1, 1, [1, 1, 1])));
    expect(measured).toMatchObject({ shells: 2, eulerCharacteristic: 4, vertices: 15 });
  });
});

describe('triangles without area', () => {
  test('with two corners in one place are dropped and counted', () => {
    const { points, faces } = box(1, 2, 3);
    const measured = measureBody({ points, faces: [...faces, [0, 0, 1], [2, 2, 2]] });
    expect(measured).toMatchObject({ closed: true, triangles: 12, degenerateTriangles: 2 });
  });

  test('with three corners on a line keep the surface closed and bend nothing', () => {
    // The first side is split at the middle of an edge of which its neighbour knows nothing.
    const { points, faces } = box(10, 10, 10);
    const [first, ...others] = faces;
    const [a, b, c] = first ?? [0, 0, 0];
    const middle = points.length;
    const between = [0, 1, 2].map((k) => ((points[a]?.[k] ?? 0) + (points[b]?.[k] ?? 0)) / 2);
    const body: Body = {
      points: [...points, [between[0] ?? 0, between[1] ?? 0, between[2] ?? 0]],
      faces: [...others, [a, middle, c], [middle, b, c], [a, b, middle]],
    };
    const measured = measureBody(body);
    expect(measured).toMatchObject({ closed: true, degenerateTriangles: 1 });
    expect(measured.area).toBeCloseTo(600, 9);
    expect(measured.meanCurvature.value).toBeCloseTo(Math.PI * 30, 9);
  });

  test('and nothing else are refused', () => {
    const flat: Body = {
      points: [
        [0, 0, 0],
        [1, 1, 1],
        [2, 2, 2],
      ],
      faces: [[0, 1, 2]],
    };
    expect(codeOf(() => measureBody(flat))).toBe('allDegenerate');
    expect(codeOf(() => measureBody({ ...flat, faces: [[0, 0, 1]] }))).toBe('allDegenerate');
  });

  test('coordinates too large for an area are refused', () => {
    const huge = moved(box(1, 1, 1), ([x, y, z]) => [x * 1e200, y * 1e200, z * 1e200]);
    expect(codeOf(() => measureBody(huge))).toBe('notFinite');
  });
});

describe('formats', () => {
  test('the same body measures the same from every one', () => {
    const body = torus(9, 2, 24, 12);
    const single = moved(body, (point) => [
      Math.fround(point[0]),
      Math.fround(point[1]),
      Math.fround(point[2]),
    ]);
    const fromObj = measureMesh(read(obj(single)));
    for (const file of [binaryStl(single), asciiStl(single)]) {
      const measured = measureMesh(read(file));
      expect(measured.area).toBeCloseTo(fromObj.area, 9);
      expect(measured.volume).toBeCloseTo(fromObj.volume ?? Number.NaN, 9);
      expect(measured.meanCurvature.value).toBeCloseTo(fromObj.meanCurvature.value, 9);
      expect(measured.eulerCharacteristic).toBe(0);
    }
  });
});

describe('as a part', () => {
  test('sizes scale exactly with the unit', () => {
    const measured = measureBody(box(2, 1, 3));
    const file = { fileName: 'box.stl', sha256: '0'.repeat(64) };
    const inch = toPart(measured, 'inch', file);
    expect(inch.sizes.areaMm2).toBeCloseTo(22 * 645.16, 8);
    expect(inch.sizes.volumeMm3).toBeCloseTo(6 * 16_387.064, 7);
    expect(inch.sizes.meanCurvatureMm).toBeCloseTo(Math.PI * 6 * 25.4, 9);
    expect(inch.sizes.gaussThird).toBeCloseTo(fourThirdsPi, 12);
    expect(inch.sizes).toMatchObject({ lengthMm: 3 * 25.4, widthMm: 2 * 25.4, heightMm: 25.4 });
    expect(inch.mesh).toEqual({ ...file, unit: 'inch', triangles: 12 });
    const micrometre = toPart(measured, 'micrometre', file);
    expect(micrometre.sizes.areaMm2).toBeCloseTo(22e-6, 15);
  });
});

describe('the drawing', () => {
  test('of a box is its outline on the plane of the two longest axes', () => {
    const preview = previewOf(prepareSurface(read(obj(box(1, 30, 20)))));
    expect(preview).toMatchObject({ axes: ['y', 'z'], width: 30, height: 20 });
    const lines = new Set<string>();
    for (let at = 0; at < preview.segments.length; at += 4) {
      lines.add(
        preview.segments
          .slice(at, at + 4)
          .map(Math.round)
          .join(' '),
      );
    }
    expect(lines.size).toBe(4);
  });

  test('of a fine mesh stays below 2,000 lines and inside its frame', () => {
    const preview = previewOf(prepareSurface(read(obj(torus(9, 2, 300, 100)))));
    const count = preview.segments.length / 4;
    expect(count).toBeGreaterThan(100);
    expect(count).toBeLessThanOrEqual(2000);
    for (const [index, value] of preview.segments.entries()) {
      expect(value).toBeGreaterThanOrEqual(0);
      expect(value).toBeLessThanOrEqual((index % 2 === 0 ? preview.width : preview.height) * 1.001);
    }
  });
});
