/**
 * Against manifold-3d, a general library for solids (Apache-2.0): area and volume of varied meshes to
 * 1e-6, and Steiner's formula against the volume of its offset of convex bodies.
 */

import type { Manifold } from 'manifold-3d/manifold.js';
import { beforeAll, describe, expect, test } from 'vitest';
import type { ManifoldToplevel } from 'manifold-3d/manifold.js';
import { measureMesh } from '../../../daemon/piece/mesh/measure.ts';
import { readThreeMf } from '../../../daemon/piece/mesh/three-mf.ts';
import { meshLimits } from '../../../daemon/piece/mesh/model.ts';
import {
  binaryStl,
  bodyOf,
  measureBody,
  obj,
  read,
  relativeError,
  simpleModel,
  startManifold,
  text,
} from './bodies.ts';

let top: ManifoldToplevel;
beforeAll(async () => {
  top = await startManifold();
});

/** A fixed sequence, so that a failure comes again. */
function numbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) | 0;
    return (state >>> 0) / 2 ** 32;
  };
}

function cloud(seed: number, count: number): Manifold {
  const next = numbers(seed);
  const point = (): [number, number, number] => [20 * next(), 20 * next(), 20 * next()];
  return top.Manifold.hull(Array.from({ length: count }, point));
}

const solids: Readonly<Record<string, () => Manifold>> = {
  box: () => top.Manifold.cube([20, 10, 1]),
  ball: () => top.Manifold.sphere(25, 96),
  cone: () => top.Manifold.cylinder(30, 8, 0, 64),
  ring: () => top.CrossSection.circle(2, 48).translate([9, 0]).revolve(120),
  'box with a bore': () =>
    top.Manifold.cube([20, 20, 20], true).subtract(top.Manifold.cylinder(40, 4, 4, 64, true)),
  'ball soldered to a ring': () =>
    top.CrossSection.circle(0.8, 24)
      .translate([9, 0])
      .revolve(96)
      .add(top.Manifold.sphere(3, 48).translate([9.5, 0, 0])),
  'twisted bar': () => top.CrossSection.square([6, 3], true).extrude(40, 60, 300),
  'box with a cavity': () =>
    top.Manifold.cube([20, 20, 20], true).subtract(top.Manifold.sphere(7, 48)),
  'two bodies apart': () =>
    top.Manifold.sphere(4, 32).add(top.Manifold.cube([5, 5, 5]).translate([10, 10, 10])),
  gyroid: () =>
    top.Manifold.levelSet(
      ([x, y, z]) =>
        Math.cos(x) * Math.sin(y) + Math.cos(y) * Math.sin(z) + Math.cos(z) * Math.sin(x),
      { min: [-5, -5, -5], max: [5, 5, 5] },
      0.35,
    ),
  'hull of points': () => cloud(7, 60),
};

describe('area, volume and genus are those of the reference', () => {
  test.each(Object.keys(solids))('%s', (name) => {
    // What the file holds in single precision is what both measure.
    const rounded = solids[name]?.();
    if (rounded === undefined) throw new Error(name);
    const reference = top.Manifold.ofMesh(rounded.getMesh());
    const body = bodyOf(reference);
    const measured = [
      measureMesh(read(binaryStl(body))),
      measureMesh(read(obj(body))),
      measureMesh(
        readThreeMf(
          (path) => (path.endsWith('.model') ? text(simpleModel(body)) : null),
          meshLimits,
        ),
      ),
    ];
    for (const one of measured) {
      expect(one.closed).toBe(true);
      expect(relativeError(one.area + one.enclosedArea, reference.surfaceArea())).toBeLessThan(
        1e-6,
      );
      expect(relativeError(one.volume, reference.volume())).toBeLessThan(1e-6);
    }
    const [stl] = measured;
    const shells = reference.decompose();
    // The reference counts a cavity as a shell of the body around it.
    expect(stl?.eulerCharacteristic).toBe(2 * (1 - reference.genus()));
    expect((stl?.shells ?? 0) - (stl?.enclosedShells ?? 0)).toBe(
      name === 'box with a cavity' ? 1 : shells.length,
    );
  });
});

describe("Steiner's formula gives the volume of a convex body grown by t", () => {
  const convex: Readonly<Record<string, () => Manifold>> = {
    cube: () => top.Manifold.cube([10, 10, 10]),
    sheet: () => top.Manifold.cube([20, 10, 1]),
    cylinder: () => top.Manifold.cylinder(30, 4, 4, 48),
    tetrahedron: () => top.Manifold.tetrahedron().scale([8, 8, 8]),
    'hull of points': () => cloud(11, 24),
  };
  const cases = Object.keys(convex).flatMap((name) => [0.1, 0.5, 2].map((t) => [name, t] as const));

  // Only the volume is compared: the offset of the reference may leave folded facets, which spoil
  // its area. Its ball of 128 segments is
  // inscribed in the true one, and up to 0.1 % of the grown shell is missing from it.
  test.each(cases)('%s, t = %s', (name, t) => {
    const solid = convex[name]?.();
    if (solid === undefined) throw new Error(name);
    const { area, volume, meanCurvature, gaussThird } = measureBody(bodyOf(solid));
    const grown = solid.minkowskiSum(top.Manifold.sphere(t, 128)).volume() - solid.volume();
    const ours = area * t + meanCurvature.value * t ** 2 + gaussThird.value * t ** 3;
    expect(volume).not.toBeNull();
    expect(relativeError(ours, grown)).toBeLessThan(0.001);
    expect(ours).toBeGreaterThan(grown * 0.9999);
  });
});

describe('a body with a concave edge', () => {
  test('grows as the offset of the reference, to third order', () => {
    const block = top.Manifold.cube([20, 20, 20]).subtract(
      top.Manifold.cube([10, 10, 30]).translate([10, 10, -5]),
    );
    const { area, meanCurvature, concaveEdges } = measureBody(bodyOf(block));
    expect(concaveEdges).toBeGreaterThan(0);
    for (const t of [0.1, 0.5]) {
      const grown = block.minkowskiSum(top.Manifold.sphere(t, 64)).volume() - block.volume();
      const ours = area * t + meanCurvature.value * t ** 2;
      expect(relativeError(ours, grown)).toBeLessThan(t < 0.2 ? 2e-4 : 2e-3);
    }
  });
});

describe('a torus', () => {
  test('grows as the offset of the reference below the radius of its bore', () => {
    const solid = top.CrossSection.circle(2, 64).translate([9, 0]).revolve(128);
    const { area, meanCurvature, gaussThird } = measureBody(bodyOf(solid));
    const thicker = top.CrossSection.circle(3, 64).translate([9, 0]).revolve(128);
    const ours = area + meanCurvature.value + gaussThird.value;
    expect(gaussThird.value).toBe(0);
    expect(relativeError(ours, thicker.volume() - solid.volume())).toBeLessThan(2e-3);
  });
});
