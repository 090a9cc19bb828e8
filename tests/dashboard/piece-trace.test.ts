/** Tracing, apart from the screen; the chooser's search; and the drawings of parts. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { partDefinitions } from '../../daemon/piece/parts.ts';
import { kindGroups } from '../../dashboard/piece/chooser.ts';
import { newTrace, type OutlineDraft } from '../../dashboard/piece/draft.ts';
import { barLengthMm } from '../../dashboard/piece/drawing.ts';
import { typicalDrawing } from '../../daemon/piece/typical-drawing.ts';
import { learnKinds } from '../../dashboard/piece/kinds.ts';
import {
  neighbour,
  removePoint,
  takePhoto,
  tapOutline,
  tapScale,
  traceKey,
  withMoved,
} from '../../dashboard/piece/trace-moves.ts';
import {
  crossingOf,
  fitView,
  panned,
  pointAt,
  sideAt,
  toPicture,
  toScreen,
  zoomed,
} from '../../dashboard/piece/trace.ts';

const picture = { width: 2000, height: 1500 };
const box = { width: 360, height: 480 };
const square = [
  { x: 400, y: 400 },
  { x: 800, y: 400 },
  { x: 800, y: 800 },
  { x: 400, y: 800 },
];

const trace = (changes: Partial<OutlineDraft> = {}): OutlineDraft => ({
  ...newTrace(),
  picturePoints: structuredClone(square),
  ...changes,
});

function applied(one: OutlineDraft, apply: ((trace: OutlineDraft) => void) | null): OutlineDraft {
  const copy = structuredClone(one);
  apply?.(copy);
  return copy;
}

describe('the view on a photo', () => {
  it('shows all of it in the middle', () => {
    const view = fitView(picture, box);
    expect(view.scale).toBeCloseTo(0.18, 12);
    expect(toScreen(view, { x: 1000, y: 750 })).toEqual({ x: 180, y: 240 });
  });

  it('keeps the place under the fingers where it is while it zooms', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1.05, max: 3, noNaN: true }),
        fc.integer({ min: 100, max: 260 }),
        fc.integer({ min: 160, max: 320 }),
        (factor, x, y) => {
          const view = fitView(picture, box);
          const at = { x, y };
          const before = { x: (x - view.x) / view.scale, y: (y - view.y) / view.scale };
          const after = toScreen(zoomed(view, factor, at, picture, box), before);
          expect(after.x).toBeCloseTo(x, 6);
          expect(after.y).toBeCloseTo(y, 6);
        },
      ),
    );
  });

  it('never loses the photo, however far it is moved or zoomed', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -9999, max: 9999 }),
        fc.integer({ min: -9999, max: 9999 }),
        fc.double({ min: 1e-3, max: 1e3, noNaN: true }),
        (x, y, factor) => {
          const far = panned(fitView(picture, box), x, y, picture, box);
          const view = zoomed(far, factor, { x: 10, y: 10 }, picture, box);
          const left = view.x < box.width && view.x + picture.width * view.scale > 0;
          const top = view.y < box.height && view.y + picture.height * view.scale > 0;
          expect(left && top).toBe(true);
        },
      ),
    );
  });

  it('takes a press to a tenth of a pixel of the photo', () => {
    const view = { scale: 0.37, x: 11.3, y: -7.9 };
    const back = toScreen(view, toPicture(view, { x: 200, y: 100 }));
    expect(Math.hypot(back.x - 200, back.y - 100)).toBeLessThan(0.05);
  });
});

describe('a press on the photo', () => {
  const view = fitView(picture, box);

  it('finds the nearest point within reach', () => {
    const at = toScreen(view, { x: 790, y: 410 });
    expect(pointAt(square, view, at, 12)).toBe(1);
    expect(pointAt(square, view, { x: at.x + 40, y: at.y }, 12)).toBe(-1);
  });

  it('finds a side, the closing one too', () => {
    expect(sideAt(square, view, toScreen(view, { x: 600, y: 405 }), 8)).toBe(0);
    expect(sideAt(square, view, toScreen(view, { x: 402, y: 600 }), 8)).toBe(3);
    expect(sideAt(square, view, toScreen(view, { x: 600, y: 600 }), 8)).toBe(-1);
  });

  it('sets two marks, and then moves the nearer one', () => {
    let one = trace();
    one = applied(one, tapScale(one, { x: 0, y: 0 }, -1).apply);
    one = applied(one, tapScale(one, { x: 100, y: 0 }, -1).apply);
    const third = tapScale(one, { x: 90, y: 5 }, -1);
    expect(third.chosen).toBe(1);
    expect(applied(one, third.apply).scaleEnds).toEqual([
      { x: 0, y: 0 },
      { x: 90, y: 5 },
    ]);
  });

  it('adds points while the outline is open, and closes it on the first', () => {
    const added = tapOutline(trace(), { x: 1, y: 2 }, -1, -1);
    expect(added.chosen).toBe(4);
    expect(applied(trace(), added.apply).picturePoints.at(-1)).toEqual({ x: 1, y: 2 });
    expect(applied(trace(), tapOutline(trace(), { x: 0, y: 0 }, 0, -1).apply).closed).toBe(true);
    const two = trace({ picturePoints: square.slice(0, 2) });
    expect(tapOutline(two, { x: 0, y: 0 }, 0, -1), 'two points enclose nothing').toEqual({
      chosen: 0,
      apply: null,
    });
  });

  it('adds a point on a side of a closed outline, and elsewhere lets go', () => {
    const closed = trace({ closed: true });
    const added = tapOutline(closed, { x: 600, y: 400 }, -1, 0);
    expect(added.chosen).toBe(1);
    expect(applied(closed, added.apply).picturePoints[1]).toEqual({ x: 600, y: 400 });
    expect(tapOutline(closed, { x: 600, y: 600 }, -1, -1)).toEqual({ chosen: -1, apply: null });
  });

  it('adds nothing beyond 2,000 points', () => {
    const full = trace({ picturePoints: Array.from({ length: 2000 }, (_, x) => ({ x, y: 0 })) });
    expect(tapOutline(full, { x: 1, y: 1 }, -1, -1).apply).toBeNull();
  });
});

describe('a trace', () => {
  it('is open again when fewer than three points are left', () => {
    const one = trace({ closed: true, picturePoints: square.slice(0, 3) });
    removePoint(one, 'outline', 1);
    expect(one.closed).toBe(false);
    expect(one.picturePoints).toEqual([square[0], square[2]]);
  });

  it('shows a point where it is being dragged, and changes nothing until it is let go of', () => {
    const one = trace();
    const moved = withMoved(one, 'outline', { index: 2, point: { x: 1, y: 1 } });
    expect(moved.picturePoints[2]).toEqual({ x: 1, y: 1 });
    expect(one.picturePoints[2]).toEqual({ x: 800, y: 800 });
  });

  it('begins anew on another photo', () => {
    const one = trace({ closed: true, scaleLength: '50' });
    takePhoto(one, 'id', { width: 10, height: 20 });
    expect(one).toEqual({ ...newTrace(), pictureId: 'id', pictureWidth: 10, pictureHeight: 20 });
  });

  it('crosses itself as a bow does, open or closed', () => {
    const bow = [square[0]!, square[2]!, square[1]!, square[3]!];
    expect(crossingOf(square, true)).toBeNull();
    expect(crossingOf(square, false)).toBeNull();
    expect(crossingOf(bow, true)).toEqual([0, 2]);
    expect(crossingOf(bow, false)).toEqual([0, 2]);
    const hook = [
      { x: 0, y: 0 },
      { x: 50, y: 50 },
      { x: 100, y: 0 },
      { x: 110, y: 40 },
    ];
    expect(crossingOf(hook, false), 'the side that would close it is not drawn yet').toBeNull();
    expect(crossingOf(hook, true)).toEqual([1, 3]);
  });

  it('goes round its points with keys', () => {
    expect([neighbour(-1, 1, 4), neighbour(3, 1, 4), neighbour(-1, -1, 4)]).toEqual([0, 0, 3]);
  });

  it('knows its keys, and leaves those of the browser alone', () => {
    const plain = { shiftKey: false, ctrlKey: false, metaKey: false, altKey: false };
    expect(traceKey({ ...plain, key: 'ArrowLeft', shiftKey: true })).toMatchObject({ x: -10 });
    expect(traceKey({ ...plain, key: 'Delete' })).toEqual({ act: 'remove' });
    expect(traceKey({ ...plain, key: 'Tab' })).toBeNull();
    expect(traceKey({ ...plain, key: 'c', ctrlKey: true })).toBeNull();
  });
});

learnKinds(partDefinitions);

describe('the chooser', () => {
  it('offers every kind once', () => {
    const kinds = kindGroups('').flatMap((group) => group.kinds.map(({ kind }) => kind));
    expect(kinds.toSorted()).toEqual(partDefinitions.map(({ kind }) => kind).toSorted());
  });

  it('finds each kind by its title, typed in any case', () => {
    for (const { kind, title } of partDefinitions) {
      const found = kindGroups(title.toUpperCase()).flatMap(({ kinds }) => kinds);
      expect(
        found.map((one) => one.kind),
        title,
      ).toContain(kind);
    }
  });

  it('finds by use, puts titles first, and finds nothing for nonsense', () => {
    const stones = kindGroups('stone').flatMap(({ kinds }) => kinds.map(({ group }) => group));
    expect(stones).toContain('setting');
    expect(kindGroups('wire')[0]?.kinds[0]?.title).toMatch(/wire/i);
    expect(kindGroups('xyzzy')).toEqual([]);
  });
});

describe('drawings', () => {
  it.each(partDefinitions.map((definition) => [definition.kind, definition] as const))(
    'of a usual %s are finite and lie in their frame',
    (_kind, definition) => {
      const { viewBox, strokes } = typicalDrawing(definition);
      expect(strokes.length).toBeGreaterThan(0);
      for (const stroke of strokes) {
        const points = 'points' in stroke ? stroke.points : [stroke.centre];
        for (const { xMm, yMm } of points) {
          expect(xMm).toBeGreaterThanOrEqual(viewBox.xMm - 1e-9);
          expect(xMm).toBeLessThanOrEqual(viewBox.xMm + viewBox.widthMm + 1e-9);
          expect(yMm).toBeGreaterThanOrEqual(viewBox.yMm - 1e-9);
          expect(yMm).toBeLessThanOrEqual(viewBox.yMm + viewBox.heightMm + 1e-9);
        }
      }
    },
  );

  it.each([
    [30, 10],
    [29, 5],
    [2.5, 0.5],
    [0.7, 0.2],
  ])('of %d mm carry a bar of %d mm', (side, bar) => {
    expect(barLengthMm(side)).toBe(bar);
  });
});
