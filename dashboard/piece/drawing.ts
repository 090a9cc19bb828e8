/** A part's drawing to scale as SVG, with the metal in copper and a bar that says how long it is. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import type { Drawing, Point, Stroke } from '../../daemon/piece/model.ts';

const pairs = (points: readonly Point[]): string =>
  points.map(({ xMm, yMm }) => `${xMm},${yMm}`).join(' ');

type Box = readonly [left: number, top: number, right: number, bottom: number];

function boxOf(stroke: Stroke): Box {
  if ('points' in stroke) {
    const start: Box = [Infinity, Infinity, -Infinity, -Infinity];
    return stroke.points.reduce<Box>(
      ([left, top, right, bottom], { xMm, yMm }) => [
        Math.min(left, xMm),
        Math.min(top, yMm),
        Math.max(right, xMm),
        Math.max(bottom, yMm),
      ],
      start,
    );
  }
  const { xMm, yMm } = stroke.centre;
  const x = stroke.shape === 'circle' ? stroke.radiusMm : stroke.radiusXMm;
  const y = stroke.shape === 'circle' ? stroke.radiusMm : stroke.radiusYMm;
  return [xMm - x, yMm - y, xMm + x, yMm + y];
}

const holds = (outer: Box, inner: Box): boolean =>
  outer[0] <= inner[0] && outer[1] <= inner[1] && outer[2] >= inner[2] && outer[3] >= inner[3];

/** Closed shapes of metal that are filled: those that are no ring, with another inside or round them. */
function filledShapes(strokes: readonly Stroke[]): ReadonlySet<Stroke> {
  const closed = strokes.filter(({ role, shape }) => role === 'metal' && shape !== 'polyline');
  const boxes = closed.map(boxOf);
  return new Set(
    closed.filter((_, index) => {
      const own = boxes[index];
      return boxes.every(
        (other, at) => at === index || !own || !(holds(other, own) || holds(own, other)),
      );
    }),
  );
}

function roleOf(stroke: Stroke, shown: string | null, filled: ReadonlySet<Stroke>): string {
  if (filled.has(stroke)) return `${stroke.role} is-filled`;
  const measured = 'points' in stroke ? stroke.measures : '';
  return shown !== null && measured === shown ? 'measure is-shown' : stroke.role;
}

function shapeOf(stroke: Stroke, role: string): TemplateResult {
  switch (stroke.shape) {
    case 'polyline':
      return svg`<polyline class=${role} points=${pairs(stroke.points)}></polyline>`;
    case 'polygon':
      return svg`<polygon class=${role} points=${pairs(stroke.points)}></polygon>`;
    case 'circle': {
      const { xMm, yMm } = stroke.centre;
      return svg`<circle class=${role} cx=${xMm} cy=${yMm} r=${stroke.radiusMm}></circle>`;
    }
    case 'ellipse': {
      const { xMm, yMm } = stroke.centre;
      return svg`<ellipse class=${role} cx=${xMm} cy=${yMm}
        rx=${stroke.radiusXMm} ry=${stroke.radiusYMm}></ellipse>`;
    }
  }
}

/** 1, 2 or 5 times a power of ten, near a third of the drawing. */
export function barLengthMm(sideMm: number): number {
  const wanted = sideMm / 3;
  const decade = 10 ** Math.floor(Math.log10(wanted));
  const step = [5, 2].find((one) => one * decade <= wanted) ?? 1;
  return Number((step * decade).toPrecision(3));
}

/** Square, so that every drawing has the same room; `bar` adds the bar below it. */
export function partDrawing(
  { viewBox, strokes }: Drawing,
  { bar = false, shown = null }: { bar?: boolean; shown?: string | null } = {},
): TemplateResult {
  const side = Math.max(viewBox.widthMm, viewBox.heightMm);
  const left = viewBox.xMm - (side - viewBox.widthMm) / 2;
  const top = viewBox.yMm - (side - viewBox.heightMm) / 2;
  const room = bar ? side * 0.16 : 0;
  const length = barLengthMm(side);
  const base = top + side + room * 0.25;
  const middle = left + side / 2;
  const filled = filledShapes(strokes);
  const drawn = bar ? strokes : strokes.filter(({ role }) => role !== 'measure');
  return html`<svg
    class="part-drawing"
    viewBox="${left} ${top} ${side} ${side + room}"
    aria-hidden="true"
  >
    ${drawn.map((stroke) => shapeOf(stroke, roleOf(stroke, shown, filled)))}
    ${
      bar
        ? svg`<g class="bar">
            <path d="M${middle - length / 2} ${base}h${length}"></path>
            <text x=${middle} y=${base + side * 0.105} font-size=${side * 0.095}
              text-anchor="middle">${length} mm</text>
          </g>`
        : nothing
    }
  </svg>`;
}
