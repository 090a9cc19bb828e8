/** The geometry of tracing: the view on a photo, what lies under a finger, and moves of points. */

import type { PicturePoint } from '../../daemon/piece/model.ts';
import { crossingSides } from '../../daemon/piece/geometry/polygon.ts';

/** How the photo lies on the screen: screen = photo times `scale` plus the offset, all in pixels. */
export interface View {
  readonly scale: number;
  readonly x: number;
  readonly y: number;
}

export interface Size {
  readonly width: number;
  readonly height: number;
}

/** Closest look, screen pixels for one of the photo. */
const closest = 12;

/** The whole photo in the middle of the box. */
export function fitView(picture: Size, box: Size): View {
  const scale = Math.min(box.width / picture.width, box.height / picture.height);
  return {
    scale,
    x: (box.width - picture.width * scale) / 2,
    y: (box.height - picture.height * scale) / 2,
  };
}

export function toScreen({ scale, x, y }: View, point: PicturePoint): PicturePoint {
  return { x: point.x * scale + x, y: point.y * scale + y };
}

/** A place on the screen in pixels of the photo, to a tenth of one. */
export function toPicture({ scale, x, y }: View, at: PicturePoint): PicturePoint {
  const tenth = (value: number): number => Math.round(value * 10) / 10;
  return { x: tenth((at.x - x) / scale), y: tenth((at.y - y) / scale) };
}

/** Keeps some of the photo in the box. */
function held(view: View, picture: Size, box: Size): View {
  const margin = Math.min(box.width, box.height) / 2;
  const within = (value: number, size: number, room: number): number =>
    Math.min(room - margin, Math.max(margin - size, value));
  return {
    scale: view.scale,
    x: within(view.x, picture.width * view.scale, box.width),
    y: within(view.y, picture.height * view.scale, box.height),
  };
}

export function panned(view: View, byX: number, byY: number, picture: Size, box: Size): View {
  return held({ scale: view.scale, x: view.x + byX, y: view.y + byY }, picture, box);
}

/** Closer or farther, with the place under `at` kept where it is. */
export function zoomed(
  view: View,
  factor: number,
  at: PicturePoint,
  picture: Size,
  box: Size,
): View {
  const farthest = fitView(picture, box).scale * 0.8;
  const scale = Math.min(Math.max(closest, farthest), Math.max(farthest, view.scale * factor));
  const share = scale / view.scale;
  const moved = { scale, x: at.x - (at.x - view.x) * share, y: at.y - (at.y - view.y) * share };
  return held(moved, picture, box);
}

export const distance = (from: PicturePoint, to: PicturePoint): number =>
  Math.hypot(to.x - from.x, to.y - from.y);

/** The nearest of the points within reach on the screen; -1 for none. */
export function pointAt(
  points: readonly PicturePoint[],
  view: View,
  at: PicturePoint,
  reach: number,
): number {
  let found = -1;
  let nearest = reach;
  for (const [index, point] of points.entries()) {
    const away = distance(toScreen(view, point), at);
    if (away <= nearest) {
      nearest = away;
      found = index;
    }
  }
  return found;
}

/** How far a place is from the line between two others. */
function fromSide(at: PicturePoint, from: PicturePoint, to: PicturePoint): number {
  const [dx, dy] = [to.x - from.x, to.y - from.y];
  const length = dx * dx + dy * dy;
  const along = length === 0 ? 0 : ((at.x - from.x) * dx + (at.y - from.y) * dy) / length;
  const share = Math.min(1, Math.max(0, along));
  return distance(at, { x: from.x + share * dx, y: from.y + share * dy });
}

/** The side of the closed outline within reach, by the point it starts at; -1 for none. */
export function sideAt(
  points: readonly PicturePoint[],
  view: View,
  at: PicturePoint,
  reach: number,
): number {
  let found = -1;
  let nearest = reach;
  for (const [index, point] of points.entries()) {
    const next = points[(index + 1) % points.length] ?? point;
    const away = fromSide(at, toScreen(view, point), toScreen(view, next));
    if (away <= nearest) {
      nearest = away;
      found = index;
    }
  }
  return found;
}

/** The two sides that cross, by the points they start at; an open outline has no last side. */
export function crossingOf(
  points: readonly PicturePoint[],
  closed: boolean,
): readonly [number, number] | null {
  if (points.length < 4) return null;
  const inMm = points.map(({ x, y }) => ({ xMm: x, yMm: y }));
  if (closed) return crossingSides(inMm);
  // The side that would close it is not drawn yet, and may well cross the others for now.
  for (let second = 2; second < points.length - 1; second += 1) {
    for (let first = 0; first < second - 1; first += 1) {
      const [a, b, c, d] = [inMm[first], inMm[first + 1], inMm[second], inMm[second + 1]];
      if (a && b && c && d && meets(a, b, c, d)) return [first, second];
    }
  }
  return null;
}

interface InMm {
  readonly xMm: number;
  readonly yMm: number;
}

function meets(a: InMm, b: InMm, c: InMm, d: InMm): boolean {
  const side = (from: InMm, to: InMm, of: InMm): number =>
    (to.xMm - from.xMm) * (of.yMm - from.yMm) - (to.yMm - from.yMm) * (of.xMm - from.xMm);
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}
