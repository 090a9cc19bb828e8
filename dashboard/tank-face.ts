/** A tank at a glance: picture, state in words, thickness against target, time left, links. */

import { html, nothing, type TemplateResult } from 'lit';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { alarmShape } from './alarm-banner.ts';
import { standing, toldInBanner } from './alarm-order.ts';
import { connection } from './connection.ts';
import { figure } from './element.ts';
import { clock, duration, pretty, targetThickness, thickness } from './format.ts';
import { sensorLines } from './sensors.ts';
import { ringsFace } from './rings-picture.ts';
import { addresses } from './route.ts';
import { cabinet } from './runs.ts';
import { growthStrip, linkHealth, outputLine, simulatedLine } from './tank-lines.ts';
import { told } from './units.ts';
import { words } from '#words/common';
import { interruptedWords } from '#words/interrupted';
import { benchWords } from '#words/bench';

function picture({ run }: TankSnapshot): TemplateResult {
  const folder = run && cabinet.openLive(run);
  const input =
    run?.kind === 'probe'
      ? null
      : folder?.rings(run?.elapsedMs ?? 0, run?.thicknessMicrometres ?? zero);
  return html`<div class="portrait">
    ${input && run ? ringsFace(`face-${run.id}`, input) : html`<div class="blank"></div>`}
  </div>`;
}

const zero = { value: 0, low: 0, high: 0 };

function progress({ run }: TankSnapshot): unknown {
  if (!run) return nothing;
  if (run.kind === 'probe') return html`<p class="aside">${run.pieceName}</p>`;
  return html`<p class="aside">${run.pieceName}</p>
    <p class="grown">
      ${figure(thickness(run.thicknessMicrometres.value))}
      <span class="aside">${benchWords.of(targetThickness(run.targetMicrometres))}</span>
    </p>
    ${growthStrip(run.thicknessMicrometres.value, run.targetMicrometres)}
    <p class="time">
      ${
        run.remainingMs === null
          ? nothing
          : html`<span class="figure">${benchWords.left(duration(run.remainingMs))}</span>`
      }
      <span class="aside">
        ${run.endsWallMs === null ? nothing : benchWords.done(clock(run.endsWallMs))}
      </span>
    </p>`;
}

/** Of what the banner tells, only shape and word: found from across the room, and not read twice. */
function alarms(tank: TankSnapshot): unknown {
  const all = connection.bench?.tanks.flatMap((one) => one.alarms) ?? [];
  const inBanner = new Set(toldInBanner(all).map(({ id }) => id));
  return standing(tank.alarms).map(({ id, priority, found }, index) => {
    const word = words.alarm.priorities[priority];
    if (!inBanner.has(id)) {
      return html`<p class="alarm-line ${priority}">
        ${alarmShape(priority)} <span>${word}: ${pretty(found)}</span>
      </p>`;
    }
    // The gravest of a tank comes first, and the banner tells of no other one without it.
    if (index > 0) return nothing;
    return html`<p class="alarm-line alarm-mark ${priority}">
      ${alarmShape(priority)} <strong>${word}</strong>
    </p>`;
  });
}

function idleSentence({ id }: TankSnapshot): string {
  const waits = connection.bench?.interrupted.some(({ tankId }) => tankId === id) ?? false;
  return waits ? interruptedWords.idle : benchWords.idle;
}

/** The gravest thing that asks on a tank gives the whole of it its edge. */
function edge(tank: TankSnapshot): string {
  return standing(tank.alarms)[0]?.priority ?? '';
}

export function tankFace(tank: TankSnapshot, actions: unknown): TemplateResult {
  const { run, link } = tank;
  return html`<article class="tank ${edge(tank)}" aria-label=${tank.name}>
    <div class="head">
      <h2>${run ? html`<a href=${addresses.run(tank.id)}>${tank.name}</a>` : tank.name}</h2>
      ${simulatedLine(tank)}
      <p class="state-word">${run ? words.lifecycles[run.lifecycle] : benchWords.free}</p>
      <p class="sentence">${told(run?.sentence ?? idleSentence(tank))}</p>
      ${alarms(tank)}
    </div>
    ${picture(tank)}
    <div class="progress">${progress(tank)}</div>
    <div class="foot">
      <p class="aside">${outputLine(tank)}.</p>
      ${sensorLines(tank.sensors)}
      <p class="aside link ${link.state}">
        ${words.link[link.state]}${
          link.state === 'connected' ? html`. ${linkHealth(link)}` : html`: ${link.message}`
        }
      </p>
      <div class="actions">${actions}</div>
    </div>
  </article>`;
}
