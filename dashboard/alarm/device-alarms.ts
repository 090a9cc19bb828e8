/** Whether this device would call: its sound, armed by a press, and its notifications. */

import { html, nothing, type TemplateResult } from 'lit';
import { LiveElement } from '../live-element.ts';
import { addresses } from '../route.ts';
import { attention } from './attention.ts';
import { alarmWords as say } from '#words/alarm';

class DeviceAlarms extends LiveElement {
  static override properties = { brief: { type: Boolean }, told: { state: true } };
  /** Sound alone, in one line. */
  declare brief: boolean;
  declare told: string;

  constructor() {
    super();
    this.brief = false;
    this.told = '';
  }

  async #arm(): Promise<void> {
    this.told = (await attention.arm()) ? '' : say.refused;
  }

  async #test(): Promise<void> {
    this.told = '';
    this.told = (await attention.test()) ? say.tested : say.refused;
  }

  #sound(): TemplateResult {
    const { sound, testing } = attention;
    const armed = sound === 'armed';
    const told = testing === null ? this.told : say.testing(testing);
    return html`<p class="sound-state ${armed ? 'sounds' : ''}" role="status">
        <strong>${say.sound[sound]}</strong> <span class="aside">${told || say.volume}</span>
      </p>
      <div class="actions">
        ${
          armed
            ? html`<button type="button" class="quiet" @click=${() => attention.disarm()}>
                ${say.disarm}
              </button>`
            : html`<button
                type="button"
                ?disabled=${sound === 'missing'}
                @click=${() => void this.#arm()}
              >
                ${say.arm}
              </button>`
        }
        <button type="button" class="quiet" @click=${() => void this.#test()}>${say.test}</button>
        ${
          attention.asks.some(({ sound: one }) => one === 'away')
            ? html`<button type="button" class="quiet" @click=${() => attention.quietAway()}>
                ${say.quiet}
              </button>`
            : nothing
        }
      </div>`;
  }

  #notices(): TemplateResult {
    const { state } = attention.notices;
    return html`<p>${say.notifications[state]}</p>
      ${
        state === 'ask'
          ? html`<button type="button" class="quiet" @click=${() => void attention.notices.ask()}>
              ${say.allow}
            </button>`
          : nothing
      }
      ${
        state === 'address' || state === 'browser' || state === 'denied'
          ? html`<p class="aside">
              ${say.notifications.instead}
              <a href=${addresses.night}>${say.nightView}</a>
            </p>`
          : nothing
      }`;
  }

  override render(): TemplateResult {
    if (this.brief) return this.#sound();
    return html`<section class="device" aria-labelledby="device-title">
      <h2 id="device-title">${say.device}</h2>
      ${this.#sound()} ${this.#notices()}
    </section>`;
  }
}

/** Makes the element known; more than one page shows it. */
export function defineDeviceAlarms(): void {
  if (customElements.get('device-alarms') === undefined) {
    customElements.define('device-alarms', DeviceAlarms);
  }
}
