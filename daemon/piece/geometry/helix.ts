/** Length of a helix and the distance between its turns. */

/** Length, mm, of one turn of a helix by the diameter of its cylinder and its pitch, mm. */
export function helixTurnMm(diameterMm: number, pitchMm: number): number {
  return Math.hypot(Math.PI * diameterMm, pitchMm);
}

/**
 * Shortest distance, mm, between the mid-lines of neighbouring turns: a little less than the pitch,
 * because the turns lean. It lies just short of a full turn, where the slope of the squared distance
 * 2 R^2 (1 - cos a) + (h a)^2 comes back through 0. Null for a helix so steep that it only ever
 * leads away from itself: it has no neighbouring turns.
 */
export function helixSpacingMm(diameterMm: number, pitchMm: number): number | null {
  const radius = diameterMm / 2;
  const rise = pitchMm / (2 * Math.PI);
  const slope = (angle: number) => radius ** 2 * Math.sin(angle) + rise ** 2 * angle;
  if (rise >= radius) {
    return null;
  }
  // Between its lowest point and the full turn the slope rises once through 0.
  let low = 2 * Math.PI - Math.acos(-((rise / radius) ** 2));
  let high = 2 * Math.PI;
  if (slope(low) >= 0) {
    return null;
  }
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (slope(middle) < 0) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return Math.hypot(diameterMm * Math.sin(high / 2), rise * high);
}
