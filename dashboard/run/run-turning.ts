/** Reminders to turn the piece: set, due, done. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LiveRun } from '../../daemon/wire/bench.ts';
import { ApiError, command } from '../api.ts';
import { button, NightElement } from '../element.ts';
import { duration } from '../format.ts';
import { alarmWords } from '#words/alarm';
import { words } from '#words/common';
import { runWords } from '#words/run';

const say = runWords.turning;
const usualMinutes = 60;

export class RunTurning extends NightElement {
  static override properties = {
    tankId: {},
    run: { attribute: false },
    blocked: {},
    error: { state: true },
  };
  declare tankId: string;
  declare run: LiveRun;
  declare blocked: string;
  declare error: string;
  #minutes = String(usualMinutes);

  constructor() {
    super();
    this.tankId = '';
    this.blocked = '';
    this.error = '';
  }

  async #send(action: string, more: object): Promise<void> {
    this.error = '';
    const { id: runId, version } = this.run;
    try {
      const path = `/api/tanks/${encodeURIComponent(this.tankId)}/${action}`;
      await command(path, { runId, version, ...more });
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
  }

  #set(event: Event): void {
    event.preventDefault();
    if (this.blocked !== '') return;
    const everyMinutes = Number(this.#minutes);
    if (!(everyMinutes >= 5 && everyMinutes <= 1440)) this.error = say.bounds;
    else void this.#send('turning', { everyMinutes });
  }

  #form(): TemplateResult {
    return html`<form class="change-field" @submit=${(event: Event) => this.#set(event)}>
      <label for="turn-minutes">${say.every}</label>
      <span class="with-unit">
        <input
          id="turn-minutes"
          inputmode="numeric"
          autocomplete="off"
          .value=${this.#minutes}
          @input=${(event: Event) => (this.#minutes = (event.target as HTMLInputElement).value)}
        />
        <span>${say.minutes}</span>
      </span>
      <button type="submit" class="quiet" aria-disabled=${this.blocked !== ''}>${say.set}</button>
    </form>`;
  }

  override render(): TemplateResult {
    const { turning } = this.run;
    return html`<section class="turning" aria-labelledby="turning-title">
      <h2 id="turning-title">${say.title}</h2>
      ${
        turning
          ? html`<p class=${turning.isDue ? 'due' : ''} role="status">
                ${turning.isDue ? alarmWords.turn : say.next(duration(turning.dueInMs))}
                <span class="aside">${say.tally(turning.done, turning.missed)}</span>
              </p>
              <div class="actions">
                ${button(alarmWords.turned, () => void this.#send('turned', {}), {
                  reason: this.blocked,
                  id: 'turned-why',
                  strong: turning.isDue,
                })}
                ${button(say.never, () => void this.#send('turning', { everyMinutes: null }), {
                  reason: this.blocked === '' ? '' : ' ',
                })}
              </div>`
          : this.#form()
      }
      ${turning ? nothing : html`<p class="why">${this.blocked}</p>`}
      <p class="error" role="alert">${this.error}</p>
    </section>`;
  }
}
