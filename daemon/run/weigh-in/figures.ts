/** From masses and calliper readings to true efficiency, mean thickness and area factor, with ranges. */

import { requirePositive } from '../../chemistry/checks.ts';
import { chargeAmpHoursFromMass, massGramsFromCharge } from '../../chemistry/faraday.ts';
import type { PieceDescription } from '../../piece/model.ts';
import { hangerShare, pieceGrowth } from '../../piece/piece.ts';
import { type Deposit, thicknessMmOfVolume, volumeMm3AtThickness } from '../deposit.ts';
import { depositOfPlan, thicknessNow } from '../forecast.ts';
import type { Plan, Ranged } from '../model.ts';
import { metalDensityShare } from '../uncertainty.ts';
import { calliperThicknessMm } from './callipers.ts';
import type { CountedCharge, WeighIn, WeighInFigures } from './model.ts';
import { weighInRemarks } from './remarks.ts';

const micrometresPerMm = 1000;
const mm3PerCm3 = 1000;
/** Half width usual for the area of a hanger, as the part of that kind has it. */
const hangerAreaShare = 0.12;

/** How far a cause of doubt pulls a figure down and pushes it up, as shares of it. */
interface Doubt {
  readonly down: number;
  readonly up: number;
}

const multiplying = (share: number): Doubt => ({ down: share, up: share });
// What stands in the divisor pulls less than it pushes.
const dividing = (share: number): Doubt => ({ down: share / (1 + share), up: share / (1 - share) });

function doubted(value: number, doubts: readonly Doubt[]): Ranged {
  const low = value * (1 - Math.hypot(...doubts.map(({ down }) => down)));
  const high = value * (1 + Math.hypot(...doubts.map(({ up }) => up)));
  return { value, low: Math.max(0, low), high };
}

const times = ({ value, low, high }: Ranged, factor: number): Ranged => ({
  value: value * factor,
  low: low * factor,
  high: high * factor,
});

/** Doubt that a range already carries, as seen from its value. */
function doubtOf({ value, low, high }: Ranged): Doubt {
  return { down: (value - low) / value, up: (high - value) / value };
}

/** The same where the range stands in a divisor. */
function inverseDoubtOf({ value, low, high }: Ranged): Doubt {
  return { down: 1 - value / high, up: low > 0 ? value / low - 1 : 1 };
}

/**
 * Two weighings are each right to half a step, so their difference is right to a whole one: 0.01 g on
 * 3 g is 0.3 %. Null until both masses are there and the second is larger.
 */
function gainOf({ beforeGrams, afterGrams, balanceGrams }: WeighIn): Ranged | null {
  if (beforeGrams === null || afterGrams === null || afterGrams <= beforeGrams) return null;
  const value = afterGrams - beforeGrams;
  return { value, low: Math.max(0, value - balanceGrams), high: value + balanceGrams };
}

function chargeOf(charge: CountedCharge, meterShare: number): Ranged {
  const { ampHours, lowAmpHours, highAmpHours } = charge;
  return doubted(ampHours, [
    multiplying(meterShare),
    {
      down: Math.max(0, 1 - lowAmpHours / ampHours),
      up: Math.max(0, highAmpHours / ampHours - 1),
    },
  ]);
}

/** What the arithmetic of one weigh-in stands on. */
interface Ground {
  readonly plan: Plan;
  /** Of everything that takes current. */
  readonly whole: Deposit;
  /** Of what was on the balance. */
  readonly weighed: Deposit;
  /** How surely the metal on unweighed hangers is known, as a share of all metal. */
  readonly hangerDoubt: number;
  readonly areaShare: number;
}

function withoutHangers(plan: Plan): Plan {
  const { piece } = plan.request;
  const own: PieceDescription = {
    ...piece,
    parts: piece.parts.filter(({ kind }) => kind !== 'hanger'),
  };
  return { ...plan, growth: pieceGrowth(own), request: { ...plan.request, piece: own } };
}

function groundOf(plan: Plan, hangersWeighed: boolean): Ground {
  const whole = depositOfPlan(plan);
  const share = hangersWeighed ? 0 : hangerShare(plan.request.piece);
  return {
    plan,
    whole,
    weighed: share > 0 ? depositOfPlan(withoutHangers(plan)) : whole,
    hangerDoubt: (share / (1 - share)) * hangerAreaShare,
    areaShare: plan.areaDm2.high / plan.areaDm2.value - 1,
  };
}

/** Metal volume on everything, mm3, from what was on the balance. */
function volumeOfGain(gain: Ranged, { plan, whole, weighed, hangerDoubt }: Ground): Ranged {
  const volume = (gain.value / plan.metal.densityGramsPerCm3) * mm3PerCm3;
  const all =
    whole === weighed ? volume : volumeMm3AtThickness(whole, thicknessMmOfVolume(weighed, volume));
  return doubted(all, [doubtOf(gain), multiplying(hangerDoubt)]);
}

function micrometresOf(volume: Ranged, { whole, areaShare }: Ground): Ranged {
  const spread = doubted(volume.value, [
    doubtOf(volume),
    dividing(areaShare),
    dividing(metalDensityShare),
  ]);
  const of = (mm3: number): number => thicknessMmOfVolume(whole, mm3) * micrometresPerMm;
  return { value: of(spread.value), low: of(spread.low), high: of(spread.high) };
}

/** Share of a charge that a volume of metal stands for. */
function efficiencyOf(volume: Ranged, charge: Ranged, plan: Plan, more: readonly Doubt[]): Ranged {
  const grams = (volume.value / mm3PerCm3) * plan.metal.densityGramsPerCm3;
  const value = chargeAmpHoursFromMass(plan.metal, grams, 1) / charge.value;
  return doubted(value, [doubtOf(volume), inverseDoubtOf(charge), ...more]);
}

/** Volume, mm3, of a mean thickness on the planned area, with the doubt of the thickness alone. */
function volumeOfThickness(thicknessMm: Ranged, { whole }: Ground): Ranged {
  const of = (mm: number): number => volumeMm3AtThickness(whole, mm);
  return { value: of(thicknessMm.value), low: of(thicknessMm.low), high: of(thicknessMm.high) };
}

/** Metal that the charge stands for at the bath's planned efficiency, g. */
function expectedGrams(charge: Ranged, { metal, bath }: Plan): Ranged {
  const { value, uncertainty } = bath.efficiency;
  const grams = massGramsFromCharge(metal, charge.value, value);
  const share = uncertainty / value;
  const most = Math.min(share, 1 / value - 1);
  return doubted(grams, [doubtOf(charge), { down: share, up: most }]);
}

/**
 * What a weigh-in says about a run. The masses stand for all charge that `charge` counts, so where a
 * run carries another one on, the piece was weighed before the first of them. Throws RangeError for a
 * charge that is not above 0.
 */
export function weighInFigures(
  plan: Plan,
  charge: CountedCharge,
  weighIn: WeighIn,
): WeighInFigures {
  requirePositive('ampHours', charge.ampHours);
  const ground = groundOf(plan, weighIn.hangersWeighed);
  const { ampHours, lowAmpHours, highAmpHours } = charge;
  const counted = chargeOf(charge, plan.tank.supply.meterUncertainty);
  const expected = expectedGrams(counted, plan);
  const gain = gainOf(weighIn);
  const byMass = gain === null ? null : volumeOfGain(gain, ground);
  const thicknessMm = calliperThicknessMm(weighIn.callipers, weighIn.calliperMm);
  const planned = thicknessMm === null ? null : volumeOfThickness(thicknessMm, ground);
  const density = multiplying(metalDensityShare);
  const metalMm3 = byMass ?? times(expected, mm3PerCm3 / plan.metal.densityGramsPerCm3);
  const figures = {
    gainGrams: gain,
    chargeAmpHours: counted,
    expectedGrams: expected,
    efficiency: byMass === null ? null : efficiencyOf(byMass, counted, plan, []),
    calliperEfficiency:
      planned === null
        ? null
        : efficiencyOf(planned, counted, plan, [multiplying(ground.areaShare), density]),
    massMicrometres: byMass === null ? null : micrometresOf(byMass, ground),
    calliperMicrometres: thicknessMm === null ? null : times(thicknessMm, micrometresPerMm),
    countedMicrometres: thicknessNow(plan, ampHours, lowAmpHours, highAmpHours),
    areaFactor:
      planned === null
        ? null
        : doubted(metalMm3.value / planned.value, [
            doubtOf(metalMm3),
            inverseDoubtOf(planned),
            density,
          ]),
  };
  const hangers = hangerShare(plan.request.piece);
  return { ...figures, remarks: weighInRemarks({ weighIn, charge, figures, hangers }) };
}
