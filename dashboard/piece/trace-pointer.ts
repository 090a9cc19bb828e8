/** Turns presses, drags, pinches and the wheel on the tracer into taps, moved points, pans and zooms. */

import type { PicturePoint } from '../../daemon/piece/model.ts';
import { distance, type View } from './trace.ts';

/** What the tracer does with them; places are on the screen, from the corner of the box. */
export interface TraceActs {
  readonly handleAt: (at: PicturePoint, reach: number) => number;
  readonly view: () => View | null;
  readonly tap: (at: PicturePoint, index: number, reach: number) => void;
  readonly drag: (index: number, at: PicturePoint) => void;
  readonly drop: () => void;
  readonly pan: (from: View, byX: number, byY: number) => void;
  readonly zoom: (from: View, factor: number, at: PicturePoint) => void;
}

/** A press that wanders less than this is a tap; a thumb wanders and covers more than a mouse, px. */
const slop = { mouse: 4, touch: 10 } as const;
const reach = { mouse: 12, touch: 22 } as const;

interface Press {
  readonly at: PicturePoint;
  readonly view: View;
  readonly index: number;
  readonly kind: 'mouse' | 'touch';
  moved: boolean;
}

interface Pinch {
  readonly view: View;
  readonly apart: number;
  readonly middle: PicturePoint;
}

const middleOf = (one: PicturePoint, other: PicturePoint): PicturePoint => ({
  x: (one.x + other.x) / 2,
  y: (one.y + other.y) / 2,
});

export class TracePointer {
  readonly #acts: TraceActs;
  readonly #fingers = new Map<number, PicturePoint>();
  #press: Press | null = null;
  #pinch: Pinch | null = null;

  constructor(acts: TraceActs) {
    this.#acts = acts;
  }

  readonly down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    const view = this.#acts.view();
    const at = placeOf(event);
    if (!view) return;
    (event.currentTarget as Element).setPointerCapture(event.pointerId);
    this.#fingers.set(event.pointerId, at);
    const [one, other] = [...this.#fingers.values()];
    if (one && other) {
      this.#press = null;
      this.#pinch = { view, apart: distance(one, other), middle: middleOf(one, other) };
      return;
    }
    const kind = event.pointerType === 'touch' ? 'touch' : 'mouse';
    const index = this.#acts.handleAt(at, reach[kind]);
    this.#press = { at, view, index, kind, moved: false };
  };

  readonly move = (event: PointerEvent): void => {
    if (!this.#fingers.has(event.pointerId)) return;
    const at = placeOf(event);
    this.#fingers.set(event.pointerId, at);
    const pinch = this.#pinch;
    if (pinch) {
      this.#pinched(pinch);
      return;
    }
    const press = this.#press;
    if (!press) return;
    press.moved ||= distance(press.at, at) > slop[press.kind];
    if (!press.moved) return;
    if (press.index >= 0) this.#acts.drag(press.index, at);
    else this.#acts.pan(press.view, at.x - press.at.x, at.y - press.at.y);
  };

  #pinched({ view, apart, middle }: Pinch): void {
    const [one, other] = [...this.#fingers.values()];
    if (!one || !other || apart === 0) return;
    const now = middleOf(one, other);
    const moved = { ...view, x: view.x + now.x - middle.x, y: view.y + now.y - middle.y };
    this.#acts.zoom(moved, distance(one, other) / apart, now);
  }

  readonly up = (event: PointerEvent): void => {
    if (!this.#fingers.delete(event.pointerId)) return;
    const press = this.#press;
    this.#press = null;
    // The second finger of a pinch that is still down neither taps nor pans.
    if (this.#fingers.size < 2) this.#pinch = null;
    if (!press) return;
    if (!press.moved) this.#acts.tap(press.at, press.index, reach[press.kind]);
    else if (press.index >= 0) this.#acts.drop();
  };

  readonly cancel = (event: PointerEvent): void => {
    this.#fingers.delete(event.pointerId);
    if (this.#press?.moved && this.#press.index >= 0) this.#acts.drop();
    this.#press = null;
    this.#pinch = null;
  };

  /** Not passive: the page must not scroll away under the photo. */
  readonly wheel = {
    passive: false,
    handleEvent: (event: WheelEvent): void => {
      const view = this.#acts.view();
      if (!view) return;
      event.preventDefault();
      const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
      this.#acts.zoom(view, Math.exp(-event.deltaY * lines * 0.0016), placeOf(event));
    },
  };
}

/** Where it is, from the corner of the box. */
function placeOf(event: MouseEvent): PicturePoint {
  const { left, top } = (event.currentTarget as Element).getBoundingClientRect();
  return { x: event.clientX - left, y: event.clientY - top };
}
