/** A plan as it is typed: nothing is lost, and what cannot be read says why. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import type { PlanRequest } from '../../daemon/run/model.ts';
import { planQuestionSchema } from '../../daemon/wire/plan.ts';
import { accepting } from '../../dashboard/plan-accept.ts';
import {
  copied,
  draftFrom,
  draftOf,
  newDraft,
  withAnotherPiece,
  type Draft,
} from '../../dashboard/plan-draft.ts';
import { keptElsewhere } from '../../dashboard/plan-keep.ts';
import { isAged, neverAsked } from '../../dashboard/plan-question.ts';
import type { Place } from '../../dashboard/plan-request.ts';
import { asked } from './plan-samples.ts';
import { newPart, newPieceDraft, pieceOf, type PieceDraft } from '../../dashboard/piece/draft.ts';
import { KnownPlaces, markOf } from '../../dashboard/piece/library-place.ts';
import { numberFrom } from '../../dashboard/piece/typed.ts';

const noon = new Date(2026, 10, 25, 12, 0).getTime();
const place: Place = { nowWallMs: noon, timeZone: 'Europe/Berlin' };

function draft(changes: Partial<Draft> = {}): Draft {
  return {
    ...newDraft(),
    tankId: 'beaker',
    bathId: 'acid-copper-still',
    density: '1.3',
    ...changes,
  };
}

function ringPiece(): PieceDraft {
  return { ...newPieceDraft(), parts: [newPart('wire'), newPart('loop')] };
}

const problemFields = (changes: Partial<Draft>): string[] =>
  asked(draft(changes), place).problems.map(({ field }) => field);

describe('a number as it is typed', () => {
  it.each([
    ['1.5', 1.5],
    [' 0,75 ', 0.75],
    ['.5', 0.5],
    ['2e-1', 0.2],
    ['-3', -3],
  ])('%j is read as %d', (text, value) => {
    expect(numberFrom(text)).toBe(value);
  });

  it.each(['', ' ', '12O', '1.2.3', '1,000.5', 'Infinity', '0x10', '--1'])('%j is none', (text) => {
    expect(numberFrom(text)).toBeNaN();
  });
});

describe('a draft', () => {
  it('that is new asks a question the daemon can read', () => {
    const { request, problems } = asked(draft());
    expect(problems).toEqual([]);
    expect(planQuestionSchema.safeParse(request).success).toBe(true);
  });

  it('names the field, the value and the bound of what it cannot read', () => {
    const part = { ...newPart('wire'), platedPercent: '120', count: '' };
    part.sizes['lengthMm'] = '12O';
    const { problems } = asked(
      draft({ piece: { ...newPieceDraft(), parts: [part] }, density: '0' }),
    );
    expect(problems).toEqual([
      expect.objectContaining({ field: 'piece.parts[0].sizes.lengthMm', value: '12O' }),
      expect.objectContaining({ field: 'piece.parts[0].count', value: 'empty' }),
      {
        field: 'piece.parts[0].platedFraction',
        value: '120',
        bound: 'a percentage from 0 to 100',
        message: 'piece.parts[0].platedFraction is 120; it must be a percentage from 0 to 100.',
      },
      expect.objectContaining({
        field: 'densityAmpsPerDm2',
        value: '0',
        bound: 'a number above 0 and a unit, such as 0.1 A/in2',
      }),
    ]);
  });

  it('passes its density on as it was typed, and leaves an empty one to the bath', () => {
    expect(asked(draft({ density: ' 0.1 A/in² ' })).request.densityTyped).toBe('0.1 A/in²');
    const { request, problems } = asked(draft({ density: ' ' }));
    expect(problems).toEqual([]);
    expect(request).not.toHaveProperty('densityTyped');
    expect(request).not.toHaveProperty('densityAmpsPerDm2');
  });

  it('refuses a density that can be read in two ways, with what to write instead', () => {
    const [found] = asked(draft({ density: '1,500' })).problems;
    expect(found?.field).toBe('densityAmpsPerDm2');
    expect(found?.message).toContain('Write 1.500 or 1500.');
  });

  it('turns the density of a trickle into A/dm2 (one square inch is 0.064516 dm2)', () => {
    const { request } = asked(draft({ trickle: true, trickleDensity: '0.004 A/in2' }));
    expect(request.trickle?.densityAmpsPerDm2).toBeCloseTo(0.004 / 0.064516, 12);
  });

  it('asks for its own gentle start only when that is ticked', () => {
    expect(asked(draft()).request.start).toBeUndefined();
    const own = { ownStart: true, strikePercent: '25', strikeMinutes: '10', rampMinutes: '5' };
    expect(asked(draft(own)).request.start).toEqual({
      strikeShare: 0.25,
      strikeMinutes: 10,
      rampMinutes: 5,
    });
    expect(problemFields({ ...own, strikePercent: '0' })).toEqual(['start.strikeShare']);
  });

  it('says nothing of contacts until one of their entries is filled, then asks for both', () => {
    expect(asked(draft()).request.contact).toBeUndefined();
    const told = draft({ contactPoints: '2', contactFarthest: '4 cm' });
    expect(asked(told).request.contact).toEqual({ points: 2, farthestMm: 40 });
    expect(problemFields({ contactPoints: '2' })).toEqual(['contact.farthestMm']);
    expect(problemFields({ contactPoints: '1.5', contactFarthest: '40' })).toEqual([
      'contact.points',
    ]);
    expect(asked({ ...told, paint: 'none' }).request.contact, 'bare metal').toBeUndefined();
  });

  it('lets an opening close by the part that was accepted, not by another of its name', () => {
    const piece = ringPiece();
    const [, loop] = piece.parts;
    const wish = draft({ piece });
    accepting(wish, loop?.key ?? '', true);
    expect(asked(wish).request.acceptClosures).toEqual(['Loop']);
    const { acceptClosures } = wish;
    const others = draft({ piece: ringPiece(), acceptClosures });
    expect(others.piece.parts[1]?.label).toBe('Loop');
    expect(asked(others).request.acceptClosures, 'another loop').toBeUndefined();
    const second = draft({
      piece: { ...piece, parts: [newPart('loop'), ...piece.parts] },
      acceptClosures,
    });
    expect(asked(second).request.acceptClosures, 'one of two').toEqual(['part 3']);
    const named = draft({
      piece: {
        ...piece,
        parts: piece.parts.map((part) => ({ ...part, label: part === loop ? 'Eye' : part.label })),
      },
      acceptClosures,
    });
    expect(asked(named).request.acceptClosures, 'by its new name').toEqual(['Eye']);
    accepting(wish, loop?.key ?? '', false);
    expect(asked(wish).request.acceptClosures).toBeUndefined();
  });

  it('drops with its piece what was so of that piece only: an earlier run, what may close', () => {
    const piece = ringPiece();
    const continues = { runId: 'r1', ampHours: 0.2, thicknessMicrometres: 40 };
    const before = draft({ continues, density: '1.1' });
    accepting(before, before.piece.parts[0]?.key ?? '', true);
    expect(before.acceptClosures).toHaveLength(1);
    const after = withAnotherPiece(before, piece);
    expect(after).toEqual({ ...before, piece, continues: null, acceptClosures: [] });
    expect(after.density).toBe('1.1');
  });

  it('names its version in the library only while it is that version', () => {
    const library = { id: 'teasel', version: 3 };
    const piece = { ...ringPiece(), library };
    const savedMark = markOf(pieceOf(piece).piece);
    const refOf = (changes: Partial<PieceDraft>) =>
      asked(draft({ piece: { ...piece, savedMark, ...changes } })).request.pieceRef;
    expect(refOf({})).toEqual(library);
    expect(refOf({ name: 'Another' })).toBeUndefined();
    expect(refOf({ savedMark: '' })).toBeUndefined();
  });
});

describe('a size to end at', () => {
  it('begins with the first ring of the piece and takes a length or a size of a ring scale', () => {
    const piece = ringPiece();
    const wished = { piece, goal: 'final-size' as const };
    const targets = { ...newDraft().targets, 'final-size': '17.2 mm' };
    expect(asked(draft({ ...wished, targets })).request.target).toEqual({
      kind: 'final-size',
      partIndex: 1,
      dimension: 'insideDiameterMm',
      mm: 17.2,
    });
    const ring = { ...wished, sizeScale: 'iso' as const };
    const { request } = asked(draft({ ...ring, targets: { ...targets, 'final-size': '54' } }));
    // ISO 8653: the size is the inner circumference in mm.
    expect(request.target).toMatchObject({ mm: expect.closeTo(54 / Math.PI, 9) });
  });

  it('stays with its part when parts before it go, and asks anew when it goes itself', () => {
    const piece = ringPiece();
    const [wire, loop] = piece.parts;
    if (!wire || !loop) throw new Error('The piece has two parts.');
    const sizeOf = { partKey: loop.key, dimension: 'outsideDiameterMm' };
    const targets = { ...newDraft().targets, 'final-size': '40' };
    const wished = { goal: 'final-size' as const, sizeOf, targets };
    const alone = draft({ ...wished, piece: { ...piece, parts: [loop] } });
    expect(asked(alone).request.target).toMatchObject({
      partIndex: 0,
      dimension: 'outsideDiameterMm',
    });
    const gone = draft({ ...wished, piece: { ...piece, parts: [wire] } });
    const [found] = asked(gone).problems;
    expect(found).toMatchObject({ field: 'target.dimension', value: 'of a part that is gone' });
  });

  it('names what cannot be read as a size', () => {
    const targets = { ...newDraft().targets, 'final-size': 'wide' };
    const wished = { piece: ringPiece(), goal: 'final-size' as const, targets };
    expect(problemFields(wished)).toEqual(['target.mm']);
    expect(problemFields({ ...wished, sizeScale: 'us' })).toEqual(['target.mm']);
  });
});

describe('a time to be done by', () => {
  const clock = { pace: 'done-by' as const, dueTime: '07:00' };

  it('is asked for in the zone of the browser, with the hour of the tank and no density', () => {
    const { request, problems } = asked(draft({ ...clock, density: '1.3' }), place);
    expect(problems).toEqual([]);
    expect(request.target).toEqual({
      kind: 'done-by',
      goal: { kind: 'thickness', micrometres: 150 },
      localTime: '07:00',
      timeZone: 'Europe/Berlin',
      nowWallMs: noon,
    });
    expect(request.densityTyped).toBeUndefined();
  });

  it.each([
    ['today', '2026-11-25 07:00'],
    ['tomorrow', '2026-11-26 07:00'],
    ['next', '07:00'],
  ] as const)('%s is %s', (dueDay, localTime) => {
    const { target } = asked(draft({ ...clock, dueDay }), place).request;
    expect(target).toMatchObject({ localTime });
  });

  it('is asked for anew before it is acted on when its answer is over a minute old', () => {
    const at = (pageMs: number, tankMs: number) => ({ pageMs: noon + pageMs, tankMs });
    expect(isAged(clock, at(0, 0), at(60_000, 60_000))).toBe(false);
    expect(isAged(clock, at(0, 0), at(60_001, 0)), 'the tank not heard of since').toBe(true);
    expect(isAged(clock, at(0, 0), at(1000, 600_000)), 'a hurried tank').toBe(true);
    expect(isAged(clock, at(0, 0), at(-3_600_000, 0)), 'a clock set back').toBe(true);
    expect(isAged(clock, neverAsked, at(0, 0))).toBe(true);
    expect(isAged({ pace: 'density' }, at(0, 0), at(3_600_000, 0))).toBe(false);
  });

  it('goes over the end of a month', () => {
    const last = { ...place, nowWallMs: new Date(2026, 10, 30, 22, 0).getTime() };
    const { target } = asked(draft({ ...clock, dueDay: 'tomorrow' }), last).request;
    expect(target).toMatchObject({ localTime: '2026-12-01 07:00' });
  });

  it('wants a time of day, and a goal that is no time itself', () => {
    expect(problemFields({ ...clock, dueTime: '' })).toEqual(['target.localTime']);
    expect(problemFields({ ...clock, goal: 'time' })).toEqual(['target.kind']);
  });
});

describe('a draft made from a request', () => {
  const demo = demoPlanRequest('beaker', 'acid-copper-still');

  function again(request: PlanRequest) {
    return asked(draftOf(request), place).request;
  }

  it('asks for the same again', () => {
    const { densityAmpsPerDm2: _, ...rest } = demo;
    expect(again(demo)).toEqual({ ...rest, densityTyped: '1.5 A/dm2' });
    const wished: PlanRequest = {
      ...demo,
      densityTyped: '0.1 A/in2',
      trickle: { densityAmpsPerDm2: 0.05, maxHours: 4 },
      start: { strikeShare: 0.3, strikeMinutes: 12, rampMinutes: 8 },
      contact: { points: 3, farthestMm: 25 },
      target: { kind: 'final-size', partIndex: 2, dimension: 'wireDiameterMm', mm: 3.6 },
      pieceRef: { id: 'teasel', version: 4 },
    };
    const { densityAmpsPerDm2: __, ...others } = wished;
    expect(again(wished)).toEqual(others);
  });

  it('stands in the library where its run did, and may close what that might', () => {
    const [part] = demo.piece.parts;
    if (!part) throw new Error('The demo has a part.');
    const piece = {
      ...demo.piece,
      parts: [
        ...demo.piece.parts,
        { ...part, kind: 'loop', label: 'Eye', sizes: { insideDiameterMm: 8, wireDiameterMm: 1 } },
      ],
    };
    const pieceRef = { id: 'teasel', version: 4 };
    const made = draftOf({ ...demo, piece, pieceRef, acceptClosures: ['eye'] });
    expect(new KnownPlaces().of(made.piece)).toEqual({
      place: pieceRef,
      mark: markOf(pieceOf(made.piece).piece),
    });
    expect(made.acceptClosures).toEqual([made.piece.parts.at(-1)?.key]);
    expect(asked(made, place).request.acceptClosures).toEqual(['Eye']);
  });

  it('takes a time of day as the next there is', () => {
    const goal = { kind: 'mass', grams: 3 } as const;
    const target = {
      kind: 'done-by',
      goal,
      localTime: '2026-11-20 06:30',
      timeZone: 'UTC',
    } as const;
    expect(again({ ...demo, target }).target).toEqual({
      kind: 'done-by',
      goal,
      localTime: '06:30',
      ...place,
    });
  });
});

describe('what the browser kept', () => {
  it('comes back as it was', () => {
    const typed = draft({
      piece: { ...newPieceDraft(), name: 'Larch twig' },
      density: '1.',
      compare: ['1', '', '0.1 A/in2'],
      blank: { scale: 'uk', size: 'N', wire: '18 AWG' },
      sizeOf: { partKey: 'a', dimension: 'lengthMm' },
      acceptClosures: ['Loop'],
    });
    expect(draftFrom(JSON.stringify(typed))).toEqual(typed);
  });

  it('is told from what another tab has kept in its place', () => {
    const mine = draft({ piece: ringPiece() });
    const heard = (newValue: string | null, key = 'nightbath.draft') =>
      keptElsewhere({ key, newValue }, mine);
    expect(heard(JSON.stringify(mine)), 'the same').toBeNull();
    expect(heard(JSON.stringify({ ...mine, density: '2' }))?.density).toBe('2');
    expect(heard('{}', 'nightbath.look')).toBeUndefined();
    expect(heard(null), 'cleared').toBeUndefined();
  });

  it('begins anew where it is nonsense, field by field', () => {
    for (const nonsense of [null, '', '{', '[]', '{"parts":7}', '{"parts":[{}]}', 'null', '7']) {
      expect(draftFrom(nonsense).piece.parts.length).toBeGreaterThan(0);
    }
    const bent = { density: 5, targets: null, acceptClosures: [7], compare: 'x', continues: 3 };
    expect(draftFrom(JSON.stringify({ ...bent, dueTime: '05:00' }))).toMatchObject({
      density: '',
      targets: newDraft().targets,
      acceptClosures: [],
      compare: ['', '', ''],
      continues: null,
      dueTime: '05:00',
    });
  });

  it('is read in the shapes of older pages', () => {
    const {
      key: _key,
      covered: _covered,
      outline: _outline,
      mesh: _mesh,
      ...old
    } = newPart('ball');
    const before = draftFrom(
      JSON.stringify({
        name: 'Old',
        parts: [old],
        areaPercent: '7',
        density: '0.1',
        densityUnit: 'A/in2',
        trickleDensity: '0.004',
        targetKind: 'mass',
      }),
    );
    expect(before).toMatchObject({
      piece: { name: 'Old', parts: [old], areaPercent: '7', materials: [] },
      ownStart: false,
      density: '0.1 A/in2',
      trickleDensity: '0.004 A/in2',
      goal: 'mass',
    });
    expect(Object.keys(before).filter((key) => key in newPieceDraft())).toEqual([]);
  });
});

it('is copied so that an edit of the copy changes nothing of the first', () => {
  const first = draft();
  const text = JSON.stringify(first);
  const copy = copied(first);
  copy.targets.mass = '9';
  copy.compare[0] = '2';
  copy.acceptClosures.push('Loop');
  copy.blank.size = '60';
  expect(JSON.stringify(first)).toBe(text);
  expect(copy.piece).toBe(first.piece);
});
