/** Draws growth rings: the section to scale, its metal, its marks, and a magnified inset if needed. */

import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import { exact, targetThickness, thicknessRange } from './format.ts';
import {
  fit,
  flatWidth,
  magnification,
  outline,
  ringStep,
  roundDown,
  softEdge,
  surfacePoint,
  thinnestUnits,
  type Frame,
  type RingsInput,
} from './rings.ts';
import { ringWords } from '#words/rings';

const mm = (micrometres: number): number => micrometres / 1000;

/** The teeth along the two cut ends of a flat. */
function cutEnds(frame: Frame): string {
  const left = frame.x - flatWidth / 2 + 6;
  const right = frame.x + flatWidth / 2 - 6;
  const teeth = Array.from({ length: 42 }, (_, index) => index * 8 - 8);
  const edge = (x: number, ys: readonly number[]): string[] =>
    ys.map((y) => `${x + (y % 16 === 0 ? 5 : -5)} ${y}`);
  return `M${[...edge(left, teeth), ...edge(right, teeth.toReversed())].join('L')}z`;
}

interface Drawing {
  /** Thickens the metal only; 1 is to scale. */
  readonly exaggeration?: number;
  /** Least room between two rings, in drawing units. */
  readonly ringGap?: number;
  /** Left out where the dashes would cover metal too thin to see. */
  readonly target?: boolean;
}

function section(
  id: string,
  input: RingsInput,
  frame: Frame,
  { exaggeration = 1, ringGap = 2.4, target = true }: Drawing = {},
): SVGTemplateResult {
  const at = (micrometres: number): string =>
    outline(input.section, mm(micrometres) * exaggeration, frame);
  const unitsPerMicrometre = (frame.unitsPerMm * exaggeration) / 1000;
  const step = ringStep(input.hours.length, input.grown.value * unitsPerMicrometre, ringGap);
  const notch = (micrometres: number, index: number): SVGTemplateResult => {
    const thick = mm(micrometres) * exaggeration;
    const point = surfacePoint(input.section, thick, frame, 22 + 13 * index);
    return svg`<path class="notch" d="M-4-3h8l-4 9z"
      transform="translate(${point.x} ${point.y}) rotate(${point.degrees})" />`;
  };
  return svg`
    ${softEdge(input.grown).map(
      (lap) => svg`<path class="metal" opacity=${lap.opacity} d=${at(lap.micrometres)} />`,
    )}
    ${input.hours.map((hour, index) =>
      (index + 1) % step === 0 ? svg`<path class="ring" d=${at(hour)} />` : nothing,
    )}
    ${input.lifts.map((lift) => svg`<path class="gap" d=${at(lift)} />`)}
    ${input.alarms.map(notch)}
    <path class="core" d=${at(0)} />
    <path class="hatch" d=${at(0)} fill="url(#${id}-hatch)" />
    ${target ? svg`<path class="target" d=${at(input.targetMicrometres)} />` : nothing}`;
}

function hatch(id: string): SVGTemplateResult {
  return svg`<pattern id="${id}-hatch" width="7" height="7" patternUnits="userSpaceOnUse"
    patternTransform="rotate(45)"><path class="hatch-line" d="M0 0V7" /></pattern>`;
}

/** A bar of a round length, at most `room` units long. */
function scaleBar(frame: Frame, room: number, x: number, y: number): SVGTemplateResult {
  const lengthMm = roundDown(room / frame.unitsPerMm);
  const length = lengthMm * frame.unitsPerMm;
  const label = lengthMm >= 0.1 ? `${exact(lengthMm)} mm` : `${Math.round(lengthMm * 1000)} µm`;
  return svg`<path class="scale" d="M${x} ${y - 4}v4h${length}v-4" />
    <text class="label" x=${x} y=${y - 8}>${label}</text>`;
}

/** A round window on the surface, so many times larger. */
function inset(id: string, input: RingsInput, frame: Frame): SVGTemplateResult {
  const [x, y, radius] = [250, 70, 62];
  const targetUnits = mm(input.targetMicrometres) * frame.unitsPerMm;
  const factor = magnification(targetUnits, radius * 2);
  const unitsPerMm = frame.unitsPerMm * factor;
  const spot = surfacePoint(input.section, 0, frame, 0);
  // The bare surface lies a third of the radius below the middle of the window.
  const near: Frame = {
    x,
    y: y + radius / 3 + (frame.y - spot.y) * factor,
    unitsPerMm,
  };
  return svg`
    <clipPath id="${id}-window"><circle cx=${x} cy=${y} r=${radius} /></clipPath>
    <circle class="spot" cx=${spot.x} cy=${spot.y} r="6" />
    <path class="leader" d="M${spot.x} ${spot.y}L${x - radius * 0.9} ${y + radius * 0.44}" />
    <circle class="window" cx=${x} cy=${y} r=${radius} />
    <g clip-path="url(#${id}-window)">${section(id, input, near)}</g>
    <circle class="frame" cx=${x} cy=${y} r=${radius} />
    <text class="label" x=${x - radius * 0.8} y=${y - radius * 0.8} text-anchor="end">
      ${ringWords.magnified(factor)}
    </text>`;
}

function description(input: RingsInput): string {
  const { grown, targetMicrometres } = input;
  return ringWords.description(
    thicknessRange(grown.low, grown.high),
    targetThickness(targetMicrometres),
    input.hours.length,
    input.lifts.length,
    input.alarms.length,
  );
}

/** The large picture of a run. `id` must be unique on the page. */
export function ringsPicture(id: string, input: RingsInput): TemplateResult {
  const target = mm(input.targetMicrometres);
  const most = Math.max(target, mm(input.grown.high));
  const isFlat = input.section.shape === 'flat';
  const thin = target * fit(input.section, most, 140) < thinnestUnits;
  const frame: Frame = thin
    ? { x: 128, y: isFlat ? 220 : 186, unitsPerMm: fit(input.section, most, isFlat ? 70 : 116) }
    : { x: 160, y: 156, unitsPerMm: fit(input.section, most, 140) };
  return html`<svg class="rings" viewBox="0 0 320 330" role="img" aria-label=${description(input)}>
    <defs>
      ${hatch(id)}
      ${isFlat ? svg`<clipPath id="${id}-cut"><path d=${cutEnds(frame)} /></clipPath>` : nothing}
    </defs>
    <g clip-path=${isFlat ? `url(#${id}-cut)` : nothing}>
      ${section(id, input, frame, { target: !thin })}
    </g>
    ${thin ? inset(id, input, frame) : nothing} ${scaleBar(frame, 90, 6, 324)}
  </svg>`;
}

/** How many times too thick the small picture must draw the metal for it to be seen. */
function faceExaggeration(input: RingsInput): number {
  const units = mm(input.targetMicrometres) * fit(input.section, mm(input.targetMicrometres), 44);
  return units >= 9 ? 1 : Math.max(1, roundDown(14 / units));
}

/**
 * The small picture: a tank's face, a run's thumbnail. Thin metal is drawn thicker, and said so below in
 * letters of one size, whatever the size of the picture; their line is kept where there is none.
 */
export function ringsFace(id: string, input: RingsInput): TemplateResult {
  const times = faceExaggeration(input);
  const most = mm(Math.max(input.targetMicrometres, input.grown.high)) * times;
  const frame: Frame = { x: 50, y: 50, unitsPerMm: fit(input.section, most, 46) };
  return html`<span class="face">
    <svg class="rings" viewBox="0 0 100 100" role="img" aria-label=${description(input)}>
      <defs>${hatch(id)}</defs>
      ${section(id, input, frame, { exaggeration: times, ringGap: 1.7 })}
    </svg>
    <span class="factor">${times > 1 ? ringWords.thicker(times) : nothing}</span>
  </span>`;
}
