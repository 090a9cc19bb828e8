/** Builds a piece from its parts, with live drawings and totals; the page around it keeps the way back. */

import { html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { repeat } from 'lit/directives/repeat.js';
import type { Problem } from '../../daemon/piece/model.ts';
import { NightElement } from '../element.ts';
import { pieceWords } from '#words/piece';
import { newPart, type PieceDraft } from './draft.ts';
import { partKind } from './kinds.ts';
import { chooserSlot, librarySlot, materialsSlot } from './lazy-parts.ts';
import { partForm } from './part-form.ts';
import { pieceEntry, problemText, problemsAt, type PieceForm } from './piece-form.ts';
import type { Totals } from './totals.ts';
import { totalsView } from './totals-view.ts';

/**
 * Told of every new piece; the piece itself is never changed in place. `what` names the edit, and
 * edits of one `entry` in a row are one.
 */
export type PieceChange = (piece: PieceDraft, what: string, entry?: string) => void;

export class PieceBuilder extends NightElement {
  static override properties = { draft: {}, totals: {}, problems: {}, change: {}, opened: {} };
  declare draft: PieceDraft;
  /** What is known of it. */
  declare totals: Totals;
  /** What the daemon found wrong, by path from `piece`; shown where the page itself finds nothing. */
  declare problems: readonly Problem[];
  declare change: PieceChange;
  /** Told of a piece that took the place of the one that was there. */
  declare opened: (piece: PieceDraft, what: string) => void;
  #begun = false;
  #open = new Set<string>();
  #search = '';
  #adding = false;
  #focused = '';

  constructor() {
    super();
    this.problems = [];
    this.change = () => undefined;
    this.opened = () => undefined;
  }

  override willUpdate(changed: PropertyValues<this>): void {
    if (!changed.has('draft')) return;
    const [only] = this.draft.parts;
    if (!this.#begun && this.draft.parts.length === 1 && only) this.#open.add(only.key);
    this.#begun = true;
  }

  /** Applies an edit to a copy of the piece and tells the page. */
  readonly edit = (what: string, apply: (draft: PieceDraft) => void, entry = ''): void => {
    const next = structuredClone(this.draft);
    apply(next);
    // At once, so that a second edit before the page has answered builds on the first.
    this.draft = next;
    this.change(next, what, entry);
  };

  readonly #take = (piece: PieceDraft, what: string): void => {
    this.draft = piece;
    this.opened(piece, what);
  };

  #add(kind: string): void {
    const part = newPart(kind);
    this.#open = new Set([part.key]);
    this.#adding = false;
    this.#search = '';
    const title = partKind(kind)?.title ?? kind;
    this.edit(pieceWords.steps.add(title), (draft) => draft.parts.push(part));
    const at = this.draft.parts.length - 1;
    void this.updateComplete.then(() => {
      const first = this.querySelector<HTMLElement>(
        `.piece-parts > details:nth-of-type(${at + 1}) .part-body :is(input, select, button)`,
      );
      first?.focus();
      first?.scrollIntoView({ block: 'center' });
    });
  }

  async #focusAfter(selectors: readonly string[]): Promise<void> {
    await this.updateComplete;
    const places = selectors.map((one) => this.querySelector<HTMLElement>(one));
    places.find((place) => place !== null && !place.matches(':disabled'))?.focus();
  }

  #form(): PieceForm {
    const { totals } = this;
    const told = this.problems.filter(({ field }) => field.startsWith('piece'));
    return {
      draft: this.draft,
      totals,
      problems: totals.problems.length > 0 ? totals.problems : told,
      edit: this.edit,
      take: this.#take,
      focused: this.#focused,
      isOpen: (key) => this.#open.has(key),
      setOpen: (key, open) => {
        if (open === this.#open.has(key)) return;
        if (open) this.#open.add(key);
        else this.#open.delete(key);
        this.requestUpdate();
      },
      refresh: () => this.requestUpdate(),
      focusAfter: (...selectors) => void this.#focusAfter(selectors),
    };
  }

  #chooser(form: PieceForm): TemplateResult {
    const toggle = (event: Event): void => {
      const { open } = event.target as HTMLDetailsElement;
      if (open === this.#adding) return;
      this.#adding = open;
      this.requestUpdate();
    };
    return html`<details class="adder" .open=${this.#adding} @toggle=${toggle}>
      <summary>${pieceWords.add}</summary>
      ${
        this.#adding
          ? chooserSlot(
              form,
              this.#search,
              (typed) => {
                this.#search = typed;
                this.requestUpdate();
              },
              (kind) => this.#add(kind),
            )
          : nothing
      }
    </details>`;
  }

  override render(): TemplateResult {
    const form = this.#form();
    const { draft } = form;
    return html`<section
      class="piece"
      aria-labelledby="piece-title"
      @focusin=${(event: Event) => this.#lookAt((event.target as HTMLElement).dataset['path'])}
    >
      <h2 id="piece-title">${pieceWords.title}</h2>
      ${librarySlot(form)}
      ${pieceEntry(form, {
        path: 'piece.name',
        label: pieceWords.name,
        value: draft.name,
        words: true,
        what: pieceWords.steps.entry(pieceWords.name, ''),
        set: (target, text) => (target.name = text),
      })}
      <div class="piece-parts">
        ${repeat(
          draft.parts,
          ({ key }) => key,
          (part, index) => partForm(form, part, index),
        )}
      </div>
      ${problemsAt(form, 'piece.parts').map(
        (one) => html`<p class="problem">${problemText(one, pieceWords.title)}</p>`,
      )}
      ${this.#chooser(form)} ${totalsView(form)}
      ${pieceEntry(form, {
        path: 'piece.areaUncertainty',
        label: pieceWords.uncertainty,
        value: draft.areaPercent,
        unit: '± %',
        help: pieceWords.uncertaintyHelp,
        what: pieceWords.steps.entry(pieceWords.uncertainty, ''),
        set: (target, text) => (target.areaPercent = text),
      })}
      ${this.#areaFactor(form)} ${materialsSlot(form)}
    </section>`;
  }

  /** Only where weigh-ins have brought one; emptied, it goes. */
  #areaFactor(form: PieceForm): unknown {
    // Emptied while it is being typed in, it stays until the focus leaves it.
    if (form.draft.areaFactor === '' && this.#focused !== 'piece.areaFactor') return nothing;
    return pieceEntry(form, {
      path: 'piece.areaFactor',
      label: pieceWords.areaFactor,
      value: form.draft.areaFactor,
      help: pieceWords.areaFactorHelp,
      what: pieceWords.steps.entry(pieceWords.areaFactor, ''),
      set: (target, text) => (target.areaFactor = text),
    });
  }

  /** The size whose entry has the focus is shown in the drawing. */
  #lookAt(path = ''): void {
    if (path === this.#focused) return;
    this.#focused = path;
    this.requestUpdate();
  }
}
