/** What the plan comes to: the three numbers that decide, its notices, its stages, the rest. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import type { Notice, NoticeSeverity, Plan, Stage } from '../daemon/run/model.ts';
import { fact, fieldId, figure } from './element.ts';
import * as format from './format.ts';
import { words } from './words.ts';

const order: readonly NoticeSeverity[] = ['refuse', 'warn', 'note'];

/** The three numbers on which a start is decided. `nowMs` is the tank's own wall clock. */
export function decisiveNumbers(plan: Plan, nowMs: number): TemplateResult {
  const { holdStartAmps, holdEndAmps, thicknessMicrometres: grown, durationMs } = plan;
  const rises = Math.abs(holdEndAmps - holdStartAmps) > 0.0005;
  const text = (amps: number): string => `${format.amps(amps).text} A`;
  return html`<dl class="decisive">
    ${fact(
      words.plan.current,
      figure(format.amps(holdEndAmps)),
      rises ? words.plan.currentRise(text(holdStartAmps), text(holdEndAmps)) : '',
    )}
    ${fact(
      words.plan.ends,
      html`<span class="figure">${format.clock(nowMs + durationMs)}</span>`,
      words.plan.endsIn(format.duration(durationMs)),
    )}
    ${fact(
      words.plan.thickness,
      figure(format.thickness(grown.value)),
      format.thicknessRange(grown.low, grown.high),
    )}
  </dl>`;
}

function noticeView({ severity, message, value, bound, remedy, field }: Notice): TemplateResult {
  const found = format.pretty(words.plan.found(value, bound));
  return html`<li class="notice is-${severity}">
    <strong>${words.plan.severities[severity]}</strong>
    <span>${format.pretty(`${message} ${remedy}`)}</span>
    ${
      /^(piece|density|target|trickle|start|paint|tankId|bathId)/.test(field)
        ? html`<a class="aside" href="#${fieldId(field)}">${found}</a>`
        : html`<span class="aside">${found}</span>`
    }
  </li>`;
}

/** Notices, the gravest first. */
export function noticeList(notices: readonly Notice[]): unknown {
  if (notices.length === 0) return nothing;
  const sorted = notices.toSorted((a, b) => order.indexOf(a.severity) - order.indexOf(b.severity));
  return html`<ul class="notices">
    ${sorted.map(noticeView)}
  </ul>`;
}

/** Density against time, one stroke a stage. */
function profile(stages: readonly Stage[]): TemplateResult {
  const length = stages.reduce((sum, stage) => sum + stage.durationMs, 0);
  const most = Math.max(...stages.map((s) => Math.max(s.startAmpsPerDm2, s.endAmpsPerDm2)));
  const x = (ms: number): number => (300 * ms) / length;
  const y = (density: number): number => 44 - (40 * density) / most;
  let from = 0;
  const points = stages.flatMap((stage) => {
    const to = from + stage.durationMs;
    const pair = [`${x(from)} ${y(stage.startAmpsPerDm2)}`, `${x(to)} ${y(stage.endAmpsPerDm2)}`];
    from = to;
    return pair;
  });
  return html`<svg
    class="profile"
    viewBox="0 0 300 46"
    preserveAspectRatio="none"
    aria-hidden="true"
  >
    ${svg`<path class="base" d="M0 45H300" /><path d="M0 45L${points.join('L')}V45" />`}
  </svg>`;
}

function stageList(stages: readonly Stage[]): TemplateResult {
  return html`<ul class="stages">
    ${stages.map(({ kind, durationMs, startAmpsPerDm2, endAmpsPerDm2 }) => {
      const [from, to] = [startAmpsPerDm2, endAmpsPerDm2].map((value) => format.threeDigits(value));
      return html`<li>
        <strong>${words.stages[kind]}</strong> ${format.duration(durationMs)}
        <span class="aside">${from === to ? to : `${from} → ${to}`} A/dm²</span>
      </li>`;
    })}
  </ul>`;
}

const span = (low: string, high: string, unit: string): string => `${low} to ${high} ${unit}`;

/** The rest of the plan, folded away below what decides. */
export function planDetails(plan: Plan): TemplateResult {
  const { areaDm2, massGrams, expectedVolts, limits } = plan;
  const three = format.threeDigits;
  return html`<h3>${words.plan.stages}</h3>
    ${profile(plan.stages)} ${stageList(plan.stages)}
    <details>
      <summary>${words.plan.more}</summary>
      <dl class="facts">
        ${fact(
          words.plan.voltage,
          figure({ text: three(expectedVolts.value), unit: 'V' }),
          span(three(expectedVolts.low), three(expectedVolts.high), 'V'),
        )}
        ${fact(words.plan.charge, figure(format.ampHours(plan.targetChargeAmpHours)))}
        ${fact(
          words.plan.areaNow,
          figure({ text: three(areaDm2.value), unit: 'dm²' }),
          span(three(areaDm2.low), three(areaDm2.high), 'dm²'),
        )}
        ${fact(
          words.plan.mass,
          figure(format.mass(massGrams.value)),
          span(three(massGrams.low), three(massGrams.high), 'g'),
        )}
        ${fact(words.plan.anode, figure(format.mass(plan.anodeLossGrams)))}
        ${fact(words.plan.energy, figure({ text: three(plan.energyWattHours), unit: 'W·h' }))}
        ${fact(
          words.plan.cutsOut,
          `${three(limits.maxAmps)} A, ${three(limits.maxVolts)} V`,
          format.duration(limits.maxDurationMs),
        )}
      </dl>
    </details>`;
}
