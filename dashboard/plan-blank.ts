/** A calculator: what to wrap a ring to, and how much wire to cut, so that it ends at a size. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Answer, Span } from '../daemon/piece/answer.ts';
import { found, quoted } from '../daemon/piece/answer.ts';
import { planBoreShare, startForFinishedRing, type RingStart } from '../daemon/piece/blanks.ts';
import {
  insideDiameterMmFromSize,
  parseRingSize,
  ringScales,
  type RingScaleId,
} from '../daemon/piece/ring-scales.ts';
import type { Problem } from '../daemon/piece/model.ts';
import type { Plan } from '../daemon/run/model.ts';
import { fact, figure } from './element.ts';
import { choice, entry, type FormContext } from './form-field.ts';
import { noFigure, thickness, withUnit } from './format.ts';
import { lengthMmFrom } from './piece/typed.ts';
import { depositMm, sizeText } from './plan-sizes.ts';
import { problemOf, shownEntry } from './problem.ts';
import { sizeUnit } from './units.ts';
import { planBounds } from '#words/plan-bounds';
import { planDetailWords } from '#words/plan-details';

/** What is typed into the calculator. */
export interface BlankEntries {
  scale: 'mm' | RingScaleId;
  size: string;
  wire: string;
}

export interface Blank extends RingStart {
  readonly finishedInsideDiameterMm: number;
}

const sizeField = 'blank.size';
const wireField = 'blank.wire';

function lengthOf(field: string, text: string, isWire: boolean): Answer<number> {
  const mm = lengthMmFrom(text, isWire);
  const bound = isWire ? planBounds.wire : planBounds.inside;
  if (mm > 0) return found(mm);
  return { ok: false, problem: problemOf(field, shownEntry(quoted(text)), bound) };
}

function finishedMm({ scale, size }: BlankEntries): Answer<number> {
  if (scale === 'mm') return lengthOf(sizeField, size, false);
  const read = parseRingSize(scale, size, sizeField);
  return read.ok ? found(insideDiameterMmFromSize(scale, read.value)) : read;
}

/** Mandrel and wire for a ring under a deposit, mm; or the first thing that stands in the way. */
export function blankFor(entries: BlankEntries, deposit: Span): Answer<Blank> {
  const finished = finishedMm(entries);
  if (!finished.ok) return finished;
  const wire = lengthOf(wireField, entries.wire, true);
  if (!wire.ok) return wire;
  const finishedInsideDiameterMm = finished.value;
  const start = startForFinishedRing({
    finishedInsideDiameterMm,
    radialThicknessMm: wire.value,
    deposit,
    boreShare: planBoreShare,
  });
  return start.ok ? found({ ...start.value, finishedInsideDiameterMm }) : start;
}

function lengthFact(label: string, { low, value, high }: Span): TemplateResult {
  return fact(
    label,
    figure({ text: sizeText(value), unit: sizeUnit() }),
    planDetailWords.blank.between(sizeText(low), `${sizeText(high)} ${sizeUnit()}`),
  );
}

function outcome(blank: Answer<Blank> | null): TemplateResult {
  const text = planDetailWords.blank;
  if (blank === null) return html`<p class="aside">${text.waits}</p>`;
  const { insideDiameter, blankLength } = blank.ok ? blank.value : {};
  return html`<dl class="facts">
    ${insideDiameter ? lengthFact(text.mandrel, insideDiameter) : fact(text.mandrel, noFigure)}
    ${blankLength ? lengthFact(text.length, blankLength) : fact(text.length, noFigure)}
  </dl>`;
}

/** The calculator, fed from the thickness of a plan. */
export function blankDetail(form: FormContext, plan: Plan | null): TemplateResult {
  const { blank: entries } = form.draft;
  const text = planDetailWords.blank;
  const answer = blankFor(entries, plan ? depositMm(plan) : { low: 0, value: 0, high: 0 });
  const problems: readonly Problem[] = answer.ok ? [] : [answer.problem];
  const own = { ...form, problems };
  const grown = thickness(plan?.thicknessMicrometres.value ?? Number.NaN);
  return html`<p class="aside">${text.intro(withUnit(grown))}</p>
    <div class="fields tight">
      ${choice(
        own,
        {
          path: 'blank.scale',
          label: text.scale,
          value: entries.scale,
          set: (draft, scale) => (draft.blank.scale = scale as BlankEntries['scale']),
        },
        [['mm', text.millimetres], ...ringScales.map(({ id, name }) => [id, name] as const)],
      )}
      ${entry(own, {
        path: sizeField,
        label: text.size,
        value: entries.size,
        words: true,
        help: answer.ok
          ? text.isInside(`${sizeText(answer.value.finishedInsideDiameterMm)} ${sizeUnit()}`)
          : '',
        set: (draft, typed) => (draft.blank.size = typed),
      })}
      ${entry(own, {
        path: wireField,
        label: text.wire,
        value: entries.wire,
        words: true,
        help: problems.length > 0 ? '' : text.wireHelp,
        set: (draft, typed) => (draft.blank.wire = typed),
      })}
    </div>
    ${outcome(plan ? answer : null)}
    ${plan ? html`<p class="aside">${planDetailWords.sizes.shade}</p>` : nothing} `;
}
