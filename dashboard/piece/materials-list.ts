/** The materials of the piece: added by typed name, judged with the worst first. Advice, no guarantee. */

import { html, nothing, type TemplateResult } from 'lit';
import {
  actionWords,
  confidenceWords,
  materialsNotice,
  type Material,
} from '../../daemon/piece/material.ts';
import { materialByName, materialMatches } from '../../daemon/piece/material-search.ts';
import { judgeMaterials, type MaterialJudgement } from '../../daemon/piece/materials.ts';
import { readList } from '../api.ts';
import { NightElement } from '../element.ts';
import { words } from '#words/common';
import { pieceWords } from '#words/piece';
import { materialIdFrom, type DraftMaterial } from './draft.ts';
import { materialsWords } from '#words/materials';

export type EditMaterials = (
  what: string,
  apply: (materials: DraftMaterial[]) => DraftMaterial[],
) => void;

/** Where the judgement comes from and how sure it is, said once. */
function sourceOf({ source, confidence }: MaterialJudgement): string {
  const sure = confidence === null ? '' : confidenceWords[confidence];
  return sure === '' || source.includes(sure) ? source : `${source}, ${sure}`;
}

let fetched: Promise<readonly Material[]> | null = null;

/** The table changes only with the daemon, so one page asks for it once. */
function table(): Promise<readonly Material[]> {
  fetched ??= readList<Material>('/api/materials').catch((error: unknown) => {
    fetched = null;
    throw error;
  });
  return fetched;
}

export class MaterialsList extends NightElement {
  static override properties = { materials: {}, edit: {} };
  declare materials: readonly DraftMaterial[];
  declare edit: EditMaterials;
  #table: readonly Material[] | null = null;
  #failed = false;
  #typed = '';

  constructor() {
    super();
    this.materials = [];
    this.edit = () => undefined;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#load();
  }

  async #load(): Promise<void> {
    this.#failed = false;
    try {
      this.#table = await table();
    } catch {
      this.#failed = true;
    }
    this.requestUpdate();
  }

  #add(id: string, name: string, note = ''): void {
    this.#typed = '';
    if (this.materials.some((one) => one.id === id)) {
      this.requestUpdate();
      return;
    }
    this.edit(pieceWords.steps.material(name), (list) => [...list, { id, note }]);
    this.querySelector<HTMLElement>('#material-name')?.focus();
  }

  /** Takes the row of this very name, or else the name as it is; what is only like it is offered. */
  #addTyped(rows: readonly Material[]): void {
    const name = this.#typed.trim();
    const known = materialByName(name, rows);
    const id = known?.id ?? materialIdFrom(name);
    if (id !== '') this.#add(id, known?.name ?? name, known ? '' : name);
  }

  #adder(rows: readonly Material[]): TemplateResult {
    const text = materialsWords;
    const typed = this.#typed.trim();
    const matches = materialMatches(typed, rows, 6);
    const exact = typed !== '' && materialByName(typed, rows) !== null;
    return html`<div class="field">
        <label for="material-name">${text.add}</label>
        <input
          id="material-name"
          type="text"
          autocomplete="off"
          maxlength="60"
          .value=${this.#typed}
          aria-describedby="material-name-note"
          @input=${(event: Event) => {
            this.#typed = (event.target as HTMLInputElement).value;
            this.requestUpdate();
          }}
          @keydown=${(event: KeyboardEvent) => {
            if (event.key === 'Enter' && typed !== '') this.#addTyped(rows);
          }}
        />
        <span class="note" id="material-name-note">${text.addHelp}</span>
      </div>
      <div class="suggestions" role="group" aria-label=${text.suggestions} ?hidden=${typed === ''}>
        ${matches.map(
          ({ id, name, matched }) =>
            html`<button type="button" class="quiet" @click=${() => this.#add(id, name)}>
              ${name}${
                matched.toLowerCase() === name.toLowerCase()
                  ? nothing
                  : html`&nbsp;<span class="aside">${text.also(matched)}</span>`
              }
            </button>`,
        )}
        ${
          typed !== '' && !exact && materialIdFrom(typed) === ''
            ? html`<p class="problem" role="status">${text.noLetters}</p>`
            : nothing
        }
        ${
          typed !== '' && !exact && materialIdFrom(typed) !== ''
            ? html`<button type="button" class="quiet" @click=${() => this.#addTyped(rows)}>
                ${text.addTyped(typed)}
              </button>`
            : nothing
        }
      </div>`;
  }

  #judgement(one: MaterialJudgement, rows: readonly Material[]): TemplateResult {
    const text = materialsWords;
    const note = this.materials.find(({ id }) => id === one.id)?.note ?? '';
    const name = one.known || note === '' ? one.name : note;
    return html`<li class="material is-${one.verdict}">
      <p>
        <strong>${name}</strong>
        ${one.known ? nothing : html`<span class="aside">${text.unknown}</span>`}
        <span class="verdict-word">${one.headline}</span>
      </p>
      <p>${one.why}</p>
      ${one.warnings.map((warning) => html`<p>${warning}</p>`)}
      <p>${one.advice}</p>
      <ul>
        ${one.actions.map((action) => html`<li>${actionWords[action]}</li>`)}
      </ul>
      ${
        one.suggestions.length > 0
          ? html`<p class="suggestions">
              ${text.suggestions}
              ${one.suggestions.map(
                ({ id, name: other }) =>
                  html`<button
                    type="button"
                    class="quiet"
                    @click=${() =>
                      this.edit(pieceWords.steps.material(other), (list) =>
                        list.map((row) => (row.id === one.id ? { id, note: '' } : row)),
                      )}
                  >
                    ${rows.find((row) => row.id === id)?.name ?? other}
                  </button>`,
              )}
            </p>`
          : nothing
      }
      <p class="aside">${text.source}: ${sourceOf(one)}.</p>
      <button
        type="button"
        class="quiet"
        aria-label=${text.remove(name)}
        @click=${() =>
          this.edit(pieceWords.steps.material(name), (list) =>
            list.filter(({ id }) => id !== one.id),
          )}
      >
        ${pieceWords.remove}
      </button>
    </li>`;
  }

  override render(): TemplateResult {
    const text = materialsWords;
    const rows = this.#table;
    if (this.#failed) {
      return html`<p class="problem">${text.failed}</p>
        <button type="button" class="quiet" @click=${() => void this.#load()}>
          ${words.again}
        </button>`;
    }
    if (!rows) return html`<p class="aside">${words.loading}</p>`;
    const ids = this.materials.map(({ id }) => id);
    const judged = judgeMaterials(ids, rows);
    return html`<p class="aside">${text.intro}</p>
      ${this.#adder(rows)}
      <ul class="material-list">
        ${judged.materials.map((one) => this.#judgement(one, rows))}
      </ul>
      <p class="aside">${judged.materials.length === 0 ? text.none : materialsNotice}</p>`;
  }
}

customElements.define('materials-list', MaterialsList);
