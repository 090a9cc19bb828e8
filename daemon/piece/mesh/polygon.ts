/** Cuts a flat polygon of more than three corners into triangles that cover it once. */

import { refuse } from './model.ts';

/** A polygon that is not convex is cut ear by ear, which takes long with many corners. */
const mostEarCorners = 2000;

/**
 * Calls `emit` with the places (in `corners`) of each triangle. `corners` are vertex numbers in
 * order around the face; one that repeats its neighbour has been left out by the caller.
 */
export function cutPolygon(
  corners: readonly number[],
  coordinates: ArrayLike<number>,
  place: string,
  emit: (a: number, b: number, c: number) => void,
): void {
  const flat = flatten(corners, coordinates);
  if (flat === null) {
    // Without area there is nothing to cover; a fan keeps its edges paired.
    for (let at = 2; at < corners.length; at += 1) emit(0, at - 1, at);
    return;
  }
  const ring = corners.map((_, index) => index);
  if (isConvex(flat)) {
    for (let at = 2; at < ring.length; at += 1) emit(0, at - 1, at);
    return;
  }
  if (corners.length > mostEarCorners) {
    throw refuse(
      'unsupported',
      place,
      `${corners.length} corners`,
      `at most ${mostEarCorners} corners in a face that is not convex`,
      `The face in ${place} is not convex and has ${corners.length} corners; at most ${mostEarCorners} are cut up. Export the mesh as triangles.`,
    );
  }
  cutEars(ring, flat, emit);
}

/** x and y of each corner in the plane of the face, counter-clockwise; null without area. */
type Flat = Float64Array;

function flatten(corners: readonly number[], coordinates: ArrayLike<number>): Flat | null {
  // Newell's normal: right for faces that are not convex, and a mean for those not quite flat.
  const normal = [0, 0, 0];
  for (let index = 0; index < corners.length; index += 1) {
    const a = 3 * (corners[index] as number);
    const b = 3 * (corners[(index + 1) % corners.length] as number);
    for (let axis = 0; axis < 3; axis += 1) {
      const next = (axis + 1) % 3;
      const other = (axis + 2) % 3;
      normal[axis] =
        (normal[axis] as number) +
        ((coordinates[a + next] as number) - (coordinates[b + next] as number)) *
          ((coordinates[a + other] as number) + (coordinates[b + other] as number));
    }
  }
  const sizes = normal.map((value) => Math.abs(value));
  const longest = sizes.indexOf(Math.max(...sizes));
  if (!((sizes[longest] as number) > 0)) return null;
  const forward = (normal[longest] as number) > 0;
  const first = (longest + (forward ? 1 : 2)) % 3;
  const second = (longest + (forward ? 2 : 1)) % 3;
  const flat = new Float64Array(2 * corners.length);
  for (let index = 0; index < corners.length; index += 1) {
    const at = 3 * (corners[index] as number);
    flat[2 * index] = coordinates[at + first] as number;
    flat[2 * index + 1] = coordinates[at + second] as number;
  }
  return flat;
}

/** Twice the signed area of a triangle of three corners. */
function turn(flat: Flat, a: number, b: number, c: number): number {
  const ax = flat[2 * a] as number;
  const ay = flat[2 * a + 1] as number;
  return (
    ((flat[2 * b] as number) - ax) * ((flat[2 * c + 1] as number) - ay) -
    ((flat[2 * b + 1] as number) - ay) * ((flat[2 * c] as number) - ax)
  );
}

/** Whether a fan from the first corner covers the face once: no fan triangle may be turned over. */
function isConvex(flat: Flat): boolean {
  const count = flat.length / 2;
  for (let index = 0; index < count; index += 1) {
    if (turn(flat, index, (index + 1) % count, (index + 2) % count) < 0) return false;
    if (index >= 2 && turn(flat, 0, index - 1, index) < 0) return false;
  }
  return true;
}

function cutEars(ring: number[], flat: Flat, emit: (a: number, b: number, c: number) => void) {
  let left = ring;
  while (left.length > 3) {
    const ear = findEar(left, flat);
    const before = left[(ear + left.length - 1) % left.length] as number;
    emit(before, left[ear] as number, left[(ear + 1) % left.length] as number);
    left = left.filter((_, index) => index !== ear);
  }
  emit(left[0] as number, left[1] as number, left[2] as number);
}

/** A corner that can be cut off; the first one where the outline crosses itself and none can. */
function findEar(ring: readonly number[], flat: Flat): number {
  const count = ring.length;
  for (let index = 0; index < count; index += 1) {
    const a = ring[(index + count - 1) % count] as number;
    const b = ring[index] as number;
    const c = ring[(index + 1) % count] as number;
    if (turn(flat, a, b, c) <= 0) continue;
    if (!ring.some((other) => isInside(flat, other, a, b, c))) return index;
  }
  return 0;
}

function isInside(flat: Flat, corner: number, a: number, b: number, c: number): boolean {
  if (corner === a || corner === b || corner === c) return false;
  // Outlines with a bridge to a hole pass through one place twice; that does not block an ear.
  if (isSame(flat, corner, a) || isSame(flat, corner, b) || isSame(flat, corner, c)) return false;
  return (
    turn(flat, a, b, corner) >= 0 && turn(flat, b, c, corner) >= 0 && turn(flat, c, a, corner) >= 0
  );
}

function isSame(flat: Flat, first: number, second: number): boolean {
  return flat[2 * first] === flat[2 * second] && flat[2 * first + 1] === flat[2 * second + 1];
}
