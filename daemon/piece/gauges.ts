/** American Wire Gauge by the formula of ASTM B258. */

// Thickest gauge in reach: 4/0.
const thickestAwg = -3;

// Thinnest gauge in reach.
const thinnestAwg = 40;

// B258 fixes two sizes, 0.0050 in at 36 and 0.4600 in at 4/0, and 39 equal steps of ratio between them.
const diameterMmAt36 = 0.127;
const ratio = 0.46 / 0.005;
const stepsBetween = 39;

/**
 * Diameter, mm, of a whole gauge from -3 (4/0) to 40; throws RangeError outside. AWG is for
 * non-ferrous wire; steel binding wire uses other gauges. Source: ASTM B258.
 */
export function diameterMmFromAwg(gauge: number): number {
  if (!Number.isInteger(gauge) || gauge < thickestAwg || gauge > thinnestAwg) {
    throw new RangeError(
      `gauge is ${gauge}; it must be a whole number from ${thickestAwg} (4/0) to ${thinnestAwg}`,
    );
  }
  return diameterMmAt36 * ratio ** ((36 - gauge) / stepsBetween);
}

/**
 * Gauge of a wire by its diameter, mm, as a real number: the exact inverse of the formula, to be
 * rounded for the nearest gauge. Throws RangeError for wire thicker than 4/0 or thinner than 40,
 * with half a gauge of grace on either side.
 */
export function awgFromDiameterMm(diameterMm: number): number {
  const gauge = 36 - stepsBetween * (Math.log(diameterMm / diameterMmAt36) / Math.log(ratio));
  if (!(gauge >= thickestAwg - 0.5 && gauge <= thinnestAwg + 0.5)) {
    const thick = diameterMmFromAwg(thickestAwg).toFixed(2);
    const thin = diameterMmFromAwg(thinnestAwg).toFixed(3);
    throw new RangeError(
      `diameterMm is ${diameterMm}; it must be a diameter between 40 AWG, ${thin} mm, ` +
        `and 4/0 AWG, ${thick} mm`,
    );
  }
  return gauge;
}
