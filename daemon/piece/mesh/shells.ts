/** Walks over paired triangles: which hang together, and which are wound against their neighbours. */

import { nextOf, previousOf } from './edges.ts';
import type { Edges } from './edges.ts';

export interface Shells {
  /** The shell of each triangle, from 0. */
  readonly shellOf: Int32Array;
  readonly count: number;
  /** Corners with every triangle wound as its neighbours are. */
  readonly corners: Int32Array;
  /** Triangles that were turned over for that. */
  readonly turned: number;
  /** Edges whose two triangles cannot agree: the surface has one side only. */
  readonly conflicts: number;
}

/** Finds the shells; changes `twin` along with the triangles that it turns over. */
export function findShells(given: Int32Array, { twin, agreed }: Edges): Shells {
  const triangles = given.length / 3;
  const shellOf = new Int32Array(triangles).fill(-1);
  const turn = new Uint8Array(triangles);
  const queue = new Int32Array(triangles);
  let count = 0;
  let turned = 0;
  let conflicts = 0;
  for (let seed = 0; seed < triangles; seed += 1) {
    if (shellOf[seed] !== -1) continue;
    shellOf[seed] = count;
    queue[0] = seed;
    let filled = 1;
    let turnedHere = 0;
    for (let taken = 0; taken < filled; taken += 1) {
      const f = queue[taken] as number;
      const own = turn[f] as number;
      for (let h = 3 * f; h < 3 * f + 3; h += 1) {
        const other = twin[h] as number;
        if (other < 0) continue;
        const g = (other / 3) | 0;
        const alike = !agreed && given[h] === given[other] ? 1 : 0;
        if (shellOf[g] === -1) {
          shellOf[g] = count;
          turn[g] = own ^ alike;
          turnedHere += own ^ alike;
          queue[filled] = g;
          filled += 1;
        } else if ((own ^ (turn[g] as number)) !== alike) conflicts += 1;
      }
    }
    // The fewest are turned: what most say is taken to be right.
    if (2 * turnedHere > filled) {
      for (let at = 0; at < filled; at += 1) {
        const f = queue[at] as number;
        turn[f] = 1 - (turn[f] as number);
      }
      turnedHere = filled - turnedHere;
    }
    turned += turnedHere;
    count += 1;
  }
  const corners = turned === 0 ? given : turnOver(given, twin, turn);
  return { shellOf, count, corners, turned, conflicts: conflicts / 2 };
}

function turnOver(given: Int32Array, twin: Int32Array, turn: Uint8Array): Int32Array {
  const corners = given.slice();
  for (let f = 0; f < turn.length; f += 1) {
    if (turn[f] === 0) continue;
    const h = 3 * f;
    corners[h + 1] = given[h + 2] as number;
    corners[h + 2] = given[h + 1] as number;
    // Turned over, the first and the last edge change places; the middle one stays.
    const first = twin[h] as number;
    const last = twin[h + 2] as number;
    twin[h] = last;
    twin[h + 2] = first;
    if (last >= 0) twin[last] = h;
    if (first >= 0) twin[first] = h + 2;
  }
  return corners;
}

/** Counts of one shell each: Euler characteristic, and loops of open edges. */
export interface ShellCounts {
  readonly euler: Int32Array;
  readonly openLoops: Int32Array;
  readonly openEdges: Int32Array;
}

/**
 * Vertices minus edges plus triangles. A place where a surface touches itself in one vertex counts
 * as many times as sheets pass through it.
 */
export function countShells(shells: Shells, twin: Int32Array): ShellCounts {
  const { shellOf, count, corners } = shells;
  const euler = new Int32Array(count);
  const openLoops = new Int32Array(count);
  const openEdges = new Int32Array(count);
  const seen = new Uint8Array(corners.length);
  for (let f = 0; f < shellOf.length; f += 1) {
    const shell = shellOf[f] as number;
    let change = 1;
    let open = 0;
    for (let h = 3 * f; h < 3 * f + 3; h += 1) {
      const other = twin[h] as number;
      if (other < h) change -= 1;
      if (other < 0) open += 1;
      if (seen[h] === 1) continue;
      change += 1;
      walkAround(h, corners, twin, seen);
    }
    if (change !== 0) euler[shell] = (euler[shell] as number) + change;
    if (open !== 0) openEdges[shell] = (openEdges[shell] as number) + open;
  }
  if (!openEdges.some((open) => open > 0)) return { euler, openLoops, openEdges };
  const looped = new Uint8Array(corners.length);
  for (let h = 0; h < corners.length; h += 1) {
    if ((twin[h] as number) >= 0 || looped[h] === 1) continue;
    const shell = shellOf[(h / 3) | 0] as number;
    openLoops[shell] = (openLoops[shell] as number) + 1;
    walkRim(h, corners, twin, looped);
  }
  return { euler, openLoops, openEdges };
}

/** Marks every corner of the fan around the vertex at which `start` begins. */
function walkAround(start: number, corners: Int32Array, twin: Int32Array, seen: Uint8Array): void {
  seen[start] = 1;
  // Once round, or where the fan is open one way to its end and then the other.
  walkFrom(previousOf(start), corners[start] as number, corners, twin, seen);
  walkFrom(start, corners[start] as number, corners, twin, seen);
}

/** Crosses one edge after the other; triangles that are wound the other way do not stop it. */
function walkFrom(
  edge: number,
  vertex: number,
  corners: Int32Array,
  twin: Int32Array,
  seen: Uint8Array,
): void {
  let crossed = twin[edge] as number;
  while (crossed >= 0) {
    const begins = corners[crossed] === vertex;
    const corner = begins ? crossed : nextOf(crossed);
    if (seen[corner] === 1) return;
    seen[corner] = 1;
    crossed = twin[begins ? previousOf(crossed) : corner] as number;
  }
}

/** Marks the open edges of one rim. */
function walkRim(start: number, corners: Int32Array, twin: Int32Array, looped: Uint8Array): void {
  let open = start;
  let vertex = corners[nextOf(start)];
  while (looped[open] === 0) {
    looped[open] = 1;
    let edge = corners[open] === vertex ? previousOf(open) : nextOf(open);
    for (let other = twin[edge] as number; other >= 0; other = twin[edge] as number) {
      edge = corners[other] === vertex ? previousOf(other) : nextOf(other);
    }
    open = edge;
    vertex = corners[open] === vertex ? corners[nextOf(open)] : corners[open];
  }
}
