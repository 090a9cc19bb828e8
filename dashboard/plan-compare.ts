/** Two or three densities side by side for one piece: time, end, evenness, risk; one can be taken. */

import { html, nothing, type TemplateResult } from 'lit';
import { readDensityText } from '../daemon/chemistry/density-text.ts';
import { fromAmpsPerDm2 } from '../daemon/chemistry/density-units.ts';
import type { Bath } from '../daemon/chemistry/model.ts';
import type { ComparisonRow } from '../daemon/run/plan-compare.ts';
import type { PlanQuestion } from '../daemon/run/model.ts';
import { ApiError, comparePlans } from './api.ts';
import { entry, type FormContext } from './form-field.ts';
import * as format from './format.ts';
import type { Draft } from './plan-draft.ts';
import { densityFrom } from './plan-request.ts';
import {
  densityLabel,
  densityUnit,
  plannedDensity,
  plannedDensityText,
  told,
  typedDensity,
} from './units.ts';
import type { Problem } from '../daemon/piece/model.ts';
import { words } from '#words/common';
import { planDetailWords } from '#words/plan-details';

/** Densities that a bath suggests to compare, with their unit: one slow, its usual one, one fast. */
export function suggested({ window }: Bath, unitId = densityUnit()): readonly string[] {
  const { minAmpsPerDm2, typicalAmpsPerDm2, maxAmpsPerDm2 } = window;
  const between = (one: number, other: number): number =>
    Number(((one + other) / 2).toPrecision(2));
  return [
    between(minAmpsPerDm2, typicalAmpsPerDm2),
    typicalAmpsPerDm2,
    between(typicalAmpsPerDm2, maxAmpsPerDm2),
  ].map((density) => `${format.plain(fromAmpsPerDm2(density, unitId), 3)} ${unitId}`);
}

/** What was typed to be compared, as the daemon reads it. */
function comparedTexts({ compare, bareUnit }: Draft): readonly string[] {
  return compare.map((text) => typedDensity(text, bareUnit));
}

/** The densities typed, A/dm2, and a problem for each that cannot be read; empty entries are none. */
export function comparedDensities(texts: readonly string[]): {
  readonly densities: readonly number[];
  readonly problems: readonly Problem[];
} {
  const problems: Problem[] = [];
  const densities = texts.flatMap((text, index) =>
    text.trim() === '' ? [] : [densityFrom(`compare[${index}]`, text, problems)],
  );
  return { densities, problems };
}

/** What was asked and what came back; asks again only when the question is another one. */
export class Comparing {
  open = false;
  rows: readonly ComparisonRow[] = [];
  error = '';
  pending = false;
  readonly #changed: () => void;
  #asked = '';
  #asking: AbortController | null = null;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** What to fill the entries with where none was: the bath's own suggestions; null leaves them. */
  filled(texts: readonly string[], bath: Bath): readonly string[] | null {
    return texts.every((text) => text.trim() === '') ? suggested(bath) : null;
  }

  stop(): void {
    this.#asking?.abort();
  }

  /** Asks for a question that can be planned; anything else leaves the last answer on show. */
  ask(question: PlanQuestion, draft: Draft): void {
    const { densities, problems } = comparedDensities(comparedTexts(draft));
    const carriedAmpHours = draft.continues?.ampHours;
    const few = new Set(densities).size !== densities.length || densities.length < 2;
    if (!this.open || few || problems.length > 0) return;
    const { densityTyped: _typed, densityAmpsPerDm2: _density, ...rest } = question;
    const key = JSON.stringify([rest, densities, carriedAmpHours], (name, value: unknown) =>
      // The hour moves on by itself: that alone is no other question.
      name === 'nowWallMs' ? undefined : value,
    );
    if (key === this.#asked) return;
    this.#asked = key;
    void this.#fetch(rest, densities, carriedAmpHours);
  }

  async #fetch(
    question: PlanQuestion,
    densities: readonly number[],
    carriedAmpHours: number | undefined,
  ): Promise<void> {
    this.#asking?.abort();
    const asking = new AbortController();
    this.#asking = asking;
    this.pending = true;
    this.#changed();
    try {
      const result = await comparePlans(question, densities, asking.signal, carriedAmpHours);
      if (asking.signal.aborted) return;
      this.error = result.ok ? '' : told(result.problems[0]?.message ?? words.failed);
      this.rows = result.ok ? result.rows : [];
    } catch (error) {
      if (asking.signal.aborted) return;
      this.#asked = '';
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.pending = false;
    this.#changed();
  }
}

function risks({ burning, dull }: ComparisonRow): string {
  const { burning: burns, dull: dulls, noRisk } = planDetailWords.compare;
  const found = [burning === 'none' ? '' : burns(burning), dull === 'none' ? '' : dulls(dull)];
  return format.list(found.filter((text) => text !== '')) || noRisk;
}

const thicknessText = (micrometres: number): string => {
  return format.withUnit(format.thickness(micrometres));
};

type Cell = (row: ComparisonRow) => unknown;

/** The lines of the table. */
function lines(
  rows: readonly ComparisonRow[],
  { nowMs, carriesOn }: CompareContext,
): readonly (readonly [string, Cell])[] {
  const text = planDetailWords.compare;
  const takes = ({ leftMs, durationMs }: ComparisonRow): number => leftMs ?? durationMs;
  const timed = rows.some(({ inTime }) => inTime !== null);
  // Only a run by the hour grows another thickness at another density.
  const [first] = rows;
  const varied = rows.some(
    ({ thicknessMicrometres: one }) =>
      Math.abs(one / (first?.thicknessMicrometres ?? one) - 1) > 0.01,
  );
  return [
    [carriesOn ? text.left : text.time, (row) => format.duration(takes(row))],
    [text.ends, (row) => format.clock(nowMs + takes(row))],
    ...(timed
      ? [[text.inTime, ({ inTime }: ComparisonRow) => (inTime ? text.yes : text.no)] as const]
      : []),
    // The daemon counts the hours of the night for a whole run only.
    ...(carriesOn
      ? []
      : [
          [
            text.asleep,
            ({ nightHours }: ComparisonRow) =>
              nightHours === null ? format.noFigure : format.duration(nightHours * 3_600_000),
          ] as const,
        ]),
    [text.current, ({ holdEndAmps }) => format.withUnit(format.amps(holdEndAmps))],
    [
      text.even,
      ({ wagnerAt10Mm }) =>
        html`${format.fixed(wagnerAt10Mm, 2)}<small>${text.evenness(wagnerAt10Mm)}</small>`,
    ],
    [text.recess, ({ recessReachMm }) => `${format.fixed(recessReachMm, 1)} mm`],
    ...(varied
      ? [
          [
            text.thickness,
            ({ thicknessMicrometres }: ComparisonRow) => thicknessText(thicknessMicrometres),
          ] as const,
        ]
      : []),
    [text.risk, risks],
  ];
}

/** The text that was typed for a density, so that taking it keeps its unit. */
function typedFor(draft: Draft, ampsPerDm2: number): string {
  const found = comparedTexts(draft).find((text) => {
    const reading = readDensityText(text);
    return reading.ok && reading.density.ampsPerDm2 === ampsPerDm2;
  });
  return found?.trim() ?? `${ampsPerDm2} A/dm2`;
}

function takeCell(form: FormContext, row: ComparisonRow): TemplateResult {
  const { draft } = form;
  const text = typedFor(draft, row.densityAmpsPerDm2);
  const reading = readDensityText(typedDensity(draft.density, draft.bareUnit));
  const taken =
    draft.pace === 'density' && reading.ok && reading.density.ampsPerDm2 === row.densityAmpsPerDm2;
  const { take, takeAria, taken: isTaken, takenAria: isTakenAria } = planDetailWords.compare;
  const what = takeAria(plannedDensityText(row.densityAmpsPerDm2));
  // The button stays where the focus is; once its density is taken it says so and does nothing.
  return html`<button
    type="button"
    class="quiet"
    aria-label=${taken ? isTakenAria(plannedDensityText(row.densityAmpsPerDm2)) : what}
    aria-disabled=${taken}
    @click=${() => {
      if (taken) return;
      form.change((target) => {
        target.density = text;
        target.pace = 'density';
      }, what);
    }}
  >
    ${taken ? isTaken : take}
  </button>`;
}

function table(form: FormContext, context: CompareContext): TemplateResult {
  const { rows } = context.comparing;
  const text = planDetailWords.compare;
  return html`<table class="compare-table">
    <thead>
      <tr>
        <th scope="col">${text.density}</th>
        ${rows.map(
          ({ densityAmpsPerDm2, startable }) =>
            html`<th scope="col">
              ${plannedDensity(densityAmpsPerDm2).text} <small>${densityLabel()}</small>
              ${startable ? nothing : html`<span class="refused">${text.refused}</span>`}
            </th>`,
        )}
      </tr>
    </thead>
    <tbody>
      ${lines(rows, context).map(
        ([label, cell]) =>
          html`<tr>
            <th scope="row">${label}</th>
            ${rows.map((row) => html`<td>${cell(row)}</td>`)}
          </tr>`,
      )}
      <tr class="takes">
        <th scope="row"><span class="unseen">${text.take}</span></th>
        ${rows.map((row) => html`<td>${takeCell(form, row)}</td>`)}
      </tr>
    </tbody>
  </table>`;
}

function reasons(rows: readonly ComparisonRow[]): unknown {
  const against = rows.filter((row) => row.against.length > 0);
  if (against.length === 0) return nothing;
  return html`<details>
    <summary>${planDetailWords.compare.seeReasons}</summary>
    ${against.map(
      (row) =>
        html`<p><strong>${plannedDensityText(row.densityAmpsPerDm2)}</strong></p>
          <ul class="hints">
            ${row.against.map((message) => html`<li>${told(message)}</li>`)}
          </ul>`,
    )}
  </details>`;
}

function entries(form: FormContext, problems: readonly Problem[]): TemplateResult {
  const own = { ...form, problems };
  return html`<div class="fields thirds">
    ${form.draft.compare.map((value, index) =>
      entry(own, {
        path: `compare[${index}]`,
        label: planDetailWords.compare.one(index + 1),
        value,
        words: true,
        set: (draft, typed) => (draft.compare[index] = typed),
      }),
    )}
  </div>`;
}

export interface CompareContext {
  readonly comparing: Comparing;
  /** The tank's own clock. */
  readonly nowMs: number;
  /** Whether a run is carried on: then the times are of what is left of it. */
  readonly carriesOn: boolean;
}

export function compareDetail(form: FormContext, context: CompareContext): TemplateResult {
  const { comparing } = context;
  const text = planDetailWords.compare;
  const { densities, problems } = comparedDensities(comparedTexts(form.draft));
  const few = new Set(densities).size !== densities.length || densities.length < 2;
  const status = comparing.error || (few && problems.length === 0 ? text.twoNeeded : '');
  return html`<p class="aside">${text.intro}</p>
    ${entries(form, problems)}
    <p class="note" role="status">${status}</p>
    ${
      comparing.rows.length > 0
        ? html`<div class=${comparing.pending ? 'pending' : ''}>
            ${table(form, context)} ${reasons(comparing.rows)}
            <p class="aside">${text.legend} ${context.carriesOn ? nothing : text.night}</p>
          </div>`
        : nothing
    }`;
}
