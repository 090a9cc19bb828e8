/** The form over the log: what a run must be like to be shown. */

import { html, type TemplateResult } from 'lit';
import { asksNothing, mostPieceLetters, resultNames, type LogSearch } from './log-address.ts';
import { logWords } from '#words/log';

interface SearchHands {
  /** `typed` while letters come one by one. */
  readonly change: (part: Partial<LogSearch>, typed: boolean) => void;
  readonly clear: () => void;
}

const textOf = (event: Event): string => (event.target as HTMLInputElement).value;

function choice(
  label: string,
  chosen: string,
  options: readonly (readonly [value: string, text: string])[],
  take: (value: string) => void,
): TemplateResult {
  return html`<label>
    <span>${label}</span>
    <select @change=${(event: Event) => take(textOf(event))}>
      ${[['', logWords.search.any] as const, ...options].map(
        ([value, text]) =>
          html`<option value=${value} .selected=${value === chosen}>${text}</option>`,
      )}
    </select>
  </label>`;
}

function dayField(label: string, day: string, take: (day: string) => void): TemplateResult {
  return html`<label>
    <span>${label}</span>
    <input type="date" .value=${day} @change=${(event: Event) => take(textOf(event))} />
  </label>`;
}

export function searchForm(
  search: LogSearch,
  baths: readonly string[],
  { change, clear }: SearchHands,
): TemplateResult {
  const { label, pieceHint, results, fields, clear: showAll } = logWords.search;
  // A bath that was asked for stays to be seen, also where the log does not know it.
  const known = search.bath === '' || baths.includes(search.bath) ? baths : [...baths, search.bath];
  return html`<form
    class="search"
    role="search"
    aria-label=${label}
    @submit=${(event: Event) => event.preventDefault()}
  >
    <label class="wide">
      <span>${fields.piece}</span>
      <input
        type="search"
        maxlength=${mostPieceLetters}
        placeholder=${pieceHint}
        autocomplete="off"
        .value=${search.piece}
        @input=${(event: Event) => change({ piece: textOf(event) }, true)}
      />
    </label>
    ${choice(
      fields.bath,
      search.bath,
      known.map((name) => [name, name] as const),
      (bath) => change({ bath }, false),
    )}
    ${choice(
      fields.result,
      search.result,
      resultNames.map((name) => [name, results[name]] as const),
      (value) => change({ result: resultNames.find((name) => name === value) ?? '' }, false),
    )}
    ${dayField(fields.from, search.fromDay, (fromDay) => change({ fromDay }, false))}
    ${dayField(fields.to, search.toDay, (toDay) => change({ toDay }, false))}
    <button type="button" class="quiet" aria-disabled=${asksNothing(search)} @click=${clear}>
      ${showAll}
    </button>
  </form>`;
}
