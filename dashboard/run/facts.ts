/** What a run page says in numbers and at the end of a run. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LiveRun, TankSnapshot } from '../../daemon/wire/bench.ts';
import { standing } from '../alarm-order.ts';
import { fact, figure } from '../element.ts';
import { explained } from '../explained-term.ts';
import * as format from '../format.ts';
import { addresses } from '../route.ts';
import type { RunFolder } from '../runs.ts';
import { growthStrip } from '../tank-lines.ts';
import { density } from '../units.ts';
import { words } from '#words/common';
import { runNowWords } from '#words/run-now';

/** The largest thing on the page: the thickness with its range. */
export function runThickness(run: LiveRun): TemplateResult {
  const { value, low, high } = run.thicknessMicrometres;
  const target = format.targetThickness(run.targetMicrometres);
  return html`<div class="thickness">
    <p class="big">${figure(format.thickness(value))}</p>
    <p class="aside">${runNowWords.range(format.thicknessRange(low, high), target)}</p>
    ${growthStrip(value, run.targetMicrometres)}
  </div>`;
}

/** The numbers of now, each with what it is to be held against. */
export function runFacts(tank: TankSnapshot, run: LiveRun, folder: RunFolder): TemplateResult {
  const { reading } = tank;
  const limit = folder.record?.plan.limits.maxVolts;
  const started = run.startedWallMs;
  const none = html`<span class="figure">${format.noFigure}</span>`;
  const text = format.withUnit;
  return html`<dl class="facts">
    ${fact(
      runNowWords.left,
      run.remainingMs === null
        ? none
        : html`<span class="figure">${format.duration(run.remainingMs)}</span>`,
      run.endsWallMs === null ? '' : runNowWords.ends(format.clock(run.endsWallMs)),
    )}
    ${fact(
      runNowWords.elapsed,
      html`<span class="figure">${format.duration(run.elapsedMs)}</span>`,
      started === null ? '' : runNowWords.from(format.clock(started)),
    )}
    ${fact(
      runNowWords.current,
      reading ? figure(format.amps(reading.amps)) : none,
      runNowWords.wanted(text(format.amps(run.wantedAmps))),
    )}
    ${fact(
      runNowWords.voltage,
      reading ? figure(format.volts(reading.volts)) : none,
      limit ? runNowWords.limit(text(format.volts(limit))) : '',
    )}
    ${fact(
      explained('ampHours', runNowWords.charge),
      figure(format.ampHours(run.ampHours)),
      runNowWords.of(text(format.ampHours(run.targetAmpHours))),
    )}
    ${fact(explained('density', runNowWords.density), figure(density(run.densityAmpsPerDm2)))}
    ${fact(runNowWords.mass, figure(format.mass(run.massGrams)))}
    ${fact(runNowWords.area, figure({ text: format.threeDigits(run.areaDm2), unit: 'dm²' }))}
  </dl>`;
}

/** After the end: why, and what can be done next. */
export function runEnding(tank: TankSnapshot, run: LiveRun, folder: RunFolder): unknown {
  const { outcome } = run;
  if (!outcome) return nothing;
  const alarm = folder.alarms.find(({ code }) => code === outcome.faultCode);
  // While it stands unacknowledged the banner says the same.
  const shown = standing(tank.alarms).some(({ id }) => id === alarm?.id);
  const resumable = outcome.end === 'stopped' || outcome.end === 'interrupted';
  return html`<div class="ending">
    ${
      alarm && !shown
        ? html`<p><b>${words.alarm.cause}:</b> ${alarm.cause}</p>
            <p><b>${words.alarm.remedy}:</b> ${alarm.remedy}</p>`
        : nothing
    }
    <div class="actions">
      ${
        resumable
          ? html`<a class="press-link" href=${addresses.carryOn(run.id)}>${runNowWords.carryOn}</a>`
          : nothing
      }
      <a class="press-link" href=${addresses.weighIn(run.id)}>${runNowWords.weighIn}</a>
      <a class="press-link" href=${addresses.replay(run.id)}>${runNowWords.replay}</a>
      <a class="press-link" href=${addresses.report(run.id)}>${runNowWords.report}</a>
      <a class="press-link" href=${addresses.planOn(tank.id)}>${runNowWords.another}</a>
    </div>
    ${resumable ? html`<p class="aside">${runNowWords.carryOnNote}</p>` : nothing}
  </div>`;
}
