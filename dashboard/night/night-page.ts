/** The Night view: what one wants to know at three in the morning, on a phone beside the bed. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LiveRun, TankSnapshot } from '../../daemon/wire/bench.ts';
import { defineDeviceAlarms } from '../alarm/device-alarms.ts';
import { connection } from '../connection.ts';
import { figure } from '../element.ts';
import { clock, duration, targetThickness, thickness } from '../format.ts';
import { LiveElement } from '../live-element.ts';
import { addresses } from '../route.ts';
import { growthStrip, isFree, outputLine, simulatedLine } from '../tank-lines.ts';
import { ScreenLock } from './screen-lock.ts';
import { told } from '../units.ts';
import { nightWords as say } from '#words/night';

/** Its clock goes on while nothing is heard of the bench, ms. */
const clockEveryMs = 5_000;

/** Tanks that somebody in bed thinks of: with a run under way, or with an output not known to be off. */
function awake(tanks: readonly TankSnapshot[]): readonly TankSnapshot[] {
  return tanks.filter((tank) => !isFree(tank) || tank.output !== 'confirmedOff');
}

/** The last run of a tank, where nothing is under way any more. */
function latest(tanks: readonly TankSnapshot[]): readonly TankSnapshot[] {
  return tanks.filter(({ run }) => run !== null);
}

function timeLeft({ remainingMs, endsWallMs }: LiveRun): unknown {
  if (remainingMs === null) return nothing;
  return html`${say.left(duration(remainingMs))}
    <span class="aside">${endsWallMs === null ? nothing : say.done(clock(endsWallMs))}</span>`;
}

export class NightPage extends LiveElement {
  #clock = 0;
  readonly #screen = new ScreenLock(() => this.requestUpdate());

  override connectedCallback(): void {
    super.connectedCallback();
    document.documentElement.dataset['night'] = '';
    this.#screen.start();
    this.#clock = window.setInterval(() => this.requestUpdate(), clockEveryMs);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    delete document.documentElement.dataset['night'];
    this.#screen.stop();
    clearInterval(this.#clock);
  }

  #tank(tank: TankSnapshot): TemplateResult {
    const { run } = tank;
    return html`<article class="night-tank" aria-label=${tank.name}>
      <p class="aside">${tank.name}${run ? html` · ${run.pieceName}` : nothing}</p>
      ${simulatedLine(tank)}
      ${
        run && run.kind === 'run'
          ? html`<p class="night-figure">
                ${figure(thickness(run.thicknessMicrometres.value))}
                <span class="aside">${say.of(targetThickness(run.targetMicrometres))}</span>
              </p>
              ${growthStrip(run.thicknessMicrometres.value, run.targetMicrometres)}
              <p class="night-time figure">${timeLeft(run)}</p>`
          : nothing
      }
      <p class="sentence">${run ? told(run.sentence) : nothing}</p>
      <p class="aside">${outputLine(tank)}.</p>
    </article>`;
  }

  #screenLine(): TemplateResult {
    const { state } = this.#screen;
    return html`<p class="aside screen" role="status">${say.screen[state]}</p>
      ${
        state === 'refused'
          ? html`<button type="button" class="quiet" @click=${() => void this.#screen.ask()}>
              ${say.again}
            </button>`
          : nothing
      }`;
  }

  override render(): TemplateResult {
    const tanks = connection.bench?.tanks ?? [];
    const shown = awake(tanks).length > 0 ? awake(tanks) : latest(tanks);
    return html`<div class="night-head">
        <h1 tabindex="-1" class="unseen">${say.title}</h1>
        <a href=${addresses.bench}>${say.leave}</a>
        <span class="night-clock">${clock(Date.now())}</span>
      </div>
      <div class="night-tanks ${shown.length > 1 ? 'several' : ''}">
        ${shown.map((tank) => this.#tank(tank))}
      </div>
      ${
        awake(tanks).length === 0 && connection.bench
          ? html`<p class="aside night-quiet">${say.quiet}</p>`
          : nothing
      }
      <device-alarms brief></device-alarms>
      ${this.#screenLine()}`;
  }
}

defineDeviceAlarms();
customElements.define('night-page', NightPage);
