/** The limits of a run: wide enough for its plan, no wider than tank and supply allow. */

import type { RunLimits, TankFacts } from './model.ts';
import type { PlanFigures } from './plan-figures.ts';

const msPerHour = 3_600_000;
const minuteMs = 60_000;

/** A supply that has been mute for so long is no longer under control, ms. */
const maxSilenceMs = 2_000;

/** A plan that takes more of the tank's longest time than this leaves too little for delays. */
export const tightShare = 0.95;

const currentAllowance = 1.25;
/** Room above the largest planned current for noise and rounding, in steps of the supply. */
const leastSteps = 5;
/** How much longer than planned a run may take: this many times, and so much more, ms. */
export const durationAllowance = 1.25;
export const durationExtraMs = 30 * minuteMs;
const chargeAllowance = 1.05;
/** A cap below this trips on a stiff connection long before anything is wrong, V. */
const leastCapVolts = 1.5;
const voltsAllowance = 2;

// Steps are decimal numbers that floats only come near to; this keeps 0.3 from becoming 0.4.
const roundingSlack = 1e-6;
const decimals = 9;

/** The next whole step of the supply at or above a value. */
export function roundUp(value: number, step: number): number {
  return Number((Math.ceil(value / step - roundingSlack) * step).toFixed(decimals));
}

function roundDown(value: number, step: number): number {
  return Number((Math.floor(value / step + roundingSlack) * step).toFixed(decimals));
}

/** What neither tank nor supply may pass, A. */
export function boundAmps(tank: TankFacts): number {
  return Math.min(tank.maxAmps, tank.supply.maxAmps);
}

/** What neither tank nor supply may pass, V. */
export function boundVolts(tank: TankFacts): number {
  return Math.min(tank.maxVolts, tank.supply.maxVolts);
}

/**
 * Largest current that a plan may want, A. The rest up to the bound is kept free, so that a reading
 * that jitters does not trip the run: a fiftieth of it or three steps of the supply.
 */
export function plannableAmps(tank: TankFacts): number {
  const bound = boundAmps(tank);
  return Math.max(bound / 2, bound - Math.max(0.02 * bound, 3 * tank.supply.stepAmps));
}

/** Room between the supply's voltage cap and the trip, V: the supply may stand at its cap. */
export function voltsRoom(tank: TankFacts, volts: number): number {
  const room = Math.max(0.1 * volts, 10 * tank.supply.stepVolts, 0.1);
  return Math.min(room, boundVolts(tank) / 4);
}

/** Largest voltage cap that this tank allows, V. */
export function largestCapVolts(tank: TankFacts): number {
  const bound = boundVolts(tank);
  return roundDown(bound - voltsRoom(tank, bound), tank.supply.stepVolts) || bound / 2;
}

function capVolts({ tank, expectedVolts }: PlanFigures): number {
  const comfortable = Math.max(leastCapVolts, voltsAllowance * expectedVolts.high);
  return Math.min(largestCapVolts(tank), roundUp(comfortable, tank.supply.stepVolts));
}

/**
 * The limits of a run. Duration and charge include the trickle where there is one, because it is
 * timed and counted like the rest.
 */
export function runLimits(figures: PlanFigures): RunLimits {
  const { tank, peakAmps: peak, durationMs, targetChargeAmpHours, trickle } = figures;
  const { supply } = tank;
  const wanted = Math.max(currentAllowance * peak, peak + leastSteps * supply.stepAmps);
  const maxAmps = Math.min(boundAmps(tank), roundUp(wanted, supply.stepAmps));
  const setVolts = capVolts(figures);
  const maxVolts = Math.min(
    boundVolts(tank),
    roundUp(setVolts + voltsRoom(tank, setVolts), supply.stepVolts),
  );
  // One minute at the largest current: what a tiny target may overshoot by between two readings.
  const smallAmpHours = (maxAmps * minuteMs) / msPerHour;
  // What an earlier run has brought is there already: only what is still to come may overshoot.
  const carriedAmpHours = Math.min(figures.carriedAmpHours, targetChargeAmpHours);
  const comingAmpHours = targetChargeAmpHours - carriedAmpHours;
  return {
    maxAmps,
    maxVolts,
    setVolts,
    overVoltageVolts: supply.overVoltageLevel ? maxVolts : null,
    overCurrentAmps: supply.overCurrentLevel ? maxAmps : null,
    maxDurationMs: Math.min(
      tank.maxHours * msPerHour,
      durationAllowance * durationMs + durationExtraMs + (trickle?.durationMs ?? 0),
    ),
    maxChargeAmpHours:
      carriedAmpHours + chargeAllowance * comingAmpHours + (trickle?.ampHours ?? 0) + smallAmpHours,
    maxSilenceMs,
  };
}
