/** The piece and the plan of a run as tables for paper. */

import { html, nothing, type TemplateResult } from 'lit';
import type { RunRecord } from '../../daemon/wire/run.ts';
import type { Stage } from '../../daemon/run/model.ts';
import * as format from '../format.ts';
import { plannedDensity, plannedDensityText, toldOfNotice } from '../units.ts';
import { words } from '#words/common';
import { shortened } from './report-content.ts';
import { reportWords } from '#words/report';

/** What a report needs to know of a kind of part; as `/api/parts` has it. */
export interface PartKind {
  readonly kind: string;
  readonly title: string;
  readonly fields: readonly {
    readonly name: string;
    readonly label: string;
    readonly unit: string;
    readonly choices?: readonly { readonly value: number; readonly label: string }[];
  }[];
}

type Part = RunRecord['plan']['request']['piece']['parts'][number];

const mostParts = 8;
const mostNotices = 4;
const nameLetters = 40;
const noticeLetters = 200;

const unitSigns: Readonly<Record<string, string>> = {
  mm: ' mm',
  mm2: ' mm²',
  mm3: ' mm³',
  degrees: '°',
};

function sizeText(kind: PartKind | undefined, name: string, value: number): string {
  const field = kind?.fields.find((one) => one.name === name);
  if (field === undefined) return `${name} ${format.exact(value)}`;
  const choice = field.choices?.find((one) => one.value === value);
  if (choice !== undefined) return `${field.label} ${choice.label}`;
  if (field.unit === 'share') return `${field.label} ${format.plain(value * 100, 3)} %`;
  return `${field.label} ${format.plain(value, 4)}${unitSigns[field.unit] ?? ''}`;
}

function partRow(part: Part, kinds: readonly PartKind[]): TemplateResult {
  const kind = kinds.find((one) => one.kind === part.kind);
  const sizes = Object.entries(part.sizes).map(([name, value]) => sizeText(kind, name, value));
  return html`<tr>
    <th scope="row">${shortened(part.label, nameLetters)}</th>
    <td>${kind?.title ?? part.kind}</td>
    <td>${shortened(format.list(sizes), 110)}</td>
    <td>${part.count}</td>
    <td>${reportWords.ofShare(format.plain(part.platedFraction * 100, 3))}</td>
  </tr>`;
}

export function pieceTable(record: RunRecord, kinds: readonly PartKind[]): TemplateResult {
  const { parts } = record.plan.request.piece;
  const { name, kind, sizes, count, plated } = reportWords.part;
  return html`<section>
    <h2>${reportWords.piece}</h2>
    <table class="parts">
      <thead>
        <tr>
          ${[name, kind, sizes, count, plated].map((text) => html`<th scope="col">${text}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${parts.slice(0, mostParts).map((part) => partRow(part, kinds))}
      </tbody>
    </table>
    ${
      parts.length > mostParts
        ? html`<p class="aside">${reportWords.moreParts(parts.length - mostParts)}</p>`
        : nothing
    }
  </section>`;
}

function stageRow(stage: Stage): TemplateResult {
  const { kind, startAmpsPerDm2: from, endAmpsPerDm2: to, durationMs } = stage;
  const lasts = format.duration(durationMs);
  return html`<tr>
    <th scope="row">${words.stages[kind]}</th>
    <td>
      ${
        from === to
          ? plannedDensityText(from)
          : reportWords.upTo(plannedDensity(from).text, plannedDensityText(to))
      }
    </td>
    <td>${kind === 'hold' ? reportWords.untilTarget(lasts) : lasts}</td>
  </tr>`;
}

export function planTable({ plan }: RunRecord): TemplateResult {
  const { limits, stages, notices, request } = plan;
  const { name, density, lasts } = reportWords.stage;
  const text = format.withUnit;
  const grave = notices.filter(({ severity }) => severity !== 'note').slice(0, mostNotices);
  return html`<section class="plan">
    <h2>${reportWords.plan}</h2>
    <table>
      <thead>
        <tr>
          ${[name, density, lasts].map((title) => html`<th scope="col">${title}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${stages.filter(({ durationMs }) => durationMs > 0).map(stageRow)}
      </tbody>
    </table>
    <p>
      ${reportWords.paint(words.paints[request.paint])}
      ${format.pretty(
        reportWords.limits(
          text(format.amps(limits.maxAmps)),
          text(format.volts(limits.maxVolts)),
          format.duration(limits.maxDurationMs),
          text(format.ampHours(limits.maxChargeAmpHours)),
        ),
      )}
    </p>
    ${
      grave.length === 0
        ? nothing
        : html`<h3>${reportWords.notices}</h3>
            <ul>
              ${grave.map(
                (one) => html`<li>${shortened(toldOfNotice(one.message, one), noticeLetters)}</li>`,
              )}
            </ul>`
    }
  </section>`;
}
