/** The arithmetic of a plan: charge, time, currents, ranges and voltage, not yet judged. */

import { massGramsFromCharge } from '../chemistry/faraday.ts';
import type { Bath, Metal } from '../chemistry/model.ts';
import { pieceAreaUncertainty } from '../piece/area-uncertainty.ts';
import { decidingPart } from '../piece/piece.ts';
import { cellVolts, cellVoltsShare, type Cell } from './cell-voltage.ts';
import {
  chargePerAreaAt,
  densityAtElapsed,
  millimetresPerAmpHourPerDm2,
} from './charge-density.ts';
import { type Closure, closuresOf } from './closures.ts';
import {
  ampHoursOfThickness,
  areaMm2AtThickness,
  type Deposit,
  massGramsOfCharge,
  thicknessMmOfCharge,
  thicknessMmOfVolume,
  volumeMm3OfCharge,
} from './deposit.ts';
import { evenness } from './evenness.ts';
import { hangerLoad } from './hanger-wire.ts';
import type { PlanContext, PlanRequest, Ranged, Stage, TankFacts } from './model.ts';
import type { Evenness, HangerLoad } from './plan-findings.ts';
import {
  type Aim,
  aimOf,
  depositOnPiece,
  durationMsAtDensity,
  type GrowthFacts,
  growing,
  thicknessMmAfter,
} from './plan-growth.ts';
import { type MaterialFindings, materialFindings } from './plan-materials.ts';
import type { Resolved } from './plan-question.ts';
import { type ChosenStart, chooseStages, mm2PerDm2, startOf, wantedAmps } from './stages.ts';
import { massSpread, ranged, thicknessSpread, type UncertaintySources } from './uncertainty.ts';

const msPerHour = 3_600_000;
const micrometresPerMm = 1000;

/** What the trickle after the target adds if it runs to its end. */
export interface TrickleFigures {
  /** The largest and the smallest that it takes as the area changes under it, A. */
  readonly amps: number;
  readonly leastAmps: number;
  /** Voltage expected at the largest, V. */
  readonly volts: number;
  readonly durationMs: number;
  readonly ampHours: number;
  readonly addedMm: number;
  readonly energyWattHours: number;
}

/** Everything that notices and limits are judged on. */
export interface PlanFigures {
  readonly request: PlanRequest;
  /** The request with what was left open in it, and how it was found. */
  readonly resolved: Resolved;
  readonly start: ChosenStart;
  readonly sources: UncertaintySources;
  readonly bath: Bath;
  readonly metal: Metal;
  readonly tank: TankFacts;
  readonly deposit: Deposit;
  /** Every opening that shuts at some thickness, the first one first. */
  readonly closures: readonly Closure[];
  readonly decidingPart: number;
  readonly cell: Cell;
  /** All stages, trickle included. */
  readonly stages: readonly Stage[];
  readonly targetChargeAmpHours: number;
  /** Mean thickness at the target, mm. */
  readonly thicknessMm: number;
  /** From switching on to the target, ms. */
  readonly durationMs: number;
  /** Charge that is there from the run this one carries on, A·h. */
  readonly carriedAmpHours: number;
  /** Mean thickness that is there from the run this one carries on, mm. */
  readonly grownMm: number;
  /** From switching on to the target where that much is there already, ms. */
  readonly leftMs: number;
  readonly reachesHold: boolean;
  readonly areaDm2: Ranged;
  /** Area at the target, dm2. */
  readonly endAreaDm2: number;
  readonly thicknessMicrometres: Ranged;
  readonly massGrams: Ranged;
  readonly strikeAmps: number;
  readonly holdStartAmps: number;
  readonly holdEndAmps: number;
  /** Largest current before the target, A. */
  readonly largestAmps: number;
  /** Largest current of all, the trickle included, A. */
  readonly peakAmps: number;
  readonly expectedVolts: Ranged;
  readonly anodeLossGrams: number;
  readonly energyWattHours: number;
  readonly trickle: TrickleFigures | null;
  readonly evenness: Evenness;
  readonly hanger: HangerLoad | null;
  readonly materials: MaterialFindings;
}

/** Current and voltage of the plan at one moment. */
interface Moment {
  readonly amps: number;
  readonly volts: number;
}

// Moments looked at in each stage: enough for the energy and for a largest current inside a ramp.
const momentsPerStage = 24;

interface Course {
  readonly largest: Moment;
  readonly energyWattHours: number;
}

/** Follows the plan from its start to the target. */
function follow(
  stages: readonly Stage[],
  durationMs: number,
  deposit: Deposit,
  cell: Cell,
): Course {
  const perArea = millimetresPerAmpHourPerDm2(deposit.metal, deposit.efficiency);
  const at = (elapsedMs: number): Moment => {
    const areaMm2 = areaMm2AtThickness(deposit, perArea * chargePerAreaAt(stages, elapsedMs));
    const amps = wantedAmps(densityAtElapsed(stages, elapsedMs), areaMm2);
    return { amps, volts: cellVolts(cell, amps, areaMm2) };
  };
  let largest: Moment = { amps: 0, volts: 0 };
  let energyWattHours = 0;
  let fromMs = 0;
  for (const [index, stage] of stages.entries()) {
    const last = index === stages.length - 1;
    const untilMs = last ? durationMs : Math.min(durationMs, fromMs + stage.durationMs);
    const stepMs = (untilMs - fromMs) / momentsPerStage;
    const moments = Array.from({ length: stepMs > 0 ? momentsPerStage + 1 : 0 }, (_, step) =>
      at(fromMs + stepMs * step),
    );
    for (const [step, moment] of moments.entries()) {
      const before = moments[step - 1];
      if (moment.amps > largest.amps) {
        largest = moment;
      }
      if (before !== undefined) {
        const watts = (before.amps * before.volts + moment.amps * moment.volts) / 2;
        energyWattHours += (watts * stepMs) / msPerHour;
      }
    }
    fromMs = untilMs;
  }
  return { largest, energyWattHours };
}

function trickleFigures(
  request: PlanRequest,
  deposit: Deposit,
  cell: Cell,
  thicknessMm: number,
): TrickleFigures | null {
  if (request.trickle === null) {
    return null;
  }
  const { densityAmpsPerDm2, maxHours } = request.trickle;
  const perArea = millimetresPerAmpHourPerDm2(deposit.metal, deposit.efficiency);
  const addedMm = perArea * densityAmpsPerDm2 * maxHours;
  const endMm = thicknessMm + addedMm;
  const ends = [thicknessMm, endMm].map((at): Moment => {
    const areaMm2 = areaMm2AtThickness(deposit, at);
    const amps = wantedAmps(densityAmpsPerDm2, areaMm2);
    return { amps, volts: cellVolts(cell, amps, areaMm2) };
  });
  const ampHours = ampHoursOfThickness(deposit, endMm) - ampHoursOfThickness(deposit, thicknessMm);
  const volts = Math.max(...ends.map((end) => end.volts));
  return {
    amps: Math.max(...ends.map((end) => end.amps)),
    leastAmps: Math.min(...ends.map((end) => end.amps)),
    volts,
    durationMs: maxHours * msPerHour,
    ampHours,
    addedMm,
    energyWattHours: ampHours * volts,
  };
}

/** What supply, hanger and anodes have to bear, the trickle included. */
function loadsOf({ largest, energyWattHours }: Course, trickle: TrickleFigures | null) {
  const spread = { low: 1 - cellVoltsShare, high: 1 + cellVoltsShare };
  return {
    largestAmps: largest.amps,
    peakAmps: Math.max(largest.amps, trickle?.amps ?? 0),
    expectedVolts: ranged(Math.max(largest.volts, trickle?.volts ?? 0), spread),
    energyWattHours: energyWattHours + (trickle?.energyWattHours ?? 0),
  };
}

function thicknessRange(deposit: Deposit, aim: Aim, sources: UncertaintySources): Ranged {
  const spread = thicknessSpread(sources);
  const volumeMm3 = volumeMm3OfCharge(deposit, aim.ampHours);
  const micrometres = (factor: number) =>
    thicknessMmOfVolume(deposit, volumeMm3 * factor) * micrometresPerMm;
  return {
    value: aim.thicknessMm * micrometresPerMm,
    low: micrometres(spread.low),
    high: micrometres(spread.high),
  };
}

/** A value with the same share of doubt on both sides. */
function around(value: number, share: number): Ranged {
  return { value, low: value * (1 - share), high: value * (1 + share) };
}

/** What the run that is carried on has grown, and the time for the rest. */
function leftOver(
  facts: GrowthFacts,
  goalMm: number,
  carriedAmpHours: number,
): Pick<PlanFigures, 'grownMm' | 'leftMs'> {
  const grownMm = Math.min(goalMm, thicknessMmOfCharge(facts.deposit, carriedAmpHours));
  const { densityAmpsPerDm2 } = facts.request;
  return { grownMm, leftMs: durationMsAtDensity(facts, densityAmpsPerDm2, goalMm - grownMm) };
}

/** Computes a plan for a question without problems, with what was open in it resolved. */
export function planFigures(
  resolved: Resolved,
  bath: Bath,
  tank: TankFacts,
  { materials: table = [], carriedAmpHours = 0 }: PlanContext,
): PlanFigures {
  const { request } = resolved;
  const { piece } = request;
  const deposit = depositOnPiece(piece, bath, request.acceptClosures);
  const { growth, metal } = deposit;
  const aim = aimOf({ request, bath, deposit }, resolved.aim);
  const endless = growing(request, bath);
  const gentleMs = endless.reduce((sum, stage) => sum + stage.durationMs, 0);
  const reachesHold = aim.durationMs > gentleMs;
  const cell: Cell = { bath, volumeLitres: tank.volumeLitres, anodeAreaDm2: tank.anodeAreaDm2 };
  const ampsAt = (density: number, thicknessMm: number) =>
    wantedAmps(density, areaMm2AtThickness(deposit, thicknessMm));
  const endAmps = ampsAt(densityAtElapsed(endless, aim.durationMs), aim.thicknessMm);
  const { meterUncertainty } = tank.supply;
  const sources = { areaShare: pieceAreaUncertainty(piece), bath, meterShare: meterUncertainty };
  const areaDm2 = growth.areaMm2 / mm2PerDm2;
  const trickle = trickleFigures(request, deposit, cell, aim.thicknessMm);
  const loads = loadsOf(follow(endless, aim.durationMs, deposit, cell), trickle);
  const holdStartMm = thicknessMmAfter({ request, bath, deposit }, gentleMs);
  return {
    request,
    resolved,
    start: startOf(request, bath),
    sources,
    bath,
    metal,
    tank,
    deposit,
    closures: closuresOf(piece),
    decidingPart: decidingPart(piece),
    cell,
    stages: chooseStages(request, bath, aim.durationMs - gentleMs),
    targetChargeAmpHours: aim.ampHours,
    thicknessMm: aim.thicknessMm,
    durationMs: aim.durationMs,
    carriedAmpHours,
    ...leftOver({ request, bath, deposit }, aim.thicknessMm, carriedAmpHours),
    reachesHold,
    areaDm2: around(areaDm2, sources.areaShare),
    endAreaDm2: areaMm2AtThickness(deposit, aim.thicknessMm) / mm2PerDm2,
    thicknessMicrometres: thicknessRange(deposit, aim, sources),
    massGrams: ranged(massGramsOfCharge(deposit, aim.ampHours), massSpread(sources)),
    strikeAmps: ampsAt(densityAtElapsed(endless, 0), 0),
    holdStartAmps: reachesHold ? ampsAt(request.densityAmpsPerDm2, holdStartMm) : endAmps,
    holdEndAmps: endAmps,
    ...loads,
    anodeLossGrams: massGramsFromCharge(metal, aim.ampHours + (trickle?.ampHours ?? 0), 1),
    trickle,
    evenness: evenness(piece, aim.thicknessMm, aim.durationMs),
    hanger: hangerLoad(piece, loads.peakAmps),
    materials: materialFindings(request, table),
  };
}
