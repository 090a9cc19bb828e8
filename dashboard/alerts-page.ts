/** The Alerts page: who is told outside, a test that has to arrive, and the alarms so far. */

import { html, nothing, type TemplateResult } from 'lit';
import type { AlertChannel, AlertReadiness } from '../daemon/wire/alerts.ts';
import type { Alarm } from '../daemon/wire/run.ts';
import { access } from './access.ts';
import { AlarmHistory } from './alarm/history.ts';
import type { AlertDeliveries } from './alarm/deliveries.ts';
import { defineDeviceAlarms } from './alarm/device-alarms.ts';
import { alarmShape } from './alarm-banner.ts';
import { ApiError, command, read, readList } from './api.ts';
import { connection } from './connection.ts';
import { button, heading } from './element.ts';
import { dayAndTime as when, pretty } from './format.ts';
import { LiveElement } from './live-element.ts';
import { addresses } from './route.ts';
import { backoffMs } from './staleness.ts';
import { alertsWords as say } from '#words/alerts';
import { words } from '#words/common';

export class AlertsPage extends LiveElement {
  static override properties = {
    readiness: { state: true },
    channels: { state: true },
    turn: { state: true },
    unread: { state: true },
    told: { state: true },
    error: { state: true },
  };
  declare readiness: AlertReadiness | null;
  declare channels: readonly AlertChannel[] | null;
  /** Counts what the history of the alarms has become. */
  declare turn: number;
  /** Why the page could not be read; empty where it was. */
  declare unread: string;
  declare told: string;
  declare error: string;
  readonly #history = new AlarmHistory(() => (this.turn += 1));
  #again = 0;
  #failures = 0;
  #unlisten: (() => void) | null = null;

  constructor() {
    super();
    this.readiness = null;
    this.channels = null;
    this.turn = 0;
    this.unread = '';
    this.told = '';
    this.error = '';
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void import('./alarm/deliveries.ts');
    this.#unlisten = connection.listen({
      alarm: (alarm) => this.#history.hear(alarm),
      // After a gap the log knows what the socket missed.
      bench: () => void this.#readAnew(),
    });
    void this.#readAnew();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#unlisten?.();
    clearTimeout(this.#again);
  }

  async #attempt(work: () => Promise<void>): Promise<void> {
    this.error = '';
    try {
      await work();
    } catch (error) {
      this.told = '';
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
  }

  async #loadChannels(): Promise<void> {
    [this.channels, this.readiness] = await Promise.all([
      readList<AlertChannel>('/api/alerts/channels'),
      read<AlertReadiness>('/api/alerts/readiness'),
    ]);
  }

  /** What was read before stands until it can be read anew, which is tried until it is done. */
  async #readAnew(): Promise<void> {
    clearTimeout(this.#again);
    try {
      await Promise.all([this.#loadChannels(), this.#history.read()]);
      this.unread = '';
      this.#failures = 0;
    } catch (error) {
      const status = error instanceof ApiError ? error.status : 0;
      this.unread = error instanceof ApiError ? error.message : words.failed;
      // Who may not read it may not a moment later either.
      if (!this.isConnected || status === 401 || status === 403) return;
      clearTimeout(this.#again);
      this.#again = window.setTimeout(() => void this.#readAnew(), backoffMs(this.#failures));
      this.#failures += 1;
    }
  }

  #test(name: string): void {
    this.told = say.testing;
    void this.#attempt(async () => {
      const path = `/api/alerts/channels/${encodeURIComponent(name)}/test`;
      const { message = '' } = await command(path);
      this.told = message;
      await this.#loadChannels();
      await this.#deliveries?.reload();
    });
  }

  get #deliveries(): AlertDeliveries | null {
    return this.renderRoot.querySelector<AlertDeliveries>('alert-deliveries');
  }

  #confirm(event: Event): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const typed = new FormData(form).get('code');
    const code = typeof typed === 'string' ? typed.trim() : '';
    this.told = '';
    if (!/^\d{4}$/.test(code)) {
      this.error = say.badCode;
      return;
    }
    void this.#attempt(async () => {
      const { message = '' } = await command('/api/alerts/confirm', { code });
      this.told = message;
      form.reset();
      await this.#loadChannels();
      await this.#deliveries?.reload();
    });
  }

  #channel(channel: AlertChannel): TemplateResult {
    const { name, kind, target, leastPriority, deliveredWallMs, confirmedWallMs } = channel;
    const reason = access.may('control') ? '' : access.whyNot('control');
    return html`<li>
      <div>
        <h3>${name}</h3>
        <p class="aside">${say.kinds[kind]}: ${target}</p>
        <p class="aside">
          ${say.least[leastPriority]}
          ${deliveredWallMs === null ? say.neverDelivered : say.delivered(when(deliveredWallMs))}
          ${
            channel.outside
              ? confirmedWallMs === null
                ? say.neverArrived
                : say.arrived(when(confirmedWallMs))
              : nothing
          }
        </p>
        ${
          channel.lastError === null
            ? nothing
            : html`<p class="trouble">${say.trouble(channel.lastError)}</p>`
        }
      </div>
      ${button(say.test, () => this.#test(name), { reason, id: `test-${name.replaceAll(' ', '-')}` })}
    </li>`;
  }

  #arrived(): TemplateResult {
    return html`<form class="arrived" @submit=${(event: Event) => this.#confirm(event)}>
      <label for="alert-code">${say.code}</label>
      <input
        id="alert-code"
        name="code"
        inputmode="numeric"
        autocomplete="off"
        maxlength="4"
        aria-describedby="alert-code-help"
      />
      <button type="submit">${say.confirm}</button>
      <p class="aside" id="alert-code-help">${say.codeHelp}</p>
    </form>`;
  }

  #alarm(alarm: Alarm): TemplateResult {
    const tank = connection.tank(alarm.tankId)?.name ?? alarm.tankId;
    const { acknowledgedWallMs: acknowledged, clearedWallMs: cleared } = alarm;
    return html`<li>
      <p>
        ${alarmShape(alarm.priority)}
        <strong>${words.alarm.priorities[alarm.priority]}: ${tank}</strong>
        <span class="aside">${when(alarm.wallMs)}</span>
      </p>
      <p>${pretty(alarm.found)}</p>
      <p class="aside">
        ${cleared === null ? say.goesOn : say.ended(when(cleared))}
        ${acknowledged === null ? say.open : say.acknowledged(when(acknowledged))}
      </p>
    </li>`;
  }

  override render(): TemplateResult {
    const { channels, readiness, unread } = this;
    const { alarms, more } = this.#history;
    const list = channels ?? [];
    // All at once, so that nothing is pushed away by what comes later.
    if ((readiness === null || alarms === null) && unread === '') {
      return html`${heading(say.title)}
        <p class="aside">${words.loading}</p>`;
    }
    return html`${heading(say.title)}
      <p>${readiness?.sentence ?? ''}</p>
      <p role="status">${this.told}</p>
      <p class="error" role="alert">${this.error === '' ? unread : this.error}</p>
      <device-alarms></device-alarms>
      <h2>${say.channels}</h2>
      ${
        channels?.length === 0
          ? html`<p class="aside">
              ${say.none} <a href=${addresses.setupOf('alerts')}>${say.setUp}</a>
            </p>`
          : nothing
      }
      <ul class="channels">
        ${list.map((channel) => this.#channel(channel))}
      </ul>
      ${list.some(({ outside }) => outside) ? this.#arrived() : nothing}
      ${list.length > 0 ? html`<alert-deliveries></alert-deliveries>` : nothing}
      <h2>${say.alarms}</h2>
      ${alarms?.length === 0 ? html`<p class="aside">${say.noAlarms}</p>` : nothing}
      <ol class="alarm-log">
        ${alarms?.map((alarm) => this.#alarm(alarm))}
      </ol>
      ${
        more
          ? html`<button
              type="button"
              @click=${() => void this.#attempt(() => this.#history.readOlder())}
            >
              ${say.older}
            </button>`
          : nothing
      }`;
  }
}

defineDeviceAlarms();
customElements.define('alerts-page', AlertsPage);
