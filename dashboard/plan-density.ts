/** The entry for the density: typed with its unit, beside the bath's window and what the choice means. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import { readDensityText, type TypedDensity } from '../daemon/chemistry/density-text.ts';
import type { Bath } from '../daemon/chemistry/model.ts';
import type { LikelyMeaning } from '../daemon/run/notices/slips.ts';
import type { Pace } from '../daemon/run/outlook.ts';
import { fieldId } from './element.ts';
import { entry, type FormContext } from './form-field.ts';
import { pretty, thickness, withUnit } from './format.ts';
import {
  densityBounds,
  densityLabel,
  densityUnit,
  offeredDensity,
  plannedDensity,
  plannedDensityText,
  told,
  typedDensity,
} from './units.ts';
import { planWords } from '#words/plan';

/** What a typed density is and means in a bath. */
export interface DensityReading {
  readonly ampsPerDm2: number;
  /** Null where it stands for the bath's usual one, or was solved. */
  readonly typed: TypedDensity | null;
  /** One sentence, and how much grows in an hour where that is known. */
  readonly meaning: string;
}

// A density converted from other units may sit on an edge of the window, a rounding error out.
const slack = 1e-9;

function placeIn({ window }: Bath, ampsPerDm2: number): string {
  const { minAmpsPerDm2: low, maxAmpsPerDm2: high } = window;
  if (ampsPerDm2 < low * (1 - slack)) return planWords.density.below;
  if (ampsPerDm2 > high * (1 + slack)) return planWords.density.above;
  const share = (ampsPerDm2 - low) / (high - low);
  if (share < 1 / 3) return planWords.density.slow;
  return share < 2 / 3 ? planWords.density.middle : planWords.density.fast;
}

function meaningOf(bath: Bath, pace: Pace | null, ampsPerDm2: number): string {
  const place = placeIn(bath, ampsPerDm2);
  if (pace?.bathId !== bath.id) return place;
  const hourly = withUnit(thickness(pace.micrometresPerHour * ampsPerDm2));
  return `${place} ${planWords.density.pace(hourly)}`;
}

/** What a text means in a bath; empty is the bath's usual density, and null cannot be read. */
export function densityReading(text: string, bath: Bath, pace: Pace | null): DensityReading | null {
  const reading = text.trim() === '' ? null : readDensityText(text);
  if (reading?.ok === false) return null;
  const typed = reading?.density ?? null;
  const ampsPerDm2 = typed?.ampsPerDm2 ?? bath.window.typicalAmpsPerDm2;
  return {
    ampsPerDm2,
    typed,
    meaning: meaningOf(bath, pace, ampsPerDm2),
  };
}

/** How far along the drawn window a density stands, percent; clamped to its ends. */
export function windowPercent({ window }: Bath, ampsPerDm2: number): number {
  const most = 1.35 * window.maxAmpsPerDm2;
  return Math.max(1, Math.min(99, (100 * ampsPerDm2) / most));
}

/** The window in words, for those who do not see the bar. */
export function windowLabel({ window }: Bath): string {
  const { minAmpsPerDm2: low, typicalAmpsPerDm2: usual, maxAmpsPerDm2: high } = window;
  const [least, most] = densityBounds(low, high);
  return planWords.density.pictured(least, most, densityLabel(), plannedDensity(usual).text);
}

/** The bath's window as a bar from 0, its usual density as a line, the chosen one as a pointer. */
function windowBar(bath: Bath, ampsPerDm2: number | null): TemplateResult {
  const { minAmpsPerDm2, typicalAmpsPerDm2, maxAmpsPerDm2 } = bath.window;
  const [least, most] = densityBounds(minAmpsPerDm2, maxAmpsPerDm2);
  const usual = plannedDensity(typicalAmpsPerDm2).text;
  const at = (density: number): string => `${windowPercent(bath, density)}%`;
  const width = windowPercent(bath, maxAmpsPerDm2) - windowPercent(bath, minAmpsPerDm2);
  return html`<svg
    class="window"
    width="100%"
    height="46"
    role="img"
    aria-label=${windowLabel(bath)}
  >
    ${svg`<line class="axis" x1="0" y1="19.5" x2="100%" y2="19.5" />
      <rect x=${at(minAmpsPerDm2)} y="14" width="${width}%" height="11" />
      <line class="usual" x1=${at(typicalAmpsPerDm2)} y1="14" x2=${at(typicalAmpsPerDm2)} y2="25" />
      <text x=${at(minAmpsPerDm2)} y="41" text-anchor="middle">${least}</text>
      <text x=${at(typicalAmpsPerDm2)} y="41" text-anchor="middle">${usual}</text>
      <text x=${at(maxAmpsPerDm2)} y="41" text-anchor="middle">${most}</text>
      <text x="100%" y="41" text-anchor="end">${densityLabel()}</text>
      ${
        ampsPerDm2 === null
          ? nothing
          : svg`<svg class="pointer" x=${at(ampsPerDm2)} overflow="visible">
              <path d="M-6 1h12l-6 11z" />
            </svg>`
      }`}
  </svg>`;
}

/** The button goes with the slip, so the focus goes back to the entry. */
function takeMeaning(form: FormContext, text: string): void {
  form.change((draft) => (draft.density = text), planWords.density.label);
  document.getElementById(fieldId('densityAmpsPerDm2'))?.focus();
}

function slipButtons(form: FormContext, slips: readonly LikelyMeaning[]): unknown {
  if (slips.length === 0) return nothing;
  return html`<div class="meant" role="group" aria-label=${planWords.density.slip}>
    <span class="meant-head">${planWords.density.slip}</span>
    ${slips.map((slip) => {
      const { clause } = slip;
      const text = offeredDensity(slip);
      return html`<p class="meaning">
        <button type="button" class="quiet" @click=${() => takeMeaning(form, text)}>
          ${pretty(planWords.density.take(text))}
        </button>
        <span class="note">${told(`${clause.charAt(0).toUpperCase()}${clause.slice(1)}.`)}</span>
      </p>`;
    })}
  </div>`;
}

/** The bath's window with a pointer at a density, and what that density means. */
export function densityWindow(bath: Bath, reading: DensityReading | null): TemplateResult {
  const { typed = null, ampsPerDm2 = null, meaning = '' } = reading ?? {};
  const other = typed !== null && typed.unitId !== densityUnit() && ampsPerDm2 !== null;
  const is = other ? planWords.density.is(typed.text, plannedDensityText(ampsPerDm2)) : '';
  return html`<div class="in-window">
    ${windowBar(bath, ampsPerDm2)}
    <p class="note">${pretty(`${is} ${meaning}`.trim())}</p>
  </div>`;
}

/** The reading of a density that the plan solved. */
export function solvedReading(bath: Bath, pace: Pace | null, ampsPerDm2: number): DensityReading {
  return { ampsPerDm2, typed: null, meaning: meaningOf(bath, pace, ampsPerDm2) };
}

/** `slips` are what the density was likely meant to be. */
export function densityField(
  form: FormContext,
  bath: Bath | undefined,
  pace: Pace | null,
  slips: readonly LikelyMeaning[],
): TemplateResult {
  const { draft } = form;
  const text = typedDensity(draft.density, draft.bareUnit);
  const reading = bath ? densityReading(text, bath, pace) : null;
  return html`<div class="wide">
    ${entry(form, {
      path: 'densityAmpsPerDm2',
      label: planWords.density.label,
      value: draft.density,
      words: true,
      help: bath
        ? planWords.density.help(densityLabel(), plannedDensityText(bath.window.typicalAmpsPerDm2))
        : '',
      set: (target, typed) => (target.density = typed),
    })}
    ${slipButtons(form, slips)} ${bath ? densityWindow(bath, reading) : nothing}
  </div>`;
}
