/** The words of meshes: a body as triangles, its limits, and the error that refuses a file. */

import type { MeshUnit, Problem } from '../model.ts';

/** File formats that are read. */
export type MeshFormat = 'stl-binary' | 'stl-ascii' | 'obj' | '3mf';

/** Triangles whose corners are welded: corners at the same coordinates are one vertex. */
export interface Mesh {
  readonly format: MeshFormat;
  /** As the file states it; null where the format has none. */
  readonly unit: MeshUnit | null;
  /** x, y, z of each vertex, in units of the file. All finite. */
  readonly vertices: Float64Array;
  /** Three vertex numbers for each triangle, counter-clockwise from outside. */
  readonly corners: Int32Array;
  /** Triangles of the file that were left out because two of their corners coincide. */
  readonly collapsed: number;
  /** What was left out of the file on purpose, as sentences. */
  readonly notes: readonly string[];
}

export interface MeshLimits {
  readonly maxTriangles: number;
  readonly maxBytes: number;
}

/** 2 million triangles and 120 MB: scans of a hand-sized piece are far below both. */
export const meshLimits: MeshLimits = { maxTriangles: 2_000_000, maxBytes: 120_000_000 };

/** Why a file is refused, as a word that a program can tell apart. */
export type MeshErrorCode =
  | 'empty'
  | 'tooBig'
  | 'tooManyTriangles'
  | 'unknownFormat'
  | 'truncated'
  | 'broken'
  | 'notFinite'
  | 'outOfRange'
  | 'noTriangles'
  | 'allDegenerate'
  | 'notWellFormed'
  | 'forbiddenXml'
  | 'unsupported'
  | 'encrypted'
  | 'unsafeName'
  | 'zipBomb';

/** Thrown for every file that cannot be measured; its problem names the place, value and bound. */
export class MeshError extends Error {
  override readonly name = 'MeshError';
  readonly code: MeshErrorCode;
  readonly problem: Problem;

  constructor(code: MeshErrorCode, problem: Problem) {
    super(problem.message);
    this.code = code;
    this.problem = problem;
  }
}

/** Makes the error for a file that says something it may not. */
export function refuse(
  code: MeshErrorCode,
  field: string,
  value: string | number,
  bound: string,
  message: string,
): MeshError {
  return new MeshError(code, { field, value: String(value), bound, message });
}

/** The refusal of a file with more triangles than are measured. */
export function tooManyTriangles(count: string, limits: MeshLimits): MeshError {
  const most = limits.maxTriangles.toLocaleString('en');
  return refuse(
    'tooManyTriangles',
    'triangles',
    count,
    `at most ${most}`,
    `The mesh has ${count} triangles; at most ${most} are measured. Reduce it in the program it comes from.`,
  );
}

/** The refusal of a coordinate that is no finite number. */
export function notFinite(place: string, value: string): MeshError {
  return refuse(
    'notFinite',
    place,
    value,
    'a finite number',
    `A coordinate of ${place} is ${value}; it must be a finite number.`,
  );
}
