/** The sensors of a tank: each with its line and its limits, one more, and taking one out. */

import { html, type TemplateResult } from 'lit';
import type { SettingsChange } from '../../daemon/wire/settings.ts';
import { button } from '../element.ts';
import { fieldRows, FormsByName, type Field, type SettingsForm } from './form.ts';
import { lineChanges, lineFields, lineKind } from './line-fields.ts';
import { SetupPart } from './part.ts';
import { Sure } from './sure.ts';
import { whyFixed } from './under-run.ts';
import { lineWords } from '#words/lines';

const say = lineWords.sensors;
const place = ['link'] as const;
const actions = Object.entries(say.actions);

function limit(side: 'low' | 'high', unit: string): readonly Field[] {
  return [
    { path: [side, 'value'], label: say[side], kind: 'number', unit, help: say.limitHelp },
    { path: [side, 'action'], label: say[`${side}Action`], choices: actions },
  ];
}

const idField: Field = { path: ['id'], label: say.id, help: say.idHelp };

/** What a sensor is, apart from its line and its limits. */
const own: readonly Field[] = [
  { path: ['name'], label: say.name },
  { path: ['kind'], label: say.kind, choices: Object.entries(say.kinds) },
  { path: ['unit'], label: say.unit, help: say.unitHelp },
];

function finer(unit: string): readonly Field[] {
  return [
    { path: ['missing'], label: say.missing, choices: actions },
    { path: ['staleAfterSeconds'], label: say.stale, kind: 'number', unit: 's' },
    { path: ['hysteresis'], label: say.hysteresis, kind: 'number', unit },
    { path: ['scale'], label: say.scale, kind: 'number', help: say.scaleHelp },
    { path: ['offset'], label: say.offset, kind: 'number', unit },
  ];
}

const unitField: Field = { path: ['unit'], label: '' };

function fieldsOf(form: SettingsForm): readonly Field[] {
  const unit = form.value(unitField);
  const line = lineFields(lineKind(form, place), place, say.rateHelp);
  return [...own, ...line, ...limit('low', unit), ...limit('high', unit), ...finer(unit)];
}

/** A limit whose number is taken away goes as a whole, and so does what was chosen for it. */
function limitChanges(form: SettingsForm, side: 'low' | 'high'): readonly SettingsChange[] {
  const [value, action] = limit(side, '');
  if (value === undefined || action === undefined) return [];
  const path = [...form.base, side];
  if (form.value(value).trim() !== '') return form.changes([value, action]);
  return form.desk.at(path) === undefined ? [] : [{ kind: 'remove', path }];
}

/** What has to change in the file for a sensor to be as it was typed. */
export function sensorChanges(form: SettingsForm): readonly SettingsChange[] {
  return [
    ...form.changes(own),
    ...lineChanges(form, place),
    ...limitChanges(form, 'low'),
    ...limitChanges(form, 'high'),
    ...form.changes(finer('')),
  ];
}

/** The table of a new sensor; a limit without a number is none. */
export function newSensor(form: SettingsForm): Record<string, unknown> {
  const sides = (['low', 'high'] as const).filter(
    (side) => form.value({ path: [side, 'value'], label: '' }).trim() !== '',
  );
  return form.entry([
    idField,
    ...own,
    ...lineFields(lineKind(form, place), place, ''),
    ...sides.flatMap((side) => limit(side, '')),
    ...finer(''),
  ]);
}

export class SensorsBlock extends SetupPart {
  static override properties = { ...SetupPart.properties, index: { type: Number } };
  declare index: number;
  readonly #forms = new FormsByName();
  /** New sensors, by the tank that they are for. */
  readonly #adding = new FormsByName();
  /** The sensor whose taking out was pressed once. */
  readonly #sure = new Sure();

  get #path(): readonly (string | number)[] {
    return ['tanks', this.index, 'sensors'];
  }

  get #tank(): string {
    return this.desk.text(['tanks', this.index, 'id']);
  }

  /** A sensor by its tank and its own short name. */
  #name(nth: number): string {
    return `${this.#tank} ${this.desk.text([...this.#path, nth, 'id'])}`;
  }

  #form(nth: number): SettingsForm {
    return this.#forms.of(this.#name(nth), this.desk, [...this.#path, nth], this.changed);
  }

  async #save(form: SettingsForm): Promise<void> {
    if (await this.desk.save(sensorChanges(form))) form.clear();
  }

  async #remove(nth: number): Promise<void> {
    const name = this.#name(nth);
    if (!this.#sure.press(name)) {
      this.changed();
      return;
    }
    const path = [...this.#path, nth];
    if (await this.desk.save([{ kind: 'remove', path }])) this.#forms.forget(name);
  }

  async #add(form: SettingsForm): Promise<void> {
    const value = newSensor(form);
    const tank = this.#tank;
    if (await this.desk.save([{ kind: 'add', path: [...this.#path], value }])) {
      this.#adding.forget(tank);
    }
    this.changed();
  }

  #sensor(nth: number, reason: string): TemplateResult {
    const form = this.#form(nth);
    const id = `sensor-${this.index}-${nth}`;
    return html`<section class="setup-inner" aria-labelledby=${id}>
      <h3 id=${id}>${this.desk.text([...this.#path, nth, 'name'])}</h3>
      ${fieldRows(form, fieldsOf(form))}
      <p class="actions">
        ${button(say.save, () => void this.#save(form), { id: `${id}-save`, reason })}
        ${button(
          this.#sure.asks(this.#name(nth)) ? say.sure : say.remove,
          () => void this.#remove(nth),
          {
            id: `${id}-remove`,
            reason,
          },
        )}
      </p>
    </section>`;
  }

  #new(count: number, reason: string): TemplateResult {
    const base = [...this.#path, 'newSensor'];
    const form = this.#adding.of(this.#tank, this.desk, base, this.changed);
    const id = `sensor-${this.index}-new`;
    return html`<section class="setup-inner" aria-labelledby=${id}>
      <h3 id=${id}>${say.add}</h3>
      ${fieldRows(form, [idField, ...fieldsOf(form)], [...this.#path, count])}
      <p class="actions">
        ${button(say.add, () => void this.#add(form), { id: `${id}-press`, reason })}
      </p>
    </section>`;
  }

  override render(): TemplateResult {
    const sensors = this.desk.list(this.#path);
    const reason = whyFixed(this.#tank);
    return html`<details class="setup-more">
      <summary>${say.title(sensors.length)}</summary>
      <p class="aside">${say.help}</p>
      ${sensors.map((_one, nth) => this.#sensor(nth, reason))} ${this.#new(sensors.length, reason)}
    </details>`;
  }
}
