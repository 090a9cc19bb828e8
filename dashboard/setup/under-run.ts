/** Why a tank's name, line and sensors cannot be changed now; the daemon refuses it too. */

import { connection } from '../connection.ts';
import { isFree } from '../tank-lines.ts';
import { lineWords } from '#words/lines';

/** Empty where nothing is in the way. */
export function whyFixed(tankId: string): string {
  const tank = connection.tank(tankId);
  if (tank === null) return '';
  if (!isFree(tank)) return lineWords.running(tank.name);
  return tank.awaitsOff === true ? lineWords.awaitsOff(tank.name) : '';
}
