/** Reads binary STL: an 80 byte header, a count, and 50 bytes for each triangle, little-endian. */

import { notFinite, refuse, tooManyTriangles } from './model.ts';
import type { Mesh, MeshLimits } from './model.ts';
import { Welder } from './welder.ts';

const headerBytes = 84;
const triangleBytes = 50;

/**
 * How many triangles a binary STL holds: the size of the file has to fit its count exactly. Null for
 * anything else. The word "solid" at the start says nothing: many binary files begin with it.
 */
export function binaryStlCount(bytes: Uint8Array): number | null {
  if (bytes.length < headerBytes) return null;
  const count = statedCount(bytes);
  return bytes.length === headerBytes + triangleBytes * count ? count : null;
}

/** The count that a binary STL of at least 84 bytes states in its header. */
export function statedCount(bytes: Uint8Array): number {
  return new DataView(bytes.buffer, bytes.byteOffset).getUint32(80, true);
}

/** The refusal of what looks like a binary STL of the wrong size. */
export function wrongSize(bytes: Uint8Array): Error {
  const stated = statedCount(bytes);
  const whole = Math.floor((bytes.length - headerBytes) / triangleBytes);
  const wanted = headerBytes + triangleBytes * stated;
  if (stated > whole) {
    return refuse(
      'truncated',
      'file',
      `${bytes.length} bytes`,
      `${wanted} bytes for ${stated} triangles`,
      `The file ends after triangle ${whole} of ${stated}. Copy or export it again.`,
    );
  }
  return refuse(
    'broken',
    'file',
    `${bytes.length} bytes`,
    `${wanted} bytes for ${stated} triangles`,
    `The file states ${stated} triangles, which take ${wanted} bytes, but has ${bytes.length}.`,
  );
}

/** Reads the triangles. The stored normals are not used: they are often zero. */
export function readBinaryStl(bytes: Uint8Array, limits: MeshLimits): Mesh {
  const count = binaryStlCount(bytes);
  if (count === null) throw wrongSize(bytes);
  if (count > limits.maxTriangles) throw tooManyTriangles(String(count), limits);
  const welder = new Welder(count, limits);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  // Corners of two triangles in turn: neighbours mostly follow one another and share two of them.
  const words = new Uint32Array(18);
  const numbers = new Float32Array(words.buffer);
  const found = new Int32Array(6);
  for (let triangle = 0; triangle < count; triangle += 1) {
    const own = (triangle & 1) * 3;
    const before = 3 - own;
    const start = headerBytes + triangleBytes * triangle + 12;
    for (let corner = 0; corner < 3; corner += 1) {
      const from = start + 12 * corner;
      const x = plain(view.getUint32(from, true));
      const y = plain(view.getUint32(from + 4, true));
      const z = plain(view.getUint32(from + 8, true));
      const at = 3 * (own + corner);
      words[at] = x;
      words[at + 1] = y;
      words[at + 2] = z;
      let vertex = -1;
      for (let other = before; other < before + 3; other += 1) {
        if (words[3 * other] === x && words[3 * other + 1] === y && words[3 * other + 2] === z) {
          vertex = found[other] as number;
        }
      }
      if (vertex < 0 || triangle === 0) {
        if (isNotFinite(x) || isNotFinite(y) || isNotFinite(z)) {
          throw notFinite(`triangle ${triangle + 1}`, notFiniteAmong(numbers.subarray(at, at + 3)));
        }
        vertex = welder.vertexHashed(
          numbers[at] as number,
          numbers[at + 1] as number,
          numbers[at + 2] as number,
          hashOfWords(x, y, z),
        );
      }
      found[own + corner] = vertex;
    }
    welder.triangle(found[own] as number, found[own + 1] as number, found[own + 2] as number);
  }
  return { format: 'stl-binary', unit: null, ...welder.finish(), notes: [] };
}

/** -0 and 0 are the same place and have to have the same bits. */
function plain(word: number): number {
  return word === 0x80000000 ? 0 : word;
}

function isNotFinite(word: number): boolean {
  return (word & 0x7f800000) === 0x7f800000;
}

function hashOfWords(x: number, y: number, z: number): number {
  let hash = Math.imul(x, 0x9e3779b1);
  hash ^= hash >>> 15;
  hash = Math.imul(hash ^ y, 0x85ebca77);
  hash ^= hash >>> 13;
  hash = Math.imul(hash ^ z, 0xc2b2ae3d);
  return hash ^ (hash >>> 16);
}

function notFiniteAmong(numbers: Float32Array): string {
  return String(numbers.find((value) => !Number.isFinite(value)));
}
