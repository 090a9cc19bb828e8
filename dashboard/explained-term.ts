/** A term of the trade that opens its one sentence under it, by a press or a key. */

import { html, nothing, type TemplateResult } from 'lit';
import { NightElement } from './element.ts';
import { termWords } from '#words/terms';

export type Term = keyof typeof termWords;

/** What the stages of a run are called. */
export const stageTerms: readonly Term[] = ['strike', 'ramp', 'hold', 'trickle'];

let count = 0;

class ExplainedTerm extends NightElement {
  static override properties = {
    term: { attribute: false },
    label: { attribute: false },
    open: { state: true },
  };
  declare term: Term;
  declare label: string;
  declare open: boolean;
  readonly #noteId = `term-${(count += 1)}`;

  constructor() {
    super();
    this.term = 'strike';
    this.label = '';
    this.open = false;
  }

  #key(event: KeyboardEvent): void {
    if (event.key !== 'Escape' || !this.open) return;
    // What is around it closes with a press of its own.
    event.stopPropagation();
    this.open = false;
  }

  override render(): TemplateResult {
    // No space and, while closed, no text beside the word: the sentence around it reads as it is seen.
    return html`<button
        type="button"
        class="term"
        aria-expanded=${this.open ? 'true' : 'false'}
        aria-controls=${this.#noteId}
        @click=${() => (this.open = !this.open)}
        @keydown=${(event: KeyboardEvent) => this.#key(event)}
        .textContent=${this.label}
      ></button
      ><span class="term-note" id=${this.#noteId} ?hidden=${!this.open}
        >${this.open ? termWords[this.term].sentence : nothing}</span
      >`;
  }
}

/** The term under the name that it has where it stands. */
export function explained(term: Term, label: string): TemplateResult {
  return html`<explained-term .term=${term} .label=${label}></explained-term>`;
}

/** A sentence in which the first mention of each of these terms can be opened. */
export function explainedIn(sentence: string, terms: readonly Term[]): unknown {
  for (const term of terms) {
    const { word } = termWords[term];
    const at = sentence.toLowerCase().indexOf(word.toLowerCase());
    if (at === -1) continue;
    const rest = terms.filter((other) => other !== term);
    const end = at + word.length;
    return html`${explainedIn(sentence.slice(0, at), rest)}${explained(
      term,
      sentence.slice(at, end),
    )}${explainedIn(sentence.slice(end), rest)}`;
  }
  return sentence;
}

customElements.define('explained-term', ExplainedTerm);
