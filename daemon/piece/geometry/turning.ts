/** How much a corner or edge counts in the growth of a surface. */

// An inner corner sharper than this is a slit that shuts at once; counted further, its tangent
// would swallow the whole part.
const sharpestInnerTurn = (150 * Math.PI) / 180;

/**
 * Weight of an edge by the angle its normal turns, in radians, above 0 on the outside of a corner:
 * the angle itself, because the metal there grows round. In an inner corner the two sides grow into
 * each other and meet on a mitre, which takes away 2 tan(angle / 2) instead. An inner corner sharper
 * than 150 degrees of turn counts as one of 150.
 */
export function turningWeight(turn: number): number {
  return turn >= 0 ? turn : -2 * Math.tan(Math.min(-turn, sharpestInnerTurn) / 2);
}
