/** Another target or density while the run is under way: lower at one press, higher after a look. */

import { html, nothing, type TemplateResult } from 'lit';
import type { ChangedTarget, RunChange } from '../../daemon/run/change-model.ts';
import type { LiveRun } from '../../daemon/wire/bench.ts';
import type { ChangeLook } from '../../daemon/wire/run-book.ts';
import { ApiError, command, send } from '../api.ts';
import { button, fact, figure, NightElement } from '../element.ts';
import * as format from '../format.ts';
import { densityLabel, densityUnit, perDensityUnit, told } from '../units.ts';
import { targetIn, type TargetKind } from './target.ts';
import { words } from '#words/common';
import { runWords } from '#words/run';

const say = runWords.change;
type Field = 'target' | 'density';
const targetKinds = Object.keys(say.kinds) as readonly TargetKind[];

/** A change that was looked at and waits for its second press. */
interface Looked {
  readonly change: RunChange;
  readonly look: ChangeLook;
  readonly version: number;
}

/** What was typed, as a number; a comma is a point. */
function typedNumber(text: string): number {
  return Number(text.trim().replace(',', '.'));
}

function targetOf(kind: TargetKind, value: number): ChangedTarget {
  switch (kind) {
    case 'thickness':
      return { kind, micrometres: value };
    case 'mass':
      return { kind, grams: value };
    case 'charge':
      return { kind, ampHours: value };
    case 'time':
      return { kind, hours: value };
  }
}

/** A refusal of the daemon, with this form's own names for its fields. */
export function plainly(message: string): string {
  const named = say.fields.find(([field]) => message.startsWith(`${field} `));
  const text = named ? named[1] + message.slice(named[0].length) : message;
  return told(text);
}

export class RunChangeForm extends NightElement {
  static override properties = {
    tankId: {},
    run: { attribute: false },
    stopsBy: {},
    blocked: {},
    chosen: { state: true },
    looked: { state: true },
    error: { state: true },
    told: { state: true },
    busy: { state: true },
  };
  declare tankId: string;
  declare run: LiveRun;
  /** Why nothing can be pressed; empty where it can. */
  declare blocked: string;
  /** What the run stops by as it stands. */
  declare stopsBy: TargetKind;
  /** What the target is told in, where another was chosen for it. */
  declare chosen: TargetKind | null;
  declare looked: Looked | null;
  declare error: string;
  declare told: string;
  declare busy: boolean;
  readonly #typed = new Map<Field, string>();
  /** The unit that stands beside the density: a number keeps the one in which it was typed. */
  #densityIn = densityUnit();

  constructor() {
    super();
    this.tankId = '';
    this.blocked = '';
    this.stopsBy = 'thickness';
    this.chosen = null;
    this.looked = null;
    this.error = '';
    this.told = '';
    this.busy = false;
  }

  /** What the target is told in. */
  get by(): TargetKind {
    return this.chosen ?? this.stopsBy;
  }

  override willUpdate(): void {
    if ((this.#typed.get('density') ?? '').trim() === '') this.#densityIn = densityUnit();
    if (this.looked === null || this.looked.version === this.run.version) return;
    this.looked = null;
    this.error = say.moved;
  }

  #changeOf(field: Field): RunChange | null {
    const value = typedNumber(this.#typed.get(field) ?? '');
    if (!(value > 0)) return null;
    return field === 'density'
      ? {
          kind: 'density',
          ampsPerDm2: Number((value * perDensityUnit(this.#densityIn)).toPrecision(12)),
        }
      : { kind: 'target', target: targetOf(this.by, value) };
  }

  async #attempt(work: () => Promise<void>): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.error = '';
    this.told = '';
    try {
      await work();
    } catch (error) {
      this.looked = null;
      this.error = error instanceof ApiError ? plainly(error.message) : words.failed;
    }
    this.busy = false;
  }

  #press(event: Event, field: Field): void {
    event.preventDefault();
    if (this.blocked !== '') return;
    const change = this.#changeOf(field);
    if (change === null) {
      this.error = say.empty;
      return;
    }
    const { version } = this.run;
    void this.#attempt(async () => {
      const look = await send<ChangeLook>('POST', this.#path('change-look'), { change });
      if (look.raises) this.looked = { change, look, version };
      else await this.#make(change, look, version, false);
    });
  }

  #path(action: string): string {
    return `/api/tanks/${encodeURIComponent(this.tankId)}/${action}`;
  }

  async #make(
    change: RunChange,
    { sentence }: ChangeLook,
    version: number,
    confirmed: boolean,
  ): Promise<void> {
    await command(this.#path('change'), { runId: this.run.id, version, change, confirmed });
    this.looked = null;
    this.#typed.clear();
    this.told = told(say.done(sentence));
  }

  #confirm(): void {
    const { looked } = this;
    if (looked === null) return;
    void this.#attempt(() => this.#make(looked.change, looked.look, looked.version, true));
  }

  #field(field: Field, now: string, unit: string): TemplateResult {
    const id = `change-${field}`;
    return html`<form class="change-field" @submit=${(event: Event) => this.#press(event, field)}>
      <label for=${id}>${say[field]}</label>
      <span class="with-unit">
        <input
          id=${id}
          inputmode="decimal"
          autocomplete="off"
          .value=${this.#typed.get(field) ?? now}
          @input=${(event: Event) => {
            this.#typed.set(field, (event.target as HTMLInputElement).value);
            // Whatever the run stops by meanwhile, the number is meant in what stood beside it.
            if (field === 'target') this.chosen = this.by;
            this.looked = null;
          }}
        />
        <span>${unit}</span>
      </span>
      <button type="submit" class="quiet" aria-disabled=${this.blocked !== '' || this.busy}>
        ${say.press}
      </button>
    </form>`;
  }

  #look({ look }: Looked): TemplateResult {
    const { thicknessMicrometres: thickness } = look;
    return html`<div class="looked" role="status">
      <h3>${say.look}</h3>
      <dl class="facts">
        ${fact(say.current, figure(format.amps(look.largestAmps)))}
        ${fact(say.ends, html`<span class="figure">${format.clock(look.endsWallMs)}</span>`)}
        ${fact(
          say.thickness,
          figure(format.thickness(thickness.value)),
          format.thicknessRange(thickness.low, thickness.high),
        )}
      </dl>
      <div class="actions">
        ${button(told(say.confirm(look.sentence)), () => this.#confirm(), {
          strong: true,
          reason: this.blocked,
          id: 'confirm-change-why',
        })}
        ${button(say.leave, () => (this.looked = null))}
      </div>
    </div>`;
  }

  /** The target as it stands, in what it is told in; empty where that is not known. */
  #targetNow(): string {
    const value = targetIn(this.by, this.run);
    return value === null ? '' : format.plain(value, 4);
  }

  #chooser(): TemplateResult {
    const choose = (event: Event): void => {
      this.chosen = (event.target as HTMLSelectElement).value as TargetKind;
      // A number that was typed in grams is none in hours.
      this.#typed.delete('target');
      this.looked = null;
    };
    return html`<div class="change-field">
      <label for="change-by">${say.by}</label>
      <select id="change-by" @change=${choose}>
        ${targetKinds.map(
          (kind) =>
            html`<option value=${kind} .selected=${kind === this.by}>
              ${say.kinds[kind][0]}
            </option>`,
        )}
      </select>
    </div>`;
  }

  override render(): TemplateResult {
    const { holdAmpsPerDm2 = 0 } = this.run;
    const holds = format.plain(holdAmpsPerDm2 / perDensityUnit(this.#densityIn), 4);
    return html`<p class="aside">${say.note}</p>
      ${this.#chooser()} ${this.#field('target', this.#targetNow(), say.kinds[this.by][1])}
      ${this.by === 'time' ? html`<p class="aside">${say.timeNote}</p>` : nothing}
      ${this.#field('density', holds, densityLabel(this.#densityIn))}
      <p class="why">${this.blocked}</p>
      ${this.looked ? this.#look(this.looked) : nothing}
      <p class="error" role="alert">${this.error}</p>
      <p role="status">${this.told}</p>`;
  }
}

customElements.define('run-change', RunChangeForm);
