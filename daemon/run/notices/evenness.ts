/** Says where the metal will be thin, and what evens it out: turning, distance, a thief. */

import { averageToLeast, recessReachMm } from '../evenness.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { figure, fitting, hours, micrometres, notice, silent } from './words.ts';

const minuteMs = 60_000;

/** One note for every plan: the mean hides a thinnest place. */
export function evennessNotices({
  evenness,
  thicknessMicrometres,
}: PlanFigures): readonly Notice[] {
  const { meanToMin, thinnestMicrometres, form, published, source, turns, turnEveryMinutes } =
    evenness;
  const [least, most] = [figure(meanToMin.low), figure(meanToMin.high)];
  const thinnest = micrometres(fitting(thinnestMicrometres));
  const quoted =
    published === null
      ? ''
      : ` For ${form} the published ratio is ${figure(published)} (${source}).`;
  const turning =
    turns === 0
      ? 'Turn it half way.'
      : `Turn it every ${hours(turnEveryMinutes * minuteMs)}, ${turns} times in all.`;
  return notice('note', 'evenness', {
    field: 'piece.parts',
    value: `${thinnest} at the thinnest`,
    bound: `${micrometres(thicknessMicrometres.value)} on average`,
    message:
      `The average is likely ${least} to ${most} times the thinnest place: there may be only ` +
      `${thinnest} there.${quoted}`,
    remedy:
      `${turning} Hang anodes on two sides or all round, three times the size of the piece away ` +
      'and 70 mm at least; a thief wire 5 to 10 mm off a tip takes its surplus, and current too.',
  });
}

/** The size that says how deep the bore of a part is, from one open end to the other. */
const depthField: Readonly<Record<string, string>> = {
  tube: 'lengthMm',
  band: 'widthMm',
  'half-round-band': 'widthMm',
};

/** Bores so deep that the current does not reach their middle. */
export function recessNotices({ request, bath }: PlanFigures): readonly Notice[] {
  return request.piece.parts.flatMap(({ kind, label, sizes }, index) => {
    const boreMm = sizes['insideDiameterMm'];
    const lengthMm = sizes[depthField[kind] ?? ''];
    if (boreMm === undefined || lengthMm === undefined) return silent;
    const reach = recessReachMm(
      bath.conductivity.siemensPerMetre,
      boreMm,
      request.densityAmpsPerDm2,
    );
    // Both ends are open, so the middle is half the length away.
    if (lengthMm / 2 <= reach) return silent;
    const name = label.trim() === '' ? `part ${index + 1}` : `"${label.trim()}"`;
    return notice('warn', 'recessShaded', {
      field: `piece.parts[${index}].sizes.${depthField[kind]}`,
      value: `${figure(lengthMm / 2)} mm to the middle`,
      bound: `at most ${figure(reach, 2)} mm`,
      message:
        `In the bore of ${name} the metal falls to a third ${figure(reach, 2)} mm in; its middle, ` +
        `${figure(lengthMm / 2)} mm in, stays thin or bare. Published ratios for recesses: ` +
        `${averageToLeast('rounded')} with rounded corners, ${averageToLeast('cornered')} with ` +
        'sharp ones (ASTM B507, nickel).',
      remedy:
        'Lower the density, put a thin anode into it, or plug it and leave the bore out of the area.',
    });
  });
}
