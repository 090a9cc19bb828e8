/** What to know about a weigh-in before it is believed. */

import { fewestReadings, growthMm } from './callipers.ts';
import type { CountedCharge, WeighIn, WeighInFigures, WeighInRemark } from './model.ts';

/** Expected of a sound copper bath: 0.97 to 1; below and above these something is wrong (trade). */
const leastEfficiency = 0.95;
const mostEfficiency = 1.01;
/** A gain of fewer than so many steps of the balance tells little. */
const leastSteps = 30;
/** Area factors beyond these are more often a slip than a surprise. */
const usualFactor = { low: 0.6, high: 1.7 };

interface Judged {
  readonly weighIn: WeighIn;
  readonly charge: CountedCharge;
  readonly figures: Omit<WeighInFigures, 'remarks'>;
  /** Share of the plated area that belongs to hangers. */
  readonly hangers: number;
}

function aboutMass({ weighIn, figures, hangers }: Judged): WeighInRemark[] {
  const { gainGrams, efficiency } = figures;
  if (gainGrams === null || efficiency === null) return [];
  const remarks: WeighInRemark[] = [];
  if (efficiency.value < leastEfficiency) {
    remarks.push({
      code: 'little-metal',
      text: 'Less metal than the charge should leave. Usual reasons: hydrogen or burning, powder that was rinsed off, current that went to a hook or thief that was not weighed, an ammeter that reads high.',
    });
  }
  if (efficiency.value > mostEfficiency) {
    remarks.push({
      code: 'much-metal',
      text: 'More metal than the charge can leave. Usual reasons: water or bath trapped in the piece, a balance that has drifted, an ammeter that reads low. Dry the piece until two weighings agree.',
    });
  }
  if (gainGrams.value < leastSteps * weighIn.balanceGrams) {
    const share = ((weighIn.balanceGrams / gainGrams.value) * 100).toPrecision(2);
    remarks.push({
      code: 'coarse-balance',
      text: `One step of the balance is ${share} % of what the piece gained: the range is wide for that reason.`,
    });
  }
  if (hangers > 0 && !weighIn.hangersWeighed) {
    const share = (hangers * 100).toPrecision(2);
    remarks.push({
      code: 'hangers-not-weighed',
      text: `The hangers took about ${share} % of the metal and were not on the balance; that is reckoned in by their area.`,
    });
  }
  return remarks;
}

function aboutCallipers({ weighIn: { callipers }, figures }: Judged): WeighInRemark[] {
  if (callipers.length === 0) return [];
  if (callipers.length < fewestReadings) {
    const text = `Callipers need readings at ${fewestReadings} places or more: one place says little about the mean.`;
    return [{ code: 'few-readings', text }];
  }
  if (figures.calliperMicrometres === null) {
    const mean = callipers.reduce((sum, one) => sum + growthMm(one), 0) / callipers.length;
    const text = `On average the readings have changed by ${mean.toFixed(3)} mm the wrong way. Look whether before and after, or inside and outside, were swapped.`;
    return [{ code: 'no-growth', text }];
  }
  const remarks: WeighInRemark[] = [
    {
      code: 'outside-readings',
      text: 'Callipers reach edges and outsides, which grow faster than hollows. An area factor from them can come out too small; readings spread over the whole piece help.',
    },
  ];
  const factor = figures.areaFactor?.value ?? 1;
  if (factor < usualFactor.low || factor > usualFactor.high) {
    remarks.push({
      code: 'odd-factor',
      text: `An area factor of ${factor.toPrecision(2)} is unusual. Look at the sizes of the parts, at how many there are, and at the readings.`,
    });
  }
  return remarks;
}

/** Empty where there is nothing to add. */
export function weighInRemarks(judged: Judged): readonly WeighInRemark[] {
  const { ampHours, lowAmpHours, highAmpHours } = judged.charge;
  const gaps: WeighInRemark[] =
    highAmpHours - lowAmpHours > 0.02 * ampHours
      ? [
          {
            code: 'gaps',
            text: 'The charge of this run was not seen all the time; its range is wide for that reason.',
          },
        ]
      : [];
  return [...aboutMass(judged), ...aboutCallipers(judged), ...gaps];
}
