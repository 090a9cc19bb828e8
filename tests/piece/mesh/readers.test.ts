/** Files of STL and OBJ: what is read, and what is refused with which reason. */

import { describe, expect, test } from 'vitest';
import { binaryStlCount } from '../../../daemon/piece/mesh/binary-stl.ts';
import { formatOf } from '../../../daemon/piece/mesh/formats.ts';
import { measureMesh } from '../../../daemon/piece/mesh/measure.ts';
import { meshLimits } from '../../../daemon/piece/mesh/model.ts';
import { TextScanner } from '../../../daemon/piece/mesh/text-scanner.ts';
import { unitCandidates } from '../../../daemon/piece/mesh/units.ts';
import { asciiStl, binaryStl, box, codeOf, obj, read, refusalOf, text } from './bodies.ts';

const cube = box(10, 10, 10);
const few = { maxTriangles: 11, maxBytes: 120e6 };

describe('the format', () => {
  test('of a binary STL follows from its size, though it begins with "solid"', () => {
    const bytes = binaryStl(cube, 'solid facet normal 0 0 0 outer loop vertex');
    expect(formatOf(bytes, 'a.obj', meshLimits)).toBe('stl-binary');
    expect(binaryStlCount(bytes)).toBe(12);
  });

  test('of text follows from its words, whatever its name', () => {
    expect(formatOf(text(asciiStl(cube)), 'a.obj', meshLimits)).toBe('stl-ascii');
    expect(formatOf(text(obj(cube)), 'a.stl', meshLimits)).toBe('obj');
    expect(formatOf(text('PK\u0003\u0004'), 'a', meshLimits)).toBe('3mf');
  });

  test('that is none of those read is refused by name', () => {
    const refusal = refusalOf(() => formatOf(text('%PDF-1.7 and more'), 'a.pdf', meshLimits));
    expect(refusal.code).toBe('unknownFormat');
    expect(refusal.problem.bound).toBe('STL, OBJ or 3MF');
  });

  test('of nothing, and of more than is read, is refused', () => {
    expect(codeOf(() => formatOf(new Uint8Array(0), 'a.stl', meshLimits))).toBe('empty');
    const refusal = refusalOf(() =>
      formatOf(new Uint8Array(2_000_001), 'a.stl', { ...meshLimits, maxBytes: 2_000_000 }),
    );
    expect(refusal.code).toBe('tooBig');
    expect(refusal.problem).toMatchObject({ field: 'file', bound: 'at most 2 MB' });
  });
});

describe('binary STL', () => {
  test('is read from memory at any offset', () => {
    const bytes = binaryStl(cube);
    const shifted = new Uint8Array(bytes.length + 3);
    shifted.set(bytes, 3);
    expect(measureMesh(read(shifted.subarray(3))).area).toBeCloseTo(600, 9);
  });

  test('that is cut off says after which triangle', () => {
    const cut = binaryStl(cube).subarray(0, 84 + 50 * 7 + 20);
    const refusal = refusalOf(() => read(cut, 'a.stl'));
    expect(refusal.code).toBe('truncated');
    expect(refusal.message).toContain('after triangle 7 of 12');
  });

  test('with more bytes than its count is broken', () => {
    const longer = new Uint8Array(84 + 600 + 10);
    longer.set(binaryStl(cube));
    expect(codeOf(() => read(longer, 'a.stl'))).toBe('broken');
  });

  test('with a number that is none says in which triangle', () => {
    for (const [value, shown] of [
      [Number.NaN, 'NaN'],
      [-Infinity, '-Infinity'],
    ] as const) {
      const bytes = binaryStl(cube);
      new DataView(bytes.buffer).setFloat32(84 + 50 * 4 + 12 + 8, value, true);
      const refusal = refusalOf(() => read(bytes));
      expect(refusal.code).toBe('notFinite');
      expect(refusal.problem).toMatchObject({ field: 'triangle 5', value: shown });
    }
  });

  test('welds 0 and -0', () => {
    const bytes = binaryStl(cube);
    const view = new DataView(bytes.buffer);
    for (let at = 96; at + 36 <= bytes.length; at += 100) {
      for (let k = 0; k < 9; k += 1) {
        if (view.getUint32(at + 4 * k, true) === 0) view.setUint32(at + 4 * k, 0x80000000, true);
      }
    }
    expect(measureMesh(read(bytes))).toMatchObject({ closed: true, vertices: 8 });
  });

  test('with too many triangles, or none, is refused', () => {
    const refusal = refusalOf(() => read(binaryStl(cube), '', few));
    expect(refusal.code).toBe('tooManyTriangles');
    expect(refusal.problem).toMatchObject({ value: '12', bound: 'at most 11' });
    expect(codeOf(() => read(binaryStl({ points: [], faces: [] })))).toBe('noTriangles');
  });
});

describe('ASCII STL', () => {
  test('is read in any case, with any blanks, and in several solids', () => {
    const one = asciiStl(cube).toUpperCase().replaceAll('\n', '\r\n\t ');
    const other = asciiStl(box(1, 1, 1, [20, 0, 0])).replaceAll('  ', '');
    const measured = measureMesh(read(`\n  ${one}\n${other}`));
    expect(measured).toMatchObject({ shells: 2, closed: true });
    expect(measured.area).toBeCloseTo(606, 9);
  });

  test('that is cut off anywhere says after which triangle', () => {
    const whole = asciiStl(cube);
    const facet = whole.indexOf('endfacet') + 'endfacet'.length;
    const cuts = [facet - 60, facet - 4, facet + 3, whole.indexOf('facet', facet) + 60];
    const refusals = cuts.map((end) => refusalOf(() => read(whole.slice(0, end), 'a.stl')));
    expect(refusals.map(({ code }) => code)).toEqual(Array(4).fill('truncated'));
    expect(refusals.map(({ message }) => /triangle (\d+)/.exec(message)?.[1])).toEqual([
      '0',
      '0',
      '1',
      '1',
    ]);
    expect(codeOf(() => read(whole.slice(0, whole.lastIndexOf('endsolid')), 'a.stl'))).toBe(
      'truncated',
    );
  });

  test('names the line of a word that does not belong', () => {
    const wrong = asciiStl(cube).replace('outer loop', 'outer hoop');
    const refusal = refusalOf(() => read(wrong, 'a.stl'));
    expect(refusal.code).toBe('broken');
    expect(refusal.problem).toMatchObject({ field: 'line 3', value: '"hoop"' });
  });

  test.each(['nan', 'NaN', 'inf', '-Infinity', '1e999'])('refuses the coordinate %s', (word) => {
    const wrong = asciiStl(cube).replace(/vertex \S+/, `vertex ${word}`);
    expect(codeOf(() => read(wrong))).toBe('notFinite');
  });

  test.each(['1,5', '0x10', '--1', '1.2.3', 'one', '1e', '+', '.'])(
    'refuses %s for a number',
    (word) => {
      const wrong = asciiStl(cube).replace(/vertex \S+/, `vertex ${word}`);
      expect(codeOf(() => read(wrong))).toBe('broken');
    },
  );

  test('with a fourth corner, too many triangles, or none, is refused', () => {
    const four = asciiStl(cube).replace('endloop', 'vertex 1 2 3\n endloop');
    expect(codeOf(() => read(four))).toBe('broken');
    expect(codeOf(() => read(asciiStl(cube), '', few))).toBe('tooManyTriangles');
    expect(codeOf(() => read('solid a\nendsolid a\n'))).toBe('noTriangles');
  });
});

describe('numbers in text', () => {
  test('are the very numbers that JavaScript makes of them', () => {
    const words = [
      '0',
      '-0.0',
      '+1',
      '.5',
      '5.',
      '1e3',
      '-1.5E-3',
      '123456789012345',
      '1234567890123456789',
      '0.1',
      '3.14159265358979',
      '2.2250738585072014e-308',
      '1e22',
      '1e23',
      '9007199254740993',
      '0.000001',
      '1.7976931348623157e308',
      '4.9e-324',
      '00012.50',
    ];
    for (const word of words) {
      const scanner = new TextScanner(text(`${word} `));
      expect(scanner.number(), word).toBe(Number(word));
      expect(scanner.at).toBe(word.length);
    }
  });
});

describe('OBJ', () => {
  test('is read with comments, groups, normals, negative numbers and long lines', () => {
    const file = `# a comment
mtllib x.mtl
o thing
g left right
v 0 0 0
v 1 0 0 # a corner
v 1 1 0 0.5 0.5 0.5
vt 0 0
vn 0 0 1
usemtl gold
s off
f 1/1/1 2/1/1 \\
  3/1/1
v 0 1 0
f -4//1 -2//1 -1//1
`;
    const measured = measureMesh(read(file));
    expect(measured).toMatchObject({ triangles: 2, vertices: 4, openEdges: 4 });
    expect(measured.area).toBeCloseTo(1, 12);
  });

  test('cuts faces of many corners up so that they are covered once', () => {
    const arrow = 'v 0 0 0\nv 4 0 0\nv 4 4 0\nv 2 1 0\nv 0 4 0\n';
    // Shoelace formula: the square of 16 less the notch of 4 by 3 over 2.
    for (const order of ['1 2 3 4 5', '5 4 3 2 1', '4 5 1 2 3', '3 4 5 1 2']) {
      const measured = measureMesh(read(`${arrow}f ${order}\n`));
      expect(measured).toMatchObject({ triangles: 3, openEdges: 5 });
      expect(measured.area).toBeCloseTo(10, 12);
    }
  });

  test('cuts up a comb with many teeth', () => {
    const teeth = 40;
    const corners: string[] = ['0 0 0', `${2 * teeth} 0 0`];
    for (let k = teeth; k > 0; k -= 1) corners.push(`${2 * k} 5 0`, `${2 * k - 1} 1 0`);
    corners.push('0 5 0');
    const lines = corners.map((corner) => `v ${corner}`);
    const face = corners.map((_, k) => k + 1).join(' ');
    const measured = measureMesh(read(`${lines.join('\n')}\nf ${face}\n`));
    // Shoelace formula over the same corners.
    const points = corners.map((corner) => corner.split(' ').map(Number));
    const shoelace = points.reduce((sum, [x = 0, y = 0], k) => {
      const [nextX = 0, nextY = 0] = points[(k + 1) % points.length] ?? [];
      return sum + (x * nextY - nextX * y) / 2;
    }, 0);
    expect(measured.area).toBeCloseTo(Math.abs(shoelace), 9);
  });

  test('of quads is a closed box', () => {
    const file = `v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 0 0 1\nv 1 0 1\nv 1 1 1\nv 0 1 1
f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8`;
    const measured = measureMesh(read(file));
    expect(measured).toMatchObject({ closed: true, triangles: 12 });
    expect(measured.volume).toBeCloseTo(1, 12);
    expect(measured.meanCurvature.value).toBeCloseTo(3 * Math.PI, 12);
  });

  test.each([
    ['f 1 2 9', 'outOfRange'],
    ['f 0 1 2', 'outOfRange'],
    ['f -9 1 2', 'outOfRange'],
    ['f 1 2', 'broken'],
    ['f 1 2 x', 'broken'],
    ['f 1.5 2 3', 'broken'],
    ['v 1 2', 'broken'],
    ['v 1 2 nan', 'notFinite'],
    ['v 1 2 1e999', 'notFinite'],
    ['cstype bezier', 'unsupported'],
  ])('with "%s" is refused as %s', (line, code) => {
    expect(codeOf(() => read(`v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n${line}\n`))).toBe(code);
  });

  test('names the face and the bound of a number out of range', () => {
    const refusal = refusalOf(() => read('v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 2 4\n'));
    expect(refusal.problem).toMatchObject({ field: 'face 2', value: '4', bound: '1 to 3' });
  });

  test('with too many triangles, or vertices only, is refused', () => {
    expect(codeOf(() => read(obj(cube), '', few))).toBe('tooManyTriangles');
    expect(codeOf(() => read('v 0 0 0\nv 1 0 0\nv 0 1 0\n'))).toBe('noTriangles');
  });
});

describe('units', () => {
  test('that are not stated are shown in every size, the likely ones marked', () => {
    const sizes = unitCandidates([1, 3, 2], 22, null);
    expect(sizes.map(({ unit }) => unit)).toEqual(['millimetre', 'centimetre', 'inch', 'metre']);
    expect(sizes.map(({ lengthMm }) => lengthMm)).toEqual([3, 30, 3 * 25.4, 3000]);
    expect(sizes.map(({ plausible }) => plausible)).toEqual([true, true, true, false]);
    expect(sizes[2]?.areaMm2).toBeCloseTo(22 * 645.16, 9);
    expect(unitCandidates([1, 1, 1], 6, 'foot')).toHaveLength(1);
  });
});
