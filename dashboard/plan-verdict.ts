/** What the plan comes to: the numbers that decide, its notices, its stages, its limits. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import type { NamedClosure } from '../daemon/run/closures.ts';
import type { Left } from '../daemon/run/left.ts';
import type { Notice, NoticeSeverity, Plan, Stage } from '../daemon/run/model.ts';
import { fact, fieldId, figure } from './element.ts';
import type { FormContext } from './form-field.ts';
import * as format from './format.ts';
import { accepting, acceptingMaterial } from './plan-accept.ts';
import { entryOf } from './plan-problems.ts';
import { densityLabel, perDensityUnit, toldOfNotice } from './units.ts';
import { words } from '#words/common';
import { planWords } from '#words/plan';

const order: readonly NoticeSeverity[] = ['refuse', 'warn', 'note'];

const ampsText = (amps: number): string => format.withUnit(format.amps(amps));
const ampHoursText = (ampHours: number): string => format.withUnit(format.ampHours(ampHours));

/** The facts of a run that carries on: what is left of its charge and of its time. */
function leftFacts(plan: Plan, left: Left): TemplateResult {
  const text = planWords.left;
  const { targetChargeAmpHours: whole } = plan;
  return html`${fact(
    text.charge,
    figure(format.ampHours(left.ampHours)),
    text.of(ampHoursText(whole), ampHoursText(whole - left.ampHours)),
  )}
  ${fact(
    text.time,
    html`<span class="figure">${format.duration(left.durationMs)}</span>`,
    text.ofTime(format.duration(plan.durationMs)),
  )}`;
}

/**
 * The numbers on which a start is decided, in places that are kept free for them. `nowMs` is the
 * tank's own wall clock; `left` is what remains where a run is carried on.
 */
export function decisiveNumbers(
  plan: Plan | null,
  nowMs: number,
  left: Left | null = null,
): TemplateResult {
  const none = html`<span class="figure">${format.noFigure}</span>`;
  if (!plan) {
    return html`<dl class="decisive">
      ${[planWords.current, planWords.ends, planWords.thickness].map((name) =>
        fact(name, none, html`&nbsp;`),
      )}
    </dl>`;
  }
  const { holdEndAmps, thicknessMicrometres: grown } = plan;
  const startAmps = left?.holdStartAmps ?? plan.holdStartAmps;
  const durationMs = left?.durationMs ?? plan.durationMs;
  const rises = Math.abs(holdEndAmps - startAmps) > 0.0005;
  return html`<dl class="decisive ${left ? 'with-left' : ''}">
    ${fact(
      planWords.current,
      figure(format.amps(holdEndAmps)),
      rises ? planWords.currentRise(ampsText(startAmps)) : '',
    )}
    ${fact(
      planWords.ends,
      html`<span class="figure">${format.clock(nowMs + durationMs)}</span>`,
      planWords.endsIn(format.duration(durationMs)),
    )}
    ${fact(
      planWords.thickness,
      figure(format.thickness(grown.value)),
      format.thicknessRange(grown.low, grown.high),
    )}
    ${left ? leftFacts(plan, left) : nothing}
  </dl>`;
}

/** Notes that have a place of their own on the page. */
const shownElsewhere: ReadonlySet<string> = new Set([
  'doubt',
  'evenness',
  'doneBy',
  'clocksChange',
  'contactReach',
  'trickle',
]);

/** Where notices stand beside the entries that can answer them. */
export interface Deciding {
  readonly form: FormContext;
  /** The openings of the piece. */
  readonly closures: readonly NamedClosure[];
}

/** Lets an opening that the plan refuses close after all, by its name; or no longer. */
function acceptance({ form, closures }: Deciding, { code, field }: Notice): unknown {
  const index = Number(/^piece\.parts\[(\d+)\]/.exec(field)?.[1] ?? Number.NaN);
  if (Number.isNaN(index)) return nothing;
  const closure = closures.find(({ partIndex }) => partIndex === index);
  const key = form.draft.piece.parts[index]?.key;
  if (closure === undefined || key === undefined) return nothing;
  const name = closure.acceptName;
  const { accept, takeBack, acceptNote } = planWords.closing;
  const button = (label: string, closes: boolean): TemplateResult =>
    html`<button
      type="button"
      class="quiet accept"
      data-part=${key}
      @click=${() => form.change((draft) => accepting(draft, key, closes), label)}
    >
      ${label}
    </button>`;
  if (code === 'boreCloses') {
    return html`${button(accept(name), true)} <span class="aside">${acceptNote}</span>`;
  }
  return code === 'closingAccepted' ? button(takeBack(name), false) : nothing;
}

/**
 * What gives off a poison is kept out of the bath. Where it has to go in, a first press shows what that
 * means, and only a second one accepts it.
 */
function poisonAcceptance({ form }: Deciding, plan: Plan, { code, field, value }: Notice): unknown {
  const index = Number(/^piece\.materials\[(\d+)\]/.exec(field)?.[1] ?? Number.NaN);
  const id = plan.request.piece.materials?.[index]?.id;
  if (id === undefined) return nothing;
  const name = value;
  const { hasToGoIn, caution, accept, takeBack } = planWords.poison;
  const button = (label: string, accepts: boolean): TemplateResult =>
    html`<button
      type="button"
      class="quiet accept"
      data-part="material-${id}"
      @click=${() => form.change((draft) => acceptingMaterial(draft, id, accepts), label)}
    >
      ${label}
    </button>`;
  if (code === 'poisonAccepted') return button(takeBack(name), false);
  if (code !== 'materialPoisons') return nothing;
  return html`<details class="poison">
    <summary>${hasToGoIn(name)}</summary>
    <p>${caution}</p>
    ${button(accept(name), true)}
  </details>`;
}

function noticeView(deciding: Deciding | null, plan: Plan, notice: Notice): TemplateResult {
  const { severity, message, value, bound, remedy, field } = notice;
  const found = toldOfNotice(planWords.found(value, bound), notice);
  const entry = deciding ? entryOf(field) : null;
  return html`<li class="notice is-${severity}">
    <strong>${planWords.severities[severity]}</strong>
    <span>${toldOfNotice(`${message} ${remedy}`, notice)}</span>
    ${
      entry === null
        ? html`<span class="aside">${found}</span>`
        : html`<a class="aside" href="#${fieldId(entry)}">${found}</a>`
    }
    ${deciding ? acceptance(deciding, notice) : nothing}
    ${deciding ? poisonAcceptance(deciding, plan, notice) : nothing}
  </li>`;
}

function listOf(
  deciding: Deciding | null,
  plan: Plan,
  notices: readonly Notice[],
  id?: string,
): unknown {
  if (notices.length === 0) return nothing;
  return html`<ul class="notices" id=${id ?? nothing} tabindex=${id ? -1 : nothing}>
    ${notices.map((notice) => noticeView(deciding, plan, notice))}
  </ul>`;
}

/** Where the reasons stand, for a link to lead there. */
export const reasonsId = 'plan-reasons';

/** Refusals and warnings, the gravest first; beside a form they lead to its fields. */
export function graveNotices(plan: Plan, deciding: Deciding | null = null): unknown {
  const grave = plan.notices
    .filter(({ severity }) => severity !== 'note')
    .toSorted((a, b) => order.indexOf(a.severity) - order.indexOf(b.severity));
  return listOf(deciding, plan, grave, reasonsId);
}

/** Notes that stand nowhere else on the page, folded away. */
export function noteSection(plan: Plan, deciding: Deciding): unknown {
  const notes = plan.notices.filter(
    ({ severity, code }) => severity === 'note' && !shownElsewhere.has(code),
  );
  if (notes.length === 0) return nothing;
  return html`<details class="fold">
    <summary><h3>${planWords.notes(notes.length)}</h3></summary>
    ${listOf(deciding, plan, notes)}
  </details>`;
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

const density = (ampsPerDm2: number): string => format.threeDigits(ampsPerDm2 / perDensityUnit());

/** The stages as a picture and a list. */
export function stageSection(stages: readonly Stage[]): TemplateResult {
  return html`<h3>${planWords.stages}</h3>
    ${profile(stages)}
    <ul class="stages">
      ${stages.map(({ kind, durationMs, startAmpsPerDm2, endAmpsPerDm2 }) => {
        const [from, to] = [startAmpsPerDm2, endAmpsPerDm2].map((value) => density(value));
        return html`<li>
          <strong>${words.stages[kind]}</strong> ${format.duration(durationMs)}
          <span class="aside">${from === to ? to : `${from} → ${to}`} ${densityLabel()}</span>
        </li>`;
      })}
    </ul>`;
}
