/** Growth rings: outlines to scale, and every mark where it belongs. */

import { describe, expect, it } from 'vitest';
import type { CrossSection } from '../../daemon/piece/model.ts';
import {
  fit,
  flatWidth,
  magnification,
  outline,
  ringStep,
  roundDown,
  softEdge,
  surfacePoint,
  type Frame,
} from '../../dashboard/rings.ts';

const frame: Frame = { x: 160, y: 150, unitsPerMm: 100 };
const wire: CrossSection = { shape: 'round', diameterMm: 0.8 };
const tube: CrossSection = { shape: 'tube', outsideMm: 2, insideMm: 1 };
const box: CrossSection = { shape: 'rectangle', widthMm: 1, heightMm: 0.5 };
const sheet: CrossSection = { shape: 'flat', thicknessMm: 0.5 };

/** The arc radii of a path, in order; a circle is two half arcs and counts once. */
function radii(path: string): number[] {
  const arcs = [...path.matchAll(/a([\d.]+) [\d.]+ 0 [01] 1/g)].map(([, radius]) => Number(radius));
  return path.includes(' 0 1 1 ') ? arcs.filter((_, index) => index % 2 === 0) : arcs;
}

describe('the outline of a section', () => {
  it('grows a round wire by the thickness on every side', () => {
    expect(radii(outline(wire, 0, frame))).toEqual([40]);
    expect(radii(outline(wire, 0.1, frame))).toEqual([50]);
    expect(outline(wire, 0.1, frame)).toMatch(/^M160 100a/);
  });

  it('grows a tube outwards and its bore inwards, until the bore is closed', () => {
    expect(radii(outline(tube, 0.2, frame))).toEqual([120, 30]);
    expect(radii(outline(tube, 0.6, frame))).toEqual([160, 0]);
  });

  it('rounds the corners of a block by the thickness', () => {
    const path = outline(box, 0.1, frame);
    expect(radii(path)).toEqual([10, 10, 10, 10]);
    expect(path).toMatch(/^M110 115h100/);
  });

  it('lets metal grow on the two faces of a sheet only', () => {
    const path = outline(sheet, 0.1, frame);
    expect(path).toContain(`h${flatWidth}`);
    expect(path).toContain('v70');
  });

  it('closes every path and holds no number that is not one', () => {
    for (const section of [wire, tube, box, sheet]) {
      for (const grown of [0, 0.05, 3]) {
        const path = outline(section, grown, frame);
        expect(path).toMatch(/z$/);
        expect(path).not.toMatch(/NaN|Infinity|e-/);
      }
    }
  });
});

describe('the scale', () => {
  it('fits the section and its metal into the room', () => {
    expect(fit(wire, 0.1, 140)).toBeCloseTo(280);
    expect(fit(box, 0.5, 100)).toBeCloseTo(100);
  });

  it.each([
    [0.34, 0.2],
    [0.5, 0.5],
    [1, 1],
    [19, 10],
    [20, 20],
    [740, 500],
  ])('takes %d down to the round %d', (value, round) => {
    expect(roundDown(value)).toBeCloseTo(round, 12);
  });

  it('magnifies thin metal until it fills at most half of the inset', () => {
    expect(magnification(1.3, 124)).toBe(20);
    expect(magnification(90, 124)).toBe(1);
  });
});

describe('the marks', () => {
  it('stand on the surface, turned outwards', () => {
    const top = surfacePoint(wire, 0.1, frame, 0);
    expect(top).toEqual({ x: 160, y: 100, degrees: 0 });
    const aside = surfacePoint(wire, 0.1, frame, 25);
    expect(Math.hypot(aside.x - frame.x, aside.y - frame.y)).toBeCloseTo(50);
    expect(aside.degrees).toBeCloseTo((0.5 * 180) / Math.PI);
    expect(surfacePoint(sheet, 0.1, frame, 25)).toEqual({ x: 185, y: 115, degrees: 0 });
  });

  it('leave out rings that would touch, by a step that a person can count', () => {
    expect(ringStep(8, 40, 2.4)).toBe(1);
    expect(ringStep(8, 8, 2.4)).toBe(3);
    expect(ringStep(1000, 8, 2.4)).toBe(24);
    expect(ringStep(0, 0, 2.4)).toBe(1);
  });

  it('make the edge solid up to the low end and nothing beyond the high end', () => {
    const laps = softEdge({ value: 100, low: 90, high: 120 });
    expect(laps[0]).toMatchObject({ micrometres: 120 });
    expect(laps.at(-1)).toEqual({ micrometres: 90, opacity: 1 });
    const sizes = laps.map(({ micrometres }) => micrometres);
    expect(sizes).toEqual(sizes.toSorted((a, b) => b - a));
  });
});
