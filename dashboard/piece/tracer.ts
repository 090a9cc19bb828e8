/** Traces the outline of a flat piece on a photo: scale by two marks, points by presses, live area. */

import { html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { perimeterMm, signedAreaMm2 } from '../../daemon/piece/geometry/polygon.ts';
import type { PicturePoint } from '../../daemon/piece/model.ts';
import { NightElement } from '../element.ts';
import { threeDigits } from '../format.ts';
import { words } from '../words.ts';
import { outlineOf, type OutlineDraft } from './draft.ts';
import { keepPhoto, photoFrom, pictureAddress, type Photo } from './photo.ts';
import { traceDrawing } from './trace-drawing.ts';
import { TracePointer } from './trace-pointer.ts';
import {
  crossingOf,
  distance,
  fitView,
  panned,
  pointAt,
  sideAt,
  toPicture,
  zoomed,
  type Size,
  type View,
} from './trace.ts';
import { lengthMmFrom } from './typed.ts';

export type TraceMode = 'scale' | 'outline';
export type EditTrace = (apply: (trace: OutlineDraft) => void, entry?: string) => void;

const mostPoints = 2000;
const zoomStep = 1.4;
/** How far keys pan and nudge, screen pixels. */
const panStep = 24;
const nudges: Readonly<Record<string, readonly [x: number, y: number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

export class OutlineTracer extends NightElement {
  static override properties = { trace: {}, edit: {}, name: {} };
  declare trace: OutlineDraft;
  declare edit: EditTrace;
  declare name: string;
  #mode: TraceMode = 'scale';
  #chosen = -1;
  #view: View | null = null;
  #box: Size = { width: 0, height: 0 };
  /** Of the photo, where the trace does not know it. */
  #loaded: Size | null = null;
  #lost = false;
  #shownId: string | null = null;
  #localUrl = '';
  #photo: Photo | null = null;
  #status = '';
  #error = '';
  #moved: { readonly index: number; readonly point: PicturePoint } | null = null;
  readonly #pointer = new TracePointer({
    handleAt: (at, reach) => this.#handleAt(at, reach),
    view: () => this.#view,
    tap: (at, index, reach) => this.#tap(at, index, reach),
    drag: (index, at) => this.#drag(index, at),
    drop: () => this.#drop(),
    pan: (from, byX, byY) => this.#look((picture) => panned(from, byX, byY, picture, this.#box)),
    zoom: (from, factor, at) =>
      this.#look((picture) => zoomed(from, factor, at, picture, this.#box)),
  });
  readonly #watcher = new ResizeObserver(() => this.#measure());

  constructor() {
    super();
    this.name = '';
    this.edit = () => undefined;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#watcher.disconnect();
    if (this.#localUrl !== '') URL.revokeObjectURL(this.#localUrl);
    this.#localUrl = '';
  }

  override willUpdate(changed: PropertyValues<this>): void {
    if (!changed.has('trace')) return;
    if (changed.get('trace') === undefined && this.trace.picturePoints.length > 0) {
      this.#mode = 'outline';
    }
    this.#chosen = Math.min(this.#chosen, this.#handles().length - 1);
    if (this.trace.pictureId !== this.#shownId) this.#showStored(this.trace.pictureId);
  }

  override updated(): void {
    const box = this.querySelector('.trace-box');
    if (box) this.#watcher.observe(box);
  }

  /** The photo that the bench keeps is fetched once, for its size and to learn whether it is there. */
  #showStored(id: string | null): void {
    this.#shownId = id;
    this.#lost = false;
    if (id === null || this.#localUrl !== '') return;
    const image = new Image();
    image.addEventListener('load', () => {
      this.#loaded = { width: image.naturalWidth, height: image.naturalHeight };
      this.#fit();
    });
    image.addEventListener('error', () => {
      this.#lost = true;
      this.requestUpdate();
    });
    image.src = pictureAddress(id);
  }

  /** The photo's size; around the trace where the photo is gone. */
  get #size(): Size | null {
    const { pictureWidth: width, pictureHeight: height, picturePoints } = this.trace;
    if (width > 0 && height > 0) return { width, height };
    if (this.#loaded) return this.#loaded;
    if (picturePoints.length === 0) return null;
    return {
      width: 1.1 * Math.max(...picturePoints.map(({ x }) => x)),
      height: 1.1 * Math.max(...picturePoints.map(({ y }) => y)),
    };
  }

  get #source(): string {
    if (this.#localUrl !== '') return this.#localUrl;
    return this.trace.pictureId !== null && !this.#lost ? pictureAddress(this.trace.pictureId) : '';
  }

  #measure(): void {
    const box = this.querySelector('.trace-box');
    const size = { width: box?.clientWidth ?? 0, height: box?.clientHeight ?? 0 };
    if (size.width === this.#box.width && size.height === this.#box.height) return;
    this.#box = size;
    this.#fit();
  }

  #fit(): void {
    const picture = this.#size;
    this.#view = picture && this.#box.width > 0 ? fitView(picture, this.#box) : null;
    this.requestUpdate();
  }

  #look(move: (picture: Size) => View): void {
    const picture = this.#size;
    if (!picture) return;
    this.#view = move(picture);
    this.requestUpdate();
  }

  #zoom(factor: number): void {
    const { width, height } = this.#box;
    const view = this.#view;
    if (!view) return;
    this.#look((picture) =>
      zoomed(view, factor, { x: width / 2, y: height / 2 }, picture, this.#box),
    );
  }

  /** The points that can be moved now: the marks of the scale, or those of the outline. */
  #handles(): readonly PicturePoint[] {
    return this.#mode === 'scale' ? this.trace.scaleEnds : this.trace.picturePoints;
  }

  #handleAt(at: PicturePoint, reach: number): number {
    return this.#view ? pointAt(this.#handles(), this.#view, at, reach) : -1;
  }

  #editHandles(apply: (points: PicturePoint[], trace: OutlineDraft) => void, entry = ''): void {
    const mode = this.#mode;
    this.edit((trace) => {
      apply(mode === 'scale' ? trace.scaleEnds : trace.picturePoints, trace);
      // From the first press on, the trace counts and not an outline that came without a photo.
      if (mode === 'outline') trace.points = [];
    }, entry);
  }

  #tap(at: PicturePoint, index: number, reach: number): void {
    const view = this.#view;
    if (!view) return;
    const place = toPicture(view, at);
    if (this.#mode === 'scale') this.#tapScale(place, index);
    else this.#tapOutline(place, index, this.trace.closed ? this.#sideAt(at, reach) : -1);
    this.requestUpdate();
  }

  #sideAt(at: PicturePoint, reach: number): number {
    return this.#view ? sideAt(this.trace.picturePoints, this.#view, at, reach) : -1;
  }

  #tapScale(place: PicturePoint, index: number): void {
    const { scaleEnds } = this.trace;
    if (index >= 0) {
      this.#chosen = index;
      return;
    }
    if (scaleEnds.length < 2) {
      this.#chosen = scaleEnds.length;
      this.#editHandles((ends) => ends.push(place));
      if (scaleEnds.length === 1) {
        void this.updateComplete.then(() =>
          this.querySelector<HTMLElement>('.scale-length')?.focus(),
        );
      }
      return;
    }
    const [first, second] = scaleEnds;
    const nearer = first && second && distance(place, first) > distance(place, second) ? 1 : 0;
    this.#chosen = nearer;
    this.#editHandles((ends) => (ends[nearer] = place));
  }

  #tapOutline(place: PicturePoint, index: number, side: number): void {
    const { picturePoints, closed } = this.trace;
    if (!closed && index === 0 && picturePoints.length >= 3) {
      this.#close();
    } else if (index >= 0) {
      this.#chosen = index;
    } else if (!closed && picturePoints.length < mostPoints) {
      this.#chosen = picturePoints.length;
      this.#editHandles((points) => points.push(place));
    } else if (closed && side >= 0 && picturePoints.length < mostPoints) {
      this.#chosen = side + 1;
      this.#editHandles((points) => points.splice(side + 1, 0, place));
    } else {
      this.#chosen = -1;
    }
  }

  #drag(index: number, at: PicturePoint): void {
    if (!this.#view) return;
    this.#moved = { index, point: toPicture(this.#view, at) };
    this.#chosen = index;
    this.requestUpdate();
  }

  #drop(): void {
    const moved = this.#moved;
    this.#moved = null;
    if (moved) this.#editHandles((points) => (points[moved.index] = moved.point));
  }

  #close(): void {
    this.#chosen = -1;
    this.edit((trace) => (trace.closed = true));
  }

  #nudge(byX: number, byY: number): void {
    const index = this.#chosen;
    const scale = this.#view?.scale ?? 1;
    this.#editHandles((points) => {
      const point = points[index];
      if (point) points[index] = { x: point.x + byX / scale, y: point.y + byY / scale };
    }, `nudge ${index}`);
  }

  #remove(): void {
    const index = this.#chosen;
    if (index < 0) return;
    this.#editHandles((points, trace) => {
      points.splice(index, 1);
      if (trace.picturePoints.length < 3) trace.closed = false;
    });
    this.#chosen = Math.min(index, this.#handles().length - 2);
  }

  readonly #onKey = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const nudge = nudges[event.key];
    const { width, height } = this.#box;
    const count = this.#handles().length;
    const acts: Readonly<Record<string, () => void>> = {
      '+': () => this.#zoom(zoomStep),
      '=': () => this.#zoom(zoomStep),
      '-': () => this.#zoom(1 / zoomStep),
      '0': () => this.#fit(),
      n: () => count > 0 && (this.#chosen = (this.#chosen + 1) % count),
      p: () => count > 0 && (this.#chosen = (Math.max(0, this.#chosen) + count - 1) % count),
      Enter: () => {
        this.#tap({ x: width / 2, y: height / 2 }, -1, 8);
        this.#chosen = -1;
      },
      c: () => {
        if (this.#mode === 'outline' && !this.trace.closed && count >= 3) this.#close();
      },
      Delete: () => this.#remove(),
      Backspace: () => this.#remove(),
      Escape: () => (this.#chosen = -1),
    };
    if (nudge) {
      const [x, y] = nudge;
      const far = event.shiftKey ? 10 : 1;
      const view = this.#view;
      if (this.#chosen >= 0) this.#nudge(x * far, y * far);
      else if (view) {
        const step = (-panStep * far) / (event.shiftKey ? 2 : 1);
        this.#look((picture) => panned(view, x * step, y * step, picture, this.#box));
      }
    } else {
      const act = acts[event.key];
      if (!act) return;
      act();
    }
    event.preventDefault();
    this.requestUpdate();
  };

  async #choose(input: HTMLInputElement): Promise<void> {
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    this.#error = '';
    this.#say(words.piece.trace.preparing);
    try {
      const photo = await photoFrom(file);
      this.#photo = photo;
      if (this.#localUrl !== '') URL.revokeObjectURL(this.#localUrl);
      this.#localUrl = URL.createObjectURL(photo.blob);
      this.#mode = 'scale';
      this.#chosen = -1;
      const id = await this.#keep(photo);
      this.#shownId = id;
      this.edit((trace) => {
        Object.assign(trace, {
          pictureId: id,
          pictureWidth: photo.width,
          pictureHeight: photo.height,
          scaleEnds: [],
          scaleLength: '',
          picturePoints: [],
          closed: false,
        });
      });
      await this.updateComplete;
      this.#measure();
      this.#fit();
    } catch (error) {
      this.#error = error instanceof Error ? error.message : words.piece.trace.notPicture;
      this.#say('');
    }
  }

  /** The id under which the bench keeps the photo; null, with the reason shown, where it does not. */
  async #keep(photo: Photo): Promise<string | null> {
    this.#say(words.piece.trace.keeping);
    try {
      const { id } = await keepPhoto(photo);
      this.#photo = null;
      this.#error = '';
      this.#say(words.piece.trace.kept);
      return id;
    } catch (error) {
      this.#error = words.piece.trace.notKept(error instanceof Error ? error.message : '');
      this.#say('');
      return null;
    }
  }

  async #keepAgain(photo: Photo): Promise<void> {
    const id = await this.#keep(photo);
    if (id === null) return;
    this.#shownId = id;
    this.edit((trace) => (trace.pictureId = id));
  }

  #say(status: string): void {
    this.#status = status;
    this.requestUpdate();
  }

  #fileButton(): TemplateResult {
    const { photo, another, photoHelp } = words.piece.trace;
    const has = this.#size !== null;
    return html`<label class="file press-link ${has ? 'quiet' : 'strong'}">
        ${has ? another : photo}
        <input
          type="file"
          class="unseen"
          accept="image/*"
          @change=${(event: Event) => void this.#choose(event.target as HTMLInputElement)}
        />
      </label>
      ${has ? nothing : html`<p class="aside">${photoHelp}</p>`}`;
  }

  #setMode(mode: TraceMode): void {
    this.#mode = mode;
    this.#chosen = -1;
    this.requestUpdate();
  }

  #bar(): TemplateResult {
    const text = words.piece.trace;
    const press = (label: string, act: () => void, pressed?: boolean): TemplateResult =>
      html`<button
        type="button"
        class="quiet"
        aria-pressed=${pressed ?? nothing}
        @click=${() => {
          act();
          this.requestUpdate();
        }}
      >
        ${label}
      </button>`;
    return html`<div class="trace-bar" role="group" aria-label=${text.steps}>
      ${press(text.scaleStep, () => this.#setMode('scale'), this.#mode === 'scale')}
      ${press(text.outlineStep, () => this.#setMode('outline'), this.#mode === 'outline')}
      <span class="trace-zoom">
        ${press(text.zoomIn, () => this.#zoom(zoomStep))}
        ${press(text.zoomOut, () => this.#zoom(1 / zoomStep))} ${press(text.fit, () => this.#fit())}
      </span>
    </div>`;
  }

  #scaleField(): TemplateResult {
    const { scaleLength, scaleEnds, picturePoints } = this.trace;
    const mm = lengthMmFrom(scaleLength);
    const given = scaleLength.trim() !== '';
    const wrong = given && !(mm > 0);
    const id = 'trace-scale-length';
    return html`<div class="field">
      <label for=${id}>${words.piece.trace.scaleLength}</label>
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
            this.edit((trace) => (trace.scaleLength = typed), 'scale length');
          }}
          @change=${() => {
            if (mm > 0 && scaleEnds.length === 2 && picturePoints.length === 0) {
              this.#setMode('outline');
            }
          }}
        />
        <span class="unit">mm</span>
      </span>
      <span class="note" id="${id}-note">
        ${
          wrong
            ? html`<span class="problem">${words.piece.trace.scaleWrong(scaleLength)}</span>`
            : given && String(mm) !== scaleLength.trim()
              ? words.piece.converted(threeDigits(mm))
              : words.piece.lengths
        }
      </span>
    </div>`;
  }

  #pointTools(): TemplateResult {
    const text = words.piece.trace;
    const { picturePoints, closed } = this.trace;
    const count = this.#handles().length;
    const press = (label: string, act: () => void, shown: string, off = false): TemplateResult =>
      html`<button
        type="button"
        class="quiet"
        aria-label=${label}
        ?disabled=${off}
        @click=${() => {
          act();
          this.requestUpdate();
        }}
      >
        ${shown}
      </button>`;
    const none = this.#chosen < 0;
    const name = none ? text.noPoint : text.chosen(this.#chosen + 1, count);
    return html`<div class="trace-points">
      ${
        this.#mode === 'outline'
          ? html`${
              closed
                ? press(
                    text.reopen,
                    () => this.edit((trace) => (trace.closed = false)),
                    text.reopen,
                  )
                : press(text.close, () => this.#close(), text.close, picturePoints.length < 3)
            }
            ${press(
              text.clear,
              () =>
                this.edit((trace) => {
                  trace.picturePoints = [];
                  trace.closed = false;
                }),
              text.clear,
              picturePoints.length === 0,
            )}`
          : nothing
      }
      <div class="nudges" role="group" aria-label=${name}>
        <span class="aside" role="status">${name}</span>
        ${press(text.left, () => this.#nudge(-1, 0), '←', none)}
        ${press(text.right, () => this.#nudge(1, 0), '→', none)}
        ${press(text.upwards, () => this.#nudge(0, -1), '↑', none)}
        ${press(text.downwards, () => this.#nudge(0, 1), '↓', none)}
        ${press(text.removePoint, () => this.#remove(), text.removeShort, none)}
      </div>
    </div>`;
  }

  /** The trace with the point that is under way. */
  #shown(): OutlineDraft {
    const moved = this.#moved;
    if (!moved) return this.trace;
    const put = (points: PicturePoint[]): PicturePoint[] =>
      points.map((point, index) => (index === moved.index ? moved.point : point));
    return this.#mode === 'scale'
      ? { ...this.trace, scaleEnds: put(this.trace.scaleEnds) }
      : { ...this.trace, picturePoints: put(this.trace.picturePoints) };
  }

  #facts(shown: OutlineDraft): TemplateResult {
    const text = words.piece.trace;
    const outline = outlineOf({ ...shown, closed: true });
    const points = outline?.points ?? [];
    const known = points.length >= 3;
    const area = known ? `${threeDigits(Math.abs(signedAreaMm2(points)) / 100)} cm²` : '–';
    const around = known ? `${threeDigits(perimeterMm(points))} mm` : '–';
    const note =
      !outline && shown.picturePoints.length > 0
        ? text.scaleFirst
        : known && !shown.closed
          ? text.openYet
          : '';
    return html`<dl class="facts trace-facts">
        <div class="fact">
          <dt>${text.area}</dt>
          <dd class="figure">${area}</dd>
        </div>
        <div class="fact">
          <dt>${text.perimeter}</dt>
          <dd class="figure">${around}</dd>
        </div>
        <div class="fact">
          <dt>${text.points}</dt>
          <dd class="figure">${shown.picturePoints.length}</dd>
        </div>
      </dl>
      <p class="aside said" role="status">${note}</p>`;
  }

  override render(): TemplateResult {
    const text = words.piece.trace;
    const size = this.#size;
    const shown = this.#shown();
    const crossing = crossingOf(shown.picturePoints, shown.closed);
    const photo = this.#photo;
    return html`<div class="tracer">
      ${this.#fileButton()}
      ${
        this.trace.points.length > 0 && size === null
          ? html`<p class="aside">${text.noPhoto}</p>`
          : nothing
      }
      <p class="aside said" role="status">${this.#status}</p>
      ${this.#error ? html`<p class="problem" role="alert">${this.#error}</p>` : nothing}
      ${
        photo && this.#error
          ? html`<button type="button" class="quiet" @click=${() => void this.#keepAgain(photo)}>
              ${text.again}
            </button>`
          : nothing
      }
      ${this.#lost ? html`<p class="problem">${text.lost}</p>` : nothing}
      ${
        size === null
          ? nothing
          : html`${this.#bar()}
              <p class="aside trace-help">
                ${this.#mode === 'scale' ? text.scaleHelp : shown.closed ? text.editHelp : text.outlineHelp}
              </p>
              <div
                class="trace-box"
                tabindex="0"
                role="application"
                aria-label=${text.canvas(shown.picturePoints.length, shown.closed)}
                aria-describedby="trace-keys"
                @pointerdown=${this.#pointer.down}
                @pointermove=${this.#pointer.move}
                @pointerup=${this.#pointer.up}
                @pointercancel=${this.#pointer.cancel}
                @wheel=${this.#pointer.wheel}
                @keydown=${this.#onKey}
              >
                ${
                  this.#view
                    ? traceDrawing({
                        trace: shown,
                        picture: size,
                        source: this.#source,
                        view: this.#view,
                        box: this.#box,
                        mode: this.#mode,
                        chosen: this.#chosen,
                        crossing,
                      })
                    : nothing
                }
              </div>
              <p class="unseen" id="trace-keys">${text.keys}</p>
              <p class="problem" role="status">${crossing ? text.crossing : ''}</p>
              ${this.#mode === 'scale' ? this.#scaleField() : nothing} ${this.#pointTools()}
              ${this.#facts(shown)}`
      }
    </div>`;
  }
}

customElements.define('outline-tracer', OutlineTracer);
