/** The chooser, the tracer, the mesh reader, the materials and the library, each fetched when it is first needed. */

import { html, nothing, type TemplateResult } from 'lit';
import { LazyCode } from '../lazy-code.ts';
import { pieceWords } from '#words/piece';
import { newTrace, type DraftMaterial, type DraftPart, type OutlineDraft } from './draft.ts';
import { askForDrawings } from './kinds.ts';
import { nameOf, onPart, type PartPlace } from './part-place.ts';
import { problemText, type PieceForm } from './piece-form.ts';

const tracer = new LazyCode(() => import('./tracer.ts'));
const reader = new LazyCode(() => import('./mesh-reader.ts'));
const library = new LazyCode(() => import('./library.ts'));
const materials = new LazyCode(() => import('./materials-list.ts'));
const chooser = new LazyCode(async () => {
  const drawings = askForDrawings();
  const { kindChooser } = await import('./chooser.ts');
  await drawings;
  return { kindChooser };
});

/** What is wrong with the outline or the mesh of a part as a whole. */
function wholeProblems(form: PieceForm, { path }: PartPlace, below: string): unknown {
  return form.problems
    .filter(({ field }) => field.startsWith(`${path}.${below}`))
    .slice(0, 1)
    .map((one) => html`<p class="problem">${problemText(one, pieceWords.slots.outline)}</p>`);
}

export function traceSlot(form: PieceForm, place: PartPlace): TemplateResult {
  const { part, index } = place;
  const name = nameOf(place);
  const edit = (apply: (trace: OutlineDraft) => void, entry = ''): void =>
    form.edit(
      pieceWords.steps.trace(name),
      onPart(index, (one: DraftPart) => {
        one.outline ??= newTrace();
        apply(one.outline);
      }),
      entry === '' ? '' : `${part.key} ${entry}`,
    );
  const traced = part.outline !== null && part.outline.closed;
  return html`${tracer.view(
    form.refresh,
    () =>
      html`<outline-tracer
        .trace=${part.outline ?? newTraceOf(part)}
        .edit=${edit}
      ></outline-tracer>`,
  )}
  ${traced ? wholeProblems(form, place, 'outline') : html`<p class="aside">${pieceWords.slots.untraced}</p>`}`;
}

const emptyTraces = new WeakMap<DraftPart, OutlineDraft>();

/** One empty trace for each part, so that the tracer is not told of a new one at every turn. */
function newTraceOf(part: DraftPart): OutlineDraft {
  const known = emptyTraces.get(part) ?? newTrace();
  emptyTraces.set(part, known);
  return known;
}

export function meshSlot(form: PieceForm, place: PartPlace): TemplateResult {
  const { part, index, path } = place;
  const edit = (apply: (part: DraftPart) => void): void =>
    form.edit(pieceWords.steps.mesh(nameOf(place)), onPart(index, apply));
  const wrong = form.problems.filter(({ field }) => field.startsWith(`${path}.sizes`));
  return html`${reader.view(
    form.refresh,
    () => html`<mesh-reader .held=${part} .edit=${edit}></mesh-reader>`,
  )}
  ${
    part.mesh === null
      ? html`<p class="aside">${pieceWords.slots.noMesh}</p>`
      : wrong.map(
          (one) =>
            html`<p class="problem">
              ${problemText(one, pieceWords.slots.meshSize, place.definition)}
            </p>`,
        )
  }`;
}

/** All kinds of part to choose from. */
export function chooserSlot(
  form: PieceForm,
  typed: string,
  search: (typed: string) => void,
  choose: (kind: string) => void,
): unknown {
  return chooser.view(form.refresh, ({ kindChooser }) => kindChooser(typed, search, choose));
}

/** Closed until it is wanted, or until the piece names a material. */
export function materialsSlot(form: PieceForm): TemplateResult {
  const list = form.draft.materials;
  const open = list.length > 0 || form.isOpen('materials');
  const edit = (what: string, apply: (list: DraftMaterial[]) => DraftMaterial[]): void =>
    form.edit(what, (draft) => (draft.materials = apply(draft.materials)));
  return html`<details
    class="piece-materials"
    .open=${open}
    @toggle=${(event: Event) =>
      form.setOpen('materials', (event.target as HTMLDetailsElement).open)}
  >
    <summary><h3>${pieceWords.slots.materials}</h3></summary>
    ${
      open
        ? materials.view(
            form.refresh,
            () => html`<materials-list .materials=${list} .edit=${edit}></materials-list>`,
          )
        : nothing
    }
  </details>`;
}

/** The library of pieces, fetched when it is first opened. */
export function librarySlot(form: PieceForm): TemplateResult {
  const open = form.isOpen('library');
  return html`<details
    class="piece-library"
    .open=${open}
    @toggle=${(event: Event) => form.setOpen('library', (event.target as HTMLDetailsElement).open)}
  >
    <summary><h3>${pieceWords.slots.library}</h3></summary>
    ${
      open
        ? library.view(
            form.refresh,
            () =>
              html`<piece-library
                .draft=${form.draft}
                .edit=${form.edit}
                .take=${form.take}
                .sound=${form.problems.length === 0}
              ></piece-library>`,
          )
        : nothing
    }
  </details>`;
}
