/** Reads ASCII STL by its grammar: solid, facets of one loop with three corners each, endsolid. */

import { notFinite, refuse } from './model.ts';
import type { Mesh, MeshLimits } from './model.ts';
import { TextScanner, wordBytes } from './text-scanner.ts';
import { Welder } from './welder.ts';

const solid = wordBytes('solid');
const facet = wordBytes('facet');
const normal = wordBytes('normal');
const outer = wordBytes('outer');
const loop = wordBytes('loop');
const vertex = wordBytes('vertex');
const endLoop = wordBytes('endloop');
const endFacet = wordBytes('endfacet');
const endSolid = wordBytes('endsolid');

/** Fewest bytes a facet can have, which bounds their number before any is read. */
const leastFacetBytes = 60;

/** Whether the file begins as an ASCII STL does. Binary ones may too; their size is asked first. */
export function looksLikeAsciiStl(bytes: Uint8Array): boolean {
  const scanner = new TextScanner(bytes.subarray(0, 4096));
  scanner.skipSpace();
  if (!scanner.take(solid)) return false;
  scanner.skipLine();
  while (!scanner.ended) {
    scanner.skipSpace();
    if (scanner.take(facet) || scanner.take(endSolid)) return true;
    scanner.skipWord();
  }
  return false;
}

/** Reads every solid of the file as one mesh. */
export function readAsciiStl(bytes: Uint8Array, limits: MeshLimits): Mesh {
  const scanner = new TextScanner(bytes);
  const most = Math.ceil(bytes.length / leastFacetBytes);
  const welder = new Welder(most, limits);
  scanner.skipSpace();
  if (!scanner.take(solid)) throw scanner.unexpected('broken', 'the word "solid"');
  do {
    scanner.skipLine();
    scanner.skipSpace();
    while (scanner.take(facet)) {
      readFacet(scanner, welder);
      scanner.skipSpace();
    }
    expectWord(scanner, welder, endSolid, '"facet" or "endsolid"');
    scanner.skipLine();
    scanner.skipSpace();
  } while (scanner.take(solid));
  if (!scanner.ended) throw scanner.unexpected('broken', '"solid" or the end of the file');
  return { format: 'stl-ascii', unit: null, ...welder.finish(), notes: [] };
}

function readFacet(scanner: TextScanner, welder: Welder): void {
  expectWord(scanner, welder, normal, '"normal"');
  // The stored normal is not used, and it may hold anything where the triangle has no area.
  for (let index = 0; index < 3; index += 1) {
    scanner.skipSpace();
    scanner.skipWord();
  }
  expectWord(scanner, welder, outer, '"outer"');
  expectWord(scanner, welder, loop, '"loop"');
  const a = readVertex(scanner, welder);
  const b = readVertex(scanner, welder);
  const c = readVertex(scanner, welder);
  expectWord(scanner, welder, endLoop, '"endloop" after three corners');
  expectWord(scanner, welder, endFacet, '"endfacet"');
  welder.triangle(a, b, c);
}

function readVertex(scanner: TextScanner, welder: Welder): number {
  expectWord(scanner, welder, vertex, '"vertex"');
  const x = readNumber(scanner, welder);
  const y = readNumber(scanner, welder);
  const z = readNumber(scanner, welder);
  return welder.vertex(x, y, z);
}

function readNumber(scanner: TextScanner, welder: Welder): number {
  scanner.skipSpace();
  if (scanner.ended) throw truncated(scanner, welder);
  const shown = scanner.at;
  const value = scanner.number();
  // A number that ends with the file may have lost its last digits.
  if (scanner.ended) throw truncated(scanner, welder);
  if (Number.isFinite(value) && (scanner.bytes[scanner.at] as number) <= 32) return value;
  scanner.at = shown;
  const word = scanner.shown();
  if (/^[+-]?(nan|inf|\d.*e\+?\d+$)/i.test(word)) {
    throw notFinite(`triangle ${welder.triangleCount + 1}`, word);
  }
  throw scanner.unexpected('broken', 'a number');
}

function expectWord(scanner: TextScanner, welder: Welder, word: Uint8Array, what: string): void {
  scanner.skipSpace();
  const start = scanner.at;
  if (scanner.take(word)) return;
  scanner.skipWord();
  const cut = scanner.ended;
  scanner.at = start;
  throw cut ? truncated(scanner, welder) : scanner.unexpected('broken', what);
}

function truncated(scanner: TextScanner, welder: Welder): Error {
  const { triangleCount } = welder;
  return refuse(
    'truncated',
    'file',
    `${scanner.bytes.length} bytes`,
    'an end with "endsolid"',
    `The file ends after triangle ${triangleCount} without "endsolid". Copy or export it again.`,
  );
}
