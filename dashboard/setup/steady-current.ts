/** A steady current for reading another meter: asked for twice, off by itself, and off when the page is left. */

import { html, nothing, type TemplateResult } from 'lit';
import { access } from '../access.ts';
import { ApiError, command, lastWord } from '../api.ts';
import { connection } from '../connection.ts';
import { button } from '../element.ts';
import { plain, pretty } from '../format.ts';
import { LiveElement } from '../live-element.ts';
import { numberFrom } from '../piece/typed.ts';
import { toldOf } from '../problem.ts';
import { isFree } from '../tank-lines.ts';
import { OwnRun } from './own-run.ts';
import { words } from '#words/common';
import { supplyWords } from '#words/supply';

const say = supplyWords.steady;

/** Resistances between which one for the bring-up lies, ohms. */
const ohms = [5, 30] as const;
/** Of the most current: enough for a meter, little enough for a resistor. */
const usualShare = 0.15;

/** What resistors of the bring-up turn into heat at a current, watts. */
export function heatWatts(amps: number): readonly number[] {
  return ohms.map((one) => amps * amps * one);
}

export class SteadyCurrent extends LiveElement {
  static override properties = {
    tankId: {},
    typed: { state: true },
    /** Looked at, and not pressed for the second time. */
    sure: { state: true },
    error: { state: true },
    busy: { state: true },
  };
  declare tankId: string;
  declare typed: string | null;
  declare sure: boolean;
  declare error: string;
  declare busy: boolean;
  readonly #own = new OwnRun();

  constructor() {
    super();
    this.tankId = '';
    this.typed = null;
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

  #asked(amps: number): TemplateResult {
    const [low = 0, high = 0] = heatWatts(amps);
    return html`<div class="setup-inner" role="status">
      <p class="caution">${say.caution}</p>
      <p>${say.heat(plain(amps, 3), plain(low, 2), plain(high, 2))}</p>
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
    return html`<div class="fields">
        <div class="field">
          <label for="steady-amps">${say.amps}</label>
          <span class="entry">
            <input
              id="steady-amps"
              inputmode="decimal"
              autocomplete="off"
              .value=${text}
              @input=${(event: Event) => {
                this.typed = (event.target as HTMLInputElement).value;
                this.sure = false;
              }}
            />
            <span class="unit">A</span>
          </span>
        </div>
      </div>
      ${
        this.sure
          ? this.#asked(amps)
          : html`<p class="actions">
              ${button(say.press, () => (this.sure = true), {
                id: 'steady-press',
                reason: amps > 0 ? this.#whyNot() : say.number,
              })}
            </p>`
      }
      ${mine && run.outcome !== null ? html`<p role="status">${run.outcome.reason}</p>` : nothing}
      <p class="error" role="alert">${this.error}</p>`;
  }
}
