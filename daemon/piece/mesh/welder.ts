/** Gathers triangles and welds corners at exactly the same coordinates into one vertex. */

import { tooManyTriangles } from './model.ts';
import type { MeshLimits } from './model.ts';

const bits = new Uint32Array(2);
const asFloat = new Float64Array(bits.buffer);

/** A hash of three coordinates from their raw bits; the caller has turned -0 into 0. */
export function hashOf(x: number, y: number, z: number): number {
  asFloat[0] = x;
  let hash = Math.imul((bits[0] as number) ^ Math.imul(bits[1] as number, 0x85ebca6b), 0x9e3779b1);
  asFloat[0] = y;
  hash ^= hash >>> 15;
  hash = Math.imul(
    hash ^ (bits[0] as number) ^ Math.imul(bits[1] as number, 0xc2b2ae35),
    0x85ebca77,
  );
  asFloat[0] = z;
  hash ^= hash >>> 13;
  hash = Math.imul(
    hash ^ (bits[0] as number) ^ Math.imul(bits[1] as number, 0x27d4eb2f),
    0xc2b2ae3d,
  );
  return hash ^ (hash >>> 16);
}

/**
 * An open-addressing table over the vertices of one body. Memory that no triangle touches is never
 * resident, so the arrays are made as long as the limits allow at once.
 */
export class Welder {
  readonly #limits: MeshLimits;
  readonly #vertices: Float64Array;
  readonly #hashes: Int32Array;
  readonly #corners: Int32Array;
  #table: Int32Array;
  #mask: number;
  #vertexCount = 0;
  /** First vertex of the body at hand; earlier bodies are not welded to it. */
  #bodyStart = 0;
  #triangleCount = 0;
  #collapsed = 0;

  /** Room for at most `mostTriangles`; adding more than the limits allow throws MeshError. */
  constructor(mostTriangles: number, limits: MeshLimits) {
    const room = Math.min(mostTriangles, limits.maxTriangles);
    this.#limits = limits;
    this.#vertices = new Float64Array(9 * room);
    this.#hashes = new Int32Array(3 * room);
    this.#corners = new Int32Array(3 * room);
    // A closed mesh has half as many vertices as triangles: the table then is at most half full.
    const slots = 2 ** Math.max(6, Math.ceil(Math.log2(Math.max(1, room))));
    this.#table = new Int32Array(slots);
    this.#mask = slots - 1;
  }

  get triangleCount(): number {
    return this.#triangleCount + this.#collapsed;
  }

  /** Vertices added from here on are not welded to those before: bodies may touch. */
  startBody(): void {
    if (this.#vertexCount === this.#bodyStart) return;
    this.#table.fill(0);
    this.#bodyStart = this.#vertexCount;
  }

  /** The number of the vertex at these finite coordinates. */
  vertex(x: number, y: number, z: number): number {
    // Adding 0 turns -0 into 0, which is the same place.
    return this.vertexHashed(x + 0, y + 0, z + 0, hashOf(x + 0, y + 0, z + 0));
  }

  /** The same where the caller has a hash already; equal coordinates need equal hashes. */
  vertexHashed(x: number, y: number, z: number, hash: number): number {
    const vertices = this.#vertices;
    const table = this.#table;
    const mask = this.#mask;
    let slot = hash & mask;
    for (;;) {
      const entry = table[slot] as number;
      if (entry === 0) break;
      const at = 3 * (entry - 1);
      if (vertices[at] === x && vertices[at + 1] === y && vertices[at + 2] === z) return entry - 1;
      slot = (slot + 1) & mask;
    }
    const vertex = this.#vertexCount;
    if (3 * vertex >= vertices.length) throw this.#full();
    vertices[3 * vertex] = x;
    vertices[3 * vertex + 1] = y;
    vertices[3 * vertex + 2] = z;
    this.#hashes[vertex] = hash;
    table[slot] = vertex + 1;
    this.#vertexCount = vertex + 1;
    if (2 * (vertex + 1 - this.#bodyStart) > mask) this.#grow();
    return vertex;
  }

  /** Adds a triangle by its vertices; one with two corners in one place is counted and left out. */
  triangle(a: number, b: number, c: number): void {
    if (a === b || b === c || c === a) {
      this.#collapsed += 1;
      return;
    }
    const at = 3 * this.#triangleCount;
    if (at >= this.#corners.length) throw this.#full();
    this.#corners[at] = a;
    this.#corners[at + 1] = b;
    this.#corners[at + 2] = c;
    this.#triangleCount += 1;
  }

  /** What was gathered. The arrays are views; nothing may be added afterwards. */
  finish(): {
    readonly vertices: Float64Array;
    readonly corners: Int32Array;
    readonly collapsed: number;
  } {
    return {
      vertices: this.#vertices.subarray(0, 3 * this.#vertexCount),
      corners: this.#corners.subarray(0, 3 * this.#triangleCount),
      collapsed: this.#collapsed,
    };
  }

  #full(): Error {
    return tooManyTriangles(
      `more than ${this.#limits.maxTriangles.toLocaleString('en')}`,
      this.#limits,
    );
  }

  #grow(): void {
    const table = new Int32Array(2 * this.#table.length);
    const mask = table.length - 1;
    for (let vertex = this.#bodyStart; vertex < this.#vertexCount; vertex += 1) {
      let slot = (this.#hashes[vertex] as number) & mask;
      while (table[slot] !== 0) slot = (slot + 1) & mask;
      table[slot] = vertex + 1;
    }
    this.#table = table;
    this.#mask = mask;
  }
}
