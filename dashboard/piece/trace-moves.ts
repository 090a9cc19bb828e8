/** What a tap or a key does to a trace, apart from the screen: which point is chosen, what changes. */

import type { PicturePoint } from '../../daemon/piece/model.ts';
import type { OutlineDraft } from './draft.ts';
import { distance, type Size } from './trace.ts';

/** Most points that an outline may have. */
const mostPoints = 2000;
/** How far keys pan, screen pixels, and how many times farther with Shift. */
const panStep = 24;
/** How much closer one press looks. */
export const zoomStep = 1.4;

export interface TraceMove {
  /** Index of the point that is chosen afterwards; -1 for none. */
  readonly chosen: number;
  /** The change of the trace; null where only the choice changes. */
  readonly apply: ((trace: OutlineDraft) => void) | null;
}

/** A tap while the scale is set: the third moves the nearer mark. */
export function tapScale(trace: OutlineDraft, place: PicturePoint, index: number): TraceMove {
  const { scaleEnds } = trace;
  if (index >= 0) return { chosen: index, apply: null };
  const [first, second] = scaleEnds;
  if (!first || !second) {
    return { chosen: scaleEnds.length, apply: (one) => one.scaleEnds.push(place) };
  }
  const nearer = distance(place, first) > distance(place, second) ? 1 : 0;
  return { chosen: nearer, apply: (one) => (one.scaleEnds[nearer] = place) };
}

/** A tap on the outline: `index` is the point and `side` the side of a closed outline under it. */
export function tapOutline(
  trace: OutlineDraft,
  place: PicturePoint,
  index: number,
  side: number,
): TraceMove {
  const { picturePoints, closed } = trace;
  const room = picturePoints.length < mostPoints;
  if (!closed && index === 0 && picturePoints.length >= 3) {
    return { chosen: -1, apply: (one) => (one.closed = true) };
  }
  if (index >= 0) return { chosen: index, apply: null };
  if (!closed && room) {
    return {
      chosen: picturePoints.length,
      apply(one) {
        one.picturePoints.push(place);
        // From the first press on, the trace counts and not an outline that came without a photo.
        one.points = [];
      },
    };
  }
  if (closed && side >= 0 && room) {
    return { chosen: side + 1, apply: (one) => one.picturePoints.splice(side + 1, 0, place) };
  }
  return { chosen: -1, apply: null };
}

/** Removes a mark or a point; an outline of fewer than three points is open again. */
export function removePoint(trace: OutlineDraft, mode: 'scale' | 'outline', index: number): void {
  (mode === 'scale' ? trace.scaleEnds : trace.picturePoints).splice(index, 1);
  if (trace.picturePoints.length < 3) trace.closed = false;
}

/** Another photo: what was traced on the one before says nothing about it. */
export function takePhoto(trace: OutlineDraft, pictureId: string | null, size: Size): void {
  Object.assign(trace, {
    pictureId,
    pictureWidth: size.width,
    pictureHeight: size.height,
    scaleEnds: [],
    scaleLength: '',
    picturePoints: [],
    closed: false,
  });
}

/** A point on its way to another place, before it is let go of. */
export interface MovedPoint {
  readonly index: number;
  readonly point: PicturePoint;
}

/** The trace as it would be, were the point let go of now. */
export function withMoved(
  trace: OutlineDraft,
  mode: 'scale' | 'outline',
  moved: MovedPoint | null,
): OutlineDraft {
  if (!moved) return trace;
  const put = (points: readonly PicturePoint[]): PicturePoint[] =>
    points.map((point, index) => (index === moved.index ? moved.point : point));
  return mode === 'scale'
    ? { ...trace, scaleEnds: put(trace.scaleEnds) }
    : { ...trace, picturePoints: put(trace.picturePoints) };
}

/** The next or the last index of `count`, in a ring; from none, the first or the last. */
export function neighbour(index: number, by: 1 | -1, count: number): number {
  return index < 0 ? (by > 0 ? 0 : count - 1) : (index + by + count) % count;
}

/** What a key asks for. */
export type TraceKey =
  | { readonly act: 'move'; readonly x: number; readonly y: number; readonly panStep: number }
  | { readonly act: 'zoom'; readonly factor: number }
  | { readonly act: 'choose'; readonly by: 1 | -1 }
  | { readonly act: 'fit' | 'set' | 'close' | 'remove' | 'letGo' };

const keys: Readonly<Record<string, TraceKey>> = {
  '+': { act: 'zoom', factor: zoomStep },
  '=': { act: 'zoom', factor: zoomStep },
  '-': { act: 'zoom', factor: 1 / zoomStep },
  '0': { act: 'fit' },
  n: { act: 'choose', by: 1 },
  p: { act: 'choose', by: -1 },
  Enter: { act: 'set' },
  c: { act: 'close' },
  Delete: { act: 'remove' },
  Backspace: { act: 'remove' },
  Escape: { act: 'letGo' },
};

const arrows: Readonly<Record<string, readonly [x: number, y: number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** The meaning of a key on the photo; null for one that is not ours. Shift moves ten times as far. */
export function traceKey({
  key,
  shiftKey,
  ctrlKey,
  metaKey,
  altKey,
}: Pick<KeyboardEvent, 'key' | 'shiftKey' | 'ctrlKey' | 'metaKey' | 'altKey'>): TraceKey | null {
  if (ctrlKey || metaKey || altKey) return null;
  const arrow = arrows[key];
  if (!arrow) return keys[key] ?? null;
  const far = shiftKey ? 10 : 1;
  return { act: 'move', x: arrow[0] * far, y: arrow[1] * far, panStep: shiftKey ? 12 : panStep };
}
