/** The words of what stands in the folds of the Plan page. */

import type { DoubtSource } from '../../../daemon/run/plan-findings.ts';
import type { Risk } from '../../../daemon/run/window-risk.ts';

const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

const doubts: Readonly<Record<DoubtSource, string>> = {
  area: 'the area of the piece',
  efficiency: 'how much of the charge becomes metal',
  meter: 'the supply’s ammeter',
  metalDensity: 'how dense the metal grows',
};

const risks: Readonly<Record<Risk, string>> = { none: 'no', some: 'some', high: 'high' };

export const planDetailWords = {
  limits: {
    voltage: 'Expected voltage',
    charge: 'Charge',
    chargeLeft: 'Charge to go',
    mass: 'Metal on the piece',
    anode: 'Metal off the anode',
    energy: 'Energy',
    areaNow: 'Area',
    hanger: 'Hanger wire',
    hangerNote: (rating: string, rise: string) => `carries ${rating}; warms by ${rise} K in air`,
    cutsOut: 'Cuts out at',
  },
  sizes: {
    size: 'Size',
    before: (unit: string) => `Before, ${unit}`,
    after: (unit: string) => `After, ${unit}`,
    shade:
      'Inside a ring or a hole metal may lie thinner, down to 70 % of the mean; the ranges allow for it.',
    none: 'No part of this piece has a size.',
    shut: 'shut',
    firstFuses: (part: string, label: string, at: string) =>
      `First to shut: ${part}, ${label.toLowerCase()}, at ${at}.`,
    noneShuts: 'Nothing on this piece closes or fuses.',
    accepted: (part: string) => `Accepted: an opening of ${part} closes.`,
    ring: (before: string, after: string) => `From ${before}, to ${after}.`,
  },
  blank: {
    intro: (thickness: string) =>
      `For a ring that is to end at a size, under the ${thickness} of this plan.`,
    scale: 'Ends at, in',
    size: 'Size when done',
    millimetres: 'mm inside',
    wire: 'Wire or strip, across',
    wireHelp: 'Such as 1.2 mm, 18 AWG or 0.05 in.',
    mandrel: 'Mandrel',
    length: 'Wire to cut',
    between: (low: string, high: string) => `between ${low} and ${high}`,
    isInside: (size: string) => `${size} inside, done.`,
    waits: 'Waits for a plan.',
  },
  compare: {
    intro: 'Two or three, side by side, for this piece and target.',
    one: (index: number) => `Density ${index}`,
    density: 'Density',
    time: 'Takes',
    left: 'Takes still',
    ends: 'Done',
    current: 'Current',
    thickness: 'Thickness',
    even: 'Evenness',
    recess: 'Reach into a 5 mm hole',
    risk: 'Risk',
    asleep: 'In the night',
    inTime: 'In time',
    yes: 'yes',
    no: 'no',
    burning: (risk: Risk) => `burning: ${risks[risk]}`,
    dull: (risk: Risk) => `dull: ${risks[risk]}`,
    noRisk: 'none',
    evenness: (ratio: number) =>
      ratio >= 1 ? 'even' : ratio >= 0.3 ? 'follows the form' : 'edges first',
    take: 'Take',
    takeAria: (density: string) => `Take ${density}`,
    taken: 'Taken',
    takenAria: (density: string) => `Taken: ${density}`,
    refused: 'Refused',
    twoNeeded: 'Fill in two at least, and no two alike.',
    seeReasons: 'Why, in words',
    legend:
      'Evenness: the higher the number, the less the metal follows edges and tips; from about 1 on it lies evenly.',
    night: 'The night is 22:00 to 07:00.',
  },
  even: {
    mean: 'On average',
    thinnest: 'Thinnest place, about',
    thickest: 'Thickest place, about',
    thinnestNote: (low: string, high: string) => `average ${low} to ${high} times it`,
    thickestNote: (low: string, high: string) => `${low} to ${high} times the average`,
    published: (part: string, form: string, ratio: string, source: string) =>
      `${part} is taken for ${form}; the published ratio of average to least is ${ratio} (${source}).`,
    habit: (part: string, form: string, source: string) =>
      `${part} is taken for ${form}; nothing is published for it (${source}).`,
    turn: (minutes: number, times: number) =>
      times === 0
        ? 'Turn it half way through.'
        : `Turn it by hand every ${minutes} min: ${plural(times, 'time', 'times')} before the target. Lift it for that.`,
    anode:
      'Hang anodes on two sides or all round, three times the size of the piece away and 70 mm at least.',
    thief: 'A thief, a bare wire 5 to 10 mm off a tip, takes its surplus. It takes current too.',
  },
  doubt: {
    says: (source: DoubtSource, share: string, half: string) =>
      `${share} of the doubt is ${doubts[source]}, known to ± ${half}.`,
    range: (low: string, high: string) => `The mean will lie between ${low} and ${high}.`,
  },
} as const;
