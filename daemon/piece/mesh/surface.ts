/** A mesh prepared for measuring: paired, wound one way, with the normal and area of each triangle. */

import { pairEdges } from './edges.ts';
import { allDegenerate } from './formats.ts';
import { refuse } from './model.ts';
import type { Mesh } from './model.ts';
import { findShells } from './shells.ts';
import type { Shells } from './shells.ts';

export type Point = readonly [number, number, number];

export interface Box {
  readonly min: Point;
  readonly max: Point;
}

export interface Surface {
  readonly mesh: Mesh;
  readonly box: Box;
  /** As `Edges` has it, after triangles were turned over. */
  readonly twin: Int32Array;
  readonly openEdges: number;
  readonly nonManifoldEdges: number;
  readonly shells: Shells;
  /** Unit normals; a needle has that of the neighbour along its longest side, or zeros. */
  readonly normals: Float64Array;
  /** Twice the area of each triangle. */
  readonly doubleAreas: Float64Array;
  /** 1 for a triangle so low that its own normal is rounding: see `needleShare`. */
  readonly needles: Uint8Array;
  readonly needleCount: number;
  /** Signed volume under each shell; of no meaning for an open one. */
  readonly volumes: Float64Array;
  readonly areas: Float64Array;
}

/**
 * A triangle lower than this share of the extents has no direction of its own: coordinates in single
 * precision, as STL has them, are that coarse.
 */
const needleShare = 1e-6;
const needleRounds = 16;

/** Prepares a mesh of at least one triangle. Throws MeshError when none has area. */
export function prepareSurface(mesh: Mesh): Surface {
  const box = boxOf(mesh.vertices);
  const edges = pairEdges(mesh.corners, mesh.vertices);
  const { twin, openEdges, nonManifoldEdges } = edges;
  const shells = findShells(mesh.corners, edges);
  const faces = measureFaces(mesh.vertices, shells, box);
  const total = faces.areas.reduce(
    (sum, area, shell) => sum + area + (faces.volumes[shell] ?? 0),
    0,
  );
  if (!Number.isFinite(total)) {
    const message = 'The mesh is too large to be measured; check its coordinates.';
    throw refuse('notFinite', 'extents', sizeOf(box).join(' by '), 'a finite area', message);
  }
  if (faces.needleCount === shells.shellOf.length) {
    throw allDegenerate(faces.needleCount + mesh.collapsed);
  }
  inheritNormals(mesh.vertices, shells.corners, twin, faces);
  return { mesh, box, twin, openEdges, nonManifoldEdges, shells, ...faces };
}

/** Extents along x, y and z. */
export function sizeOf({ min, max }: Box): [number, number, number] {
  return [max[0] - min[0], max[1] - min[1], max[2] - min[2]];
}

function boxOf(vertices: Float64Array): Box {
  let [minX, minY, minZ] = [Infinity, Infinity, Infinity];
  let [maxX, maxY, maxZ] = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < vertices.length; at += 3) {
    const x = vertices[at] as number;
    const y = vertices[at + 1] as number;
    const z = vertices[at + 2] as number;
    if (x < minX) minX = x;
    if (x > maxX) maxX = x;
    if (y < minY) minY = y;
    if (y > maxY) maxY = y;
    if (z < minZ) minZ = z;
    if (z > maxZ) maxZ = z;
  }
  return { min: [minX, minY, minZ], max: [maxX, maxY, maxZ] };
}

interface Faces {
  readonly normals: Float64Array;
  readonly doubleAreas: Float64Array;
  readonly needles: Uint8Array;
  readonly needleCount: number;
  readonly volumes: Float64Array;
  readonly areas: Float64Array;
}

function measureFaces(vertices: Float64Array, shells: Shells, box: Box): Faces {
  const { corners, shellOf, count } = shells;
  const normals = new Float64Array(corners.length);
  const doubleAreas = new Float64Array(corners.length / 3);
  const needles = new Uint8Array(corners.length / 3);
  const volumes = new Float64Array(count);
  const areas = new Float64Array(count);
  const [cx, cy, cz] = [0, 1, 2].map(
    (axis) => ((box.min[axis] ?? 0) + (box.max[axis] ?? 0)) / 2,
  ) as [number, number, number];
  const low = needleShare * Math.max(...box.min.map(Math.abs), ...box.max.map(Math.abs));
  let needleCount = 0;
  for (let f = 0; f < doubleAreas.length; f += 1) {
    const a = 3 * (corners[3 * f] as number);
    const b = 3 * (corners[3 * f + 1] as number);
    const c = 3 * (corners[3 * f + 2] as number);
    const ax = (vertices[a] as number) - cx;
    const ay = (vertices[a + 1] as number) - cy;
    const az = (vertices[a + 2] as number) - cz;
    const ux = (vertices[b] as number) - cx - ax;
    const uy = (vertices[b + 1] as number) - cy - ay;
    const uz = (vertices[b + 2] as number) - cz - az;
    const vx = (vertices[c] as number) - cx - ax;
    const vy = (vertices[c + 1] as number) - cy - ay;
    const vz = (vertices[c + 2] as number) - cz - az;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const doubled = Math.sqrt(nx * nx + ny * ny + nz * nz);
    const shell = shellOf[f] as number;
    doubleAreas[f] = doubled;
    areas[shell] = (areas[shell] as number) + doubled / 2;
    volumes[shell] = (volumes[shell] as number) + (ax * nx + ay * ny + az * nz) / 6;
    const wx = vx - ux;
    const wy = vy - uy;
    const wz = vz - uz;
    const u = ux * ux + uy * uy + uz * uz;
    const v = vx * vx + vy * vy + vz * vz;
    const w = wx * wx + wy * wy + wz * wz;
    const longest = u > v ? (u > w ? u : w) : v > w ? v : w;
    if (!(doubled * doubled > low * low * longest)) {
      needles[f] = 1;
      needleCount += 1;
      continue;
    }
    normals[3 * f] = nx / doubled;
    normals[3 * f + 1] = ny / doubled;
    normals[3 * f + 2] = nz / doubled;
  }
  return { normals, doubleAreas, needles, needleCount, volumes, areas };
}

/** A needle lies in the face beyond its longest side; chains of them take several rounds. */
function inheritNormals(
  vertices: Float64Array,
  corners: Int32Array,
  twin: Int32Array,
  { normals, needles, needleCount }: Faces,
): void {
  if (needleCount === 0) return;
  let open: number[] = [];
  for (let f = 0; f < needles.length; f += 1) if (needles[f] === 1) open.push(f);
  for (let round = 0; round < needleRounds && open.length > 0; round += 1) {
    const still: number[] = [];
    for (const f of open) {
      const other = twin[longestSide(f, vertices, corners)] as number;
      const at = 3 * ((other / 3) | 0);
      const known =
        other >= 0 && (normals[at] !== 0 || normals[at + 1] !== 0 || normals[at + 2] !== 0);
      if (!known) still.push(f);
      else for (let axis = 0; axis < 3; axis += 1) normals[3 * f + axis] = normals[at + axis] ?? 0;
    }
    if (still.length === open.length) return;
    open = still;
  }
}

function longestSide(f: number, vertices: Float64Array, corners: Int32Array): number {
  let longest = -1;
  let found = 3 * f;
  for (let k = 0; k < 3; k += 1) {
    const a = 3 * (corners[3 * f + k] as number);
    const b = 3 * (corners[3 * f + ((k + 1) % 3)] as number);
    const length = Math.hypot(
      (vertices[a] as number) - (vertices[b] as number),
      (vertices[a + 1] as number) - (vertices[b + 1] as number),
      (vertices[a + 2] as number) - (vertices[b + 2] as number),
    );
    if (length > longest) {
      longest = length;
      found = 3 * f + k;
    }
  }
  return found;
}
