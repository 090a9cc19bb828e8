/** A piece as it is typed: read, kept, and what it comes to while it is typed. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PieceDescription } from '../../daemon/piece/model.ts';
import { partDefinitions } from '../../daemon/piece/parts.ts';
import { pieceProblems } from '../../daemon/piece/piece.ts';
import { pieceSchema } from '../../daemon/wire/piece.ts';
import {
  copiedPart,
  materialIdFrom,
  millimetresPerPixel,
  newPart,
  newPieceDraft,
  newTrace,
  outlineOf,
  pieceDraftFrom,
  pieceDraftOf,
  pieceOf,
  type DraftPart,
  type PieceDraft,
} from '../../dashboard/piece/draft.ts';
import { KnownPlaces, markOf, placeOf } from '../../dashboard/piece/library-place.ts';
import { totalsOf } from '../../dashboard/piece/totals.ts';
import { lengthMmFrom } from '../../dashboard/piece/typed.ts';
import { measurementOf } from './plan-samples.ts';

function part(kind: string, sizes: Record<string, string> = {}): DraftPart {
  const fresh = newPart(kind);
  return { ...fresh, sizes: { ...fresh.sizes, ...sizes } };
}

function draft(...parts: DraftPart[]): PieceDraft {
  return { ...newPieceDraft(), parts };
}

const outline = {
  ...newTrace(),
  scaleEnds: [
    { x: 100, y: 900 },
    { x: 1100, y: 900 },
  ],
  scaleLength: '50',
  picturePoints: [
    { x: 300, y: 300 },
    { x: 700, y: 300 },
    { x: 700, y: 700 },
    { x: 300, y: 700 },
  ],
  closed: true,
};

describe('a typed length', () => {
  it.each([
    // An inch is 25.4 mm by international agreement (1959).
    ['1/4 in', 6.35],
    ['0.5"', 12.7],
    ['1½ inch', 38.1],
    ['3 cm', 30],
    ['250 µm', 0.25],
    ['1,5', 1.5],
    ['2 mm', 2],
    ['7 1/2', 7.5],
  ])('%j is %d mm', (text, mm) => {
    expect(lengthMmFrom(text)).toBeCloseTo(mm, 10);
  });

  it.each([
    // ASTM B258, printed table: 18 AWG is 0.0403 in, 24 AWG is 0.0201 in.
    ['18 AWG', 0.0403],
    ['awg 24', 0.0201],
  ])('%j of a wire is %d in', (text, inches) => {
    expect(lengthMmFrom(text, true) / 25.4).toBeCloseTo(inches, 4);
  });

  it('is a gauge only where the field is that of a wire', () => {
    expect(lengthMmFrom('18 AWG')).toBeNaN();
  });

  it.each(['', '12O', 'in', '4 yd', '1.2.3 mm', 'AWG', '99 AWG'])('%j is none', (text) => {
    expect(lengthMmFrom(text, true)).toBeNaN();
  });
});

describe('a piece draft', () => {
  it('of any kind of part is one that the daemon can plan, once it has what it is measured from', () => {
    for (const { kind } of partDefinitions) {
      if (kind === 'mesh' || kind === 'hanger') continue;
      const one = newPart(kind);
      const { piece, problems } = pieceOf(draft(kind === 'outline' ? { ...one, outline } : one));
      expect(problems, kind).toEqual([]);
      expect(pieceProblems(piece), kind).toEqual([]);
      expect(pieceSchema.safeParse(piece).success, kind).toBe(true);
    }
  });

  it('of a mesh has no area until a file is read', () => {
    const { problems } = pieceOf(draft(newPart('mesh')));
    expect(problems.map(({ field }) => field)).toContain('piece.parts[0].sizes.areaMm2');
  });

  it('made from a piece describes the same piece again', () => {
    const { piece: traced } = pieceOf(draft({ ...newPart('outline'), outline }));
    const piece: PieceDescription = {
      name: 'Teasel head',
      parts: [
        {
          kind: 'ball',
          label: 'Bead',
          count: 3,
          platedFraction: 0.5,
          sizes: { diameterMm: 6.25 },
          coveredMm2: 4.5,
        },
        ...traced.parts,
        {
          kind: 'mesh',
          label: 'Twig',
          count: 1,
          platedFraction: 1,
          sizes: {
            areaMm2: 1234.567890123,
            volumeMm3: 2000.123456789,
            meanCurvatureMm: 120,
            gaussThird: 4.1887902047863905,
            lengthMm: 30,
            widthMm: 20,
            heightMm: 10,
          },
          mesh: {
            fileName: 'twig.stl',
            sha256: 'a'.repeat(64),
            unit: 'millimetre',
            triangles: 12,
          },
        },
      ],
      materials: [{ id: 'amber', note: 'on the tip' }, { id: 'moonstone' }],
      areaUncertainty: 0.15,
    };
    expect(pieceOf(pieceDraftOf(piece))).toEqual({ piece, problems: [] });
  });

  it('comes back from what was stored, whatever that was', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (stored) => {
        const read = pieceDraftFrom(stored);
        expect(typeof read.name).toBe('string');
        expect(Array.isArray(read.parts)).toBe(true);
        expect(() => totalsOf(read, measurementOf(read))).not.toThrow();
      }),
    );
    const some = fc.oneof(fc.jsonValue(), fc.constantFrom('text', 1, null, []));
    const odd = fc.record(
      { sizes: some, label: some, outline: some, mesh: some, asTyped: some, covered: some },
      { requiredKeys: [] },
    );
    fc.assert(
      fc.property(
        odd,
        fc.dictionary(fc.constantFrom('points', 'closed', 'scaleEnds'), some),
        (one, trace) => {
          const outlined = { ...newPart('outline'), outline: trace };
          const read = pieceDraftFrom({ parts: [{ ...newPart('ball'), ...one }, outlined] });
          expect(() => totalsOf(read, measurementOf(read))).not.toThrow();
        },
      ),
    );
    const typed = draft(part('wire', { wireDiameterMm: '18 AWG' }), {
      ...newPart('outline'),
      outline: { ...outline, pictureId: 'p' },
    });
    expect(pieceDraftFrom(JSON.parse(JSON.stringify(typed)))).toEqual(typed);
  });

  it('takes a share of a size as a share or in percent', () => {
    const share = partDefinitions
      .flatMap(({ kind, fields }) => fields.map((field) => ({ kind, field })))
      .find(({ field }) => field.unit === 'share');
    expect(share).toBeDefined();
    const { kind, field } = share!;
    const read = (text: string): number | undefined =>
      pieceOf(draft(part(kind, { [field.name]: text }))).piece.parts[0]?.sizes[field.name];
    expect(read('0.6')).toBe(0.6);
    expect(read('60 %')).toBe(0.6);
  });

  it('copies a part under a key of its own', () => {
    const one = newPart('ball');
    const copy = copiedPart(one);
    expect(copy.key).not.toBe(one.key);
    expect({ ...copy, key: one.key }).toEqual(one);
  });

  it.each([
    ['Tiger’s eye, dyed!', 'tiger-s-eye-dyed'],
    ['Émail', 'email'],
    ['!!!', ''],
  ])('gives the material %j the id %j', (name, id) => {
    expect(materialIdFrom(name)).toBe(id);
  });
});

describe('a trace', () => {
  it('has the scale of its two marks', () => {
    expect(millimetresPerPixel(outline)).toBeCloseTo(0.05, 12);
    expect(millimetresPerPixel({ ...outline, scaleLength: '2 in' })).toBeCloseTo(0.0508, 12);
    expect(millimetresPerPixel({ ...outline, scaleLength: '' })).toBeNaN();
    expect(millimetresPerPixel({ ...outline, scaleEnds: [] })).toBeNaN();
  });

  it('is no outline before it is closed and has a scale', () => {
    expect(outlineOf(outline)?.points[2]).toEqual({ xMm: 35, yMm: 35 });
    expect(outlineOf({ ...outline, closed: false })).toBeUndefined();
    expect(outlineOf({ ...outline, scaleLength: 'x' })).toBeUndefined();
  });
});

describe('totals', () => {
  it('add up balls and hangers by their closed forms, with the share of the hanger', () => {
    const ball = { ...part('ball', { diameterMm: '10' }), count: '2' };
    const hanger = part('hanger', { wireDiameterMm: '1', submergedLengthMm: '30' });
    const piece = draft(ball, hanger);
    const { part: found, whole } = totalsOf(piece, measurementOf(piece));
    // pi d^2 for a ball, pi d l for the side of a wire.
    const [balls, wire] = [2 * Math.PI * 100, Math.PI * 30];
    expect(found(ball.key)?.areaMm2).toBeCloseTo(balls, 9);
    expect(found(hanger.key)?.areaMm2).toBeCloseTo(wire, 9);
    expect(whole?.areaMm2).toBeCloseTo(balls + wire, 9);
    expect(whole?.hanger).toBeCloseTo(wire / (balls + wire), 12);
    expect(whole?.decidingPart).toBe(0);
    expect(whole?.highMm2).toBeCloseTo((balls + wire) * (1 + (whole?.uncertainty ?? 0)), 9);
  });

  it('keep the areas of sound parts while another cannot be read', () => {
    const [bent, sound] = [part('ball', { diameterMm: '1o' }), part('ball', { diameterMm: '10' })];
    const piece = draft(bent, sound);
    const { part: found, whole, problems } = totalsOf(piece, measurementOf(piece));
    expect(found(bent.key)).toBeNull();
    expect(found(sound.key)?.areaMm2).toBeCloseTo(Math.PI * 100, 9);
    expect(whole).toBeNull();
    expect(problems).toEqual([
      expect.objectContaining({ field: 'piece.parts[0].sizes.diameterMm', value: '1o' }),
    ]);
  });

  it('name what the daemon would refuse by the path of its entry', () => {
    const piece = draft(part('ball', { diameterMm: '-3' }));
    const { problems } = totalsOf(piece, measurementOf(piece));
    expect(problems[0]?.field).toBe('piece.parts[0].sizes.diameterMm');
    expect(problems[0]?.message).toMatch(/^piece\.parts\[0\]\.sizes\.diameterMm is -3; it must be/);
  });
});

describe('the place in the library', () => {
  const one = draft(part('ball'));
  const other = draft(part('ball', { diameterMm: '9' }));

  it('tells a changed piece from the saved one', () => {
    expect(markOf(pieceOf(one).piece)).toBe(markOf(pieceOf(structuredClone(one)).piece));
    expect(markOf(pieceOf(one).piece)).not.toBe(markOf(pieceOf(other).piece));
  });

  it('stays the newest that this page saved, even when the draft is taken back', () => {
    const places = new KnownPlaces();
    expect(places.of(one)).toBeNull();
    const first = placeOf('p1', 1, one);
    const saved = { ...one, library: first.place, savedMark: first.mark };
    places.learn(first);
    places.learn(placeOf('p1', 2, other));
    expect(places.of(saved)?.place).toEqual({ id: 'p1', version: 2 });
    places.learn(first);
    expect(places.of(saved)?.place.version).toBe(2);
  });
});
