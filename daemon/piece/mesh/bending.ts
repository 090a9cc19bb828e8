/** The mean-curvature term of a faceted surface, edge by edge, and where it closes in on itself. */

import { nextOf } from './edges.ts';
import type { ShellFacing } from './enclosure.ts';
import type { Surface } from './surface.ts';

export interface Bending {
  /** Half the sum of edge length times exterior angle, in units of the mesh. */
  readonly meanCurvature: number;
  /** Length of open edges, in units of the mesh. */
  readonly openLength: number;
  /** Edges that turn inwards by more than rounding. */
  readonly concaveEdges: number;
  /** Thickness at which the first face beside a concave edge is grown over; null without one. */
  readonly concaveLimit: number | null;
  /** Concave edges sharper than `sharpestTangent`, which were counted as that. */
  readonly cracks: number;
}

/**
 * Beyond this tangent of half the angle a concave edge is a crack of less than 12 degrees. Metal
 * bridges it at once, and its own term, which has no bound, would drown all others.
 */
const sharpestTangent = 10;
/** Faces folded back onto one another, within this cosine, are the rim of a sheet, not a crack. */
const foldedCosine = -1 + 5e-7;
/** Below this square of its sine, an angle of 2e-6, an edge is flat within rounding. */
const flatSquare = 4e-12;

/**
 * Sums over every edge that the bath reaches. A convex edge grows by the sector of a cylinder, so it
 * counts its exterior angle; at a concave edge both faces lose a strip of thickness times tan(angle
 * / 2), so it counts -2 tan(angle / 2). On a fine mesh of a curved surface both tend to the angle,
 * and the sum to the integral of mean curvature.
 */
export function bendingOf(surface: Surface, { facing, enclosed }: ShellFacing): Bending {
  const { mesh, twin, shells, normals, doubleAreas, needles } = surface;
  const { vertices } = mesh;
  const { corners, shellOf } = shells;
  let sum = 0;
  let openLength = 0;
  let concaveEdges = 0;
  let concaveLimit = Infinity;
  let cracks = 0;
  for (let h = 0; h < corners.length; h += 1) {
    const other = twin[h] as number;
    if (other > h) continue;
    const f = (h / 3) | 0;
    const shell = shellOf[f] as number;
    if (enclosed[shell] === 1) continue;
    const a = 3 * (corners[h] as number);
    const b = 3 * (corners[nextOf(h)] as number);
    const ex = (vertices[b] as number) - (vertices[a] as number);
    const ey = (vertices[b + 1] as number) - (vertices[a + 1] as number);
    const ez = (vertices[b + 2] as number) - (vertices[a + 2] as number);
    if (other < 0) {
      openLength += Math.sqrt(ex * ex + ey * ey + ez * ez);
      continue;
    }
    // Two triangles that cannot agree on a side have no angle between them.
    if (corners[h] === corners[other]) continue;
    const g = (other / 3) | 0;
    const mx = normals[3 * f] as number;
    const my = normals[3 * f + 1] as number;
    const mz = normals[3 * f + 2] as number;
    const nx = normals[3 * g] as number;
    const ny = normals[3 * g + 1] as number;
    const nz = normals[3 * g + 2] as number;
    const cosine = mx * nx + my * ny + mz * nz;
    const cx = my * nz - mz * ny;
    const cy = mz * nx - mx * nz;
    const cz = mx * ny - my * nx;
    const square = cx * cx + cy * cy + cz * cz;
    const lengthSquare = ex * ex + ey * ey + ez * ez;
    // Length times sine of the exterior angle, below 0 where the edge is concave.
    const lengthSine = (cx * ex + cy * ey + cz * ez) * (facing[shell] as number);
    const bend = bendOf(lengthSquare, lengthSine, square, cosine);
    sum += bend;
    if (bend >= 0) continue;
    if (bend <= -2 * sharpestTangent * Math.sqrt(lengthSquare)) cracks += 1;
    if (square < flatSquare || needles[f] === 1 || needles[g] === 1) continue;
    concaveEdges += 1;
    // A face may be closed in on from its far side too: half its height is the safe reading.
    const low = Math.min(doubleAreas[f] as number, doubleAreas[g] as number);
    concaveLimit = Math.min(concaveLimit, -low / bend);
  }
  return {
    meanCurvature: sum / 2,
    openLength,
    concaveEdges,
    concaveLimit: concaveLimit === Infinity ? null : concaveLimit,
    cracks,
  };
}

/**
 * Length times angle of a convex edge; -2 tan(angle / 2) times length of a concave one, where
 * tan(angle / 2) is sine / (1 + cosine). `square` is that of the sine.
 */
function bendOf(lengthSquare: number, lengthSine: number, square: number, cosine: number): number {
  if (lengthSine < 0 && cosine >= foldedCosine) {
    const most = sharpestTangent * Math.sqrt(lengthSquare);
    return -2 * Math.min(-lengthSine / (1 + cosine), most);
  }
  if (square < seriesSquare && cosine > 0) return lengthSine * angleOverSine(square);
  return Math.sqrt(lengthSquare) * Math.atan2(Math.sqrt(square), cosine);
}

/** Up to this square of the sine the series below is exact to the last digits. */
const seriesSquare = 4e-4;

/** An angle over its sine, from the square of the sine: the series of the arc sine. */
function angleOverSine(square: number): number {
  return 1 + square * (1 / 6 + square * (3 / 40 + square * (15 / 336)));
}
