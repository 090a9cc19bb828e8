/** Judges the currents of a plan against the supply, the tank, the bath and the anodes. */

import { boundAmps, largestCapVolts, plannableAmps } from '../limits.ts';
import type { Notice, TankFacts } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { amps, density, figure, fitting, notice, silent } from './words.ts';

/** Below so many steps of the supply a set-point is coarse. */
const leastHoldSteps = 20;
const leastStrikeSteps = 5;

/** Bounds for copper anodes, A/dm2; from memory, medium confidence. */
const mostAnodeDensity = 2.5;
const leastAnodeDensity = 0.3;

const areaSlips =
  'Check the area too: mm2 taken for cm2, or cm2 for dm2, is a factor of 100, square inches ' +
  'taken for cm2 6.45, one side for both 2.';

export function boundName(tank: TankFacts): string {
  return tank.supply.maxAmps < tank.maxAmps ? 'the supply gives' : 'this tank allows';
}

/** The plan's largest current against what tank and supply allow, with a little kept free. */
export function currentBeyondBound(figures: PlanFigures): readonly Notice[] {
  const { tank, bath, largestAmps, endAreaDm2, areaDm2, request } = figures;
  const plannable = plannableAmps(tank);
  // A density that was solved for this very bound may sit on it, a rounding error out.
  if (largestAmps <= plannable * (1 + 1e-9)) {
    return silent;
  }
  const { minAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  const largestArea = Math.max(endAreaDm2, areaDm2.value);
  const fits = fitting(Math.min(maxAmpsPerDm2, plannable / largestArea), 3);
  const tooLow = fits < minAmpsPerDm2 ? `, below this bath's ${density(minAmpsPerDm2)}` : '';
  const bound = boundAmps(tank);
  return notice('refuse', 'currentBeyondBound', {
    field: 'densityAmpsPerDm2',
    value: amps(largestAmps),
    bound: `${amps(plannable)} of ${amps(bound)}`,
    message:
      `The hold needs up to ${amps(largestAmps)}; ${boundName(tank)} ${amps(bound)}, of which ` +
      `${amps(plannable)} can be planned so that a jittering reading does not trip the run.`,
    remedy:
      `The largest density that fits is ${density(fits)}${tooLow}, in place of ` +
      `${density(request.densityAmpsPerDm2)}. Or plate fewer pieces at once. ${areaSlips}`,
  });
}

function tooSmall(name: string, smallest: number, tank: TankFacts): readonly Notice[] {
  const { minAmps, stepAmps } = tank.supply;
  const least = Math.max(minAmps, stepAmps);
  return notice('refuse', 'currentBelowSupply', {
    field: 'tank.supply.minAmps',
    value: amps(smallest),
    bound: `at least ${amps(least)}`,
    message:
      `The ${name} needs ${amps(smallest)}; the least this supply can be set to is ` +
      `${amps(least)}.`,
    remedy:
      'Hang a robber wire or a second piece beside it so that more current flows, or use a finer ' +
      `supply. ${areaSlips}`,
  });
}

/** The plan's smallest currents against the supply's least current and its steps. */
export function currentTooSmall(figures: PlanFigures): readonly Notice[] {
  const { tank, strikeAmps, holdStartAmps, reachesHold } = figures;
  const { minAmps, stepAmps } = tank.supply;
  const least = Math.max(minAmps, stepAmps);
  if (strikeAmps < least) {
    return tooSmall('strike', strikeAmps, tank);
  }
  const holdSteps = holdStartAmps / stepAmps;
  const strikeSteps = strikeAmps / stepAmps;
  const coarseHold = reachesHold && holdSteps < leastHoldSteps;
  if (!coarseHold && strikeSteps >= leastStrikeSteps) {
    return silent;
  }
  const [name, current, steps, bound] = coarseHold
    ? (['hold', holdStartAmps, holdSteps, leastHoldSteps] as const)
    : (['strike', strikeAmps, strikeSteps, leastStrikeSteps] as const);
  return notice('warn', 'currentCoarse', {
    field: 'tank.supply.stepAmps',
    value: `${figure(steps, 2)} steps`,
    bound: `at least ${bound} steps of ${amps(stepAmps)}`,
    message:
      `The ${name} needs ${amps(current)}, only ${figure(steps, 2)} steps of this supply: the ` +
      'density can be set no finer than that.',
    remedy: `The charge is counted as measured, so the target still holds. ${areaSlips}`,
  });
}

/** The largest current per litre of bath. */
export function bathLoading({ bath, tank, peakAmps }: PlanFigures): readonly Notice[] {
  const loading = peakAmps / tank.volumeLitres;
  const { maxAmpsPerLitre } = bath.loading;
  if (loading <= maxAmpsPerLitre) {
    return silent;
  }
  return notice('warn', 'bathLoading', {
    field: 'tank.volumeLitres',
    value: `${figure(loading)} A/L`,
    bound: `at most ${figure(maxAmpsPerLitre)} A/L`,
    message:
      `${amps(peakAmps)} in ${figure(tank.volumeLitres)} L is ${figure(loading)} A/L: ` +
      'a bath this small warms up and uses up its additives quickly.',
    remedy:
      'Use a larger bath, fewer pieces at once or a lower density, and watch its temperature.',
  });
}

/** The load on copper anodes, and their area beside the piece's. */
export function anodeLoad(figures: PlanFigures): readonly Notice[] {
  const { metal, tank, peakAmps, endAreaDm2, reachesHold } = figures;
  if (metal.symbol !== 'Cu') {
    return silent;
  }
  const field = 'tank.anodeAreaDm2';
  const anodeDensity = peakAmps / tank.anodeAreaDm2;
  if (anodeDensity > mostAnodeDensity) {
    return notice('warn', 'anodeDensityHigh', {
      field,
      value: density(anodeDensity),
      bound: `at most ${density(mostAnodeDensity)}`,
      message:
        `The anodes carry ${density(anodeDensity)}: their black film comes off or they go ` +
        'passive, and the deposit gets rough.',
      remedy:
        `Hang more anode: at least ${figure(peakAmps / mostAnodeDensity, 2)} dm2 for this ` +
        'current.',
    });
  }
  if (tank.anodeAreaDm2 < endAreaDm2) {
    return notice('warn', 'anodeSmallerThanPiece', {
      field,
      value: `${figure(tank.anodeAreaDm2)} dm2`,
      bound: `at least ${figure(endAreaDm2)} dm2`,
      message:
        `The anodes (${figure(tank.anodeAreaDm2)} dm2) are smaller than the piece ` +
        `(${figure(endAreaDm2)} dm2 at the end).`,
      remedy: 'Hang at least as much anode as piece; twice as much is usual.',
    });
  }
  if (anodeDensity >= leastAnodeDensity || !reachesHold) {
    return silent;
  }
  return notice('note', 'anodeDensityLow', {
    field,
    value: density(anodeDensity),
    bound: `at least ${density(leastAnodeDensity)}`,
    message:
      `The anodes carry only ${density(anodeDensity)}: over many such runs their film grows ` +
      'thick and copper builds up in the bath.',
    remedy: 'No matter for one run. For many small pieces, hang less anode.',
  });
}

/** Above this copper anodes are likely filmed, too small or too far away, V. */
const mostCopperVolts = 1.5;

/** A voltage that copper anodes should not need; common practice, no source. */
export function copperVolts({ metal, expectedVolts }: PlanFigures): readonly Notice[] {
  if (metal.symbol !== 'Cu' || expectedVolts.value <= mostCopperVolts) return silent;
  return notice('warn', 'voltageHigh', {
    field: 'tank.anodeAreaDm2',
    value: `${figure(expectedVolts.value, 2)} V`,
    bound: `at most ${mostCopperVolts} V`,
    message:
      `About ${figure(expectedVolts.value, 2)} V are expected; with copper anodes more than ` +
      `${mostCopperVolts} V points to anodes that are too small, too far away or filmed.`,
    remedy: 'Hang more anode or bring it closer, lower the density, and check the area.',
  });
}

/** The voltage expected against the cap that tank and supply allow. */
export function voltageRoom({ tank, expectedVolts }: PlanFigures): readonly Notice[] {
  const cap = largestCapVolts(tank);
  if (expectedVolts.high <= cap) {
    return silent;
  }
  const hopeless = expectedVolts.low > cap;
  const range = `${figure(expectedVolts.low, 2)} to ${figure(expectedVolts.high, 2)} V`;
  const reach = hopeless ? 'cannot be reached' : 'may not be reached';
  return notice(hopeless ? 'refuse' : 'warn', 'voltageBeyondCap', {
    field: 'tank.maxVolts',
    value: range,
    bound: `at most ${figure(cap)} V`,
    message: `The cell will want ${range}; the cap here is ${figure(cap)} V: the current ${reach}.`,
    remedy: 'Bring the anodes closer, hang more anode, lower the density, or allow more volts.',
  });
}

/** A supply that cannot keep a limit of its own. */
export function supplyLevels({ tank }: PlanFigures): readonly Notice[] {
  const { overVoltageLevel, overCurrentLevel } = tank.supply;
  if (overVoltageLevel && overCurrentLevel) {
    return silent;
  }
  let missing = 'no over-voltage and no over-current level';
  if (overVoltageLevel) {
    missing = 'no over-current level';
  } else if (overCurrentLevel) {
    missing = 'no over-voltage level';
  }
  return notice('note', 'supplyWithoutLevels', {
    field: 'tank.supply',
    value: missing,
    bound: 'levels held by the supply itself',
    message:
      `This supply takes ${missing} from here: if this computer fails, only its own set-points ` +
      'stand between the cell and a fault.',
    remedy: 'Set its protections by hand at the front panel, and put a mains timer before it.',
  });
}
