/** Chooses a kind of part: all kinds by group, each with its drawing, found by typed words. */

import { html, nothing, type TemplateResult } from 'lit';
import type { PartGroup } from '../../daemon/piece/model.ts';
import { pieceWords } from '#words/piece';
import { partDrawing } from './drawing.ts';
import { partKinds, typicalDrawing, type PartKind } from './kinds.ts';

export interface KindGroup {
  readonly group: PartGroup;
  readonly kinds: readonly PartKind[];
}

const plain = (text: string): string => text.toLowerCase().replaceAll(/[^a-z0-9]+/g, ' ');

/** Everything that a kind is found by. */
function sought({ kind, title, group, explanation, fields }: PartKind): string {
  const labels = fields.map(({ label, help }) => `${label} ${help}`).join(' ');
  return ` ${plain(`${title} ${kind} ${pieceWords.groups[group]} ${explanation} ${labels}`)}`;
}

/** Kinds of part that fit every typed word, by group in the order of the kinds. */
export function kindGroups(
  typed: string,
  definitions: readonly PartKind[] = partKinds(),
): readonly KindGroup[] {
  const wanted = plain(typed).split(' ').filter(Boolean);
  const fits = definitions.filter((definition) => {
    const text = sought(definition);
    return wanted.every((word) => text.includes(` ${word}`));
  });
  const named = fits.filter(({ title }) => wanted.some((word) => plain(title).includes(word)));
  const others = fits.filter((one) => !named.includes(one));
  const order = [...named, ...others];
  const groups = [...new Set(order.map(({ group }) => group))];
  return groups.map((group) => ({ group, kinds: order.filter((one) => one.group === group) }));
}

function drawingOf({ kind }: PartKind): unknown {
  const drawing = typicalDrawing(kind);
  return drawing ? partDrawing(drawing) : nothing;
}

export function kindChooser(
  typed: string,
  search: (typed: string) => void,
  choose: (kind: string) => void,
): TemplateResult {
  const groups = kindGroups(typed);
  const found = groups.reduce((sum, { kinds }) => sum + kinds.length, 0);
  const first = groups[0]?.kinds[0];
  return html`<div class="field wide">
      <label for="kind-search">${pieceWords.search}</label>
      <input
        id="kind-search"
        type="search"
        autocomplete="off"
        maxlength="60"
        .value=${typed}
        aria-describedby="kind-search-note"
        @input=${(event: Event) => search((event.target as HTMLInputElement).value)}
        @keydown=${(event: KeyboardEvent) => {
          if (event.key === 'Enter' && typed.trim() !== '' && first) choose(first.kind);
        }}
      />
      <span class="note" id="kind-search-note" role="status">
        ${
          typed.trim() === ''
            ? pieceWords.searchHelp
            : found > 0
              ? pieceWords.kinds(found)
              : pieceWords.noKind(typed.trim())
        }
      </span>
    </div>
    ${groups.map(
      ({ group, kinds }) =>
        html`<div class="kinds" role="group" aria-labelledby="kinds-${group}">
          <h4 id="kinds-${group}">${pieceWords.groups[group]}</h4>
          <div class="kind-list">
            ${kinds.map(
              (definition) =>
                html`<button
                  type="button"
                  class="kind"
                  aria-describedby="kind-${definition.kind}-note"
                  aria-label=${definition.title}
                  @click=${() => choose(definition.kind)}
                >
                  ${drawingOf(definition)}
                  <span class="kind-title">${definition.title}</span>
                  <span class="kind-note" id="kind-${definition.kind}-note"
                    >${definition.explanation}</span
                  >
                </button>`,
            )}
          </div>
        </div>`,
    )} `;
}
