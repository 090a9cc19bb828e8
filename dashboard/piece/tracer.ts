/** Traces the outline of a flat piece on a photo: scale by two marks, points by presses, live area. */

import { html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import type { PicturePoint } from '../../daemon/piece/model.ts';
import { NightElement } from '../element.ts';
import type { OutlineDraft } from './draft.ts';
import { traceDrawing } from './trace-drawing.ts';
import {
  neighbour,
  removePoint,
  takePhoto,
  tapOutline,
  tapScale,
  traceKey,
  withMoved,
  zoomStep,
  type MovedPoint,
  type TraceKey,
} from './trace-moves.ts';
import { TracePointer } from './trace-pointer.ts';
import {
  crossingOf,
  fitView,
  panned,
  pointAt,
  sideAt,
  toPicture,
  zoomed,
  type Size,
  type View,
} from './trace.ts';
import { TracePhoto } from './trace-photo.ts';
import {
  photoButton,
  photoState,
  pointTools,
  scaleField,
  traceBar,
  traceFacts,
  type EditTrace,
  type TraceDesk,
  type TraceMode,
} from './trace-tools.ts';
import { traceWords } from '#words/trace';

type Crossing = ReturnType<typeof crossingOf>;

export class OutlineTracer extends NightElement {
  static override properties = { trace: {}, edit: {} };
  declare trace: OutlineDraft;
  declare edit: EditTrace;
  #mode: TraceMode = 'scale';
  #chosen = -1;
  #view: View | null = null;
  #box: Size = { width: 0, height: 0 };
  readonly #photo = new TracePhoto(
    () => this.requestUpdate(),
    () => this.#fit(),
  );
  #moved: MovedPoint | null = null;
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
    this.edit = () => undefined;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#watcher.disconnect();
    this.#photo.forget();
  }

  override willUpdate(changed: PropertyValues<this>): void {
    if (!changed.has('trace')) return;
    if (changed.get('trace') === undefined && this.trace.picturePoints.length > 0) {
      this.#mode = 'outline';
    }
    this.#chosen = Math.min(this.#chosen, this.#handles().length - 1);
    this.#photo.show(this.trace);
  }

  override updated(): void {
    const box = this.querySelector('.trace-box');
    if (box) this.#watcher.observe(box);
  }

  get #size(): Size | null {
    return this.#photo.size(this.trace);
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

  #editHandles(apply: (points: PicturePoint[]) => void, entry = ''): void {
    const mode = this.#mode;
    this.edit((trace) => apply(mode === 'scale' ? trace.scaleEnds : trace.picturePoints), entry);
  }

  #tap(at: PicturePoint, index: number, reach: number): void {
    const view = this.#view;
    if (!view) return;
    const { trace } = this;
    const place = toPicture(view, at);
    const side = trace.closed ? sideAt(trace.picturePoints, view, at, reach) : -1;
    const { chosen, apply } =
      this.#mode === 'scale'
        ? tapScale(trace, place, index)
        : tapOutline(trace, place, index, side);
    this.#chosen = chosen;
    if (apply) this.edit(apply);
    if (this.#mode === 'scale' && apply && trace.scaleEnds.length === 1) this.#askLength();
    this.requestUpdate();
  }

  /** With both marks set, the length between them is all that is missing. */
  #askLength(): void {
    void this.updateComplete.then(() => this.querySelector<HTMLElement>('.scale-length')?.focus());
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
    }, `nudge-${index}`);
  }

  #remove(): void {
    const [index, mode] = [this.#chosen, this.#mode];
    if (index < 0) return;
    this.edit((trace) => removePoint(trace, mode, index));
    this.#chosen = Math.min(index, this.#handles().length - 2);
  }

  readonly #onKey = (event: KeyboardEvent): void => {
    const key = traceKey(event);
    if (key === null) return;
    event.preventDefault();
    this.#obey(key);
    this.requestUpdate();
  };

  #obey(key: TraceKey): void {
    const { width, height } = this.#box;
    const count = this.#handles().length;
    const view = this.#view;
    switch (key.act) {
      case 'move':
        if (this.#chosen >= 0) this.#nudge(key.x, key.y);
        else if (view) {
          const [x, y] = [-key.x * key.panStep, -key.y * key.panStep];
          this.#look((picture) => panned(view, x, y, picture, this.#box));
        }
        return;
      case 'zoom':
        return this.#zoom(key.factor);
      case 'choose':
        if (count > 0) this.#chosen = neighbour(this.#chosen, key.by, count);
        return;
      case 'fit':
        return this.#fit();
      case 'set':
        this.#tap({ x: width / 2, y: height / 2 }, -1, 8);
        // Let go of, so that the arrows move the photo on to the next place.
        this.#chosen = -1;
        return;
      case 'close':
        if (this.#mode === 'outline' && !this.trace.closed && count >= 3) this.#close();
        return;
      case 'remove':
        return this.#remove();
      case 'letGo':
        this.#chosen = -1;
    }
  }

  readonly #choose = async (file: File): Promise<void> => {
    const chosen = await this.#photo.choose(file);
    if (!chosen) return;
    this.#mode = 'scale';
    this.#chosen = -1;
    this.edit((trace) => takePhoto(trace, chosen.id, chosen.size));
    await this.updateComplete;
    this.#fit();
  };

  readonly #keepAgain = async (): Promise<void> => {
    const id = await this.#photo.keepAgain();
    if (id !== null) this.edit((trace) => (trace.pictureId = id));
  };

  readonly #setMode = (mode: TraceMode): void => {
    this.#mode = mode;
    this.#chosen = -1;
    this.requestUpdate();
  };

  #desk(shown: OutlineDraft): TraceDesk {
    const act = (run: () => void) => (): void => {
      run();
      this.requestUpdate();
    };
    return {
      trace: shown,
      mode: this.#mode,
      chosen: this.#chosen,
      handles: this.#handles().length,
      edit: this.edit,
      setMode: this.#setMode,
      closer: act(() => this.#zoom(zoomStep)),
      farther: act(() => this.#zoom(1 / zoomStep)),
      fit: act(() => this.#fit()),
      close: act(() => this.#close()),
      nudge: (byX, byY) => act(() => this.#nudge(byX, byY))(),
      remove: act(() => this.#remove()),
    };
  }

  #canvas(shown: OutlineDraft, picture: Size, crossing: Crossing): TemplateResult {
    const { canvas } = traceWords;
    const [view, box, mode, chosen] = [this.#view, this.#box, this.#mode, this.#chosen];
    const source = this.#photo.source(this.trace);
    return html`<div
      class="trace-box"
      tabindex="0"
      role="application"
      aria-label=${canvas(shown.picturePoints.length, shown.closed)}
      aria-describedby="trace-keys"
      @pointerdown=${this.#pointer.down}
      @pointermove=${this.#pointer.move}
      @pointerup=${this.#pointer.up}
      @pointercancel=${this.#pointer.cancel}
      @wheel=${this.#pointer.wheel}
      @keydown=${this.#onKey}
    >
      ${
        view
          ? traceDrawing({ trace: shown, picture, source, view, box, mode, chosen, crossing })
          : nothing
      }
    </div>`;
  }

  override render(): TemplateResult {
    const text = traceWords;
    const size = this.#size;
    const shown = withMoved(this.trace, this.#mode, this.#moved);
    const desk = this.#desk(shown);
    const crossing = crossingOf(shown.picturePoints, shown.closed);
    const bare = this.trace.points.length > 0 && size === null;
    return html`<div class="tracer">
      ${photoButton(size !== null, (file) => void this.#choose(file))}
      ${bare ? html`<p class="aside">${text.noPhoto}</p>` : nothing}
      ${photoState(this.#photo, this.trace, () => void this.#keepAgain(), this.edit)}
      ${
        size === null
          ? nothing
          : html`${traceBar(desk)} ${this.#canvas(shown, size, crossing)}
              <p class="unseen" id="trace-keys">${text.keys}</p>
              <p class="problem" role="status">${crossing ? text.crossing : ''}</p>
              ${this.#mode === 'scale' ? scaleField(desk) : nothing} ${pointTools(desk)}
              ${traceFacts(shown)}`
      }
    </div>`;
  }
}

customElements.define('outline-tracer', OutlineTracer);
