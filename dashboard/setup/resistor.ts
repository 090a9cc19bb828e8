/** Whether the resistor on the leads bears a steady current, and lets it flow at all. */

import { plain } from '../format.ts';
import { supplyWords } from '#words/supply';

const say = supplyWords.steady;

/** What a resistor turns into heat at a current, W. */
export function heatWatts(amps: number, ohms: number): number {
  return amps * amps * ohms;
}

export interface Resistor {
  readonly ohms: number;
  /** The heat that it bears by its marking, W. */
  readonly watts: number;
}

/** Why no such current is asked for through it, in words; empty where it may. Volts: the most of the tank. */
export function resistorProblem(amps: number, { ohms, watts }: Resistor, volts: number): string {
  if (!(ohms > 0) || !(watts > 0)) return say.resistor;
  const heat = heatWatts(amps, ohms);
  if (heat > watts) return say.tooHot(plain(amps, 3), plain(heat), plain(watts, 3));
  const needed = amps * ohms;
  return needed > volts ? say.tooManyOhms(plain(amps, 3), plain(needed, 3), plain(volts, 3)) : '';
}
