/** Every kind of part: its formula against the exact solid, its scale laws and its fields. */

import { readdirSync } from 'node:fs';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { firstClosingMm } from '../../daemon/piece/geometry/dimensions.ts';
import { ellipsePerimeterMm } from '../../daemon/piece/geometry/elliptic.ts';
import { leafPoints } from '../../daemon/piece/geometry/leaf.ts';
import { perimeterMm, signedAreaMm2 } from '../../daemon/piece/geometry/polygon.ts';
import { areaMm2At, volumeMm3At } from '../../daemon/piece/growth.ts';
import type { Growth, PartShape, Point, SizeUnit, Stroke } from '../../daemon/piece/model.ts';
import { partDefinitions, partDefinition } from '../../daemon/piece/parts.ts';
import { anyShape, definitionOf, kinds, typicalShape } from './arbitraries.ts';

const { PI } = Math;
type Sizes = Readonly<Record<string, number>>;

const at = (sizes: Sizes, name: string): number => sizes[name] ?? Number.NaN;

function largest({ sizes, outline }: PartShape): number {
  const points = outline?.points.flatMap(({ xMm, yMm }) => [Math.abs(xMm), Math.abs(yMm)]) ?? [];
  return Math.max(...Object.values(sizes).map(Math.abs), ...points);
}

function strokePoints(stroke: Stroke): readonly Point[] {
  if ('points' in stroke) {
    return stroke.points;
  }
  const { xMm, yMm } = stroke.centre;
  const [x, y] =
    stroke.shape === 'circle'
      ? [stroke.radiusMm, stroke.radiusMm]
      : [stroke.radiusXMm, stroke.radiusYMm];
  return [
    { xMm: xMm - x, yMm: yMm - y },
    { xMm: xMm + x, yMm: yMm + y },
  ];
}

function growthOf(kind: string, sizes: Sizes): Growth {
  return definitionOf(kind).growth({ sizes });
}

function expectClose(value: number, wanted: number, relative = 1e-12): void {
  expect(Math.abs(value - wanted)).toBeLessThanOrEqual(relative * Math.abs(wanted));
}

const suffixes: Readonly<Record<SizeUnit, RegExp>> = {
  mm: /Mm$/,
  mm2: /Mm2$/,
  mm3: /Mm3$/,
  degrees: /Degrees$/,
  share: /Share$/,
  count: /^[a-z]+[A-Za-z]*$/,
  number: /^[a-z]+[A-Za-z]*$/,
};

const powers: Readonly<Record<SizeUnit, number>> = {
  mm: 1,
  mm2: 2,
  mm3: 3,
  degrees: 0,
  share: 0,
  count: 0,
  number: 0,
};

describe.each(kinds)('%s', (kind) => {
  const definition = definitionOf(kind);

  test('lengths scaled by s scale its area by s squared, H by s and K not at all', () => {
    fc.assert(
      fc.property(anyShape(kind), fc.double({ min: 0.1, max: 10, noNaN: true }), (shape, s) => {
        const sizes = Object.fromEntries(
          definition.fields.map(({ name, unit }) => [
            name,
            at(shape.sizes, name) * s ** powers[unit],
          ]),
        );
        const points = shape.outline?.points.map(({ xMm, yMm }) => ({
          xMm: xMm * s,
          yMm: yMm * s,
        }));
        const larger = points === undefined ? { sizes } : { sizes, outline: { points } };
        const before = definition.growth(shape);
        const after = definition.growth(larger);
        expectClose(after.areaMm2, before.areaMm2 * s ** 2, 1e-9);
        // Inside and outside can cancel, so these two keep as many digits as what they cancel.
        const bend = Math.abs(after.meanCurvatureMm - before.meanCurvatureMm * s);
        expect(bend).toBeLessThanOrEqual(
          1e-9 * s * Math.max(Math.abs(before.meanCurvatureMm), largest(shape)),
        );
        expect(Math.abs(after.gaussThird - before.gaussThird)).toBeLessThanOrEqual(1e-9);
        for (const [index, { valueMm }] of definition.dimensions(larger).entries()) {
          const was = definition.dimensions(shape)[index]?.valueMm ?? Number.NaN;
          // A narrow gap is the difference of two sizes and keeps fewer digits.
          expect(Math.abs(valueMm - was * s)).toBeLessThanOrEqual(1e-9 * s * largest(shape));
        }
      }),
    );
  });

  test('its typical sizes are sound and inside their bounds', () => {
    const typical = typicalShape(kind);
    expect(definition.problems(typical)).toEqual([]);
    expect(definition.growth(typical).areaMm2).toBeGreaterThan(0);
    for (const field of definition.fields) {
      expect(field.typical).toBeGreaterThanOrEqual(field.min);
      expect(field.typical).toBeLessThanOrEqual(field.max);
      const values = field.choices?.map(({ value }) => value) ?? [field.typical];
      expect(values).toContain(field.typical);
      expect(Math.min(...values)).toBeGreaterThanOrEqual(field.min);
      expect(Math.max(...values)).toBeLessThanOrEqual(field.max);
    }
  });

  test('its fields end in their unit, and say how to measure in a sentence', () => {
    for (const { name, unit, help, label } of definition.fields) {
      expect(name).toMatch(suffixes[unit]);
      expect(label).toMatch(/^[A-Z]/);
      expect(help).toMatch(/^[A-Z].*\.$/);
    }
    expect(definition.explanation).toMatch(/^[A-Z].*\.$/);
    expect(definition.areaUncertainty).toBeGreaterThanOrEqual(0.05);
    expect(definition.areaUncertainty).toBeLessThanOrEqual(0.25);
  });

  test('a missing size is an error that names it', () => {
    const typical = typicalShape(kind);
    for (const { name } of definition.fields) {
      const read = (value: number | undefined) => {
        const sizes = { ...typical.sizes, [name]: value } as Sizes;
        const shape = { ...typical, sizes };
        return [
          definition.growth(shape),
          definition.crossSection(shape),
          definition.dimensions(shape),
          definition.drawing(shape),
        ];
      };
      expect(() => read(undefined)).toThrow(`sizes.${name} is undefined`);
      expect(() => read(Number.NaN)).toThrow(RangeError);
    }
  });

  test('its drawing lies inside its view box, to scale, with finite numbers only', () => {
    fc.assert(
      fc.property(anyShape(kind), (shape) => {
        const { viewBox, strokes } = definition.drawing(shape);
        expect(strokes.some(({ role }) => role === 'metal' || role === 'hidden')).toBe(true);
        expect(strokes.length).toBeLessThan(200);
        // Written so that a number that is not finite counts as outside.
        const outside = strokes
          .flatMap(strokePoints)
          .filter(
            ({ xMm, yMm }) =>
              !(
                xMm >= viewBox.xMm &&
                yMm >= viewBox.yMm &&
                xMm <= viewBox.xMm + viewBox.widthMm &&
                yMm <= viewBox.yMm + viewBox.heightMm
              ),
          );
        expect(outside).toEqual([]);
      }),
    );
  });

  test('a measure in its drawing is as long as the size it shows', () => {
    const shape = typicalShape(kind);
    for (const stroke of definition.drawing(shape).strokes) {
      if (stroke.shape === 'polyline' && stroke.measures !== undefined) {
        const [from, to] = stroke.points;
        const length = Math.hypot(
          (to?.xMm ?? Number.NaN) - (from?.xMm ?? Number.NaN),
          (to?.yMm ?? Number.NaN) - (from?.yMm ?? Number.NaN),
        );
        expect(length).toBeCloseTo(at(shape.sizes, stroke.measures), 9);
      }
    }
  });

  test('an opening loses twice the thickness, and a size without one never shuts', () => {
    fc.assert(
      fc.property(anyShape(kind), (shape) => {
        for (const found of definition.dimensions(shape)) {
          expect(found.valueMm).toBeGreaterThanOrEqual(0);
          expect(found.name).toMatch(/Mm$/);
          expect(!found.closes || found.growthPerThickness === -2).toBe(true);
        }
      }),
    );
  });
});

test('every file of the parts is one kind, named after it and in the list', () => {
  const folder = new URL('../../daemon/piece/parts/', import.meta.url);
  const files = readdirSync(folder).map((file) => file.replace(/\.ts$/, ''));
  expect(files.toSorted()).toEqual(kinds.toSorted());
});

test('kinds are found by name and each name is used once', () => {
  expect(new Set(kinds).size).toBe(kinds.length);
  for (const definition of partDefinitions) {
    expect(partDefinition(definition.kind)).toBe(definition);
  }
  expect(partDefinition('cube')).toBeUndefined();
});

// A thickness in mm for the solids below.
const anyThickness = fc.double({ min: 0.001, max: 2, noNaN: true });

/** Metal volume as the difference of two solids, subtracted in full. */
function expectShell(
  kind: string,
  solidMm3: (sizes: Sizes, grownMm: number) => number,
  tolerance = 1e-9,
): void {
  fc.assert(
    fc.property(anyShape(kind), anyThickness, ({ sizes }, wanted) => {
      const closes =
        firstClosingMm(definitionOf(kind).dimensions({ sizes })) ?? Number.POSITIVE_INFINITY;
      const thickness = Math.min(wanted, closes);
      const after = solidMm3(sizes, thickness);
      const metal = after - solidMm3(sizes, 0);
      const volume = volumeMm3At(growthOf(kind, sizes), thickness);
      // The difference of two large solids keeps as many digits as the solids have.
      expect(Math.abs(volume - metal)).toBeLessThanOrEqual(tolerance * after);
    }),
  );
}

test('a wire is the shell between two cylinders', () => {
  expectShell('wire', (sizes, grown) => {
    const radius = at(sizes, 'wireDiameterMm') / 2 + grown;
    return PI * radius ** 2 * at(sizes, 'lengthMm');
  });
});

test('a hanger is the shell between two cylinders', () => {
  expectShell('hanger', (sizes, grown) => {
    const radius = at(sizes, 'wireDiameterMm') / 2 + grown;
    return PI * radius ** 2 * at(sizes, 'submergedLengthMm');
  });
});

test('a ball is the shell between two spheres', () => {
  expectShell('ball', (sizes, grown) => (4 / 3) * PI * (at(sizes, 'diameterMm') / 2 + grown) ** 3);
});

test('a loop is the shell between two tori', () => {
  expectShell('loop', (sizes, grown) => {
    const wire = at(sizes, 'wireDiameterMm') / 2;
    const ring = at(sizes, 'insideDiameterMm') / 2 + wire;
    return 2 * PI ** 2 * ring * (wire + grown) ** 2;
  });
});

test('a box is the shell of slabs, quarter rods on its edges and eighths of a ball on its corners', () => {
  expectShell('box', (sizes, t) => {
    const [a, b, c] = [at(sizes, 'lengthMm'), at(sizes, 'widthMm'), at(sizes, 'heightMm')];
    const slabs = 2 * t * (a * b + b * c + c * a);
    const rods = 4 * (a + b + c) * ((PI * t ** 2) / 4);
    return a * b * c + slabs + rods + (4 / 3) * PI * t ** 3;
  });
});

test('a sheet is its mid-face, thickened and rounded', () => {
  expectShell('sheet', (sizes, grown) => {
    const rim = at(sizes, 'thicknessMm') / 2;
    const [a, b] = [at(sizes, 'lengthMm') - 2 * rim, at(sizes, 'widthMm') - 2 * rim];
    const radius = rim + grown;
    return 2 * a * b * radius + PI * radius ** 2 * (a + b) + (4 / 3) * PI * radius ** 3;
  });
});

/** Simpson's rule over 0 to a quarter turn. */
function overQuarterTurn(integrand: (angle: number) => number): number {
  const intervals = 200;
  const step = PI / 2 / intervals;
  let sum = integrand(0) + integrand(PI / 2);
  for (let node = 1; node < intervals; node += 1) {
    sum += (node % 2 === 1 ? 4 : 2) * integrand(node * step);
  }
  return (sum * step) / 3;
}

/**
 * Volume of the metal, t thick, on a tube: both flat ends, and thin upright rings added up through
 * the metal outside (side 1) and in the bore (side -1), each as high as the round of its rim allows.
 */
function tubeMetalMm3(outside: number, inside: number, length: number, t: number): number {
  const rings = (radius: number, side: 1 | -1) =>
    overQuarterTurn((angle) => {
      const around = 2 * PI * (radius + side * t * Math.sin(angle));
      return around * (length + 2 * t * Math.cos(angle)) * t * Math.cos(angle);
    });
  return PI * (outside ** 2 - inside ** 2) * 2 * t + rings(outside, 1) + rings(inside, -1);
}

test('a tube is its wall, lengthened, with rounded rims outside and in the bore', () => {
  const cases = [
    { outside: 3, inside: 2, length: 20, t: 0.3 },
    { outside: 3, inside: 2, length: 20, t: 1.999 },
    { outside: 5, inside: 0.5, length: 1, t: 0.25 },
  ];
  for (const { outside, inside, length, t } of cases) {
    const growth = growthOf('tube', {
      outsideDiameterMm: 2 * outside,
      insideDiameterMm: 2 * inside,
      lengthMm: length,
    });
    expectClose(volumeMm3At(growth, t), tubeMetalMm3(outside, inside, length, t), 1e-9);
  }
});

test('a grown wire, loop, ball or sheet is a larger one of its kind', () => {
  const grown: Readonly<Record<string, (sizes: Sizes, t: number) => Sizes>> = {
    wire: (sizes, t) => ({ ...sizes, wireDiameterMm: at(sizes, 'wireDiameterMm') + 2 * t }),
    ball: (sizes, t) => ({ diameterMm: at(sizes, 'diameterMm') + 2 * t }),
    loop: (sizes, t) => ({
      insideDiameterMm: at(sizes, 'insideDiameterMm') - 2 * t,
      wireDiameterMm: at(sizes, 'wireDiameterMm') + 2 * t,
    }),
    sheet: (sizes, t) => ({
      lengthMm: at(sizes, 'lengthMm') + 2 * t,
      widthMm: at(sizes, 'widthMm') + 2 * t,
      thicknessMm: at(sizes, 'thicknessMm') + 2 * t,
    }),
  };
  for (const [kind, enlarge] of Object.entries(grown)) {
    fc.assert(
      fc.property(anyShape(kind), anyThickness, ({ sizes }, wanted) => {
        const closes =
          firstClosingMm(definitionOf(kind).dimensions({ sizes })) ?? Number.POSITIVE_INFINITY;
        const t = Math.min(wanted, closes);
        const before = growthOf(kind, sizes);
        const after = growthOf(kind, enlarge(sizes, t));
        expectClose(areaMm2At(before, t), after.areaMm2, 1e-9);
      }),
    );
  }
});

test('a sheet as thick as it is wide is a wire with round ends', () => {
  // A capsule: side 2 pi r L, ends 4 pi r^2; H is pi L + 4 pi r.
  const [radius, straight] = [1.5, 30];
  const sizes = { lengthMm: straight + 2 * radius, widthMm: 2 * radius, thicknessMm: 2 * radius };
  const growth = growthOf('sheet', sizes);
  expectClose(growth.areaMm2, 2 * PI * radius * straight + 4 * PI * radius ** 2);
  expectClose(growth.meanCurvatureMm, PI * straight + 4 * PI * radius);
});

test('a vanishing sheet has two faces and half pi of its perimeter', () => {
  const growth = growthOf('sheet', { lengthMm: 40, widthMm: 20, thicknessMm: 1e-9 });
  expectClose(growth.areaMm2, 2 * 40 * 20, 1e-8);
  expectClose(growth.meanCurvatureMm, (PI * 120) / 2, 1e-8);
});

test('a tube counts its outside, its bore and both ends', () => {
  const growth = growthOf('tube', { outsideDiameterMm: 6, insideDiameterMm: 4, lengthMm: 20 });
  expectClose(growth.areaMm2, PI * 6 * 20 + PI * 4 * 20 + 2 * PI * (9 - 4));
});

const closes = (kind: string, sizes: Sizes) =>
  firstClosingMm(definitionOf(kind).dimensions({ sizes }));
const cut = (kind: string, sizes: Sizes) => definitionOf(kind).crossSection({ sizes });

test('openings close at their inside radius and nothing else closes', () => {
  expect(closes('loop', { insideDiameterMm: 17, wireDiameterMm: 1 })).toBe(8.5);
  expect(closes('tube', { outsideDiameterMm: 6, insideDiameterMm: 4, lengthMm: 9 })).toBe(2);
  for (const kind of ['wire', 'ball', 'sheet', 'box', 'hanger', 'measured']) {
    expect(closes(kind, typicalShape(kind).sizes)).toBeNull();
  }
});

test('cross-sections are cut where the part is slimmest', () => {
  expect(cut('wire', { wireDiameterMm: 0.8, lengthMm: 9 })).toEqual({
    shape: 'round',
    diameterMm: 0.8,
  });
  expect(cut('loop', { wireDiameterMm: 0.8, insideDiameterMm: 9 })).toEqual({
    shape: 'round',
    diameterMm: 0.8,
  });
  expect(cut('ball', { diameterMm: 6 })).toEqual({ shape: 'round', diameterMm: 6 });
  expect(cut('hanger', { wireDiameterMm: 1, submergedLengthMm: 4 })).toEqual({
    shape: 'round',
    diameterMm: 1,
  });
  expect(cut('tube', { outsideDiameterMm: 6, insideDiameterMm: 4, lengthMm: 9 })).toEqual({
    shape: 'tube',
    outsideMm: 6,
    insideMm: 4,
  });
  expect(cut('box', { lengthMm: 5, widthMm: 20, heightMm: 10 })).toEqual({
    shape: 'rectangle',
    widthMm: 10,
    heightMm: 5,
  });
  expect(cut('sheet', { lengthMm: 5, widthMm: 20, thicknessMm: 0.5 })).toEqual({
    shape: 'flat',
    thicknessMm: 0.5,
  });
  expect(cut('measured', { areaMm2: 5 })).toMatchObject({ shape: 'flat' });
});

// Each change to a part of typical sizes, the size it names and the bound it says.
const impossible = [
  ['half-round-band', { heightMm: 2.1 }, 'heightMm', 'at most half of widthMm, 2'],
  ['dome', { heightMm: 5.5 }, 'heightMm', 'at most half of diameterMm, 5'],
  ['disc', { holeDiameterMm: 20 }, 'holeDiameterMm', 'below diameterMm, 20'],
  ['disc', { holeDiameterMm: 19.5 }, 'thicknessMm', 'at most the width of its face, 0.25'],
  ['disc', { thicknessMm: 21 }, 'thicknessMm', 'at most the width of its face, 20'],
  ['leaf', { thicknessMm: 9.5 }, 'thicknessMm', 'at most half its narrower side, 9'],
  ['rod', { ends: 1, lengthMm: 4 }, 'lengthMm', 'at least diameterMm, 5'],
  ['bezel-pear', { lengthMm: 8 }, 'lengthMm', 'above widthMm, 8'],
  ['mesh', { areaMm2: 700 }, 'areaMm2', 'at least 767.663, the area of a ball of its volume'],
  [
    'bead-texture',
    { baseAreaMm2: 1 },
    'beadDiameterMm',
    'small enough for one bead on the covered share of the base',
  ],
] as const;

test.each(impossible)('a %s with %o is refused by name', (kind, change, field, bound) => {
  const { sizes } = typicalShape(kind);
  expect(definitionOf(kind).problems({ sizes: { ...sizes, ...change } })).toMatchObject([
    { field, bound },
  ]);
});

test('rods of either end, domes and cones agree where they are the same body', () => {
  // A rod with round ends as short as it is thick is a ball.
  const ball = growthOf('ball', { diameterMm: 5 });
  expect(growthOf('rod', { diameterMm: 5, lengthMm: 5, ends: 1 })).toEqual(ball);
  // Two half balls are one, whichever dome they are, and one on its base differs by its disc.
  const round = growthOf('dome', { diameterMm: 10, heightMm: 5, base: 0 });
  const oval = growthOf('oval-dome', { lengthMm: 10, widthMm: 10, heightMm: 5, base: 0 });
  for (const term of ['areaMm2', 'meanCurvatureMm', 'gaussThird'] as const) {
    expectClose(2 * round[term], growthOf('ball', { diameterMm: 10 })[term]);
    expectClose(oval[term], round[term]);
  }
  const based = { diameterMm: 10, heightMm: 5, base: 1 };
  expectClose(growthOf('dome', based).areaMm2, round.areaMm2 + 25 * PI);
  // A cone is a pyramid of very many sides, with and without its base.
  for (const base of [0, 1]) {
    const cone = growthOf('cone', { diameterMm: 8, heightMm: 15, base });
    const sizes = { acrossFlatsMm: 8, prismLengthMm: 0, pointHeightMm: 15, base };
    const pyramid = growthOf('crystal', { ...sizes, sides: 10_000 });
    expectClose(pyramid.areaMm2, cone.areaMm2, 1e-6);
    expectClose(pyramid.meanCurvatureMm, cone.meanCurvatureMm, 1e-6);
    expectClose(pyramid.gaussThird, cone.gaussThird, 1e-6);
  }
  // A crystal without its base loses its base, the right angles round it and half of all directions.
  const sizes = { sides: 6, acrossFlatsMm: 10, prismLengthMm: 20, pointHeightMm: 8 };
  const [open, shut] = [0, 1].map((base) => growthOf('crystal', { ...sizes, base }));
  const hexagon = 2 * Math.sqrt(3) * 25;
  expectClose((shut?.areaMm2 ?? 0) - (open?.areaMm2 ?? 0), hexagon, 1e-9);
  const rim = 6 * (10 / Math.sqrt(3));
  expectClose((shut?.meanCurvatureMm ?? 0) - (open?.meanCurvatureMm ?? 0), (PI * rim) / 4, 1e-9);
  expectClose((shut?.gaussThird ?? 0) - (open?.gaussThird ?? 0), (2 * PI) / 3, 1e-9);
});

test('a grown rod with round ends is a larger one', () => {
  const rod = (diameterMm: number, lengthMm: number) =>
    growthOf('rod', { diameterMm, lengthMm, ends: 1 });
  const any = fc.double({ min: 0.1, max: 50, noNaN: true });
  fc.assert(
    fc.property(any, any, anyThickness, (diameter, straight, t) => {
      const [before, length] = [rod(diameter, diameter + straight), diameter + straight];
      expectClose(areaMm2At(before, t), rod(diameter + 2 * t, length + 2 * t).areaMm2, 1e-9);
    }),
  );
});

test('a tube and a flat band of the same sizes are the same ring', () => {
  const tube = growthOf('tube', { outsideDiameterMm: 19, insideDiameterMm: 17, lengthMm: 4 });
  const band = growthOf('band', { insideDiameterMm: 17, thicknessMm: 1, widthMm: 4 });
  expectClose(band.areaMm2, tube.areaMm2);
  expectClose(band.meanCurvatureMm, tube.meanCurvatureMm);
});

test('a half-round band follows Pappus: its perimeter times the way of its middle', () => {
  // Half a circle of radius 2 on a flat side at 8.5 from the axis; the middle of a semicircle's arc
  // lies 2 r / pi from its diameter (Pappus' second theorem).
  const growth = growthOf('half-round-band', { insideDiameterMm: 17, widthMm: 4, heightMm: 2 });
  expectClose(growth.areaMm2, 2 * PI * (4 * 8.5 + 2 * PI * (8.5 + 4 / PI)));
});

test('a leaf fills its share of its rectangle exactly, pointed or blunt', () => {
  const thin = { lengthMm: 40, widthMm: 18, thicknessMm: 0.005 };
  fc.assert(
    fc.property(fc.double({ min: 0.5, max: 0.88, noNaN: true }), (fullnessShare) => {
      const points = leafPoints(39.995, 17.995, fullnessShare);
      const wanted = fullnessShare * 39.995 * 17.995;
      expectClose(Math.abs(signedAreaMm2(points)), wanted, 2e-6);
      const growth = growthOf('leaf', { ...thin, fullnessShare });
      expect(growth.areaMm2).toBeGreaterThan(2 * wanted);
      expect(growth.areaMm2).toBeLessThan(2 * wanted + 0.005 * 2 * (40 + 18) * 2);
    }),
  );
  // Its rim is that of an ellipse where it fills pi / 4 (Carlson), to one part in a million.
  const rim = perimeterMm(leafPoints(40, 18, PI / 4));
  expectClose(rim, ellipsePerimeterMm(20, 9), 1e-6);
});

test('sizes that are impossible together name the size to correct', () => {
  expect(
    definitionOf('tube').problems({
      sizes: { outsideDiameterMm: 4, insideDiameterMm: 4, lengthMm: 9 },
    }),
  ).toEqual([
    {
      field: 'insideDiameterMm',
      value: '4',
      bound: 'below outsideDiameterMm, 4',
      message:
        'insideDiameterMm is 4; it must be below outsideDiameterMm, 4. ' +
        'The bore is wider than the tube; check which diameter is which.',
    },
  ]);
  expect(
    definitionOf('sheet').problems({ sizes: { lengthMm: 9, widthMm: 4, thicknessMm: 4.5 } }),
  ).toMatchObject([{ field: 'thicknessMm', value: '4.5', bound: 'at most its narrowest side, 4' }]);
});
