/**
 * Area and growth of many kinds of part against manifold-3d, which meshes, offsets and measures the
 * same solids by other means. What is left between the two is the mesh's own flat facets.
 */

import { afterAll, describe, expect, test } from 'vitest';
import type { Manifold } from 'manifold-3d';
import { volumeMm3At } from '../../daemon/piece/growth.ts';
import type { PartShape } from '../../daemon/piece/model.ts';
import { definitionOf } from './arbitraries.ts';
import {
  bezelMetalMm3,
  bodySegments,
  convexMetalMm3,
  flat,
  helix,
  oval,
  rimmedMetalMm3,
  segment,
  solid,
  sweptWire,
  turned,
  turnedMetalMm3,
} from './reference.ts';

type Sizes = PartShape['sizes'];

interface Row {
  readonly what: string;
  readonly kind: string;
  readonly thicknessMm: number;
  readonly areaMm2: number;
  readonly referenceAreaMm2: number | null;
  readonly metalMm3: number;
  readonly referenceMetalMm3: number;
}

const rows: Row[] = [];

/** The tool's metal against the reference, and its area where the reference has one. */
function compare(
  what: string,
  [kind, shape]: readonly [string, PartShape],
  thicknessMm: number,
  reference: { readonly metalMm3: number; readonly areaMm2?: number },
  tolerance: number,
): void {
  const growth = definitionOf(kind).growth(shape);
  const metalMm3 = volumeMm3At(growth, thicknessMm);
  rows.push({
    what,
    kind,
    thicknessMm,
    areaMm2: growth.areaMm2,
    referenceAreaMm2: reference.areaMm2 ?? null,
    metalMm3,
    referenceMetalMm3: reference.metalMm3,
  });
  expect(Math.abs(metalMm3 / reference.metalMm3 - 1)).toBeLessThan(tolerance);
  if (reference.areaMm2 !== undefined) {
    expect(Math.abs(growth.areaMm2 / reference.areaMm2 - 1)).toBeLessThan(0.003);
  }
}

afterAll(() => {
  if (process.env['SOLIDS_TABLE'] !== undefined) {
    for (const row of rows) {
      const { what, thicknessMm, areaMm2, referenceAreaMm2, metalMm3, referenceMetalMm3 } = row;
      const off = (100 * (metalMm3 / referenceMetalMm3 - 1)).toFixed(3);
      const wanted = referenceAreaMm2?.toFixed(2) ?? '';
      console.log(
        `| ${what} | ${areaMm2.toFixed(2)} | ${wanted} | ${thicknessMm} | ` +
          `${metalMm3.toFixed(3)} | ${referenceMetalMm3.toFixed(3)} | ${off} % |`,
      );
    }
  }
});

const thicknesses = [0.1, 0.5];

/** A hexagonal or other prism with a point, as the hull of its corners. */
function crystalBody(sides: number, acrossMm: number, prismMm: number, pointMm: number): Manifold {
  const corner = acrossMm / 2 / Math.cos(Math.PI / sides);
  const ring = (z: number) =>
    Array.from({ length: sides }, (_, index): [number, number, number] => {
      const angle = (2 * Math.PI * index) / sides;
      return [corner * Math.cos(angle), corner * Math.sin(angle), z];
    });
  return solid.hull([...ring(0), ...ring(prismMm), [0, 0, prismMm + pointMm]]);
}

const convex: readonly (readonly [string, string, Sizes, () => Manifold])[] = [
  ['a ball of 9 mm', 'ball', { diameterMm: 9 }, () => solid.sphere(4.5, bodySegments)],
  [
    'a pebble of 16 x 12 x 7 mm',
    'ellipsoid',
    { lengthMm: 16, widthMm: 12, heightMm: 7 },
    () => solid.sphere(1, bodySegments).scale([8, 6, 3.5]),
  ],
  [
    'a cone of 8 x 15 mm on its base',
    'cone',
    { diameterMm: 8, heightMm: 15, base: 1 },
    () => solid.cylinder(15, 4, 0, bodySegments),
  ],
  [
    'a rod of 5 x 20 mm with flat ends',
    'rod',
    { diameterMm: 5, lengthMm: 20, ends: 0 },
    () => solid.cylinder(20, 2.5, 2.5, bodySegments),
  ],
  [
    'a rod of 5 x 20 mm with round ends',
    'rod',
    { diameterMm: 5, lengthMm: 20, ends: 1 },
    () => {
      const ball = solid.sphere(2.5, bodySegments);
      return solid.hull([ball, ball.translate([0, 0, 15])]);
    },
  ],
  [
    'a crystal of six sides',
    'crystal',
    { sides: 6, acrossFlatsMm: 10, prismLengthMm: 18, pointHeightMm: 8, base: 1 },
    () => crystalBody(6, 10, 18, 8),
  ],
  [
    'a crystal of five sides',
    'crystal',
    { sides: 5, acrossFlatsMm: 6, prismLengthMm: 3, pointHeightMm: 9, base: 1 },
    () => crystalBody(5, 6, 3, 9),
  ],
  [
    'a square pyramid',
    'crystal',
    { sides: 4, acrossFlatsMm: 10, prismLengthMm: 0, pointHeightMm: 7, base: 1 },
    () => crystalBody(4, 10, 0, 7),
  ],
  [
    'a box of 20 x 10 x 5 mm',
    'box',
    { lengthMm: 20, widthMm: 10, heightMm: 5 },
    () => solid.cube([20, 10, 5]),
  ],
  [
    'a dome of 12 x 4 mm on its base',
    'dome',
    { diameterMm: 12, heightMm: 4, base: 1 },
    () => solid.sphere(6.5, bodySegments).trimByPlane([0, 0, 1], 2.5),
  ],
  [
    'an oval dome of 14 x 10 x 4 mm on its base',
    'oval-dome',
    { lengthMm: 14, widthMm: 10, heightMm: 4, base: 1 },
    () => solid.sphere(1, bodySegments).scale([7, 5, 4]).trimByPlane([0, 0, 1], 0),
  ],
];

describe.each(convex)('%s', (what, kind, sizes, body) => {
  test('under 0.3 mm', () => {
    const thickness = 0.3;
    const built = body();
    const metalMm3 = convexMetalMm3(built, thickness);
    compare(what, [kind, { sizes }], thickness, { metalMm3, areaMm2: built.surfaceArea() }, 0.004);
  });
});

const rectangle = (x: number, width: number, height: number) =>
  flat.square([width, height]).translate([x, -height / 2]);

const rings = [
  [
    'a loop of 17 mm in wire of 1 mm',
    'loop',
    { insideDiameterMm: 17, wireDiameterMm: 1 },
    () => flat.circle(0.5, 128).translate([9, 0]),
  ],
  [
    'a tube of 6 and 4 by 20 mm',
    'tube',
    { outsideDiameterMm: 6, insideDiameterMm: 4, lengthMm: 20 },
    () => rectangle(2, 1, 20),
  ],
  [
    'a flat band of 17 mm, 4 x 1.2 mm',
    'band',
    { insideDiameterMm: 17, widthMm: 4, thicknessMm: 1.2 },
    () => rectangle(8.5, 1.2, 4),
  ],
  [
    'a half-round band of 17 mm, 4 x 1.5 mm',
    'half-round-band',
    { insideDiameterMm: 17, widthMm: 4, heightMm: 1.5 },
    () => segment(8.5, 4, 1.5),
  ],
  [
    'a washer of 20 and 6 by 1 mm',
    'disc',
    { diameterMm: 20, holeDiameterMm: 6, thicknessMm: 1 },
    () => rectangle(3.5, 6, 0.0001).offset(0.49995, 'Round', 2, 128),
  ],
] as const;

describe.each(rings)('%s', (what, kind, sizes, profile) => {
  test.each(thicknesses)('under %f mm', (thickness) => {
    const metalMm3 = turnedMetalMm3(profile(), thickness);
    const areaMm2 = turned(profile()).surfaceArea();
    compare(what, [kind, { sizes }], thickness, { metalMm3, areaMm2 }, 0.001);
  });
});

test.each(thicknesses)('an open shank of 17 mm with a gap of 5 mm, under %f mm', (thickness) => {
  const [inside, wire, gap] = [8.5, 0.75, 5];
  const half = Math.asin(gap / 2 / inside);
  const turn = 360 - (2 * half * 180) / Math.PI;
  const ring = (radius: number) =>
    turned(flat.circle(radius, 128).translate([inside + wire, 0]), turn);
  // A disc as thin as can be at either end, grown all round, and the side between them.
  const end = solid
    .cylinder(0.002, wire, wire, bodySegments, true)
    .minkowskiSum(solid.sphere(thickness, 48))
    .rotate([90, 0, 0])
    .translate([inside + wire, 0, 0]);
  const grown = ring(wire + thickness)
    .add(end)
    .add(end.rotate([0, 0, turn]));
  const sizes = { insideDiameterMm: 2 * inside, wireDiameterMm: 2 * wire, gapMm: gap };
  const metalMm3 = grown.volume() - ring(wire).volume();
  const areaMm2 = ring(wire).surfaceArea();
  compare('an open shank', ['shank', { sizes }], thickness, { metalMm3, areaMm2 }, 0.004);
});

describe('a coil', () => {
  test.each([0.1, 0.3])('of 5 mm in wire of 0.8 mm, under %f mm', (thickness) => {
    const sizes = { insideDiameterMm: 5, wireDiameterMm: 0.8, pitchMm: 2, turns: 2 };
    const wire = (radius: number, turns: number) =>
      sweptWire(helix(5.8, 2, turns), radius, 96 * turns, [0, 0, 1]);
    // Two lengths, so that their ends cancel.
    const volume = (radius: number) => wire(radius, 3).volume() - wire(radius, 1).volume();
    const area = wire(0.4, 3).surfaceArea() - wire(0.4, 1).surfaceArea();
    const metalMm3 = volume(0.4 + thickness) - volume(0.4);
    compare(
      'two turns of a coil',
      ['coil', { sizes }],
      thickness,
      { metalMm3, areaMm2: area },
      0.002,
    );
  });
});

describe('a twisted pair', () => {
  // From a twentieth of the wire's radius to all of it, loosely, firmly and as tightly as it goes.
  const cases = [9, 5, 2.55].flatMap((lay) => [0.03, 0.15, 0.4].map((t) => [lay, t] as const));
  test.each(cases)('of 0.8 mm wire, lay %f mm, under %f mm', (lay, thickness) => {
    const sizes = { wireDiameterMm: 0.8, layMm: lay, lengthMm: lay };
    const wire = (radius: number, turns: number, start = 0) =>
      sweptWire(helix(0.8, lay, turns, start), radius, 36 * turns, [0, 0, 1], 96);
    const pair = (radius: number, turns: number) =>
      wire(radius, turns)
        .add(wire(radius, turns, Math.PI))
        .volume();
    // Two lengths, so that their ends cancel; bare, the two touch along a line only.
    const grown = pair(0.4 + thickness, 2) - pair(0.4 + thickness, 1);
    const metalMm3 = grown - 2 * (wire(0.4, 2).volume() - wire(0.4, 1).volume());
    compare(
      `a twisted pair, lay ${lay}`,
      ['twisted-pair', { sizes }],
      thickness,
      { metalMm3 },
      0.035,
    );
  });
});

describe('a leaf', () => {
  const lens = (length: number, width: number) => {
    const side = Array.from({ length: 801 }, (_, index): [number, number] => {
      const x = index / 400 - 1;
      return [(length / 2) * x, (width / 2) * (1 - x * x)];
    });
    const back = side.slice(1, -1).map(([x, y]): [number, number] => [x, -y]);
    return flat.ofPolygons([[...side, ...back.toReversed()].toReversed()]);
  };
  test.each([
    ['a lens of two parabolas', 2 / 3, lens],
    ['an ellipse', Math.PI / 4, oval],
  ] as const)('that is %s', (what, fullness, face) => {
    for (const thickness of thicknesses) {
      const sizes = { lengthMm: 40, widthMm: 16, thicknessMm: 0.4, fullnessShare: fullness };
      const metalMm3 = rimmedMetalMm3(face(39.6, 15.6), 0.2, thickness);
      compare(`a leaf, ${what}`, ['leaf', { sizes }], thickness, { metalMm3 }, 0.002);
    }
  });
});

describe('a traced outline', () => {
  const star = Array.from({ length: 10 }, (_, index) => {
    const [radius, angle] = [index % 2 === 0 ? 15 : 9, (Math.PI * index) / 5];
    return { xMm: radius * Math.cos(angle), yMm: radius * Math.sin(angle) };
  });
  const round = Array.from({ length: 90 }, (_, index) => {
    const angle = (2 * Math.PI * index) / 90;
    const radius = 12 + 2 * Math.cos(3 * angle);
    return { xMm: radius * Math.cos(angle), yMm: radius * Math.sin(angle) };
  });
  test.each([
    ['a star of five points', star, 0.002],
    ['a wavy petal', round, 0.002],
  ] as const)('%s', (what, points, tolerance) => {
    const polygon = flat.ofPolygons([points.map(({ xMm, yMm }): [number, number] => [xMm, yMm])]);
    for (const thickness of thicknesses) {
      const shape = { sizes: { thicknessMm: 0.3, faces: 2 }, outline: { points } };
      const face = polygon.offset(-0.15, 'Round', 2, 256);
      const metalMm3 = rimmedMetalMm3(face, 0.15, thickness);
      compare(`an outline, ${what}`, ['outline', shape], thickness, { metalMm3 }, tolerance);
    }
  });
});

describe('a rim', () => {
  const pear = () =>
    flat.hull([flat.circle(4, 512), flat.square([1e-6, 1e-6], true).translate([8, 0])]);
  test.each([
    ['round a round stone', 'bezel-round', { diameterMm: 8 }, () => oval(8, 8)],
    ['round an oval stone', 'bezel-oval', { lengthMm: 14, widthMm: 10 }, () => oval(14, 10)],
    [
      'round a rectangular stone',
      'bezel-rectangle',
      { lengthMm: 12, widthMm: 9 },
      () => flat.square([12, 9], true),
    ],
    ['round a pear', 'bezel-pear', { lengthMm: 12, widthMm: 8 }, pear],
  ] as const)('%s', (what, kind, stoneSizes, stone) => {
    for (const inside of [0, 1]) {
      for (const thickness of thicknesses) {
        const sizes = { ...stoneSizes, heightMm: 3, wallMm: 0.4, inside };
        const rim = { wallMm: 0.4, heightMm: 3, empty: inside === 1 };
        const metalMm3 = bezelMetalMm3(stone(), rim, thickness);
        const name = `a rim ${what}${inside === 1 ? ', empty' : ''}`;
        compare(name, [kind, { sizes }], thickness, { metalMm3 }, 0.002);
      }
    }
  });
});

describe('a bead texture', () => {
  // One bead in the middle of its own square of base.
  const [side, radius] = [2, 0.5];
  test.each([
    ['half sunk', 0, 0],
    ['whole', 1, radius],
  ] as const)('of beads that are %s', (what, beadForm, centre) => {
    const cover = (Math.PI * radius ** 2) / side ** 2;
    const sizes = {
      baseAreaMm2: side ** 2,
      beadDiameterMm: 2 * radius,
      coverageShare: cover,
      beadForm,
    };
    const bead = (grown: number) => {
      const base = solid.cube([side, side, 2 + grown]).translate([-side / 2, -side / 2, -2]);
      const ball = solid.sphere(radius + grown, 256).translate([0, 0, centre]);
      return base.add(ball).volume();
    };
    for (const thickness of [0.05, 0.2]) {
      const metalMm3 = bead(thickness) - bead(0);
      compare(`a texture, ${what}`, ['bead-texture', { sizes }], thickness, { metalMm3 }, 0.003);
    }
  });
});

test('at least ten kinds were compared', () => {
  expect(new Set(rows.map(({ kind }) => kind)).size).toBeGreaterThanOrEqual(18);
  expect(rows.length).toBeGreaterThanOrEqual(50);
});
