/** The record of a ledger: every entry with who and when, its corrections, and the way back. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Symptom } from '../../daemon/chemistry/symptoms.ts';
import type { LedgerEntry, SavedEntry } from '../../daemon/wire/ledger.ts';
import { entryDraftOf } from './entry-draft.ts';
import { dayAndTime as when, list } from '../format.ts';
import { givenAmount, exactAmount, percentWith } from './figures.ts';
import { ledgerWords } from '#words/ledger';

const say = ledgerWords.record;
const words = ledgerWords.entry;
/** Closer than this, what was done was written down at once, ms. */
const sameMomentMs = 10 * 60_000;

/** What an entry says, in a few words. */
export function entryText(entry: LedgerEntry, symptoms: readonly Symptom[]): string {
  switch (entry.kind) {
    case 'addition':
      return list([entry.name, givenAmount(entry)]);
    case 'anode':
      return say.of(words.kinds.anode, exactAmount(entry.grams, 'g'));
    case 'temperature':
      return exactAmount(entry.celsius, '°C');
    case 'symptom':
      return symptoms.find(({ id }) => id === entry.symptom)?.name ?? entry.symptom;
    case 'upkeep':
      return words.upkeep[entry.what];
    case 'figures': {
      const rates = entry.additives.map(({ name, unit, perAmpHour }) =>
        say.rate(name, exactAmount(perAmpHour, unit)),
      );
      return list([words.kinds.figures, ...rates]);
    }
    case 'efficiency':
      return say.of(words.kinds.efficiency, percentWith(entry.value, entry.uncertainty));
  }
}

export interface RecordView {
  readonly entries: readonly SavedEntry[];
  readonly symptoms: readonly Symptom[];
  /** Versions that were asked for, by entry. */
  readonly versions: ReadonlyMap<number, readonly SavedEntry[]>;
  /** Whether changes can be made. */
  readonly canChange: boolean;
  readonly correct: (saved: SavedEntry) => void;
  readonly takeBack: (saved: SavedEntry) => void;
  readonly bringBack: (saved: SavedEntry) => void;
  readonly open: (saved: SavedEntry) => void;
}

function press(action: string, what: string, act: () => void): TemplateResult {
  return html`<button
    type="button"
    class="quiet"
    aria-label=${say.label(action, what)}
    @click=${act}
  >
    ${action}
  </button>`;
}

function presses(saved: SavedEntry, what: string, view: RecordView): unknown {
  if (!view.canChange) return nothing;
  if (saved.entry === null) return press(say.bringBack, what, () => view.bringBack(saved));
  return html`${
    entryDraftOf(saved) === null ? nothing : press(say.correct, what, () => view.correct(saved))
  }
  ${press(say.takeBack, what, () => view.takeBack(saved))}`;
}

function earlier(saved: SavedEntry, { versions, symptoms, open }: RecordView): unknown {
  if (saved.version < 2) return nothing;
  const toggled = (event: Event): void => {
    if ((event.target as HTMLDetailsElement).open) open(saved);
  };
  return html`<details class="earlier" @toggle=${toggled}>
    <summary>${say.corrected(saved.version - 1)}</summary>
    <ul>
      ${versions
        .get(saved.id)
        ?.slice(1)
        .map(
          ({ entry, by, savedWallMs }) =>
            html`<li class="aside">
              ${entry === null ? say.empty : entryText(entry, symptoms)};
              ${say.by(by, when(savedWallMs))}
            </li>`,
        )}
    </ul>
  </details>`;
}

/** When it was written down, where that is not when it was done. */
function later(savedWallMs: number, atWallMs: number): string {
  return Math.abs(savedWallMs - atWallMs) < sameMomentMs ? '' : when(savedWallMs);
}

function row(saved: SavedEntry, view: RecordView): TemplateResult {
  const { entry, atWallMs, by, savedWallMs } = saved;
  const text = entry === null ? say.takenBack : entryText(entry, view.symptoms);
  const note = entry === null ? '' : entry.note;
  return html`<li class=${entry === null ? 'gone' : ''}>
    <div>
      <p>${text}${note === '' ? '' : `. ${note}`}</p>
      <p class="aside">${when(atWallMs)}; ${say.by(by, later(savedWallMs, atWallMs))}</p>
      ${earlier(saved, view)}
    </div>
    <div class="actions">${presses(saved, text, view)}</div>
  </li>`;
}

export function recordSection(view: RecordView): TemplateResult {
  return html`<section class="ledger-part" aria-labelledby="record-title">
    <h2 id="record-title">${say.title}</h2>
    ${view.entries.length === 0 ? html`<p class="aside">${say.none}</p>` : nothing}
    <ol class="record">
      ${view.entries.map((saved) => row(saved, view))}
    </ol>
  </section>`;
}
