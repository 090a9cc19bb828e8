/** A form over a table of the settings: typed texts, and the changes of the file that they mean. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../../daemon/piece/model.ts';
import type { SettingsChange } from '../../daemon/wire/settings.ts';
import { fieldId } from '../element.ts';
import { numberFrom } from '../piece/typed.ts';
import { toldOf } from '../problem.ts';
import { toldOfSettings } from '../units.ts';
import { isAt, type Path, type SetupDesk } from './desk.ts';
import { inPercent, toldInPercent } from './percent.ts';
import { setupWords as say } from '#words/setup';

export interface Field {
  /** From the table of the form on. */
  readonly path: Path;
  readonly label: string;
  readonly kind?: 'text' | 'number' | 'list' | 'secret' | 'boolean' | 'lines';
  readonly unit?: string;
  /** What one of the shown unit is in the file; left out, the same. */
  readonly perUnit?: number;
  readonly help?: string;
  /** Value and label of each; makes it a choice. */
  readonly choices?: readonly (readonly [string, string])[];
  readonly wide?: boolean;
}

function keyOf(path: Path): string {
  return path.join('.');
}

function fieldName(path: Path): string {
  return path
    .map((step, index) =>
      typeof step === 'number' ? `[${step}]` : `${index === 0 ? '' : '.'}${step}`,
    )
    .join('');
}

function shown({ perUnit = 1 }: Pick<Field, 'perUnit'>, value: unknown): string {
  if (typeof value === 'number' && perUnit !== 1)
    return String(Number((value / perUnit).toPrecision(4)));
  if (Array.isArray(value)) return value.join(', ');
  return ['string', 'number', 'boolean'].includes(typeof value) ? String(value) : '';
}

/** The entries of a list that is typed with commas between. */
export function entriesOf(text: string): string[] {
  return text
    .trim()
    .split(/\s*,\s*/)
    .filter((one) => one !== '');
}

/** A typed list with one entry added, or taken out. */
export function listedWith(typed: string, entry: string, wanted: boolean): string {
  const others = entriesOf(typed).filter((one) => one !== entry);
  return (wanted ? [...others, entry] : others).join(', ');
}

/** What a typed text is in the file; undefined where it is left out. */
function meant({ kind, unit, perUnit = 1 }: Field, text: string): unknown {
  const typed = text.trim();
  // Many write the sign behind the figure.
  const plain = unit === inPercent.unit ? typed.replace(/\s*%$/, '') : typed;
  if (kind === 'list') return entriesOf(plain);
  if (plain === '') return undefined;
  if (kind === 'secret') return { secret: text };
  if (kind === 'boolean') return plain === 'true';
  if (kind !== 'number') return plain;
  const number = numberFrom(plain);
  // What is no number goes as it is: the daemon names the bound.
  if (Number.isNaN(number)) return plain;
  // Twelve digits: the last bit of a float refuses no bound that was typed as it is shown.
  return perUnit === 1 ? number : Number((number * perUnit).toPrecision(12));
}

export class SettingsForm {
  readonly desk: SetupDesk;
  base: Path;
  readonly #typed = new Map<string, string>();
  readonly #changed: () => void;

  /** `base` is the table in the file; one that is not there yet is made by `entry`. */
  constructor(desk: SetupDesk, base: Path, changed: () => void) {
    [this.desk, this.base, this.#changed] = [desk, base, changed];
  }

  value(field: Field): string {
    const typed = this.#typed.get(keyOf(field.path));
    return typed ?? shown(field, this.desk.at([...this.base, ...field.path]));
  }

  /** The same; of a choice that is not made yet the first, which the daemon takes by itself. */
  chosen(field: Field): string {
    return this.value(field) || (field.choices?.[0]?.[0] ?? '');
  }

  /** Whether a secret stands in the file that is not shown. */
  keeps({ path, kind }: Field): boolean {
    return kind === 'secret' && this.desk.at([...this.base, ...path]) !== undefined;
  }

  set(path: Path, text: string): void {
    this.#typed.set(keyOf(path), text);
    this.#changed();
  }

  clear(): void {
    this.#typed.clear();
  }

  /** What has to change in the file for the fields to hold what was typed. */
  changes(fields: readonly Field[]): SettingsChange[] {
    return fields.flatMap((field): SettingsChange[] => {
      const typed = this.#typed.get(keyOf(field.path));
      const path = [...this.base, ...field.path];
      const present = this.desk.at(path);
      if (typed === undefined || typed.trim() === shown(field, present)) return [];
      const value = meant(field, typed);
      if (value !== undefined) return [{ kind: 'set', path, value }];
      // A secret that is left empty stays as it is.
      return present === undefined || field.kind === 'secret' ? [] : [{ kind: 'remove', path }];
    });
  }

  /** The table that the fields make, for one that is new. */
  entry(fields: readonly Field[]): Record<string, unknown> {
    const table: Record<string, unknown> = {};
    for (const field of fields) {
      const value = meant(field, this.chosen(field));
      if (value === undefined || (Array.isArray(value) && value.length === 0)) continue;
      let around = table;
      for (const step of field.path.slice(0, -1)) {
        around = (around[step] ??= {}) as Record<string, unknown>;
      }
      around[String(field.path.at(-1))] = value;
    }
    return table;
  }
}

/** Forms over the entries of a list: what is typed belongs to an entry by its name, as its place may move. */
export class FormsByName {
  readonly #forms = new Map<string, SettingsForm>();

  /** The form of the entry that now stands at `base`; it goes along where the entry has moved. */
  of(name: string, desk: SetupDesk, base: Path, changed: () => void): SettingsForm {
    // An entry that the file gives no name has its place alone.
    const key = JSON.stringify(name === '' ? base : name);
    const form = this.#forms.get(key) ?? new SettingsForm(desk, base, changed);
    form.base = base;
    this.#forms.set(key, form);
    return form;
  }

  /** An entry was taken out: another that gets its name begins empty. */
  forget(name: string): void {
    this.#forms.delete(JSON.stringify(name));
  }
}

/** What is wrong at a field, in the unit that it is typed in; `others` are places of the file with their labels. */
export function toldAt(
  { label, unit }: Pick<Field, 'label' | 'unit'>,
  problem: Problem,
  others: ReadonlyMap<string, string> = new Map(),
): string {
  const text = toldOf(problem, label).replaceAll(
    /(?<=, which is |, |below )[a-z]\w*(?:\.\w+)+/gi,
    (place) => named(place, others),
  );
  return toldOfSettings(unit === inPercent.unit ? toldInPercent(text) : text);
}

/** A place that a bound speaks of, by the label of its field. */
function named(place: string, labels: ReadonlyMap<string, string>): string {
  const label = labels.get(place);
  return label === undefined ? place : `“${label}”`;
}

function problemsAt({ problems, fields }: SetupDesk, name: string, field: Field) {
  const own = problems.filter((one) => isAt(one.field, name));
  return own.map((one) => html`<span class="problem">${toldAt(field, one, fields)}</span>`);
}

/** One field with its label and what is wrong with it; `at` is where the daemon puts the form's table. */
export function fieldRow(form: SettingsForm, field: Field, at: Path = form.base): TemplateResult {
  const name = fieldName([...at, ...field.path]);
  const id = fieldId(name);
  const value = form.value(field);
  const wrong = problemsAt(form.desk, name, field);
  form.desk.fields.set(name, field.label);
  const hears = (event: Event): void =>
    form.set(field.path, (event.target as HTMLInputElement | HTMLSelectElement).value);
  return html`<div class="field ${field.wide ? 'wide' : ''}">
    <label for=${id}>${field.label}</label>
    <span class="entry">
      ${
        field.choices
          ? html`<select id=${id} aria-describedby="${id}-note" @change=${hears}>
              ${field.choices.map(
                ([option, label]) =>
                  html`<option value=${option} .selected=${option === value}>${label}</option>`,
              )}
            </select>`
          : field.kind === 'lines'
            ? html`<textarea
                id=${id}
                rows="4"
                spellcheck="false"
                .value=${value}
                aria-invalid=${wrong.length > 0}
                aria-describedby="${id}-note"
                @input=${hears}
              ></textarea>`
            : html`<input
                id=${id}
                type=${field.kind === 'secret' ? 'password' : 'text'}
                inputmode=${field.kind === 'number' ? 'decimal' : 'text'}
                autocomplete=${field.kind === 'secret' ? 'new-password' : 'off'}
                autocapitalize="off"
                spellcheck="false"
                placeholder=${form.keeps(field) ? say.kept : nothing}
                .value=${value}
                aria-invalid=${wrong.length > 0}
                aria-describedby="${id}-note"
                @input=${hears}
              />`
      }
      ${field.unit ? html`<span class="unit">${field.unit}</span>` : nothing}
    </span>
    <span class="note" id="${id}-note">${wrong} ${field.help ?? nothing}</span>
  </div>`;
}

export function fieldRows(
  form: SettingsForm,
  fields: readonly Field[],
  at: Path = form.base,
): TemplateResult {
  return html`<div class="fields">${fields.map((field) => fieldRow(form, field, at))}</div>`;
}
