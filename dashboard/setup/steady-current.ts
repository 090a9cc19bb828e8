/** A steady current for reading another meter: asked for twice, off by itself, and off when the page is left. */

import { html, nothing, type TemplateResult } from 'lit';
import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import { access } from '../access.ts';
import { ApiError, command, lastWord } from '../api.ts';
import { connection } from '../connection.ts';
import { button } from '../element.ts';
import { plain, pretty } from '../format.ts';
import { LiveElement } from '../live-element.ts';
import { numberFrom } from '../piece/typed.ts';
import { toldOf } from '../problem.ts';
import { isFree } from '../tank-lines.ts';
import { figureEntry } from './figure-entry.ts';
import { OwnRun } from './own-run.ts';
import { heatWatts, resistorProblem, type Resistor } from './resistor.ts';
import { words } from '#words/common';
import { supplyWords } from '#words/supply';

const say = supplyWords.steady;

/** Resistances between which one for the bring-up lies, ohms. */
const [fewOhms, manyOhms] = [5, 30] as const;
/** Of the most current: enough for a meter, little enough for a resistor. */
const usualShare = 0.15;

export class SteadyCurrent extends LiveElement {
  static override properties = {
    tankId: {},
    typed: { state: true },
    ohms: { state: true },
    watts: { state: true },
    /** Looked at, and not pressed for the second time. */
    sure: { state: true },
    error: { state: true },
    busy: { state: true },
  };
  declare tankId: string;
  declare typed: string | null;
  declare ohms: string;
  declare watts: string;
  declare sure: boolean;
  declare error: string;
  declare busy: boolean;
  readonly #own = new OwnRun();

  constructor() {
    super();
    this.tankId = '';
    this.typed = null;
    [this.ohms, this.watts] = ['', ''];
    this.sure = false;
    this.error = '';
    this.busy = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    addEventListener('pagehide', this.#leave);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    removeEventListener('pagehide', this.#leave);
    this.#leave();
  }

  override willUpdate(changed: Map<string, unknown>): void {
    this.#look();
    const before = changed.get('tankId');
    if (typeof before !== 'string' || before === '') return;
    this.#leave();
    [this.typed, this.sure, this.error] = [null, false, ''];
  }

  get #path(): string {
    return `/api/tanks/${encodeURIComponent(this.tankId)}`;
  }

  /** Whoever leaves reads no meter: what this page has started goes off. */
  readonly #leave = (): void => {
    this.#look();
    const path = this.#own.farewell();
    if (path !== '') lastWord(path);
  };

  #look(): void {
    this.#own.see(connection.tank(this.#own.tankId)?.run ?? null);
  }

  async #attempt(work: () => Promise<void>): Promise<void> {
    this.busy = true;
    this.error = '';
    try {
      await work();
    } catch (error) {
      const [problem] = error instanceof ApiError ? error.problems : [];
      const message = error instanceof ApiError ? error.message : words.failed;
      this.error = pretty(problem ? toldOf(problem, say.amps) : message);
    }
    this.busy = false;
  }

  #start(amps: number): void {
    this.sure = false;
    const { tankId } = this;
    void this.#attempt(async () => {
      const { runId = '' } = await command(`${this.#path}/probe`, { probe: 'meter', amps });
      this.#own.begun(tankId, runId);
      // Left while it was being asked for.
      if (!this.isConnected || this.tankId !== tankId) this.#leave();
    });
  }

  #stop(): void {
    void this.#attempt(async () => {
      await command(`${this.#path}/stop`);
    });
  }

  #whyNot(): string {
    const lacking = access.whyNot('control');
    if (lacking !== '') return lacking;
    if (connection.state !== 'live') return words.run.stale;
    if (this.busy) return words.run.busy;
    const tank = connection.tank(this.tankId);
    return tank && !isFree(tank) ? say.notFree : '';
  }

  get #resistor(): Resistor {
    return { ohms: numberFrom(this.ohms), watts: numberFrom(this.watts) };
  }

  #whyNotAsked({ facts }: TankSnapshot, amps: number): string {
    if (!(amps > 0)) return say.number;
    const volts = Math.min(facts.maxVolts, facts.supply.maxVolts);
    return this.#whyNot() || resistorProblem(amps, this.#resistor, volts);
  }

  /** What the typed current does to a resistor, before anything is pressed. */
  #before(amps: number): TemplateResult | typeof nothing {
    if (!(amps > 0)) return nothing;
    const heat = [fewOhms, manyOhms].map((ohms) => plain(heatWatts(amps, ohms)));
    return html`<p class="caution">${say.before(plain(amps, 3), heat[0] ?? '', heat[1] ?? '')}</p>`;
  }

  #entry(id: string, label: string, value: string, unit: string, hear: (typed: string) => void) {
    return figureEntry({ id, label, value, unit }, (typed) => {
      hear(typed);
      this.sure = false;
    });
  }

  #asked(amps: number): TemplateResult {
    const { ohms, watts } = this.#resistor;
    const heat = heatWatts(amps, ohms);
    return html`<div class="setup-inner" role="status">
      <p class="caution">${say.caution}</p>
      <p>${say.heat(plain(amps, 3), plain(heat), plain(ohms, 3), plain(watts, 3))}</p>
      <p class="actions">
        ${button(say.confirm(plain(amps, 3)), () => this.#start(amps), {
          id: 'steady-sure',
          strong: true,
          reason: this.#whyNot(),
        })}
        ${button(say.leave, () => (this.sure = false))}
      </p>
    </div>`;
  }

  override render(): TemplateResult {
    const tank = connection.tank(this.tankId);
    if (tank === null) return html``;
    const run = tank.run;
    const mine = run !== null && this.#own.isThis(run);
    if (mine && run.outcome === null) {
      return html`<p role="status">${run.sentence}</p>
        <p class="actions">
          ${button(say.off, () => this.#stop(), { id: 'steady-off', strong: true })}
        </p>`;
    }
    const text = this.typed ?? plain(usualShare * tank.facts.maxAmps, 2);
    const amps = numberFrom(text);
    return html`${this.#before(amps)}
      <div class="fields">
        ${this.#entry('steady-amps', say.amps, text, 'A', (typed) => (this.typed = typed))}
        ${this.#entry('steady-ohms', say.ohms, this.ohms, 'Ω', (typed) => (this.ohms = typed))}
        ${this.#entry('steady-watts', say.watts, this.watts, 'W', (typed) => (this.watts = typed))}
      </div>
      ${
        this.sure
          ? this.#asked(amps)
          : html`<p class="actions">
              ${button(say.press, () => (this.sure = true), {
                id: 'steady-press',
                reason: this.#whyNotAsked(tank, amps),
              })}
            </p>`
      }
      ${mine && run.outcome !== null ? html`<p role="status">${run.outcome.reason}</p>` : nothing}
      <p class="error" role="alert">${this.error}</p>`;
  }
}
