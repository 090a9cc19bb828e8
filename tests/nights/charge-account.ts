/** Holds a run's charge against the charge that really passed: I8 and I9. */

import type { ActiveRun } from '../../daemon/control/snapshot.ts';

export interface ChargeAccount {
  readonly runId: string;
  /** When the run came, in the world's time. */
  readonly cameMs: number;
  /** What the supply had passed since its birth when the run came, C. */
  readonly fromCoulombs: number;
  endCoulombs: number | null;
  /** Of these, what somebody had let flow at the panel by then, C. */
  readonly handFromCoulombs: number;
  handEndCoulombs: number | null;
  /** The target that was asked for last as a charge, A·h; null where the plan alone says it. */
  askedAmpHours: number | null;
  /** The largest current that was seen at the terminals, A. */
  peakAmps: number;
}

interface Meter {
  readonly stepAmps: number;
  readonly cycleMs: number;
}

const share = 0.005;
const coulombsPerAmpHour = 3600;

/** Broken promises about the charge of a run that is over and off, each with its invariant. */
export function judgeCharge(
  { state, record }: ActiveRun,
  account: ChargeAccount,
  { stepAmps, cycleMs }: Meter,
): readonly (readonly [string, string])[] {
  const found: (readonly [string, string])[] = [];
  const { ampHours, lowAmpHours, highAmpHours, gaps } = state.charge;
  if (![ampHours, lowAmpHours, highAmpHours].every(Number.isFinite)) {
    return [['I8', `a charge that is no number: ${ampHours}, ${lowAmpHours}, ${highAmpHours}.`]];
  }
  const carried = record.carriedAmpHours;
  const trueAmpHours = ((account.endCoulombs ?? 0) - account.fromCoulombs) / coulombsPerAmpHour;
  const handAmpHours =
    ((account.handEndCoulombs ?? 0) - account.handFromCoulombs) / coulombsPerAmpHour;
  const counted = ampHours - carried;
  // Half a step of the meter for all of the time, and two cycles at the ends.
  const largestAmps = Math.max(state.plan.limits.maxAmps, account.peakAmps);
  const slackHours = ((stepAmps / 2) * state.poweredMs + largestAmps * 2 * cycleMs) / 3_600_000;
  const slack = slackHours + share * Math.max(trueAmpHours, 0);
  const told = `counted ${counted.toFixed(6)} A·h, truly ${trueAmpHours.toFixed(6)} A·h, bounds ${(lowAmpHours - record.lowAmpHours).toFixed(6)} to ${(highAmpHours - record.highAmpHours).toFixed(6)}, ${gaps.length} gaps`;
  const low = lowAmpHours - record.lowAmpHours;
  const high = highAmpHours - record.highAmpHours;
  // Let flow at the panel, it may be seen and counted, or not.
  const least = trueAmpHours - Math.max(0, handAmpHours);
  if (gaps.length === 0 && (counted > trueAmpHours + slack || counted < least - slack)) {
    found.push(['I8', `the charge is off by more than 0.5 %: ${told}.`]);
  }
  if (trueAmpHours < low - slack || least > high + slack) {
    found.push(['I8', `the true charge is out of its bounds: ${told}.`]);
  }
  const reached = state.outcome?.end === 'reached' && state.probe === null;
  if (reached && gaps.length === 0 && !state.plan.request.trickle) {
    const target = account.askedAmpHours ?? state.plan.targetChargeAmpHours;
    const bound = slackHours + share * target;
    if (least + carried > target + bound || trueAmpHours + carried < target - bound) {
      found.push(['I9', `the target was ${target.toFixed(6)} A·h: ${told}.`]);
    }
  }
  return found;
}
