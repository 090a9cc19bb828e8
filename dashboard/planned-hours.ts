/** The rings that a plan foresees. */

import { chargePerAreaAt } from '../daemon/run/charge-density.ts';
import type { Plan } from '../daemon/run/model.ts';

/** Thickness that the plan reaches after each whole hour, micrometres. */
export function plannedHours({ stages, durationMs, thicknessMicrometres }: Plan): number[] {
  const perCharge = thicknessMicrometres.value / chargePerAreaAt(stages, durationMs);
  const hours = Math.min(1000, Math.floor(durationMs / 3_600_000));
  return Array.from(
    { length: hours },
    (_, hour) => perCharge * chargePerAreaAt(stages, (hour + 1) * 3_600_000),
  );
}
