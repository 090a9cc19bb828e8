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
function drawnEdges(
  { mesh, twin, shells, normals }: Surface,
  across: number,
  up: number,
  view: number,
): Float64Array {
  const { vertices } = mesh;
  const { corners } = shells;
  const isDrawn = (h: number): boolean => {
    const other = twin[h] as number;
    if (other < 0) return true;
    if (other > h) return false;
    const f = 3 * ((h / 3) | 0);
    const g = 3 * ((other / 3) | 0);
    if ((normals[f + view] as number) >= 0 !== (normals[g + view] as number) >= 0) return true;
    const cosine =
      (normals[f] as number) * (normals[g] as number) +
      (normals[f + 1] as number) * (normals[g + 1] as number) +
      (normals[f + 2] as number) * (normals[g + 2] as number);
    return cosine < creaseCosine;
  };
  const drawn = new Uint8Array(corners.length);
  let count = 0;
  for (let h = 0; h < corners.length; h += 1) {
    if (!isDrawn(h)) continue;
    drawn[h] = 1;
    count += 1;
  }
  const lines = new Float64Array(4 * count);
  let at = 0;
  for (let h = 0; h < corners.length; h += 1) {
    if (drawn[h] === 0) continue;
    const a = 3 * (corners[h] as number);
    const b = 3 * (corners[nextOf(h)] as number);
    lines[at] = vertices[a + across] as number;
    lines[at + 1] = vertices[a + up] as number;
    lines[at + 2] = vertices[b + across] as number;
    lines[at + 3] = vertices[b + up] as number;
    at += 4;
  }
  return lines;
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
