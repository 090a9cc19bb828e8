/** Where the letters at the ends of lines stand, so that each can be read. */

/** A place on a canvas, CSS pixels or any other unit, y downwards. */
interface Place {
  readonly x: number;
  readonly y: number;
}

/** The room that a letter takes with the ground around it, in the same unit. */
interface LetterBox {
  readonly width: number;
  readonly height: number;
  /** Highest and lowest place that the middle of a letter may have. */
  readonly top: number;
  readonly bottom: number;
}

/**
 * The middle of each letter's left side: beside the end of its line, or the nearest place above or below
 * it that no other letter has.
 */
export function letterPlaces(ends: readonly Place[], box: LetterBox): readonly Place[] {
  const placed: Place[] = [];
  const inside = (y: number): number => Math.min(box.bottom, Math.max(box.top, y));
  const isFree = ({ x, y }: Place): boolean =>
    placed.every((one) => Math.abs(one.x - x) >= box.width || Math.abs(one.y - y) >= box.height);
  for (const end of ends) {
    const y = inside(end.y);
    const tries = [
      y,
      ...placed.flatMap((one) => [one.y + box.height, one.y - box.height]),
    ].toSorted((a, b) => Math.abs(a - y) - Math.abs(b - y));
    const free = tries
      .map((at) => ({ x: end.x, y: at }))
      .find((place) => inside(place.y) === place.y && isFree(place));
    placed.push(free ?? { x: end.x, y });
  }
  return placed;
}
