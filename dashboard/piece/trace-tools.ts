/** What stands round the photo of a tracer: steps, zoom, scale, tools for points, area. */

import { html, nothing, type TemplateResult } from 'lit';
import { perimeterMm, signedAreaMm2 } from '../../daemon/piece/geometry/polygon.ts';
import { fact } from '../element.ts';
import { noFigure, threeDigits } from '../format.ts';
import { pieceWords } from '#words/piece';
import { outlineOf, type OutlineDraft } from './draft.ts';
import type { TracePhoto } from './trace-photo.ts';
import { lengthMmFrom } from './typed.ts';
import { traceWords } from '#words/trace';

export type TraceMode = 'scale' | 'outline';
export type EditTrace = (apply: (trace: OutlineDraft) => void, entry?: string) => void;

/** The tracer as its tools see it. */
export interface TraceDesk {
  readonly trace: OutlineDraft;
  readonly mode: TraceMode;
  /** Index of the chosen point among those that can be moved now; -1 for none. */
  readonly chosen: number;
  readonly handles: number;
  readonly edit: EditTrace;
  readonly setMode: (mode: TraceMode) => void;
  readonly closer: () => void;
  readonly farther: () => void;
  readonly fit: () => void;
  readonly close: () => void;
  readonly nudge: (byX: number, byY: number) => void;
  readonly remove: () => void;
}

/** Takes a photo where there is a camera, or chooses one. */
export function photoButton(has: boolean, choose: (file: File) => void): TemplateResult {
  const { take, photo, another, photoHelp } = traceWords;
  const look = has ? 'quiet' : 'strong';
  const taken = (event: Event): void => {
    const input = event.target as HTMLInputElement;
    const file = input.files?.[0];
    if (file) choose(file);
    input.value = '';
  };
  return html`<div class="trace-files">
      <label class="file camera press-link ${look}">
        ${take}
        <input type="file" class="unseen" accept="image/*" capture="environment" @change=${taken} />
      </label>
      <label class="file press-link ${look}">
        ${has ? another : photo}
        <input type="file" class="unseen chosen" accept="image/*" @change=${taken} />
      </label>
    </div>
    ${has ? nothing : html`<p class="aside">${photoHelp}</p>`}`;
}

export function photoState(
  photo: TracePhoto,
  trace: OutlineDraft,
  again: () => void,
  edit: EditTrace,
): TemplateResult {
  const text = traceWords;
  const shown = photo.standing(trace);
  const press = (label: string, act: () => void): TemplateResult =>
    html`<button type="button" class="quiet" @click=${act}>${label}</button>`;
  return html`<p class="aside said" role="status">
      ${photo.status || (shown === 'none' ? text.without : '')}
    </p>
    <p class="problem" role="alert">${photo.error || (shown === 'gone' ? text.lost : '')}</p>
    ${photo.canTryAgain ? press(text.again, again) : nothing}
    ${shown === 'gone' ? press(text.goOn, () => edit((one) => (one.pictureId = null))) : nothing}`;
}

export function traceBar(desk: TraceDesk): TemplateResult {
  const text = traceWords;
  const { mode, trace, setMode } = desk;
  const press = (label: string, act: () => void, pressed?: boolean): TemplateResult =>
    html`<button type="button" class="quiet" aria-pressed=${pressed ?? nothing} @click=${act}>
      ${label}
    </button>`;
  const help = mode === 'scale' ? text.scaleHelp : trace.closed ? text.editHelp : text.outlineHelp;
  return html`<div class="trace-bar" role="group" aria-label=${text.steps}>
      ${press(text.scaleStep, () => setMode('scale'), mode === 'scale')}
      ${press(text.outlineStep, () => setMode('outline'), mode === 'outline')}
      <span class="trace-zoom">
        ${press(text.zoomIn, desk.closer)} ${press(text.zoomOut, desk.farther)}
        ${press(text.fit, desk.fit)}
      </span>
    </div>
    <p class="aside trace-help">${help}</p>`;
}

export function scaleField({ trace, edit, setMode }: TraceDesk): TemplateResult {
  const { scaleLength, scaleEnds, picturePoints } = trace;
  const mm = lengthMmFrom(scaleLength);
  const given = scaleLength.trim() !== '';
  const wrong = given && !(mm > 0);
  const text = pieceWords;
  const note =
    given && String(mm) !== scaleLength.trim() ? text.converted(threeDigits(mm)) : text.lengths;
  const id = 'trace-scale-length';
  return html`<div class="field">
    <label for=${id}>${traceWords.scaleLength}</label>
    <span class="entry">
      <input
        id=${id}
        class="scale-length"
        inputmode="text"
        autocomplete="off"
        maxlength="40"
        .value=${scaleLength}
        aria-invalid=${wrong}
        aria-describedby="${id}-note"
        @input=${(event: Event) => {
          const typed = (event.target as HTMLInputElement).value;
          edit((one) => (one.scaleLength = typed), 'scale-length');
        }}
        @change=${() => {
          if (mm > 0 && scaleEnds.length === 2 && picturePoints.length === 0) setMode('outline');
        }}
      />
      <span class="unit">mm</span>
    </span>
    <span class="note" id="${id}-note">
      ${wrong ? html`<span class="problem">${traceWords.scaleWrong(scaleLength)}</span>` : note}
    </span>
  </div>`;
}

/** A button of the tools; its sign may be shorter than its name. */
function tool(name: string, act: () => void, blocked: boolean, sign = name): TemplateResult {
  return html`<button
    type="button"
    class="quiet"
    aria-label=${name}
    ?disabled=${blocked}
    @click=${act}
  >
    ${sign}
  </button>`;
}

export function pointTools(desk: TraceDesk): TemplateResult {
  const text = traceWords;
  const { trace, mode, chosen, handles, edit, nudge, remove } = desk;
  const { picturePoints, closed } = trace;
  const none = chosen < 0;
  const name = none ? text.noPoint : text.chosen(chosen + 1, handles);
  const reopen = (): void => edit((one) => (one.closed = false));
  const clear = (): void =>
    edit((one) => {
      one.picturePoints = [];
      one.closed = false;
    });
  return html`<div class="trace-points">
    ${
      mode === 'outline'
        ? html`${
            closed
              ? tool(text.reopen, reopen, false)
              : tool(text.close, desk.close, picturePoints.length < 3)
          }
          ${tool(text.clear, clear, picturePoints.length === 0)}`
        : nothing
    }
    <div class="nudges" role="group" aria-label=${name}>
      <span class="aside" role="status">${name}</span>
      ${tool(text.left, () => nudge(-1, 0), none, '←')}
      ${tool(text.right, () => nudge(1, 0), none, '→')}
      ${tool(text.upwards, () => nudge(0, -1), none, '↑')}
      ${tool(text.downwards, () => nudge(0, 1), none, '↓')}
      ${tool(text.removePoint, remove, none, text.removeShort)}
    </div>
  </div>`;
}

export function traceFacts(shown: OutlineDraft): TemplateResult {
  const text = traceWords;
  const outline = outlineOf({ ...shown, closed: true });
  const points = outline?.points ?? [];
  const known = points.length >= 3;
  const area = known ? `${threeDigits(Math.abs(signedAreaMm2(points)) / 100)} cm²` : noFigure;
  const around = known ? `${threeDigits(perimeterMm(points))} mm` : noFigure;
  const note =
    !outline && shown.picturePoints.length > 0
      ? text.scaleFirst
      : known && !shown.closed
        ? text.openYet
        : '';
  return html`<dl class="facts trace-facts">
      ${fact(text.area, area)} ${fact(text.perimeter, around)}
      ${fact(text.points, shown.picturePoints.length)}
    </dl>
    <p class="aside said" role="status">${note}</p>`;
}
