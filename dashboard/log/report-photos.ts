/** The photos of a run's notes as a row or two for paper; one that cannot be read is named. */

import { html, nothing, type TemplateResult } from 'lit';
import type { RunNote } from '../../daemon/wire/run-book.ts';
import { NightElement } from '../element.ts';
import { clock } from '../format.ts';
import { pictureAddress } from '../piece/photo.ts';
import { evenly, photosInRow, shortened } from './report-content.ts';
import { reportWords } from '#words/report';

const altLetters = 80;

export class ReportPhotos extends NightElement {
  static override properties = { notes: { attribute: false }, rows: {} };
  /** Those with a photo, in their order. */
  declare notes: readonly RunNote[];
  /** As many rows as there is room for. */
  declare rows: number;
  /** By their event, and whether each could be read. */
  readonly #settled = new Map<number, boolean>();

  constructor() {
    super();
    this.notes = [];
    this.rows = 1;
  }

  get #shown(): readonly RunNote[] {
    return evenly(this.notes, this.rows * photosInRow);
  }

  /** Once every photo is there or known to be lost, whoever prints may go on. */
  #settle(eventId: number, isRead: boolean): void {
    this.#settled.set(eventId, isRead);
    this.requestUpdate();
    if (this.#shown.every((note) => this.#settled.has(note.eventId))) {
      this.dispatchEvent(new Event('photos-settled'));
    }
  }

  async #look(image: HTMLImageElement, eventId: number): Promise<void> {
    // A picture whose bytes are spoiled counts as loaded; only making pixels of it tells.
    const isRead = await createImageBitmap(image).then(
      (pixels) => {
        pixels.close();
        return true;
      },
      () => false,
    );
    this.#settle(eventId, isRead);
  }

  #photo({ eventId, wallMs, text, picture }: RunNote): TemplateResult {
    const at = clock(wallMs);
    if (picture === null || this.#settled.get(eventId) === false) {
      return html`<figure class="lost"><p>${reportWords.photoLost(at)}</p></figure>`;
    }
    const said = text === '' ? '' : shortened(text, altLetters);
    return html`<figure>
      <img
        src=${pictureAddress(picture.id)}
        alt=${reportWords.photoOf(at, said)}
        width=${picture.widthPixels}
        height=${picture.heightPixels}
        @load=${(event: Event) => void this.#look(event.target as HTMLImageElement, eventId)}
        @error=${() => this.#settle(eventId, false)}
      />
      <figcaption>${at}</figcaption>
    </figure>`;
  }

  override render(): TemplateResult {
    const shown = this.#shown;
    const leftOut = this.notes.length - shown.length;
    return html`<div class="photo-row">${shown.map((note) => this.#photo(note))}</div>
      ${leftOut > 0 ? html`<p class="aside">${reportWords.morePhotos(leftOut)}</p>` : nothing}`;
  }
}
