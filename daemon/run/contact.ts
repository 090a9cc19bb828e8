/** How far current reaches along a conductive paint, and the start that covers it from its contacts. */

import { volumeMm3FromCharge } from '../chemistry/faraday.ts';
import { metalById } from '../chemistry/metals.ts';
import type { Bath } from '../chemistry/model.ts';
import type { ContactRequest, Paint } from './model.ts';
import type { ContactPlan } from './plan-findings.ts';

const hourMs = 3_600_000;
const mm2PerDm2 = 10_000;
const ampsPerM2PerAmpPerDm2 = 100;

/** RT/F at 25 C over a cathodic transfer coefficient of 0.5, V per e-fold of the density. */
const slopeVolts = 0.025_693 / 0.5;

/**
 * Thickness at which separate grains of metal join into a film, mm: 0.05 to 0.3 µm, from memory;
 * the upper is taken, which makes the front slow.
 */
const joinedMm = 0.0003;

/** No strike lasts longer than this, however far the contact: more contacts are the answer then. */
const longestStrikeMs = 8 * hourMs;
/** A strike is never planned below this share of the bath's typical density. */
const leastStrikeShare = 0.02;

/** A dried coat of paint as a sheet that conducts. */
export interface PaintSheet {
  /** The figure taken, on the cautious side of the range, ohm per square. */
  readonly ohmsPerSquare: number;
  readonly source: string;
}

const measured = 'reports on a list of EMC engineers for coats of 25 to 50 µm, and from memory';

export const paintSheets: Readonly<Record<Exclude<Paint, 'none'>, PaintSheet>> = {
  silver: { ohmsPerSquare: 0.1, source: `0.01 to 0.1, below 5 for any silver paint: ${measured}` },
  copper: { ohmsPerSquare: 1, source: `0.3 to 1, rising to 10 as it oxidises: ${measured}` },
  graphite: { ohmsPerSquare: 100, source: '10 to 100, thin coats more: from memory' },
};

/**
 * Distance, mm, over which the current along a sheet falls by a factor of e, at a density in A/dm2:
 * sqrt(b / (R i)), the linear ladder of sheet and surface with b the slope of the overpotential.
 */
export function reachMm(ohmsPerSquare: number, densityAmpsPerDm2: number): number {
  const ampsPerM2 = densityAmpsPerDm2 * ampsPerM2PerAmpPerDm2;
  return 1000 * Math.sqrt(slopeVolts / (ohmsPerSquare * ampsPerM2));
}

/** How fast the covered front moves, mm/h: one reach in the time in which a joined film grows. */
function frontMmPerHour(ohmsPerSquare: number, density: number, bath: Bath): number {
  const perAmpHour = volumeMm3FromCharge(metalById(bath.metal), 1, bath.efficiency.value);
  const mmPerHour = (density * perAmpHour) / mm2PerDm2;
  return (reachMm(ohmsPerSquare, density) * mmPerHour) / joinedMm;
}

/** The paint's own start: its density, A/dm2, and its time. */
export interface UsualStrike {
  readonly strikeAmpsPerDm2: number;
  readonly strikeMs: number;
}

/**
 * The start for a painted piece whose contacts are known. While only the paint round a contact is
 * reached, all of the current lands there: at a distance L it is i (L / reach)^2, so the strike is
 * held to the density at which that is the bath's highest. It lasts until the front has come L.
 */
export function contactStart(
  paint: Exclude<Paint, 'none'>,
  { points, farthestMm }: ContactRequest,
  usual: UsualStrike,
  bath: Bath,
): ContactPlan {
  const { ohmsPerSquare } = paintSheets[paint];
  const { maxAmpsPerDm2, typicalAmpsPerDm2 } = bath.window;
  const atMost = maxAmpsPerDm2 * reachMm(ohmsPerSquare, maxAmpsPerDm2);
  const gentle = Math.max(leastStrikeShare * typicalAmpsPerDm2, atMost / farthestMm);
  const strikeAmpsPerDm2 = Math.min(usual.strikeAmpsPerDm2, gentle);
  const reach = reachMm(ohmsPerSquare, strikeAmpsPerDm2);
  const aheadMm = Math.max(0, farthestMm - reach);
  const frontMs = (aheadMm / frontMmPerHour(ohmsPerSquare, strikeAmpsPerDm2, bath)) * hourMs;
  const usualReach = reachMm(ohmsPerSquare, usual.strikeAmpsPerDm2);
  const usualFront = frontMmPerHour(ohmsPerSquare, usual.strikeAmpsPerDm2, bath);
  const easyMm = Math.min(
    atMost / usual.strikeAmpsPerDm2,
    usualReach + (usualFront * usual.strikeMs) / hourMs,
  );
  return {
    points,
    farthestMm,
    reachMm: reach,
    easyMm,
    advisedPoints: Math.max(points, Math.ceil((points * farthestMm) / easyMm - 1e-9)),
    strikeAmpsPerDm2,
    strikeMs: Math.min(longestStrikeMs, Math.max(usual.strikeMs, frontMs)),
  };
}
