/** Bodies for tests of meshes, and writers of every format that is read. */

import ManifoldModule from 'manifold-3d/manifold.js';
import type { Manifold, ManifoldToplevel } from 'manifold-3d/manifold.js';
import { MeshError, meshLimits } from '../../../daemon/piece/mesh/model.ts';
import type { Mesh, MeshErrorCode, MeshLimits } from '../../../daemon/piece/mesh/model.ts';
import { formatOf, readMesh } from '../../../daemon/piece/mesh/formats.ts';
import type { MeshMeasure } from '../../../daemon/piece/mesh/measure.ts';
import { measureMesh } from '../../../daemon/piece/mesh/measure.ts';

export type Vector = readonly [number, number, number];
export type Face = readonly [number, number, number];

export interface Body {
  readonly points: readonly Vector[];
  readonly faces: readonly Face[];
}

/** A box with a corner at `at`. */
export function box(a: number, b: number, c: number, at: Vector = [0, 0, 0]): Body {
  const points = [0, 1, 2, 3, 4, 5, 6, 7].map((k): Vector => [
    at[0] + (k & 1 ? a : 0),
    at[1] + (k & 2 ? b : 0),
    at[2] + (k & 4 ? c : 0),
  ]);
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ] as const;
  return {
    points,
    faces: quads.flatMap(([p, q, r, s]): Face[] => [
      [p, q, r],
      [p, r, s],
    ]),
  };
}

/** An outline, counter-clockwise from above and convex or an L, drawn up by a height. */
export function prism(
  outline: readonly (readonly [number, number])[],
  height: number,
  caps: readonly Face[],
): Body {
  const n = outline.length;
  const points = [0, height].flatMap((z) => outline.map(([x, y]): Vector => [x, y, z]));
  const sides = outline.flatMap((_, k): Face[] => {
    const next = (k + 1) % n;
    return [
      [k, next, n + next],
      [k, n + next, n + k],
    ];
  });
  const top = caps.map(([p, q, r]): Face => [n + p, n + q, n + r]);
  const bottom = caps.map(([p, q, r]): Face => [p, r, q]);
  return { points, faces: [...sides, ...top, ...bottom] };
}

/** Caps of a convex outline. */
export function fan(n: number): readonly Face[] {
  return Array.from({ length: n - 2 }, (_, k): Face => [0, k + 1, k + 2]);
}

export function ring(n: number, radius: number): readonly (readonly [number, number])[] {
  return Array.from({ length: n }, (_, k) => {
    const angle = (2 * Math.PI * k) / n;
    return [radius * Math.cos(angle), radius * Math.sin(angle)] as const;
  });
}

/** A square of 20 with a quarter cut out, 20 high: one concave edge of 20. */
export const lBlock = prism(
  [
    [0, 0],
    [20, 0],
    [20, 10],
    [10, 10],
    [10, 20],
    [0, 20],
  ],
  20,
  [
    [0, 1, 2],
    [0, 2, 3],
    [0, 3, 5],
    [3, 4, 5],
  ],
);

export function torus(big: number, small: number, around: number, across: number): Body {
  const points = Array.from({ length: around * across }, (_, k): Vector => {
    const u = (2 * Math.PI * Math.floor(k / across)) / around;
    const v = (2 * Math.PI * (k % across)) / across;
    const r = big + small * Math.cos(v);
    return [r * Math.cos(u), r * Math.sin(u), small * Math.sin(v)];
  });
  const faces: Face[] = [];
  for (let i = 0; i < around; i += 1) {
    for (let j = 0; j < across; j += 1) {
      const a = i * across + j;
      const b = ((i + 1) % around) * across + j;
      const c = ((i + 1) % around) * across + ((j + 1) % across);
      const d = i * across + ((j + 1) % across);
      faces.push([a, b, c], [a, c, d]);
    }
  }
  return { points, faces };
}

/** A ball of meridians and parallels. */
export function ball(radius: number, rows: number, at: Vector = [0, 0, 0]): Body {
  const columns = 2 * rows;
  const points: Vector[] = [[at[0], at[1], at[2] + radius]];
  for (let i = 1; i < rows; i += 1) {
    for (let j = 0; j < columns; j += 1) {
      const t = (Math.PI * i) / rows;
      const p = (2 * Math.PI * j) / columns;
      points.push([
        at[0] + radius * Math.sin(t) * Math.cos(p),
        at[1] + radius * Math.sin(t) * Math.sin(p),
        at[2] + radius * Math.cos(t),
      ]);
    }
  }
  points.push([at[0], at[1], at[2] - radius]);
  const place = (i: number, j: number): number => {
    if (i === 0) return 0;
    return i === rows ? points.length - 1 : 1 + (i - 1) * columns + (j % columns);
  };
  const faces: Face[] = [];
  for (let i = 0; i < rows; i += 1) {
    for (let j = 0; j < columns; j += 1) {
      if (i > 0) faces.push([place(i, j), place(i + 1, j), place(i, j + 1)]);
      if (i < rows - 1) faces.push([place(i, j + 1), place(i + 1, j), place(i + 1, j + 1)]);
    }
  }
  return { points, faces };
}

/** Several bodies in one file. */
export function together(...bodies: readonly Body[]): Body {
  const points: Vector[] = [];
  const faces: Face[] = [];
  for (const body of bodies) {
    const start = points.length;
    points.push(...body.points);
    for (const [a, b, c] of body.faces) faces.push([start + a, start + b, start + c]);
  }
  return { points, faces };
}

export function insideOut({ points, faces }: Body): Body {
  return { points, faces: faces.map(([a, b, c]): Face => [a, c, b]) };
}

export function moved({ points, faces }: Body, move: (point: Vector) => Vector): Body {
  return { points: points.map(move), faces };
}

export function text(words: string): Uint8Array {
  return new TextEncoder().encode(words);
}

function pointOf(body: Body, index: number): Vector {
  const point = body.points[index];
  if (point === undefined) throw new Error(`The body has no point ${index}.`);
  return point;
}

export function binaryStl(body: Body, header = ''): Uint8Array {
  const bytes = new Uint8Array(84 + 50 * body.faces.length);
  bytes.set(text(header).subarray(0, 80));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, body.faces.length, true);
  body.faces.forEach((face, k) => {
    face.forEach((index, corner) => {
      pointOf(body, index).forEach((value, axis) => {
        view.setFloat32(84 + 50 * k + 12 + 12 * corner + 4 * axis, value, true);
      });
    });
  });
  return bytes;
}

export function asciiStl(body: Body): string {
  const facets = body.faces.map((face) => {
    const corners = face.map((index) => `      vertex ${pointOf(body, index).join(' ')}\n`);
    return `  facet normal 0 0 0\n    outer loop\n${corners.join('')}    endloop\n  endfacet\n`;
  });
  return `solid body\n${facets.join('')}endsolid body\n`;
}

export function obj(body: Body): string {
  const points = body.points.map((point) => `v ${point.join(' ')}\n`);
  const faces = body.faces.map((face) => `f ${face.map((index) => index + 1).join(' ')}\n`);
  return `# a body\n${points.join('')}${faces.join('')}`;
}

export const coreNamespace = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';

/** A mesh element of 3MF. */
export function meshXml(body: Body): string {
  const points = body.points.map(([x, y, z]) => `<vertex x="${x}" y="${y}" z="${z}"/>`);
  const faces = body.faces.map(([a, b, c]) => `<triangle v1="${a}" v2="${b}" v3="${c}"/>`);
  return `<mesh><vertices>${points.join('')}</vertices><triangles>${faces.join('')}</triangles></mesh>`;
}

export function modelXml(resources: string, build: string, attributes = ''): string {
  return `<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xmlns="${coreNamespace}" ${attributes}>
<resources>${resources}</resources><build>${build}</build></model>`;
}

/** One object, built once. */
export function simpleModel(body: Body): string {
  return modelXml(`<object id="1" type="model">${meshXml(body)}</object>`, '<item objectid="1"/>');
}

/** Reads bytes of a format that is not packed. */
export function read(
  bytes: Uint8Array | string,
  fileName = '',
  limits: MeshLimits = meshLimits,
): Mesh {
  const file = typeof bytes === 'string' ? text(bytes) : bytes;
  const format = formatOf(file, fileName, limits);
  if (format === '3mf') throw new Error('A package has to be unpacked first.');
  return readMesh(file, format, limits);
}

/** In full precision, through OBJ. */
export function measureBody(body: Body): MeshMeasure {
  return measureMesh(read(obj(body)));
}

/** The refusal of what `work` does; fails where there is none or another error. */
export function refusalOf(work: () => unknown): MeshError {
  try {
    work();
  } catch (error) {
    if (error instanceof MeshError) return error;
    throw error;
  }
  throw new Error('It was not refused.');
}

export function codeOf(work: () => unknown): MeshErrorCode {
  return refusalOf(work).code;
}

let started: Promise<ManifoldToplevel> | null = null;

/** The reference library, started once in a test file. */
export function startManifold(): Promise<ManifoldToplevel> {
  started ??= ManifoldModule().then((top) => {
    top.setup();
    return top;
  });
  return started;
}

/** The triangles of a solid of the reference library, in its single precision. */
export function bodyOf(solid: Manifold): Body {
  const { vertProperties, triVerts, numProp } = solid.getMesh();
  const points: Vector[] = [];
  for (let at = 0; at < vertProperties.length; at += numProp) {
    points.push([
      vertProperties[at] ?? 0,
      vertProperties[at + 1] ?? 0,
      vertProperties[at + 2] ?? 0,
    ]);
  }
  const faces: Face[] = [];
  for (let at = 0; at < triVerts.length; at += 3) {
    faces.push([triVerts[at] ?? 0, triVerts[at + 1] ?? 0, triVerts[at + 2] ?? 0]);
  }
  return { points, faces };
}

/** How far a number is from the one it should be, as a share of it. */
export function relativeError(found: number | null, wanted: number): number {
  return found === null ? Infinity : Math.abs(found - wanted) / Math.abs(wanted);
}
