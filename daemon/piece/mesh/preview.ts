/** A light drawing of a mesh: its outlines and creases as at most 2,000 lines on a plane. */

import { nextOf } from './edges.ts';
import { sizeOf } from './surface.ts';
import type { Surface } from './surface.ts';

export interface MeshPreview {
  /** The two longest axes of the mesh, across and up. */
  readonly axes: readonly [MeshAxis, MeshAxis];
  /** Extents along them, in units of the mesh. */
  readonly width: number;
  readonly height: number;
  /** x1, y1, x2, y2 of each line, in units of the mesh from the lower left corner, y up. */
  readonly segments: readonly number[];
}

export type MeshAxis = 'x' | 'y' | 'z';

export const mostSegments = 2000;
/** A crease shows when the faces beside it differ by more than 30 degrees. */
const creaseCosine = Math.cos(Math.PI / 6);
const finestCells = 1024;
const names: readonly MeshAxis[] = ['x', 'y', 'z'];

/** The edges of a surface as seen along its shortest axis. */
export function previewOf(surface: Surface): MeshPreview {
  const extents = sizeOf(surface.box);
  const order = [0, 1, 2].toSorted((a, b) => (extents[b] ?? 0) - (extents[a] ?? 0));
  const [across = 0, up = 1, view = 2] = order;
  const lines = drawnEdges(surface, across, up, view);
  const width = extents[across] ?? 0;
  const height = extents[up] ?? 0;
  const origin = [surface.box.min[across] ?? 0, surface.box.min[up] ?? 0] as const;
  let segments: number[] = [];
  // Coarser and coarser, until few enough different lines are left.
  for (let cells = finestCells; cells >= 1; cells /= 2) {
    segments = snapped(lines, origin, width / cells);
    if (segments.length <= 4 * mostSegments) break;
  }
  return { axes: [names[across] ?? 'x', names[up] ?? 'y'], width, height, segments };
}

/** Ends of every edge where the surface turns away from the viewer, ends, or is creased. */
function drawnEdges(surface: Surface, across: number, up: number, view: number): Float64Array {
  const { vertices } = surface.mesh;
  const { corners } = surface.shells;
  const drawn = findDrawn(surface, view);
  const lines = new Float64Array(4 * drawn.length);
  for (let index = 0; index < drawn.length; index += 1) {
    const h = drawn[index] as number;
    const a = 3 * (corners[h] as number);
    const b = 3 * (corners[nextOf(h)] as number);
    lines[4 * index] = vertices[a + across] as number;
    lines[4 * index + 1] = vertices[a + up] as number;
    lines[4 * index + 2] = vertices[b + across] as number;
    lines[4 * index + 3] = vertices[b + up] as number;
  }
  return lines;
}

function findDrawn({ twin, normals }: Surface, view: number): Int32Array {
  let drawn = new Int32Array(4096);
  let count = 0;
  for (let f = 0; f < twin.length; f += 3) {
    const nx = normals[f] as number;
    const ny = normals[f + 1] as number;
    const nz = normals[f + 2] as number;
    const towards = (normals[f + view] as number) >= 0;
    for (let h = f; h < f + 3; h += 1) {
      const other = twin[h] as number;
      if (other > h) continue;
      if (other >= 0) {
        const g = 3 * ((other / 3) | 0);
        const cosine =
          nx * (normals[g] as number) +
          ny * (normals[g + 1] as number) +
          nz * (normals[g + 2] as number);
        const turns = (normals[g + view] as number) >= 0 !== towards;
        if (!turns && cosine >= creaseCosine) continue;
      }
      if (count === drawn.length) {
        const grown = new Int32Array(2 * count);
        grown.set(drawn);
        drawn = grown;
      }
      drawn[count] = h;
      count += 1;
    }
  }
  return drawn.subarray(0, count);
}

/** Lines with their ends moved onto a grid; equal ones once, and none that has become a point. */
function snapped(lines: Float64Array, origin: readonly [number, number], cell: number): number[] {
  const size = cell > 0 ? cell : 1;
  const seen = new Set<number>();
  const segments: number[] = [];
  const stride = 2 * finestCells;
  for (let at = 0; at < lines.length; at += 4) {
    const x1 = Math.round(((lines[at] as number) - origin[0]) / size);
    const y1 = Math.round(((lines[at + 1] as number) - origin[1]) / size);
    const x2 = Math.round(((lines[at + 2] as number) - origin[0]) / size);
    const y2 = Math.round(((lines[at + 3] as number) - origin[1]) / size);
    const first = x1 * stride + y1;
    const second = x2 * stride + y2;
    if (first === second) continue;
    const low = Math.min(first, second);
    const key = low * stride * stride + Math.max(first, second);
    if (seen.has(key)) continue;
    seen.add(key);
    segments.push(neat(x1 * size), neat(y1 * size), neat(x2 * size), neat(y2 * size));
    if (segments.length > 4 * mostSegments) return segments;
  }
  return segments;
}

/** Six digits are finer than any screen. */
function neat(value: number): number {
  return Number(value.toPrecision(6));
}
