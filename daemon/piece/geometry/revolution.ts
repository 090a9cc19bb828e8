/** Growth of bodies turned about an axis, from their profile (Pappus and Steiner). */

import type { Growth } from '../model.ts';
import { turningWeight } from './turning.ts';

/**
 * One stretch of a profile, walked with the body on its left; `x` is the distance from the axis, mm,
 * and `z` the place along it. An arc of positive radius bulges outwards, from an angle of its
 * outward normal to a larger one, in radians from the x axis.
 */
export type ProfileStretch =
  | {
      readonly form: 'line';
      readonly fromX: number;
      readonly fromZ: number;
      readonly toX: number;
      readonly toZ: number;
    }
  | {
      readonly form: 'arc';
      readonly centreX: number;
      readonly radius: number;
      readonly fromAngle: number;
      readonly toAngle: number;
    };

/** A straight stretch. */
export function line(fromX: number, fromZ: number, toX: number, toZ: number): ProfileStretch {
  return { form: 'line', fromX, fromZ, toX, toZ };
}

/** A round stretch; its place along the axis does not matter. */
export function arc(
  centreX: number,
  radius: number,
  fromAngle: number,
  toAngle: number,
): ProfileStretch {
  return { form: 'arc', centreX, radius, fromAngle, toAngle };
}

interface Sums {
  /** Integral of x along the stretch, mm2: 2 pi times it is the area it sweeps. */
  readonly moment: number;
  /** Integral of x over the turning of its normal, mm. */
  readonly turning: number;
  /** Integral of the normal's x part along the stretch, mm: how far it rises along the axis. */
  readonly rise: number;
  readonly firstNormal: number;
  readonly lastNormal: number;
  readonly lastX: number;
}

function sumsOf(stretch: ProfileStretch): Sums {
  if (stretch.form === 'line') {
    const { fromX, fromZ, toX, toZ } = stretch;
    const normal = Math.atan2(fromX - toX, toZ - fromZ);
    return {
      moment: ((fromX + toX) / 2) * Math.hypot(toX - fromX, toZ - fromZ),
      turning: 0,
      rise: toZ - fromZ,
      firstNormal: normal,
      lastNormal: normal,
      lastX: toX,
    };
  }
  const { centreX, radius, fromAngle, toAngle } = stretch;
  const swing = Math.sin(toAngle) - Math.sin(fromAngle);
  const turning = centreX * (toAngle - fromAngle) + radius * swing;
  return {
    moment: radius * turning,
    turning,
    rise: radius * swing,
    firstNormal: fromAngle,
    lastNormal: toAngle,
    lastX: centreX + radius * Math.cos(toAngle),
  };
}

/** An angle brought into the half-open turn above -pi. */
function turnOf(angle: number): number {
  const turn = angle % (2 * Math.PI);
  return turn > Math.PI ? turn - 2 * Math.PI : turn <= -Math.PI ? turn + 2 * Math.PI : turn;
}

/**
 * Growth of the body a profile sweeps: 2 pi times the integral of x along it; pi times the integral
 * of x over its turning, corners included, plus its rise along the axis. A profile that closes on
 * itself off the axis sweeps a ring, whose third term is 0; one that runs from axis to axis sweeps
 * a body like a ball, whose third term is 4 pi / 3. Inner corners count as in `turningWeight`, in
 * the second term only.
 */
export function revolvedGrowth(profile: readonly ProfileStretch[], kind: 'ring' | 'solid'): Growth {
  const sums = profile.map(sumsOf);
  let [moment, turning, rise] = [0, 0, 0];
  for (const [index, stretch] of sums.entries()) {
    moment += stretch.moment;
    turning += stretch.turning;
    rise += stretch.rise;
    const next = sums[index + 1] ?? (kind === 'ring' ? sums[0] : undefined);
    if (next !== undefined) {
      const corner = turnOf(next.firstNormal - stretch.lastNormal);
      turning += stretch.lastX * turningWeight(corner);
    }
  }
  return {
    areaMm2: 2 * Math.PI * moment,
    meanCurvatureMm: Math.PI * (turning + rise),
    gaussThird: kind === 'ring' ? 0 : (4 * Math.PI) / 3,
  };
}
