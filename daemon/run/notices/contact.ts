/** Says how far the current comes along the paint from its contacts, and how many there should be. */

import { paintSheets } from '../contact.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import type { ContactPlan } from '../plan-findings.ts';
import type { ChosenStart } from '../stages.ts';
import { density, figure, fitting, hours, notice, silent } from './words.ts';

// A strike entered with few digits is not bolder for its rounding.
const roundingShare = 0.02;

/** The maker's own start against what the contacts ask for. */
function ownStart(start: ChosenStart, contact: ContactPlan): readonly Notice[] {
  const bold = start.strikeAmpsPerDm2 > contact.strikeAmpsPerDm2 * (1 + roundingShare);
  const short = start.strikeMs < contact.strikeMs * (1 - roundingShare);
  if (!bold && !short) {
    return silent;
  }
  const asked = `${density(contact.strikeAmpsPerDm2)} for ${hours(contact.strikeMs)}`;
  return notice('warn', 'ownStartBold', {
    field: 'start',
    value: `${density(start.strikeAmpsPerDm2)} for ${hours(start.strikeMs)}`,
    bound: asked,
    message:
      `Your own strike is ${density(start.strikeAmpsPerDm2)} for ${hours(start.strikeMs)}; paint ` +
      `that lies ${figure(contact.farthestMm)} mm from its contact asks for ${asked}.`,
    remedy:
      'Leave the start to the paint, or look before the ramp: a contact that gets too much burns ' +
      'dark, and what is not reached stays bare.',
  });
}

/** The start that the contacts ask for; a warning where the paint's own would not do. */
export function contactNotices({ start, request }: PlanFigures): readonly Notice[] {
  const { contact } = start;
  const { paint } = request;
  if (contact === null || paint === 'none') {
    return silent;
  }
  const { farthestMm, easyMm, reachMm, advisedPoints, points, strikeAmpsPerDm2 } = contact;
  if (start.own) {
    return ownStart(start, contact);
  }
  const strike = hours(contact.strikeMs);
  const far = farthestMm > easyMm;
  const ohms = figure(paintSheets[paint].ohmsPerSquare);
  const reaches =
    `At ${density(strikeAmpsPerDm2)} the current falls to a third ${figure(reachMm, 2)} mm along ` +
    `${paint} paint (about ${ohms} ohm per square)`;
  const more =
    `About ${advisedPoints} contact points in place of ${points}, no paint farther than ` +
    `${figure(fitting(easyMm))} mm from one, would do with the usual strike. `;
  return notice(far ? 'warn' : 'note', 'contactReach', {
    field: 'contact.farthestMm',
    value: `${figure(farthestMm)} mm`,
    bound: `${figure(fitting(easyMm))} mm with the usual strike`,
    message: far
      ? `${reaches}, and the farthest place is ${figure(farthestMm)} mm away: the strike is held ` +
        `to that for ${strike}, so that the contact does not burn and the front arrives.`
      : `${reaches}; the farthest place, ${figure(farthestMm)} mm away, is within the strike of ${strike}.`,
    remedy: `${far ? more : ''}How fast a front creeps is known to the order of magnitude only: look before the ramp.`,
  });
}
