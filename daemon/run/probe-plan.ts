/** Plans a probe: a current that harms nothing, a low voltage, and limits close around both. */

import { metals } from '../chemistry/metals.ts';
import type { Bath } from '../chemistry/model.ts';
import {
  boundAmps,
  boundVolts,
  largestCapVolts,
  plannableAmps,
  roundUp,
  voltsRoom,
} from './limits.ts';
import type { Plan, RunLimits, TankFacts } from './model.ts';
import { leastSteadyShare, probeTitles, type ProbeKind, type ProbePlan } from './probe-model.ts';
import { mm2PerDm2 } from './stages.ts';

/** Share of the tank's largest current: seconds of it leave no mark on a piece. */
const currentShare = 0.02;
/** No more is needed on any tank, unless the meter asks for it, A. */
const mostAmps = 0.1;
/** So many times what the meter counts as none, and so many steps, so that a flow is told from noise. */
const offTimes = 5;
const leastSteps = 20;
/** A cell at so low a current needs tenths of a volt, painted pieces more, V. */
const capVolts = 2;
const leastLookMs = 2_500;
/** A slow line still gets some readings. */
const leastCycles = 5;
/** A probe that has not answered by then is cut off, ms. */
const longestMs = 30_000;
const msPerHour = 3_600_000;

/** A steady current for the meter goes off by itself after this, ms. */
export const steadyMs = 180_000;
/** Time beside it in which it has to have ended, ms. */
const steadyExtraMs = 20_000;

/** The bounds of a steady current, A: what tells a meter's error from its last digit, and what is left to the limits. */
export function steadyBounds(
  tank: TankFacts,
  offAmps: number,
): { readonly leastAmps: number; readonly mostAmps: number } {
  const { supply } = tank;
  const bound = boundAmps(tank);
  const least = Math.max(
    leastSteadyShare * bound,
    offTimes * offAmps,
    leastSteps * supply.stepAmps,
    supply.minAmps,
  );
  const most = plannableAmps(tank);
  return { leastAmps: Math.min(most, roundUp(least, supply.stepAmps)), mostAmps: most };
}

/** What the line and its meter can do. */
export interface ProbeLine {
  readonly cycleMs: number;
  /** A measured current below this counts as none, A. */
  readonly offAmps: number;
  readonly maxSilenceMs: number;
}

/** Low enough for any piece, high enough for the meter; at most half of what the tank allows. */
function probeAmps(tank: TankFacts, offAmps: number): number {
  const { supply } = tank;
  const bound = boundAmps(tank);
  const wanted = Math.max(
    Math.min(currentShare * bound, mostAmps),
    offTimes * offAmps,
    leastSteps * supply.stepAmps,
    supply.minAmps,
  );
  return roundUp(Math.min(wanted, bound / 2), supply.stepAmps);
}

function probeLimits(
  tank: TankFacts,
  { amps, volts }: ProbePlan,
  maxDurationMs: number,
  silenceMs: number,
): RunLimits {
  const { supply } = tank;
  const most = Math.max(1.5 * amps, amps + 10 * supply.stepAmps);
  const maxAmps = Math.min(boundAmps(tank), roundUp(most, supply.stepAmps));
  const maxVolts = Math.min(
    boundVolts(tank),
    roundUp(volts + voltsRoom(tank, volts), supply.stepVolts),
  );
  return {
    maxAmps,
    maxVolts,
    setVolts: volts,
    overVoltageVolts: supply.overVoltageLevel ? maxVolts : null,
    overCurrentAmps: supply.overCurrentLevel ? maxAmps : null,
    maxDurationMs,
    maxChargeAmpHours: (maxAmps * 2 * maxDurationMs) / msPerHour,
    maxSilenceMs: silenceMs,
  };
}

/** What a probe asks of the supply; `steadyAmps` is the current of a meter probe, within its bounds. */
function probeOf(kind: ProbeKind, tank: TankFacts, line: ProbeLine, steadyAmps: number): ProbePlan {
  const most = largestCapVolts(tank);
  if (kind === 'meter') {
    return { kind, amps: steadyAmps, volts: most, drillAmps: null, lookMs: steadyMs };
  }
  const amps = probeAmps(tank, line.offAmps);
  return {
    kind,
    amps,
    volts: Math.min(capVolts, most),
    drillAmps: kind === 'drill' ? amps / 2 : null,
    lookMs: Math.max(leastLookMs, leastCycles * line.cycleMs),
  };
}

/**
 * The plan of a probe on this tank, as the run machine takes it; `steadyAmps` is the current of a meter
 * probe, within `steadyBounds`.
 */
export function planProbe(
  kind: ProbeKind,
  tank: TankFacts,
  bath: Bath,
  line: ProbeLine,
  steadyAmps = steadyBounds(tank, line.offAmps).leastAmps,
): Plan {
  const probe = probeOf(kind, tank, line, steadyAmps);
  const { amps, volts, lookMs } = probe;
  const maxDurationMs = kind === 'meter' ? steadyMs + steadyExtraMs : longestMs;
  const ampHours = (amps * lookMs) / msPerHour;
  const nothing = { value: 0, low: 0, high: 0 };
  return {
    probe,
    request: {
      piece: {
        name: probeTitles[kind],
        // One square decimetre, so that the density is the current.
        parts: [
          {
            kind: 'measured',
            label: 'Circuit',
            count: 1,
            platedFraction: 1,
            sizes: { areaMm2: mm2PerDm2 },
          },
        ],
        areaUncertainty: 0,
      },
      tankId: tank.id,
      bathId: bath.id,
      paint: 'none',
      densityAmpsPerDm2: amps,
      target: { kind: 'charge', ampHours },
      trickle: null,
    },
    bath,
    metal: metals[bath.metal],
    tank,
    growth: { areaMm2: mm2PerDm2, meanCurvatureMm: 0, gaussThird: 0 },
    areaDm2: { value: 1, low: 1, high: 1 },
    stages: [{ kind: 'strike', startAmpsPerDm2: amps, endAmpsPerDm2: amps, durationMs: lookMs }],
    targetChargeAmpHours: ampHours,
    thicknessMicrometres: nothing,
    massGrams: nothing,
    durationMs: lookMs,
    strikeAmps: amps,
    holdStartAmps: amps,
    holdEndAmps: amps,
    expectedVolts: { value: volts, low: 0, high: volts },
    anodeLossGrams: 0,
    energyWattHours: volts * ampHours,
    limits: probeLimits(tank, probe, maxDurationMs, line.maxSilenceMs),
    decidingPart: 0,
    notices: [],
    startable: true,
  };
}
