/** The photo with what is traced on it: the scale's two marks, the outline, its points. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import type { PicturePoint } from '../../daemon/piece/model.ts';
import type { OutlineDraft } from './draft.ts';
import { toScreen, type Size, type View } from './trace.ts';
import type { TraceMode } from './trace-tools.ts';

export interface TracePicture {
  readonly trace: OutlineDraft;
  readonly picture: Size;
  /** Address of the photo; empty where it is gone. */
  readonly source: string;
  readonly view: View;
  readonly box: Size;
  readonly mode: TraceMode;
  readonly chosen: number;
  readonly crossing: readonly [number, number] | null;
}

const path = (points: readonly PicturePoint[]): string =>
  points.map(({ x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`).join(' ');

/** Dark below and light above, so that a line shows on any photo. */
function line(points: readonly PicturePoint[], name: string, closed = false): TemplateResult {
  return closed
    ? svg`<polygon class="under" points=${path(points)}></polygon>
        <polygon class=${name} points=${path(points)}></polygon>`
    : svg`<polyline class="under" points=${path(points)}></polyline>
        <polyline class=${name} points=${path(points)}></polyline>`;
}

function scaleMarks(ends: readonly PicturePoint[], active: boolean, chosen: number): unknown {
  return svg`<g class=${active ? 'scale' : 'scale is-idle'}>
    ${ends.length === 2 ? line(ends, 'ruler') : nothing}
    ${ends.map(
      ({ x, y }, index) => svg`<g class=${active && index === chosen ? 'mark is-chosen' : 'mark'}>
        <circle cx=${x} cy=${y} r="11"></circle>
        <path d="M${x - 11} ${y}h22M${x} ${y - 11}v22"></path>
      </g>`,
    )}
  </g>`;
}

function sides(points: readonly PicturePoint[], crossing: readonly [number, number]): unknown {
  return crossing.map((start) => {
    const [from, to] = [points[start], points[(start + 1) % points.length]];
    return from && to ? svg`<polyline class="crossing" points=${path([from, to])}></polyline>` : '';
  });
}

export function traceDrawing(shown: TracePicture): TemplateResult {
  const { trace, picture, source, view, box, mode, chosen, crossing } = shown;
  const place = (point: PicturePoint): PicturePoint => toScreen(view, point);
  const ends = trace.scaleEnds.map(place);
  const points = trace.picturePoints.map(place);
  const active = mode === 'outline';
  const [centreX, centreY] = [box.width / 2, box.height / 2];
  const last = points.at(-1);
  const [first] = points;
  return html`<svg
    class="trace"
    width=${box.width}
    height=${box.height}
    viewBox="0 0 ${box.width} ${box.height}"
    aria-hidden="true"
  >
    ${
      source === ''
        ? nothing
        : svg`<image href=${source} width=${picture.width} height=${picture.height}
            transform="translate(${view.x} ${view.y}) scale(${view.scale})"
            preserveAspectRatio="none"></image>`
    }
    ${scaleMarks(ends, !active, chosen)}
    <g class=${active ? 'outline' : 'outline is-idle'}>
      ${points.length > 1 ? line(points, 'edge', trace.closed) : nothing}
      ${
        !trace.closed && points.length > 2 && first && last
          ? line([last, first], 'closing')
          : nothing
      }
      ${crossing ? sides(points, crossing) : nothing}
      ${
        active
          ? points.map(
              ({ x, y }, index) =>
                svg`<circle class=${index === chosen ? 'point is-chosen' : index === 0 && !trace.closed ? 'point is-first' : 'point'}
                  cx=${x} cy=${y} r=${index === chosen ? 9 : index === 0 && !trace.closed ? 8 : 5}></circle>`,
            )
          : nothing
      }
    </g>
    <path class="cross" d="M${centreX - 14} ${centreY}h28M${centreX} ${centreY - 14}v28"></path>
  </svg>`;
}
