/** Finds shells that lie inside others, where no bath can reach them, and shells turned inside out. */

import type { ShellCounts } from './shells.ts';
import type { Surface } from './surface.ts';

export interface ShellFacing {
  /** 1 where the shell faces outwards as it is wound, -1 where it has to be turned over. */
  readonly facing: Int8Array;
  /** 1 for a closed shell inside another closed one. */
  readonly enclosed: Uint8Array;
  /** False where there are too many shells to look which lies in which. */
  readonly examined: boolean;
}

/** More shells than this are not compared with one another. */
const mostShells = 2000;
/** Bound on the triangles looked at for the question what lies in what. */
const mostSteps = 40_000_000;

/** Decides for each shell whether it is turned over and whether it is enclosed. */
export function faceShells(surface: Surface, counts: ShellCounts): ShellFacing {
  const { count } = surface.shells;
  const facing = new Int8Array(count).fill(1);
  const enclosed = new Uint8Array(count);
  const around = new Int32Array(count).fill(-1);
  const closed = (shell: number): boolean => counts.openEdges[shell] === 0;
  const examined = count <= mostShells && findEnclosed(surface, closed, around);
  for (let shell = 0; shell < count; shell += 1) {
    const backwards = (surface.volumes[shell] as number) < 0;
    if (around[shell] !== -1) enclosed[shell] = 1;
    else if (closed(shell) && backwards) facing[shell] = -1;
  }
  // A cavity is wound the other way, and rightly so: it is turned when the body around it is.
  for (let shell = 0; shell < count; shell += 1) {
    let outer = shell;
    while (around[outer] !== -1) outer = around[outer] as number;
    facing[shell] = facing[outer] as number;
  }
  return { facing, enclosed, examined };
}

interface Bounds {
  readonly min: Float64Array;
  readonly max: Float64Array;
  /** A vertex of each shell. */
  readonly sample: Int32Array;
  readonly triangles: Int32Array;
}

function boundsOf({ mesh, shells }: Surface): Bounds {
  const { count, shellOf, corners } = shells;
  const min = new Float64Array(3 * count).fill(Infinity);
  const max = new Float64Array(3 * count).fill(-Infinity);
  const sample = new Int32Array(count);
  const triangles = new Int32Array(count);
  for (let h = 0; h < corners.length; h += 1) {
    const shell = shellOf[(h / 3) | 0] as number;
    const vertex = corners[h] as number;
    sample[shell] = vertex;
    if (h % 3 === 0) triangles[shell] = (triangles[shell] as number) + 1;
    for (let axis = 0; axis < 3; axis += 1) {
      const value = mesh.vertices[3 * vertex + axis] as number;
      const at = 3 * shell + axis;
      if (value < (min[at] as number)) min[at] = value;
      if (value > (max[at] as number)) max[at] = value;
    }
  }
  return { min, max, sample, triangles };
}

/** Writes the shell around each; false when the bound on the work was met before all was looked at. */
function findEnclosed(
  surface: Surface,
  closed: (shell: number) => boolean,
  around: Int32Array,
): boolean {
  const { count, shellOf } = surface.shells;
  if (count < 2) return true;
  const bounds = boundsOf(surface);
  let steps = 0;
  for (let inner = 0; inner < count; inner += 1) {
    if (!closed(inner)) continue;
    for (let outer = 0; outer < count; outer += 1) {
      if (outer === inner || !closed(outer) || !boxWithin(bounds, inner, outer)) continue;
      steps += shellOf.length;
      if (steps > mostSteps) return false;
      if (Math.abs(windingAt(surface, outer, bounds.sample[inner] as number)) < 0.5) continue;
      around[inner] = outer;
      break;
    }
  }
  return true;
}

function boxWithin({ min, max }: Bounds, inner: number, outer: number): boolean {
  for (let axis = 0; axis < 3; axis += 1) {
    const a = 3 * inner + axis;
    const b = 3 * outer + axis;
    if ((min[a] as number) <= (min[b] as number) || (max[a] as number) >= (max[b] as number)) {
      return false;
    }
  }
  return true;
}

/**
 * How many times a shell winds around a vertex: the sum of the solid angles of its triangles over
 * 4 pi, by the formula of van Oosterom and Strackee (1983).
 */
function windingAt({ mesh, shells }: Surface, shell: number, vertex: number): number {
  const { vertices } = mesh;
  const { corners, shellOf } = shells;
  const px = vertices[3 * vertex] as number;
  const py = vertices[3 * vertex + 1] as number;
  const pz = vertices[3 * vertex + 2] as number;
  let sum = 0;
  for (let f = 0; f < shellOf.length; f += 1) {
    if (shellOf[f] !== shell) continue;
    const a = 3 * (corners[3 * f] as number);
    const b = 3 * (corners[3 * f + 1] as number);
    const c = 3 * (corners[3 * f + 2] as number);
    const ax = (vertices[a] as number) - px;
    const ay = (vertices[a + 1] as number) - py;
    const az = (vertices[a + 2] as number) - pz;
    const bx = (vertices[b] as number) - px;
    const by = (vertices[b + 1] as number) - py;
    const bz = (vertices[b + 2] as number) - pz;
    const cx = (vertices[c] as number) - px;
    const cy = (vertices[c + 1] as number) - py;
    const cz = (vertices[c + 2] as number) - pz;
    const ra = Math.sqrt(ax * ax + ay * ay + az * az);
    const rb = Math.sqrt(bx * bx + by * by + bz * bz);
    const rc = Math.sqrt(cx * cx + cy * cy + cz * cz);
    const volume = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
    const rest =
      ra * rb * rc +
      (ax * bx + ay * by + az * bz) * rc +
      (bx * cx + by * cy + bz * cz) * ra +
      (cx * ax + cy * ay + cz * az) * rb;
    sum += Math.atan2(volume, rest);
  }
  return sum / (2 * Math.PI);
}
