/** A supply in service: the checks into a resistor, its ammeter against a trusted one, and the mains. */

import { html, nothing, type TemplateResult } from 'lit';
import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import type { SettingsChange } from '../../daemon/wire/settings.ts';
import { leastSteadyShare } from '../../daemon/run/probe-model.ts';
import { connection } from '../connection.ts';
import { button } from '../element.ts';
import { exact, fixed, noFigure } from '../format.ts';
import { numberFrom } from '../piece/typed.ts';
import { definePlanChecks } from '../plan-checks.ts';
import type { Path } from './desk.ts';
import { figureEntry } from './figure-entry.ts';
import { factorOf } from './found.ts';
import { fieldRow, FormsByName } from './form.ts';
import type { Field } from './form.ts';
import { SetupPart } from './part.ts';
import { SettledReading } from './settled-reading.ts';
import { words } from '#words/common';
import { supplyWords as say } from '#words/supply';
import { setupWords } from '#words/setup';

/** The bounds that the settings have for a factor. */
const leastFactor = 0.8;
const mostFactor = 1.25;
/** A meter that is far out shows so much less of the least steady current. */
const leastShown = leastSteadyShare / mostFactor;

const mainsField: Field = {
  path: ['afterMains'],
  label: say.mains.which,
  choices: [
    ['unknown', say.mains.choices.unknown],
    ['off', say.mains.choices.off],
    ['on', say.mains.choices.on],
  ],
};

export class ServedSupply extends SetupPart {
  #tankId = '';
  #meter = '';
  #doubt = '1';
  readonly #settled = new SettledReading();
  readonly #mains = new FormsByName();

  override willUpdate(): void {
    const tank = this.#tank();
    // What was typed is what the meter showed of the current before.
    if (tank !== null && this.#settled.see(tank)) this.#meter = '';
  }

  #tank(): TankSnapshot | null {
    const tanks = connection.bench?.tanks ?? [];
    // A simulated one has nothing to be brought up.
    return connection.tank(this.#tankId) ?? tanks.find((one) => !one.simulated) ?? tanks[0] ?? null;
  }

  /** Where the tank stands in the settings, which may have changed since they were taken into use. */
  #rectifier(tank: TankSnapshot): Path | null {
    const tanks = this.desk.list(['tanks']);
    const index = tanks.findIndex((_one, nth) => this.desk.text(['tanks', nth, 'id']) === tank.id);
    return index < 0 ? null : ['tanks', index, 'rectifier'];
  }

  async #keep(path: Path, factor: number): Promise<void> {
    const doubt = numberFrom(this.#doubt) / 100;
    const changes: SettingsChange[] = [
      { kind: 'set', path: [...path, 'ammeterFactor'], value: Number(factor.toFixed(4)) },
      { kind: 'set', path: [...path, 'meterUncertainty'], value: Number(doubt.toPrecision(3)) },
    ];
    if (await this.desk.save(changes)) this.#meter = '';
    this.changed();
  }

  #chooser(tank: TankSnapshot): TemplateResult {
    const choose = (event: Event): void => {
      this.#tankId = (event.target as HTMLSelectElement).value;
      this.#meter = '';
      this.changed();
    };
    return html`<div class="fields">
      <div class="field">
        <label for="served-tank">${say.circuit.which}</label>
        <select id="served-tank" @change=${choose}>
          ${connection.bench?.tanks.map(
            ({ id, name }) =>
              html`<option value=${id} .selected=${id === tank.id}>${name}</option>`,
          )}
        </select>
      </div>
    </div>`;
  }

  #entry(id: string, label: string, value: string, unit: string, hear: (text: string) => void) {
    return figureEntry({ id, label, value, unit }, (text) => {
      hear(text);
      this.changed();
    });
  }

  /** The factor that was typed, or why there is none. */
  #judged(tank: TankSnapshot, path: Path): number | string {
    const { reading, facts } = tank;
    // What a page that hears nothing shows is old, and belongs to no meter that is read now.
    if (connection.state !== 'live') return words.run.stale;
    if (reading === null || reading.amps <= 0 || tank.output !== 'on') return say.meter.none;
    const shown = this.#settled.amps(facts.supply.stepAmps);
    if (shown === null) return say.meter.unsettled;
    if (shown < leastShown * Math.min(facts.maxAmps, facts.supply.maxAmps)) return say.meter.small;
    const typed = numberFrom(this.#meter);
    if (!(typed > 0)) return '';
    const present = this.desk.at([...path, 'ammeterFactor']);
    const inUse = this.#isWaiting(tank) || typeof present !== 'number' ? 1 : present;
    const factor = factorOf(typed, shown, inUse);
    return factor >= leastFactor && factor <= mostFactor ? factor : say.meter.far;
  }

  #whyNotKept(tank: TankSnapshot, judged: number | string, doubt: number): string {
    if (this.#isWaiting(tank)) return say.meter.waits;
    if (typeof judged === 'string') return judged === '' ? say.meter.type : judged;
    return doubt >= 0 && doubt <= 20 ? '' : say.meter.badDoubt;
  }

  #isWaiting(tank: TankSnapshot): boolean {
    const place = `tanks[${tank.id}].rectifier.ammeterFactor`;
    return this.desk.file?.waiting.includes(place) ?? false;
  }

  #correction(tank: TankSnapshot, path: Path): TemplateResult {
    const judged = this.#judged(tank, path);
    const present = this.desk.at([...path, 'ammeterFactor']);
    const shown = tank.output === 'on' ? `${fixed(tank.reading?.amps ?? 0, 3)} A` : noFigure;
    const doubt = numberFrom(this.#doubt);
    const reason = this.#whyNotKept(tank, judged, doubt);
    return html`<p class="aside">${say.meter.help}</p>
      <steady-current .tankId=${tank.id}></steady-current>
      <p>${say.meter.now}: <span class="reading">${shown}</span></p>
      <div class="fields">
        ${this.#entry('meter-amps', say.meter.typed, this.#meter, 'A', (text) => (this.#meter = text))}
        ${this.#entry('meter-doubt', say.meter.doubt, this.#doubt, '%', (text) => (this.#doubt = text))}
      </div>
      <p class="setup-factor" role="status">
        ${typeof judged === 'number' ? say.meter.factor(fixed(judged, 4)) : nothing}
      </p>
      ${typeof present === 'number' ? html`<p>${say.meter.has(exact(present))}</p>` : nothing}
      <p class="aside">${say.meter.bounds} ${say.meter.effect}</p>
      <p class="actions">
        ${button(
          say.meter.press,
          () => {
            if (typeof judged === 'number') void this.#keep(path, judged);
          },
          {
            id: 'keep-factor',
            reason,
          },
        )}
        ${
          typeof present === 'number'
            ? button(
                say.meter.clear,
                () => void this.desk.save([{ kind: 'remove', path: [...path, 'ammeterFactor'] }]),
                { id: 'clear-factor' },
              )
            : nothing
        }
      </p>`;
  }

  #mainsStep(path: Path): TemplateResult {
    const id = this.desk.text([...path.slice(0, 2), 'id']);
    const form = this.#mains.of(id, this.desk, path, this.changed);
    const value = form.value(mainsField);
    const save = async (): Promise<void> => {
      if (await this.desk.save(form.changes([mainsField]))) form.clear();
    };
    return html`<p class="aside">${say.mains.help}</p>
      <div class="fields">${fieldRow(form, mainsField)}</div>
      ${value === 'on' ? html`<p class="caution">${say.mains.on}</p>` : nothing}
      ${value === 'off' ? html`<p>${say.mains.off}</p>` : nothing}
      <p class="actions">${button(setupWords.save, () => void save(), { id: 'save-mains' })}</p>`;
  }

  override render(): TemplateResult {
    const tank = this.#tank();
    if (tank === null) return html`<p class="aside">${say.circuit.away}</p>`;
    const path = this.#rectifier(tank);
    return html`${this.#chooser(tank)}
      <ol class="setup-steps" start="6">
        <li>
          <h3>6. ${say.steps.circuit}</h3>
          <p class="aside">${say.circuit.help} ${say.circuit.why}</p>
          <plan-checks .tankId=${tank.id}></plan-checks>
        </li>
        ${
          path === null
            ? nothing
            : html`<li>
                  <h3>7. ${say.steps.meter}</h3>
                  ${this.#correction(tank, path)}
                </li>
                <li>
                  <h3>8. ${say.steps.mains}</h3>
                  ${this.#mainsStep(path)}
                </li>`
        }
      </ol>`;
  }
}

definePlanChecks();
