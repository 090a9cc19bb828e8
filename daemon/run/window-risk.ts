/** How a density stands to the window of its bath: where it burns and where it stays dull. */

import type { Bath } from '../chemistry/model.ts';

/** Up to this share of the window's top a density is warned about; beyond it is refused. */
export const refuseAbove = 1.5;
/** Below these shares of the window's foot a density is warned about, and refused. */
export const warnBelow = 0.4;
export const refuseBelow = 0.1;

export type Risk = 'none' | 'some' | 'high';

/** Burning and roughness of edges: above the window some, far above it high. */
export function burningRisk({ window }: Bath, densityAmpsPerDm2: number): Risk {
  if (densityAmpsPerDm2 <= window.maxAmpsPerDm2) return 'none';
  return densityAmpsPerDm2 <= refuseAbove * window.maxAmpsPerDm2 ? 'some' : 'high';
}

/** Dull metal and bare hollows: below the window some, well below it high. */
export function dullRisk({ window }: Bath, densityAmpsPerDm2: number): Risk {
  if (densityAmpsPerDm2 >= window.minAmpsPerDm2) return 'none';
  return densityAmpsPerDm2 >= warnBelow * window.minAmpsPerDm2 ? 'some' : 'high';
}
