/** One part of the piece: its drawing, its sizes, how many, and what can be done with it. */

import { html, nothing, type TemplateResult } from 'lit';
import { lengthSlip } from '../../daemon/piece/length-slip.ts';
import type { Drawing, PartField } from '../../daemon/piece/model.ts';
import { pretty, threeDigits } from '../format.ts';
import { pieceWords } from '#words/piece';
import {
  copiedPart,
  isWireField,
  meshKind,
  outlineKind,
  type DraftPart,
  type PieceDraft,
} from './draft.ts';
import { partDrawing } from './drawing.ts';
import { partKind, typicalDrawing, wantDrawings } from './kinds.ts';
import { meshSlot, traceSlot } from './lazy-parts.ts';
import { pieceChoice, pieceEntry, problemText, problemsAt, type PieceForm } from './piece-form.ts';
import { nameOf, onPart, type PartPlace } from './part-place.ts';
import { lengthMmFrom, numberFrom } from './typed.ts';

const units = {
  mm: 'mm',
  mm2: 'mm²',
  mm3: 'mm³',
  count: '',
  degrees: '°',
  share: '',
  number: '',
} as const;

const empty: Drawing = { viewBox: { xMm: 0, yMm: 0, widthMm: 1, heightMm: 1 }, strokes: [] };

/** The part as it is now; as it usually is while an entry is wrong; null for no such kind. */
function drawingOf(form: PieceForm, { part, definition }: PartPlace): Drawing | null {
  if (!definition) return null;
  const measured = form.totals.part(part.key);
  if (measured) return measured.drawing;
  const usual = typicalDrawing(definition.kind);
  // Only where something is wrong is the usual look wanted; before the first answer its room is kept.
  if (!usual && form.totals.problems.length > 0) wantDrawings(form.refresh);
  return usual ?? empty;
}

/** What a typed length was turned into, or the question whether it was meant in another unit. */
function sizeNote(form: PieceForm, place: PartPlace, field: PartField): unknown {
  const { part, index } = place;
  const text = part.sizes[field.name] ?? '';
  const isWire = isWireField(field);
  const help = pretty(field.help);
  if (field.unit !== 'mm') return help;
  const mm = lengthMmFrom(text, isWire);
  if (Number.isNaN(numberFrom(text))) {
    return html`<span class="converted">${pieceWords.converted(threeDigits(mm))}</span>`;
  }
  const slip = part.asTyped[field.name] === text ? null : lengthSlip(field, mm);
  const what = pieceWords.steps.entry(field.label, nameOf(place));
  if (slip) {
    const { message, meantMm } = slip;
    const take = onPart(index, (one) => (one.sizes[field.name] = String(meantMm)));
    const keep = onPart(index, (one) => (one.asTyped[field.name] = text));
    return html`<span class="slip">
      <span role="status">${message}</span>
      <button type="button" class="quiet" @click=${() => form.edit(what, take)}>
        ${pieceWords.slipTake(String(meantMm))}
      </button>
      <button type="button" class="quiet" @click=${() => form.edit(what, keep)}>
        ${pieceWords.slipKeep}
      </button>
    </span>`;
  }
  return isWire ? `${help} ${pieceWords.gauges}` : help;
}

function sizeEntry(form: PieceForm, place: PartPlace, field: PartField): TemplateResult {
  const { part, index, path, definition } = place;
  const { name, label, unit, choices, help } = field;
  const entry = {
    path: `${path}.sizes.${name}`,
    label,
    value: part.sizes[name] ?? '',
    unit: units[unit],
    definition,
    what: pieceWords.steps.entry(label, nameOf(place)),
    set: (draft: PieceDraft, text: string) =>
      onPart(index, (one) => (one.sizes[name] = text))(draft),
  };
  if (choices) {
    const options = choices.map((one) => [String(one.value), one.label] as const);
    return pieceChoice(form, { ...entry, help: pretty(help) }, options);
  }
  return pieceEntry(form, {
    ...entry,
    anyKeys: isWireField(field),
    help: sizeNote(form, place, field),
  });
}

/** Sizes as entries; what comes from a file or a trace has its own way in. */
function shapeForm(form: PieceForm, place: PartPlace): TemplateResult {
  const { part, definition } = place;
  if (part.kind === meshKind) return meshSlot(form, place);
  const sizes = html`<div class="fields tight sizes">
    ${definition?.fields.map((field) => sizeEntry(form, place, field))}
  </div>`;
  const hasLengths = definition?.fields.some(({ unit }) => unit === 'mm') ?? false;
  const lengths = hasLengths ? html`<p class="aside lengths">${pieceWords.lengths}</p>` : nothing;
  return part.kind === outlineKind
    ? html`${traceSlot(form, place)} ${sizes} ${lengths}`
    : html`${sizes} ${lengths}`;
}

function countForm(form: PieceForm, place: PartPlace): TemplateResult {
  const { part, index, path } = place;
  const named = (label: string): string => pieceWords.steps.entry(label, nameOf(place));
  return html`<div class="fields tight">
    ${pieceEntry(form, {
      path: `${path}.count`,
      label: pieceWords.count,
      value: part.count,
      what: named(pieceWords.count),
      set: (draft, text) => onPart(index, (one) => (one.count = text))(draft),
    })}
    ${pieceEntry(form, {
      path: `${path}.platedFraction`,
      label: pieceWords.plated,
      value: part.platedPercent,
      unit: '%',
      what: named(pieceWords.plated),
      set: (draft, text) => onPart(index, (one) => (one.platedPercent = text))(draft),
    })}
    ${pieceEntry(form, {
      path: `${path}.label`,
      label: pieceWords.called,
      value: part.label,
      words: true,
      what: named(pieceWords.called),
      set: (draft, text) => onPart(index, (one) => (one.label = text))(draft),
    })}
    ${pieceEntry(form, {
      path: `${path}.coveredMm2`,
      label: pieceWords.covered,
      value: part.covered,
      unit: 'mm²',
      help: pieceWords.coveredHelp,
      what: named(pieceWords.covered),
      set: (draft, text) => onPart(index, (one) => (one.covered = text))(draft),
    })}
  </div>`;
}

function partActions(form: PieceForm, place: PartPlace): TemplateResult {
  const { part, index } = place;
  const name = nameOf(place);
  const { steps, ofPart, up, down, duplicate, remove } = pieceWords;
  const act = (label: string, way: string, run: () => void, off = false): TemplateResult =>
    html`<button
      type="button"
      class="quiet"
      data-act="${way} ${part.key}"
      ?disabled=${off}
      aria-label=${ofPart(label, name)}
      @click=${run}
    >
      ${label}
    </button>`;
  const button = (way: string): string => `[data-act='${way} ${part.key}']`;
  const move = (by: 1 | -1) => (): void => {
    form.edit(steps.move(name), (draft) => {
      const [taken] = draft.parts.splice(index, 1);
      if (taken) draft.parts.splice(index + by, 0, taken);
    });
    form.focusAfter(...(by < 0 ? [button('up'), button('down')] : [button('down'), button('up')]));
  };
  const copy = (): void => {
    const another = copiedPart(part);
    form.setOpen(another.key, true);
    form.edit(steps.duplicate(name), (draft) => draft.parts.splice(index + 1, 0, another));
  };
  const drop = (): void => {
    form.edit(steps.remove(name), (draft) => draft.parts.splice(index, 1));
    form.focusAfter('.adder > summary');
  };
  return html`<div class="part-actions">
    ${act(up, 'up', move(-1), index === 0)}
    ${act(down, 'down', move(1), index === form.draft.parts.length - 1)}
    ${act(duplicate, 'copy', copy)} ${act(remove, 'remove', drop)}
  </div>`;
}

/** Closed, a line with its area; open, all that can be entered. */
export function partForm(form: PieceForm, part: DraftPart, index: number): TemplateResult {
  const definition = partKind(part.kind);
  const place: PartPlace = { part, index, path: `piece.parts[${index}]`, definition };
  const name = nameOf(place);
  const area = form.totals.part(part.key)?.areaMm2 ?? null;
  const open = form.isOpen(part.key);
  const drawing = drawingOf(form, place);
  const shown = form.focused.startsWith(`${place.path}.sizes.`)
    ? (form.focused.split('.').at(-1) ?? null)
    : null;
  return html`<details
    class="piece-part"
    .open=${open}
    @toggle=${(event: Event) => form.setOpen(part.key, (event.target as HTMLDetailsElement).open)}
  >
    <summary>
      ${drawing ? partDrawing(drawing) : nothing}
      <span class="part-name">
        <span>${part.count.trim() === '1' ? nothing : `${part.count} × `}${name}</span>
        ${
          definition && definition.title !== name
            ? html`<span class="aside">${definition.title}</span>`
            : nothing
        }
      </span>
      <span class="part-area figure">
        ${
          area === null
            ? html`<small class="problem">${pieceWords.notYet}</small>`
            : html`${threeDigits(area / 100)}<small> cm²</small>`
        }
      </span>
    </summary>
    ${
      open
        ? html`<div class="part-body">
            <div class="part-picture ${area === null ? 'is-sample' : ''}">
              ${drawing ? partDrawing(drawing, { bar: true, shown }) : nothing}
              <p class="aside">${pretty(definition?.explanation ?? '')}</p>
            </div>
            ${problemsAt(form, `${place.path}.kind`).map(
              (one) => html`<p class="problem">${problemText(one, pieceWords.totals.part)}</p>`,
            )}
            ${shapeForm(form, place)} ${countForm(form, place)} ${partActions(form, place)}
          </div>`
        : nothing
    }
  </details>`;
}
