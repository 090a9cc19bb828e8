/** Notes and photos on a run: what was seen at the bench, with its time, beside what was measured. */

import { html, nothing, type TemplateResult } from 'lit';
import type { RunNote } from '../../daemon/wire/run-book.ts';
import { ApiError, command } from '../api.ts';
import { NightElement } from '../element.ts';
import { clockSeconds } from '../format.ts';
import { keepPhoto, photoFrom, pictureAddress } from '../piece/photo.ts';
import { words } from '#words/common';
import { bookOf } from './book.ts';
import { runWords } from '#words/run';

const say = runWords.notes;

export class RunNotes extends NightElement {
  static override properties = {
    runId: {},
    blocked: {},
    notes: { attribute: false },
    photo: { state: true },
    busy: { state: true },
    error: { state: true },
  };
  declare runId: string;
  declare blocked: string;
  declare notes: readonly RunNote[];
  declare photo: File | null;
  declare busy: boolean;
  declare error: string;
  #text = '';

  constructor() {
    super();
    this.runId = '';
    this.blocked = '';
    this.notes = [];
    this.photo = null;
    this.busy = false;
    this.error = '';
  }

  async #keep(event: Event): Promise<void> {
    event.preventDefault();
    if (this.blocked !== '' || this.busy) return;
    const text = this.#text.trim();
    if (text === '' && this.photo === null) {
      this.error = say.empty;
      return;
    }
    this.busy = true;
    this.error = '';
    try {
      // What was written stays in the form until all of it is kept.
      const stored = this.photo === null ? null : await keepPhoto(await photoFrom(this.photo));
      const path = `/api/runs/${encodeURIComponent(this.runId)}/notes`;
      await command(path, { text, picture: stored?.id ?? null });
      this.#text = '';
      this.photo = null;
      await bookOf(this.runId).load();
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.busy = false;
  }

  #note({ wallMs, by, text, picture }: RunNote): TemplateResult {
    return html`<li>
      <time>${clockSeconds(wallMs)}</time>
      <div>
        ${text === '' ? nothing : html`<p class="note-text">${text}</p>`}
        ${
          picture === null
            ? nothing
            : html`<a href=${pictureAddress(picture.id)} target="_blank" title=${say.full}>
                <img
                  src=${pictureAddress(picture.id)}
                  alt=${say.shown(text)}
                  width=${picture.widthPixels}
                  height=${picture.heightPixels}
                  loading="lazy"
                />
              </a>`
        }
        <p class="aside">${say.by(by)}</p>
      </div>
    </li>`;
  }

  #form(): TemplateResult {
    return html`<form class="note-form" @submit=${(event: Event) => void this.#keep(event)}>
      <label for="note-text">${say.label}</label>
      <textarea
        id="note-text"
        rows="2"
        maxlength="1000"
        .value=${this.#text}
        @input=${(event: Event) => (this.#text = (event.target as HTMLTextAreaElement).value)}
      ></textarea>
      <div class="actions">
        <label class="press-link file">
          <input
            type="file"
            accept="image/*"
            capture="environment"
            @change=${(event: Event) => {
              const input = event.target as HTMLInputElement;
              this.photo = input.files?.[0] ?? null;
              input.value = '';
            }}
          />
          ${this.photo ? say.chosen(this.photo.name) : say.photo}
        </label>
        ${
          this.photo
            ? html`<button type="button" class="quiet" @click=${() => (this.photo = null)}>
                ${say.without}
              </button>`
            : nothing
        }
        <button type="submit" aria-disabled=${this.blocked !== '' || this.busy}>
          ${this.busy ? say.saving : say.save}
        </button>
      </div>
      <p class="why">${this.blocked}</p>
      <p class="error" role="alert">${this.error}</p>
    </form>`;
  }

  override render(): TemplateResult {
    return html`<section class="notes" aria-labelledby="notes-title">
      <h2 id="notes-title">${say.title}</h2>
      ${this.#form()}
      ${
        this.notes.length === 0
          ? html`<p class="aside">${say.none}</p>`
          : html`<ol class="note-list">
              ${this.notes.toReversed().map((note) => this.#note(note))}
            </ol>`
      }
    </section>`;
  }
}

customElements.define('run-notes', RunNotes);
