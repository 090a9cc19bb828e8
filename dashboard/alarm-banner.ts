/** One banner for what is wrong: the first cause, what it means, what to do. */

import { html, nothing, svg, type SVGTemplateResult } from 'lit';
import type { Alarm } from '../daemon/wire/run.ts';
import { goingOn, mostFollowers, standing } from './alarm-order.ts';
import { access } from './access.ts';
import { ApiError, command } from './api.ts';
import { connection } from './connection.ts';
import { isSecondClick } from './element.ts';
import { LiveElement } from './live-element.ts';
import { clockSeconds, pretty } from './format.ts';
import { words } from '#words/common';

type Priority = Alarm['priority'];

/** Each priority has a shape of its own: a bar broken in two, a bar half filled, an open bar. */
export function alarmShape(priority: Priority): SVGTemplateResult {
  const shapes: Readonly<Record<Priority, SVGTemplateResult>> = {
    stopped: svg`<path class="fill" d="M2 5h9l-3 14h-6zM15 5h7v14h-10z" />`,
    'act-soon': svg`<path class="line" d="M2.5 5.5h19v13h-19z" /><path class="fill" d="M2 12h20v7h-20z" />`,
    note: svg`<path class="line" d="M2.5 8.5h19v7h-19z" />`,
  };
  return svg`<svg class="shape" viewBox="0 0 24 24" aria-hidden="true">${shapes[priority]}</svg>`;
}

/** What came after the first cause. An output that is not confirmed off brings its remedy along. */
function followers(others: readonly Alarm[]): unknown {
  if (others.length === 0) return nothing;
  return html`<ul class="followers">
    ${others
      .slice(0, mostFollowers)
      .map(
        ({ code, found, remedy }) =>
          html`<li>
            ${pretty(found)}
            ${code === 'offUnconfirmed' ? html`<strong>${remedy}</strong>` : nothing}
          </li>`,
      )}
  </ul>`;
}

/** What somebody has taken on already, while it goes on: its words, without a sound or a button. */
function quietLine(alarm: Alarm): unknown {
  const { priority, found, remedy, acknowledgedWallMs } = alarm;
  const tank = connection.tank(alarm.tankId)?.name ?? alarm.tankId;
  return html`<li class=${priority}>
    <p class="what">
      ${alarmShape(priority)}
      <span>${words.alarm.priorities[priority]}: ${tank}</span>
      <span class="aside">${words.alarm.goesOn(clockSeconds(acknowledgedWallMs ?? 0))}</span>
    </p>
    <p>${pretty(found)}</p>
    <p class="aside">${words.alarm.remedy}: ${remedy}</p>
  </li>`;
}

function quietLines(alarms: readonly Alarm[]): unknown {
  if (alarms.length === 0) return nothing;
  return html`<section class="alarms-going-on" aria-label=${words.alarm.goingOn}>
    <ul>
      ${alarms.map(quietLine)}
    </ul>
  </section>`;
}

export class AlarmBanner extends LiveElement {
  #error = '';

  async #acknowledge(alarm: Alarm, event: Event): Promise<void> {
    // The next alarm may stand there already, unread.
    if (isSecondClick(event)) return;
    this.#error = '';
    try {
      await command(`/api/alarms/${alarm.id}/acknowledge`);
    } catch (error) {
      this.#error = error instanceof ApiError ? error.message : words.failed;
    }
    this.requestUpdate();
  }

  override render(): unknown {
    const tanks = connection.bench?.tanks ?? [];
    const asking = this.#asking(standing(tanks.flatMap(({ alarms }) => alarms)));
    return html`${asking}${quietLines(goingOn(tanks.flatMap((tank) => tank.quietAlarms ?? [])))}`;
  }

  #asking([first, ...others]: readonly Alarm[]): unknown {
    if (!first) return nothing;
    const tank = connection.tank(first.tankId)?.name ?? first.tankId;
    return html`<section
      class="alarm ${first.priority}"
      role=${first.priority === 'stopped' ? 'alert' : 'status'}
    >
      <p class="what">
        ${alarmShape(first.priority)}
        <strong>${words.alarm.priorities[first.priority]}: ${tank}</strong>
        <span class="aside">
          ${clockSeconds(first.wallMs)}
          ${others.length > 0 ? words.alarm.more(others.length) : nothing}
        </span>
      </p>
      <p>${pretty(first.found)}</p>
      <p><b>${words.alarm.cause}:</b> ${first.cause}</p>
      <p><b>${words.alarm.remedy}:</b> ${first.remedy}</p>
      ${
        first.clearedWallMs === null
          ? nothing
          : html`<p>${words.alarm.ended(clockSeconds(first.clearedWallMs))}</p>`
      }
      ${followers(others)}
      ${
        access.may('control')
          ? html`<button
              type="button"
              @click=${(event: Event) => void this.#acknowledge(first, event)}
            >
              ${words.alarm.acknowledge}
            </button>`
          : html`<p class="aside">${access.whyNot('control')}</p>`
      }
      <span class="why">${this.#error}</span>
    </section>`;
  }
}
