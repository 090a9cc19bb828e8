/** Events over the scrubber: a mark where each happened, wide enough to be pressed, that goes to it. */

import { html, type TemplateResult } from 'lit';
import { NightElement } from '../element.ts';
import { clockSeconds } from '../format.ts';
import { markGroups, rimPx, type Happening, type MarkGroup } from './happenings.ts';
import { replayWords } from '#words/replay';

export class EventMarks extends NightElement {
  static override properties = {
    happenings: { attribute: false },
    lengthMs: { attribute: false },
    startWallMs: { attribute: false },
    widthPx: { state: true },
  };
  declare happenings: readonly Happening[];
  declare lengthMs: number;
  declare startWallMs: number;
  declare widthPx: number;
  readonly #size = new ResizeObserver(() => (this.widthPx = this.clientWidth));

  constructor() {
    super();
    this.happenings = [];
    this.lengthMs = 0;
    this.startWallMs = 0;
    this.widthPx = 0;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#size.observe(this);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#size.disconnect();
  }

  #mark({ atMs, members }: MarkGroup): TemplateResult {
    const grave = members.find((one) => one.grave);
    const first = grave ?? members[0];
    const share = this.lengthMs > 0 ? Math.min(1, atMs / this.lengthMs) : 0;
    const place = rimPx + share * Math.max(0, this.widthPx - 2 * rimPx);
    const label = replayWords.mark(
      clockSeconds(this.startWallMs + atMs),
      first?.message ?? '',
      members.length - 1,
    );
    // As a property: the page's policy allows no style in markup.
    return html`<button
      type="button"
      class=${grave === undefined ? '' : 'grave'}
      .style=${`left:${place.toFixed(1)}px`}
      title=${label}
      aria-label=${label}
      @click=${() => this.dispatchEvent(new CustomEvent('seek', { detail: atMs }))}
    ></button>`;
  }

  override render(): TemplateResult[] {
    if (this.widthPx === 0) return [];
    return markGroups(this.happenings, this.lengthMs, this.widthPx).map((group) =>
      this.#mark(group),
    );
  }
}
