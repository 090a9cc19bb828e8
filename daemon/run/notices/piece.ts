/** Judges what the plan does to the piece: thin and thick targets, its paint. */

import { contactStart } from '../contact.ts';
import type { Notice, PlanRequest } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { figure, fitting, hours, micrometres, notice, silent } from './words.ts';

/** Thinner than this is hardly a skin, µm; common practice, no source. */
const thinMicrometres = 20;
/** So many times the first area is no longer the same form: on a wire, a deposit as thick as it. */
const outgrownShare = 3;

function thinRemedy({ target }: PlanRequest): string {
  const usual = 'A skin for looks is 20 to 50 µm, a shell that holds 150 to 300 µm.';
  if (target.kind !== 'thickness') {
    return usual;
  }
  const entered = target.micrometres;
  return entered <= 2
    ? `If ${figure(entered)} mm was meant, that is ${micrometres(entered * 1000)}. ${usual}`
    : `If ${figure(entered)} mil was meant, that is ${micrometres(entered * 25.4)}. ${usual}`;
}

/** A target that is hardly a skin, or that ends before the hold begins. */
export function thinTarget(figures: PlanFigures): readonly Notice[] {
  const { thicknessMicrometres, reachesHold, durationMs, stages } = figures;
  const target = thicknessMicrometres.value;
  const field = 'target';
  if (target < thinMicrometres) {
    return notice('warn', 'thinTarget', {
      field,
      value: micrometres(target),
      bound: `at least ${micrometres(thinMicrometres)}`,
      message: `${micrometres(target)} is less than a skin: paint may still show through.`,
      remedy: thinRemedy(figures.request),
    });
  }
  if (reachesHold) {
    return silent;
  }
  const [strike, ramp] = stages;
  const gentleMs = (strike?.durationMs ?? 0) + (ramp?.durationMs ?? 0);
  return notice('warn', 'endsBeforeHold', {
    field,
    value: hours(durationMs),
    bound: `after ${hours(gentleMs)}`,
    message:
      `The target is reached after ${hours(durationMs)}, before strike and ramp ` +
      `(${hours(gentleMs)}) are over.`,
    remedy: 'Aim thicker, or leave it: the run ends at its target all the same.',
  });
}

/** A deposit so thick that the piece is no longer its own form. */
export function outgrown(figures: PlanFigures): readonly Notice[] {
  const { endAreaDm2, areaDm2, thicknessMicrometres } = figures;
  const times = endAreaDm2 / areaDm2.value;
  if (times < outgrownShare) {
    return silent;
  }
  return notice('warn', 'outgrowsPiece', {
    field: 'target',
    value: micrometres(thicknessMicrometres.value),
    bound: `an area less than ${outgrownShare} times the first`,
    message:
      `At ${micrometres(thicknessMicrometres.value)} the surface is ${figure(times, 2)} times ` +
      'what it was: the metal is far thicker than the piece, and fine form is lost.',
    remedy: 'Check the unit of the target and the sizes of the parts, or aim thinner.',
  });
}

/** What to expect of a slow contact, or of none. */
export function paintNotices({ request, metal, bath, start }: PlanFigures): readonly Notice[] {
  const common = { field: 'paint', value: request.paint };
  if (request.paint === 'graphite' && start.contact === null && !start.own) {
    const somewhere = { points: 1, farthestMm: 1 };
    const near = contactStart(request.paint, somewhere, start, bath).easyMm;
    return notice('note', 'graphitePaint', {
      ...common,
      bound: 'graphite conducts poorly',
      message:
        'Graphite covers as a front that creeps from the contacts, so the strike lasts ' +
        `${hours(start.strikeMs)} at a tenth of the density.`,
      remedy:
        `Give it so many contact points that no place is farther than ${figure(fitting(near))} mm ` +
        'from one, or say how far it is; look after an hour how far the metal has come.',
    });
  }
  if (request.paint !== 'none') {
    return silent;
  }
  const basis =
    metal.symbol === 'Cu' ? ' Iron, steel, zinc, tin and pewter need a seal or an undercoat.' : '';
  return notice('note', 'bareMetal', {
    ...common,
    bound: 'metal all over',
    message: `Without paint only bare, clean metal takes the deposit.${basis}`,
    remedy: 'Degrease it, and choose its paint here if any of it is wax, resin or leaf.',
  });
}
