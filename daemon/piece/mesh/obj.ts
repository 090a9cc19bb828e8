/** Reads OBJ: vertices and faces; groups, normals, textures and materials carry no geometry. */

import { notFinite, refuse } from './model.ts';
import type { Mesh, MeshLimits } from './model.ts';
import { cutPolygon } from './polygon.ts';
import { textOf, TextScanner } from './text-scanner.ts';
import { Welder } from './welder.ts';

/** Statements of the format that describe curved surfaces, which have no triangles to read. */
const curved: ReadonlySet<string> = new Set(['cstype', 'curv', 'curv2', 'surf']);

/** Fewest bytes of a vertex ("v 0 0 0") and of a corner of a face (" 1") with their ends. */
const leastVertexBytes = 8;
const leastCornerBytes = 2;

/** Whether the first statement that counts is one of the format's. */
export function looksLikeObj(bytes: Uint8Array): boolean {
  const scanner = new TextScanner(bytes.subarray(0, 65_536));
  for (let lines = 0; lines < 1000 && !scanner.ended; lines += 1) {
    scanner.skipSpace();
    const start = scanner.at;
    scanner.skipWord();
    const word = textOf(scanner.bytes, start, Math.min(scanner.at, start + 12));
    if (/^(v|f|vn|vt)$/.test(word)) {
      scanner.skipBlanks();
      return Number.isFinite(scanner.number());
    }
    if (!/^(#|o$|g$|s$|mtllib$|usemtl$|vp$|l$|p$)/.test(word)) return false;
    skipStatement(scanner);
  }
  return false;
}

/** Reads every face; one with more than three corners is cut into triangles. */
export function readObj(bytes: Uint8Array, limits: MeshLimits): Mesh {
  return new ObjReader(bytes, limits).read();
}

class ObjReader {
  readonly #scanner: TextScanner;
  readonly #welder: Welder;
  /** As listed in the file, which may list a place twice. */
  readonly #coordinates: Float64Array;
  /** The welded vertex of each one listed. */
  readonly #welded: Int32Array;
  #listed = 0;
  #faces = 0;
  #corners: number[] = [];

  constructor(bytes: Uint8Array, limits: MeshLimits) {
    this.#scanner = new TextScanner(bytes);
    const most = Math.min(bytes.length / leastVertexBytes + 1, 3 * limits.maxTriangles);
    this.#coordinates = new Float64Array(3 * Math.ceil(most));
    this.#welded = new Int32Array(Math.ceil(most));
    this.#welder = new Welder(Math.ceil(bytes.length / leastCornerBytes) + 1, limits);
  }

  read(): Mesh {
    const scanner = this.#scanner;
    while (!scanner.ended) {
      scanner.skipSpace();
      if (scanner.ended) break;
      this.#statement();
      skipStatement(scanner);
    }
    return { format: 'obj', unit: null, ...this.#welder.finish(), notes: [] };
  }

  #statement(): void {
    const scanner = this.#scanner;
    const { bytes, at } = scanner;
    const first = bytes[at];
    const short = (bytes[at + 1] ?? 32) <= 32;
    if (first === 118 && short) {
      scanner.at = at + 1;
      this.#vertex();
    } else if (first === 102 && short) {
      scanner.at = at + 1;
      this.#face();
    } else if (first !== 35) this.#other();
  }

  #vertex(): void {
    const at = 3 * this.#listed;
    if (at >= this.#coordinates.length) {
      const most = this.#welded.length;
      throw refuse(
        'outOfRange',
        'vertices',
        `more than ${most}`,
        `at most ${most}`,
        `The file lists more than ${most} vertices; that is more than its triangles can have.`,
      );
    }
    for (let axis = 0; axis < 3; axis += 1) {
      this.#skipGap();
      const value = this.#scanner.number();
      if (!Number.isFinite(value)) throw this.#badNumber(value);
      this.#coordinates[at + axis] = value;
    }
    if (!this.#atGap()) throw this.#scanner.unexpected('broken', 'a number');
    this.#welded[this.#listed] = -1;
    this.#listed += 1;
  }

  #badNumber(value: number): Error {
    const scanner = this.#scanner;
    const word = scanner.shown();
    if (Math.abs(value) === Infinity) {
      return notFinite(`vertex ${this.#listed + 1}`, String(value));
    }
    if (/^[+-]?nan/i.test(word)) return notFinite(`vertex ${this.#listed + 1}`, word);
    return scanner.unexpected('broken', 'a number');
  }

  /** A corner is `v`, `v/vt`, `v//vn` or `v/vt/vn`; only the vertex counts. */
  #face(): void {
    const scanner = this.#scanner;
    const corners = this.#corners;
    corners.length = 0;
    for (;;) {
      this.#skipGap();
      if (scanner.atLineEnd()) break;
      // A comment may follow on the line.
      if (scanner.bytes[scanner.at] === 35) break;
      corners.push(this.#vertexNumber());
      scanner.skipWord();
    }
    this.#faces += 1;
    if (corners.length < 3) {
      throw scanner.unexpected('broken', `at least 3 corners for face ${this.#faces}`);
    }
    const { length } = corners;
    if (length === 3) this.#triangle(0, 1, 2);
    else {
      const distinct = corners.filter((corner, at) => corner !== corners[(at + 1) % length]);
      this.#corners = distinct;
      cutPolygon(distinct, this.#coordinates, `face ${this.#faces}`, (a, b, c) =>
        this.#triangle(a, b, c),
      );
      this.#corners = corners;
    }
  }

  #triangle(a: number, b: number, c: number): void {
    this.#welder.triangle(this.#weld(a), this.#weld(b), this.#weld(c));
  }

  /** Only vertices that a face uses are welded: the others are no part of the surface. */
  #weld(place: number): number {
    const listed = this.#corners[place] as number;
    const known = this.#welded[listed] as number;
    if (known >= 0) return known;
    const at = 3 * listed;
    const coordinates = this.#coordinates;
    const vertex = this.#welder.vertex(
      coordinates[at] as number,
      coordinates[at + 1] as number,
      coordinates[at + 2] as number,
    );
    this.#welded[listed] = vertex;
    return vertex;
  }

  #vertexNumber(): number {
    const scanner = this.#scanner;
    const start = scanner.at;
    const value = scanner.number();
    const end = scanner.bytes[scanner.at] ?? 32;
    if (!Number.isInteger(value) || (end > 32 && end !== 47)) {
      scanner.at = start;
      throw scanner.unexpected('broken', 'the number of a vertex');
    }
    // A negative number counts back from the vertex listed last.
    const listed = value < 0 ? this.#listed + value : value - 1;
    if (value !== 0 && listed >= 0 && listed < this.#listed) return listed;
    throw refuse(
      'outOfRange',
      `face ${this.#faces + 1}`,
      value,
      `1 to ${this.#listed}`,
      `Face ${this.#faces + 1} names vertex ${value}; only ${this.#listed} are listed before it.`,
    );
  }

  /** Blanks, and a backslash at the end of a line, which goes on in the next. */
  #skipGap(): void {
    const scanner = this.#scanner;
    for (;;) {
      scanner.skipBlanks();
      if (!atContinuation(scanner)) return;
      scanner.skipLine();
    }
  }

  #atGap(): boolean {
    const { bytes, at } = this.#scanner;
    return (bytes[at] ?? 32) <= 32 || bytes[at] === 35 || atContinuation(this.#scanner);
  }

  #other(): void {
    const scanner = this.#scanner;
    const start = scanner.at;
    scanner.skipWord();
    const word = textOf(scanner.bytes, start, Math.min(scanner.at, start + 12));
    scanner.at = start;
    if (curved.has(word)) {
      throw scanner.unexpected('unsupported', 'faces; curved surfaces are not read');
    }
  }
}

function atContinuation(scanner: TextScanner): boolean {
  const { bytes, at } = scanner;
  if (bytes[at] !== 92) return false;
  const next = bytes[at + 1];
  return next === 10 || (next === 13 && bytes[at + 2] === 10);
}

/** Skips the rest of a statement, with the lines on which it goes on. */
function skipStatement(scanner: TextScanner): void {
  const { bytes } = scanner;
  for (;;) {
    scanner.skipLine();
    let last = scanner.at - 2;
    if (bytes[last] === 13) last -= 1;
    if (scanner.ended || bytes[last] !== 92) return;
  }
}
