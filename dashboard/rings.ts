/** The geometry of growth rings: a cross-section, its metal and its marks as outlines to draw. */

import type { CrossSection } from '../daemon/piece/model.ts';
import type { Ranged } from '../daemon/run/model.ts';

/** Everything the picture of a run shows. Thicknesses in micrometres. */
export interface RingsInput {
  readonly section: CrossSection;
  readonly grown: Ranged;
  readonly targetMicrometres: number;
  /** Thickness at the end of each hour of growth. */
  readonly hours: readonly number[];
  readonly lifts: readonly number[];
  readonly alarms: readonly number[];
}

/** Where the centre of the section lies on the drawing, and its scale. */
export interface Frame {
  readonly x: number;
  readonly y: number;
  readonly unitsPerMm: number;
}

/** A place on the grown surface, and how far its outward direction is turned from straight up. */
export interface SurfacePoint {
  readonly x: number;
  readonly y: number;
  readonly degrees: number;
}

/** A flat is drawn this wide, in drawing units: it is a piece cut from a sheet. */
export const flatWidth = 220;

const round2 = (value: number): string => String(Math.round(value * 100) / 100);

function circle(frame: Frame, radiusMm: number): string {
  const r = round2(Math.max(0, radiusMm) * frame.unitsPerMm);
  const top = round2(frame.y - Math.max(0, radiusMm) * frame.unitsPerMm);
  const across = round2(2 * Math.max(0, radiusMm) * frame.unitsPerMm);
  return `M${round2(frame.x)} ${top}a${r} ${r} 0 1 1 0 ${across}a${r} ${r} 0 1 1 0-${across}z`;
}

function box(frame: Frame, width: number, height: number, radius: number): string {
  const [w, h, r] = [round2(width), round2(height), round2(radius)];
  const x = round2(frame.x - width / 2);
  const y = round2(frame.y - height / 2 - radius);
  const corner = (dx: string, dy: string): string => `a${r} ${r} 0 0 1 ${dx} ${dy}`;
  return (
    `M${x} ${y}h${w}${corner(r, r)}v${h}${corner(`-${r}`, r)}` +
    `h-${w}${corner(`-${r}`, `-${r}`)}v-${h}${corner(r, `-${r}`)}z`
  );
}

/** The outline of the section with metal of this thickness on it; fill it by the even-odd rule. */
export function outline(section: CrossSection, grownMm: number, frame: Frame): string {
  const k = frame.unitsPerMm;
  switch (section.shape) {
    case 'round':
      return circle(frame, section.diameterMm / 2 + grownMm);
    case 'tube':
      return (
        circle(frame, section.outsideMm / 2 + grownMm) +
        circle(frame, section.insideMm / 2 - grownMm)
      );
    case 'rectangle':
      return box(frame, section.widthMm * k, section.heightMm * k, grownMm * k);
    case 'flat':
      // Its ends are cut, so metal shows on the two faces only.
      return box(frame, flatWidth, (section.thicknessMm + 2 * grownMm) * k, 0);
  }
}

/** Half the section's largest measure, mm. */
function reachMm(section: CrossSection): number {
  switch (section.shape) {
    case 'round':
      return section.diameterMm / 2;
    case 'tube':
      return section.outsideMm / 2;
    case 'rectangle':
      return Math.max(section.widthMm, section.heightMm) / 2;
    case 'flat':
      return section.thicknessMm / 2;
  }
}

/** From the centre straight up to the bare surface, mm. */
function topMm(section: CrossSection): number {
  return section.shape === 'rectangle' ? section.heightMm / 2 : reachMm(section);
}

/** The largest scale at which the section and so much metal stay within `room` units of the centre. */
export function fit(section: CrossSection, grownMm: number, room: number): number {
  // A thin sheet filling the drawing would look like a block.
  const share = section.shape === 'flat' ? 0.5 : 1;
  return (share * room) / (reachMm(section) + grownMm);
}

/** A point on the surface, so many units along it from the top. */
export function surfacePoint(
  section: CrossSection,
  grownMm: number,
  frame: Frame,
  offsetUnits: number,
): SurfacePoint {
  const up = (topMm(section) + grownMm) * frame.unitsPerMm;
  if (section.shape === 'round' || section.shape === 'tube') {
    const angle = offsetUnits / up;
    return {
      x: frame.x + up * Math.sin(angle),
      y: frame.y - up * Math.cos(angle),
      degrees: (angle * 180) / Math.PI,
    };
  }
  return { x: frame.x + offsetUnits, y: frame.y - up, degrees: 0 };
}

/** The largest of 1, 2, 5, 10, … (and below 1: 0.5, 0.2, …) that is not above a positive value. */
export function roundDown(value: number): number {
  const decade = 10 ** Math.floor(Math.log10(value));
  const lead = value / decade;
  return (lead >= 5 ? 5 : lead >= 2 ? 2 : 1) * decade;
}

/** Below this many units of target the metal is too thin to see, and a magnified inset is drawn. */
export const thinnestUnits = 16;

/** How many times an inset of this diameter magnifies, so that the target fills half of it. */
export function magnification(targetUnits: number, insetDiameter: number): number {
  return roundDown(Math.max(1, insetDiameter / 2 / targetUnits));
}

/** Every how many hours a ring is drawn, so that rings stay apart by `leastUnits` on average. */
export function ringStep(hourCount: number, grownUnits: number, leastUnits: number): number {
  const each = hourCount === 0 ? Infinity : grownUnits / hourCount;
  return [1, 2, 3, 4, 6, 12].find((step) => each * step >= leastUnits) ?? 24;
}

/** Fills from the outside in whose laps make the soft edge: solid up to low, gone at high. */
export function softEdge(grown: Ranged): readonly { micrometres: number; opacity: number }[] {
  const { low, value, high } = grown;
  return [
    { micrometres: high, opacity: 0.22 },
    { micrometres: (value + high) / 2, opacity: 0.3 },
    { micrometres: value, opacity: 0.45 },
    { micrometres: (low + value) / 2, opacity: 0.6 },
    { micrometres: low, opacity: 1 },
  ];
}
