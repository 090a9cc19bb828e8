/** Medians, and two things measured in turns, so that a busy machine weighs on both alike. */

export function median(values) {
  if (values.length === 0) throw new RangeError('There is no median of nothing.');
  const sorted = values.toSorted((left, right) => left - right);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/**
 * Measures both sides in each round, the other one first in every second round. `ratio` is the
 * median of the rounds' own ratios; `ours` and `theirs` are the medians of the two sides.
 */
export async function alternately(rounds, { ours, theirs }) {
  const measured = { ours: [], theirs: [] };
  for (let round = 0; round < rounds; round += 1) {
    const ownFirst = round % 2 === 0;
    if (ownFirst) measured.ours.push(await ours(round));
    measured.theirs.push(await theirs(round));
    if (!ownFirst) measured.ours.push(await ours(round));
  }
  return {
    ratio: median(measured.ours.map((own, round) => own / measured.theirs[round])),
    ours: median(measured.ours),
    theirs: median(measured.theirs),
  };
}

/** How long one call takes, ms. */
export async function timed(work) {
  const startMs = performance.now();
  await work();
  return performance.now() - startMs;
}

/** A figure from two sides, with both of them in words. */
export function figure({ ratio, ours, theirs }, unit, digits = 2) {
  const sides = `${ours.toFixed(digits)} ${unit} against ${theirs.toFixed(digits)} ${unit}`;
  return { value: ratio, sides };
}
