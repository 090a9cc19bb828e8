/** What must hold for any mesh: moves change nothing, sizes scale, order says nothing, damage is told. */

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { MeshMeasure } from '../../../daemon/piece/mesh/measure.ts';
import { measureMesh } from '../../../daemon/piece/mesh/measure.ts';
import { MeshError, meshLimits } from '../../../daemon/piece/mesh/model.ts';
import { readThreeMf } from '../../../daemon/piece/mesh/three-mf.ts';
import {
  asciiStl,
  ball,
  binaryStl,
  box,
  insideOut,
  lBlock,
  measureBody,
  moved,
  obj,
  read,
  simpleModel,
  text,
  together,
  torus,
} from './bodies.ts';
import type { Body, Face, Vector } from './bodies.ts';

const bodies: readonly Body[] = [
  box(20, 10, 1),
  lBlock,
  ball(6, 9),
  torus(9, 2, 20, 10),
  together(box(10, 10, 10), insideOut(ball(3, 6, [5, 5, 5]))),
  { ...ball(5, 8), faces: ball(5, 8).faces.slice(5) },
];
const anyBody = fc.constantFrom(...bodies);
const length = fc.double({ min: -50, max: 50, noNaN: true });
const angle = fc.double({ min: -Math.PI, max: Math.PI, noNaN: true });

function turnedBy(x: number, y: number, z: number, shift: Vector): (point: Vector) => Vector {
  const [cx, sx, cy, sy] = [Math.cos(x), Math.sin(x), Math.cos(y), Math.sin(y)];
  const [cz, sz] = [Math.cos(z), Math.sin(z)];
  return ([px, py, pz]) => {
    const [ax, ay, az] = [px, cx * py - sx * pz, sx * py + cx * pz];
    const [bx, by, bz] = [cy * ax + sy * az, ay, cy * az - sy * ax];
    return [cz * bx - sz * by + shift[0], sz * bx + cz * by + shift[1], bz + shift[2]];
  };
}

function expectSame(found: MeshMeasure, wanted: MeshMeasure, factor = 1): void {
  const close = (a: number, b: number): void => {
    expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-9 * (Math.abs(b) + 1e-9));
  };
  close(found.area, wanted.area * factor ** 2);
  close(found.enclosedArea, wanted.enclosedArea * factor ** 2);
  if (wanted.volume === null) expect(found.volume).toBeNull();
  else close(found.volume ?? Number.NaN, wanted.volume * factor ** 3);
  close(found.meanCurvature.value, wanted.meanCurvature.value * factor);
  close(found.meanCurvature.high, wanted.meanCurvature.high * factor);
  expect(found.gaussThird).toEqual(wanted.gaussThird);
  expect(found.shells).toBe(wanted.shells);
  expect(found.enclosedShells).toBe(wanted.enclosedShells);
  expect(found.eulerCharacteristic).toBe(wanted.eulerCharacteristic);
  expect(found.openEdges).toBe(wanted.openEdges);
}

describe('a measure', () => {
  test('does not change when the body is moved and turned', () => {
    fc.assert(
      fc.property(anyBody, angle, angle, angle, fc.tuple(length, length, length), (body, ...by) => {
        expectSame(measureBody(moved(body, turnedBy(...by))), measureBody(body));
      }),
      { numRuns: 60 },
    );
  });

  test('scales with length, its square and its cube', () => {
    fc.assert(
      fc.property(anyBody, fc.double({ min: 1e-3, max: 1e3, noNaN: true }), (body, factor) => {
        const scaled = moved(body, ([x, y, z]) => [factor * x, factor * y, factor * z]);
        expectSame(measureBody(scaled), measureBody(body), factor);
      }),
      { numRuns: 60 },
    );
  });

  test('does not depend on the order of triangles or on which corner comes first', () => {
    fc.assert(
      fc.property(
        anyBody,
        fc.infiniteStream(fc.double({ min: 0, max: 1, noNaN: true })),
        (body, random) => {
          const draw = (): number => random.next().value ?? 0;
          const faces = body.faces
            .map(([a, b, c]): { face: Face; key: number } => {
              const which = Math.floor(3 * draw());
              const face: Face = which === 0 ? [a, b, c] : which === 1 ? [b, c, a] : [c, a, b];
              return { face, key: draw() };
            })
            .toSorted((first, second) => first.key - second.key)
            .map(({ face }) => face);
          expectSame(measureBody({ points: body.points, faces }), measureBody(body));
        },
      ),
      { numRuns: 60 },
    );
  });

  test('of a mirrored body is that of the body, turned over', () => {
    for (const body of bodies) {
      const mirrored = moved(body, ([x, y, z]) => [-x, y, z]);
      const measured = measureBody(mirrored);
      const wanted = measureBody(body);
      if (wanted.closed) expectSame(measured, wanted);
      expect(measured.insideOut).toBe(wanted.closed);
    }
  });
});

describe('a damaged file', () => {
  const small = torus(9, 2, 8, 6);
  const files: Readonly<Record<string, Uint8Array>> = {
    'binary.stl': binaryStl(small),
    'ascii.stl': text(asciiStl(small)),
    'body.obj': text(obj(small)),
    'body.model': text(simpleModel(small)),
  };

  /** A measure with finite numbers, or a refusal with a reason; any other error fails the test. */
  function expectTold(name: string, bytes: Uint8Array): void {
    try {
      const mesh =
        name === 'body.model'
          ? readThreeMf((path) => (path.endsWith('.model') ? bytes : null), meshLimits)
          : read(bytes, name);
      const measured = measureMesh(mesh);
      expect(Number.isFinite(measured.area)).toBe(true);
      expect(Number.isFinite(measured.meanCurvature.value)).toBe(true);
      expect(measured.volume === null || Number.isFinite(measured.volume)).toBe(true);
    } catch (error) {
      if (!(error instanceof MeshError)) throw error;
      expect(error.problem.message.length).toBeGreaterThan(10);
    }
  }

  test.each(Object.keys(files))('%s is measured or refused wherever it is cut', (name) => {
    const whole = files[name] ?? new Uint8Array(0);
    fc.assert(
      fc.property(fc.nat(whole.length), (end) => expectTold(name, whole.slice(0, end))),
      { numRuns: 150 },
    );
  });

  test.each(Object.keys(files))('%s is measured or refused whatever bits are turned', (name) => {
    const whole = files[name] ?? new Uint8Array(0);
    const flips = fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(7)), {
      minLength: 1,
      maxLength: 12,
    });
    fc.assert(
      fc.property(flips, (turned) => {
        const bytes = whole.slice();
        for (const [at, bit] of turned) bytes[at] = (bytes[at] ?? 0) ^ (1 << bit);
        expectTold(name, bytes);
      }),
      { numRuns: 250 },
    );
  });

  test('of random bytes is refused under any name', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 400 }),
        fc.constantFrom('a.stl', 'a.obj', 'a.xyz', ''),
        (bytes, name) => {
          if (bytes[0] === 0x50 && bytes[1] === 0x4b) return;
          expectTold(name, bytes);
        },
      ),
      { numRuns: 200 },
    );
  });
});
