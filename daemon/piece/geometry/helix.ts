/** Length of a helix and the distance between its turns. */

/** Length, mm, of one turn of a helix by the diameter of its cylinder and its pitch, mm. */
export function helixTurnMm(diameterMm: number, pitchMm: number): number {
  return Math.hypot(Math.PI * diameterMm, pitchMm);
}

/**
 * Shortest distance, mm, between the mid-lines of neighbouring turns: a little less than the pitch,
 * because the turns lean. It lies just short of a full turn, where the slope of the squared distance
 * 2 R^2 (1 - cos a) + (h a)^2 is 0; Newton's method finds it.
 */
export function helixSpacingMm(diameterMm: number, pitchMm: number): number {
  const radius = diameterMm / 2;
  const rise = pitchMm / (2 * Math.PI);
  const squared = (angle: number) => 2 * radius ** 2 * (1 - Math.cos(angle)) + (rise * angle) ** 2;
  let angle = 2 * Math.PI * (1 - rise ** 2 / (radius ** 2 + rise ** 2));
  for (let step = 0; step < 60; step += 1) {
    const slope = radius ** 2 * Math.sin(angle) + rise ** 2 * angle;
    const bend = radius ** 2 * Math.cos(angle) + rise ** 2;
    // Where the turns stand far apart there is no such place, and a full turn is nearest enough.
    if (bend <= 0) {
      return pitchMm;
    }
    const next = angle - slope / bend;
    if (Math.abs(next - angle) < 1e-14 * angle) {
      break;
    }
    angle = next;
  }
  return Math.min(pitchMm, Math.sqrt(squared(angle)));
}
