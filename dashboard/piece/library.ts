/** The library on the Plan page: save, open, versions, duplicate, archive, download, import. */

import { html, nothing, type TemplateResult } from 'lit';
import type { PieceDescription } from '../../daemon/piece/model.ts';
import type { PieceSummary } from '../../daemon/wire/library.ts';
import { ApiError } from '../api.ts';
import { isSecondClick, NightElement } from '../element.ts';
import { dayAndTime, list } from '../format.ts';
import { words } from '#words/common';
import { pieceWords } from '#words/piece';
import { pieceDraftOf, pieceOf, type PieceDraft } from './draft.ts';
import * as calls from './library-calls.ts';
import { KnownPlaces, markOf, placeOf } from './library-place.ts';
import { area, versionList } from './library-versions.ts';
import { dropPhotos, stuckNotice, stuckOn, type Stuck } from './library-stuck.ts';
import type { Edit } from './piece-form.ts';
import { libraryWords } from '#words/library';

/** One for the page: it outlives the element, which is taken down when the page is left. */
const places = new KnownPlaces();

export class PieceLibrary extends NightElement {
  static override properties = { draft: {}, edit: {}, take: {}, sound: {} };
  declare draft: PieceDraft;
  declare edit: Edit;
  declare take: (piece: PieceDraft, what: string) => void;
  /** Whether the draft can be saved: nothing is wrong with it. */
  declare sound: boolean;
  #rows: readonly PieceSummary[] | null = null;
  #archived = false;
  #versions: readonly PieceSummary[] = [];
  #said = '';
  #error = '';
  #busy = false;
  /** What the last save is stuck on. */
  #stuck: Stuck | null = null;

  constructor() {
    super();
    this.edit = () => undefined;
    this.take = () => undefined;
    this.sound = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    const standing = places.of(this.draft);
    if (standing) places.learn(standing);
    void this.#list();
  }

  async #list(): Promise<void> {
    await this.#try(() => this.#refresh());
  }

  /** The list as it now is, and the versions of the piece whose versions are shown. */
  async #refresh(): Promise<void> {
    this.#rows = await calls.listPieces(this.#archived);
    const shown = this.#versions[0]?.id;
    if (shown !== undefined) this.#versions = await calls.listVersions(shown);
  }

  /** Runs a call, one at a time, and shows what became of it. */
  async #try(run: () => Promise<string | void>): Promise<void> {
    this.#busy = true;
    this.#error = '';
    this.requestUpdate();
    try {
      this.#said = (await run()) ?? '';
    } catch (error) {
      this.#said = '';
      this.#error = error instanceof ApiError ? error.message : words.failed;
    }
    this.#busy = false;
    this.requestUpdate();
  }

  /** Writes down where the draft that was sent now stands; what was typed since is not saved. */
  #stand(id: string, version: number, sent: PieceDraft): void {
    const marked = placeOf(id, version, sent);
    places.learn(marked);
    this.#stuck = null;
    this.edit(pieceWords.steps.save, (draft) => {
      draft.library = marked.place;
      draft.savedMark = marked.mark;
    });
  }

  async #save(): Promise<void> {
    const place = places.of(this.draft)?.place;
    if (!place) return this.#saveNew();
    await this.#sendAway((piece) => calls.savePiece(place.id, place.version, piece));
  }

  #saveNew(): Promise<void> {
    return this.#sendAway((piece) => calls.addPiece(piece));
  }

  /** What was typed stays, whatever becomes of it; where there is a way out, it is shown. */
  async #sendAway(send: (piece: PieceDescription) => Promise<PieceSummary>): Promise<void> {
    await this.#try(async () => {
      const sent = this.draft;
      this.#stuck = null;
      try {
        const saved = await send(pieceOf(sent).piece);
        this.#stand(saved.id, saved.version, sent);
        await this.#refresh();
        return libraryWords.saved(saved.version);
      } catch (error) {
        this.#stuck = stuckOn(error);
        if (this.#stuck === null) throw error;
        return '';
      }
    });
  }

  async #bringBack(): Promise<void> {
    const id = this.draft.library?.id;
    if (id === undefined) return;
    await this.#then(calls.restorePiece(id));
    if (this.#error === '') await this.#save();
  }

  /** Leaves out photos that are gone, and saves. An undo brings their names back. */
  async #saveWithout(ids: readonly string[]): Promise<void> {
    const next = structuredClone(this.draft);
    dropPhotos(next, ids);
    this.draft = next;
    this.edit(pieceWords.steps.leavePhoto, (draft) => dropPhotos(draft, ids));
    await this.#save();
  }

  async #saveOver(version: number): Promise<void> {
    const id = this.draft.library?.id;
    if (id !== undefined) places.learn({ place: { id, version }, mark: '' });
    await this.#save();
  }

  async #open(id: string, version?: number): Promise<void> {
    await this.#try(async () => {
      const saved = await calls.openPiece(id, version);
      const opened = pieceDraftOf(saved.piece);
      const newest = version === undefined ? saved.version : (await calls.openPiece(id)).version;
      // An older version is opened to go on from: what is saved next follows on the newest.
      const marked = placeOf(id, newest, opened);
      const mark = newest === saved.version ? marked.mark : '';
      places.learn({ place: marked.place, mark });
      this.#stuck = null;
      this.take(
        { ...opened, library: marked.place, savedMark: mark },
        pieceWords.steps.open(saved.piece.name),
      );
      return libraryWords.opened(saved.piece.name);
    });
  }

  async #then(act: Promise<unknown>): Promise<void> {
    await this.#try(async () => {
      await act;
      await this.#refresh();
    });
  }

  async #takeIn(input: HTMLInputElement): Promise<void> {
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    await this.#try(async () => {
      const { id } = await calls.importPiece(await file.text());
      await this.#refresh();
      await this.#open(id);
      return this.#said;
    });
  }

  async #showVersions(id: string): Promise<void> {
    if (this.#versions[0]?.id === id) {
      this.#versions = [];
      this.requestUpdate();
      return;
    }
    await this.#try(async () => {
      this.#versions = await calls.listVersions(id);
    });
  }

  #state(): string {
    const text = libraryWords;
    const marked = places.of(this.draft);
    if (!marked) return text.notSaved;
    const { place, mark } = marked;
    if (mark === '') return text.follows(place.version);
    const same = mark === markOf(pieceOf(this.draft).piece);
    return same ? text.same(place.version) : text.changed(place.version);
  }

  #press(label: string, act: () => void, name = label, blocked = this.#busy): TemplateResult {
    return html`<button
      type="button"
      class="quiet"
      aria-label=${name}
      aria-disabled=${blocked}
      @click=${(event: Event) => {
        if (!blocked && !isSecondClick(event)) act();
      }}
    >
      ${label}
    </button>`;
  }

  #saving(): TemplateResult {
    const text = libraryWords;
    const blocked = this.#busy || !this.sound;
    return html`<p class="aside">${this.#state()}</p>
      <div class="actions">
        ${this.#press(text.save, () => void this.#save(), text.save, blocked)}
        ${this.draft.library ? this.#press(text.saveNew, () => void this.#saveNew(), text.saveNew, blocked) : nothing}
        <label class="file press-link quiet">
          ${text.import}
          <input
            type="file"
            class="unseen"
            accept="application/json,.json"
            @change=${(event: Event) => void this.#takeIn(event.target as HTMLInputElement)}
          />
        </label>
      </div>
      <p class="why">${this.sound ? '' : text.wrong}</p>
      <p class="aside said" role="status">${this.#said}</p>
      <p class="problem" role="alert">${this.#error}</p>`;
  }

  #waysOut(): unknown {
    if (this.#stuck === null) return nothing;
    return stuckNotice(this.#stuck, {
      saveOver: (version) => void this.#saveOver(version),
      saveNew: () => void this.#saveNew(),
      openTheirs: () => {
        const id = this.draft.library?.id;
        if (id !== undefined) void this.#open(id);
      },
      bringBack: () => void this.#bringBack(),
      without: (ids) => void this.#saveWithout(ids),
      press: (label, act) => this.#press(label, act),
    });
  }

  #rowActions({ id, name, version, archived }: PieceSummary, shown: boolean): TemplateResult {
    const text = libraryWords;
    const [label, call] = archived
      ? [text.restore, calls.restorePiece]
      : [text.archive, calls.archivePiece];
    return html`<div class="row-actions">
      ${this.#press(text.openShort, () => void this.#open(id), text.openPiece(name))}
      ${
        version > 1 || shown
          ? html`<button
              type="button"
              class="quiet"
              aria-expanded=${shown}
              aria-label=${text.of(text.versions, name)}
              @click=${() => void this.#showVersions(id)}
            >
              ${text.versions}
            </button>`
          : nothing
      }
      ${this.#press(text.duplicate, () => void this.#then(calls.duplicatePiece(id)), text.of(text.duplicate, name))}
      <a
        class="press-link quiet"
        href=${calls.exportAddress(id, version)}
        download
        aria-label=${text.of(text.export, name)}
        >${text.export}</a
      >
      ${this.#press(label, () => void this.#then(call(id)), text.of(label, name))}
    </div>`;
  }

  #versionPress({ version, name }: PieceSummary, id: string): TemplateResult {
    const text = libraryWords;
    const open = (): void => void this.#open(id, version);
    return this.#press(text.version(version), open, text.openVersion(name, version));
  }

  #row(row: PieceSummary): TemplateResult {
    const text = libraryWords;
    const { id, name, version, savedWallMs, partCount, areaMm2, archived } = row;
    const when = dayAndTime(savedWallMs);
    const facts = [text.version(version), when, text.parts(partCount), area(areaMm2)];
    const shown = this.#versions[0]?.id === id;
    return html`<li>
      <p>
        <strong>${name}</strong>
        <span class="aside"> ${list(archived ? [...facts, text.archived] : facts)} </span>
      </p>
      ${this.#rowActions(row, shown)}
      ${shown ? versionList(this.#versions, name, (one) => this.#versionPress(one, id)) : nothing}
    </li>`;
  }

  override render(): TemplateResult {
    const text = libraryWords;
    const rows = this.#rows;
    return html`${this.#saving()} ${this.#waysOut()}
      <h4>${text.list}</h4>
      <label class="tick">
        <input
          type="checkbox"
          .checked=${this.#archived}
          @change=${(event: Event) => {
            this.#archived = (event.target as HTMLInputElement).checked;
            void this.#list();
          }}
        />
        ${text.showArchived}
      </label>
      ${
        rows === null
          ? html`<p class="aside">${words.loading}</p>`
          : rows.length === 0
            ? html`<p class="aside">${text.empty}</p>`
            : html`<ul class="saved-pieces">
                ${rows.map((row) => this.#row(row))}
              </ul>`
      }`;
  }
}

customElements.define('piece-library', PieceLibrary);
