/** Judges the wire that a piece hangs from: its share of the metal, and what the current does to it. */

import { hangerShare } from '../../piece/piece.ts';
import { diameterMmFor, hotKelvin, warmKelvin } from '../hanger-wire.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { amps, figure, notice, percent, silent, sufficing } from './words.ts';

/** More of the metal than this on the hanger is more hanger than piece. */
const mostHangerShare = 0.5;

/** A hanger that takes more metal than what hangs from it. */
export function hangerShareNotices({ request }: PlanFigures): readonly Notice[] {
  const share = hangerShare(request.piece);
  if (share <= mostHangerShare) {
    return silent;
  }
  return notice('warn', 'moreHangerThanPiece', {
    field: 'piece.parts',
    value: percent(share),
    bound: `at most ${percent(mostHangerShare)}`,
    message: `More hanger than piece: ${percent(share)} of the area, and of the metal, is on the hanger.`,
    remedy:
      'Lacquer or sleeve the wire below the surface, or hang the piece nearer to it; check the ' +
      'sizes of both.',
  });
}

/** A hanger too thin for its current; copper wire in still air. */
export function hangerLoadNotices({ hanger }: PlanFigures): readonly Notice[] {
  if (hanger === null || hanger.riseKelvin <= warmKelvin) {
    return silent;
  }
  const { diameterMm, partIndex, riseKelvin, ratingAmps, dropVolts } = hanger;
  const hot = riseKelvin > hotKelvin;
  // A thicker wire takes a little more current itself.
  const thicker = sufficing(diameterMmFor(1.05 * hanger.amps));
  return notice(hot ? 'refuse' : 'warn', 'hangerWarm', {
    field: `piece.parts[${partIndex}].sizes.wireDiameterMm`,
    value: `${figure(diameterMm)} mm`,
    bound: `${amps(ratingAmps)} in air`,
    message:
      `${amps(hanger.amps)} through ${figure(diameterMm)} mm copper wire warms it by about ` +
      `${figure(riseKelvin, 2)} K in air and takes ${figure(dropVolts, 2)} V; ` +
      `it carries ${amps(ratingAmps)} at ${warmKelvin} K.`,
    remedy:
      `Use wire of ${figure(thicker)} mm or more, or hang the piece from several. Steel and ` +
      'stainless wire warm several times as much.',
  });
}
