/** Zip packages: what is unpacked, and every way in which one is refused. */

import { strToU8, zipSync } from 'fflate';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { MeshError, meshLimits } from '../../../daemon/piece/mesh/model.ts';
import { surveyFile } from '../../../daemon/web/meshes/survey.ts';
import { ZipPackage } from '../../../daemon/web/meshes/zip.ts';
import { box, codeOf, refusalOf, simpleModel, torus } from '../../piece/mesh/bodies.ts';
import { rawZip, threeMf } from './packages.ts';

const words = strToU8('Metal grows where current flows. '.repeat(50));
const limits = { maxEntries: 5, maxInflatedBytes: 5_000_000, maxRatio: 50 };

function open(bytes: Uint8Array): ZipPackage {
  return new ZipPackage(bytes, limits);
}

describe('a package', () => {
  test('gives its entries by path, packed or stored, in any case', () => {
    const bytes = zipSync({ 'a/B.txt': words, 'c.txt': [words, { level: 0 }] });
    const archive = open(bytes);
    expect(archive.read('/a/b.TXT')).toEqual(words);
    expect(archive.read('c.txt')).toEqual(words);
    expect(archive.read('/d.txt')).toBeNull();
  });

  test('may end in a comment', () => {
    const bytes = zipSync({ 'a.txt': words });
    const longer = new Uint8Array(bytes.length + 4);
    longer.set(bytes);
    longer.set([80, 75, 5, 6], bytes.length);
    new DataView(longer.buffer).setUint16(bytes.length - 2, 4, true);
    expect(open(longer).read('a.txt')).toEqual(words);
  });

  test('of random files comes back as it was', () => {
    fc.assert(
      fc.property(fc.array(fc.uint8Array({ maxLength: 3000 }), { maxLength: 4 }), (files) => {
        const entries = Object.fromEntries(files.map((file, k) => [`${k}`, file]));
        const archive = open(zipSync(entries));
        for (const [name, file] of Object.entries(entries))
          expect(archive.read(name)).toEqual(file);
      }),
      { numRuns: 40 },
    );
  });
});

describe('a package is refused', () => {
  test('when it is cut off', () => {
    const whole = zipSync({ 'a.txt': words });
    expect(codeOf(() => open(whole.subarray(0, whole.length - 1)))).toBe('truncated');
    expect(codeOf(() => open(whole.subarray(0, 40)))).toBe('truncated');
    expect(codeOf(() => open(strToU8('PK\u0003\u0004')))).toBe('truncated');
  });

  test('when an entry is encrypted', () => {
    const bytes = rawZip([{ name: 'a.txt', data: words, flags: 1 }]);
    const refusal = refusalOf(() => open(bytes));
    expect(refusal.code).toBe('encrypted');
    expect(refusal.problem.field).toBe('a.txt');
  });

  test.each(['../a', 'a/../../b', '/etc/a', 'C:/a', 'a\\b', '..', 'a\u0000b', ''])(
    'when an entry is named %j',
    (name) => {
      expect(codeOf(() => open(rawZip([{ name, data: words }])))).toBe('unsafeName');
    },
  );

  test('when it lists more entries than are read, or the same one twice', () => {
    const many = Array.from({ length: 6 }, (_, k) => ({ name: `${k}`, data: words }));
    expect(codeOf(() => open(rawZip(many)))).toBe('zipBomb');
    expect(codeOf(() => open(rawZip(many.slice(0, 2), 65_000)))).toBe('zipBomb');
    expect(codeOf(() => open(rawZip([many[0], many[0]].flatMap((one) => one ?? []))))).toBe(
      'broken',
    );
  });

  test('when its entries share their bytes', () => {
    const one = { name: 'a', data: words };
    expect(codeOf(() => open(rawZip([one, { ...one, name: 'b', offset: 0 }])))).toBe('zipBomb');
  });

  test('when it says that it unpacks to too much, before anything is unpacked', () => {
    const bytes = rawZip([{ name: 'a', data: words, inflatedBytes: 6_000_000 }]);
    expect(codeOf(() => open(bytes))).toBe('zipBomb');
  });

  test('while it unpacks to more than it says', () => {
    const bomb = rawZip([{ name: 'a', data: new Uint8Array(4_000_000), inflatedBytes: 10_000 }]);
    const refusal = refusalOf(() => open(bomb).read('a'));
    expect(refusal.code).toBe('zipBomb');
    expect(refusal.message).toContain('more than it says');
  });

  test('while it unpacks to too many times its size', () => {
    const bomb = rawZip([{ name: 'a', data: new Uint8Array(4_000_000) }]);
    const refusal = refusalOf(() => open(bomb).read('a'));
    expect(refusal.code).toBe('zipBomb');
    expect(refusal.problem.bound).toBe('at most 50 times');
  });

  test('when reading the same entry again and again adds up to too much', () => {
    const noise = Uint8Array.from({ length: 1_500_000 }, (_, k) => (k * k * 31) >> 7);
    const archive = open(rawZip([{ name: 'a', data: noise }]));
    expect(
      codeOf(() => {
        for (let times = 0; times < 4; times += 1) archive.read('a');
      }),
    ).toBe('zipBomb');
  });

  test.each([
    ['another checksum', { crc: 1 }, 'broken'],
    ['another size', { inflatedBytes: words.length + 1 }, 'broken'],
    ['another method', { method: 12 }, 'unsupported'],
    ['no deflate', { packed: Uint8Array.of(7, 7, 7, 7) }, 'broken'],
    ['nothing packed', { packed: new Uint8Array(0) }, 'broken'],
  ] as const)('when an entry has %s', (_, lie, code) => {
    expect(codeOf(() => open(rawZip([{ name: 'a', data: words, ...lie }])).read('a'))).toBe(code);
  });
});

describe('a 3MF file', () => {
  test('is measured', () => {
    const answer = surveyFile(threeMf(box(10, 20, 30)), 'box.3mf', meshLimits);
    expect(answer).toMatchObject({ format: '3mf', unit: 'millimetre', fileName: 'box.3mf' });
    expect(answer.measure.volume).toBeCloseTo(6000, 8);
    expect(answer.candidates).toHaveLength(1);
  });

  test('without a model, or of another kind, is refused', () => {
    const document = zipSync({ 'word/document.xml': words });
    expect(codeOf(() => surveyFile(document, 'a.3mf', meshLimits))).toBe('broken');
  });

  test('is measured or refused whatever is cut or turned', () => {
    const whole = threeMf(simpleModel(torus(9, 2, 8, 6)));
    const told = (bytes: Uint8Array): void => {
      try {
        expect(surveyFile(bytes, 'a.3mf', meshLimits).measure.area).toBeGreaterThan(0);
      } catch (error) {
        if (!(error instanceof MeshError)) throw error;
      }
    };
    const flips = fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(7)), {
      minLength: 1,
      maxLength: 6,
    });
    fc.assert(
      fc.property(flips, fc.nat(whole.length), fc.boolean(), (turned, end, cut) => {
        const bytes = whole.slice(0, cut ? end : whole.length);
        for (const [at, bit] of turned) {
          if (at < bytes.length) bytes[at] = (bytes[at] ?? 0) ^ (1 << bit);
        }
        if (bytes.length > 0) told(bytes);
      }),
      { numRuns: 400 },
    );
  });
});
