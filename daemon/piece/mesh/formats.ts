/** Tells what format a file is, by its content first and its name last, and reads it. */

import { looksLikeAsciiStl, readAsciiStl } from './ascii-stl.ts';
import { binaryStlCount, readBinaryStl, statedCount, wrongSize } from './binary-stl.ts';
import { refuse } from './model.ts';
import type { Mesh, MeshFormat, MeshLimits } from './model.ts';
import { looksLikeObj, readObj } from './obj.ts';

/** The format of a file. Throws MeshError for one that is empty, too big or none of them. */
export function formatOf(bytes: Uint8Array, fileName: string, limits: MeshLimits): MeshFormat {
  requireSize(bytes.length, limits);
  if (binaryStlCount(bytes) !== null) return 'stl-binary';
  if (bytes[0] === 0x50 && bytes[1] === 0x4b && (bytes[2] === 3 || bytes[2] === 5)) return '3mf';
  if (looksLikeAsciiStl(bytes)) return 'stl-ascii';
  if (looksLikeObj(bytes)) return 'obj';
  return byName(bytes, fileName);
}

/** Throws MeshError for a size, in bytes, of nothing or of more than is read. */
export function requireSize(size: number, limits: MeshLimits): void {
  if (size === 0) {
    throw refuse('empty', 'file', '0 bytes', 'at least 1 byte', 'The file is empty.');
  }
  if (size > limits.maxBytes) throw tooBig(limits);
}

/** The refusal of a file above the limit. */
export function tooBig(limits: MeshLimits): Error {
  const most = `${limits.maxBytes / 1e6} MB`;
  const message = `The file has more than ${most}, the most that is read. Reduce the mesh.`;
  return refuse('tooBig', 'file', `over ${most}`, `at most ${most}`, message);
}

/** A damaged file does not look like its format any more; its name still says what it was. */
function byName(bytes: Uint8Array, fileName: string): MeshFormat {
  const name = fileName.toLowerCase();
  if (name.endsWith('.stl')) {
    if (bytes.length >= 84 && statedCount(bytes) > 0 && !isText(bytes)) throw wrongSize(bytes);
    return 'stl-ascii';
  }
  if (name.endsWith('.obj')) return 'obj';
  if (name.endsWith('.3mf')) return '3mf';
  const bound = 'STL, OBJ or 3MF';
  const message = 'The file is none that is read: STL (binary or ASCII), OBJ or 3MF.';
  throw refuse('unknownFormat', 'file', fileName === '' ? 'no name' : fileName, bound, message);
}

function isText(bytes: Uint8Array): boolean {
  return bytes.subarray(0, 512).every((byte) => byte >= 32 || (byte >= 9 && byte <= 13));
}

/** Reads a file of one of the formats that are not packed. Throws MeshError. */
export function readMesh(
  bytes: Uint8Array,
  format: Exclude<MeshFormat, '3mf'>,
  limits: MeshLimits,
): Mesh {
  switch (format) {
    case 'stl-binary':
      return requireTriangles(readBinaryStl(bytes, limits));
    case 'stl-ascii':
      return requireTriangles(readAsciiStl(bytes, limits));
    case 'obj':
      return requireTriangles(readObj(bytes, limits));
  }
}

/** Throws MeshError for a mesh without a triangle. */
export function requireTriangles(mesh: Mesh): Mesh {
  if (mesh.corners.length > 0) return mesh;
  if (mesh.collapsed === 0) {
    const message = 'The file holds no triangles.';
    throw refuse('noTriangles', 'triangles', 0, 'at least 1', message);
  }
  throw allDegenerate(mesh.collapsed);
}

/** The refusal of a mesh of which no triangle has area. */
export function allDegenerate(count: number): Error {
  const message = `None of the ${count} triangles has area.`;
  return refuse('allDegenerate', 'triangles', `${count} without area`, 'one with area', message);
}
