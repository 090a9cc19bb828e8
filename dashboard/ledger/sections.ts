/** The sections of a bath's page: what is due, what is left, how hard it works, what was learned. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Symptom } from '../../daemon/chemistry/symptoms.ts';
import type { LedgerView } from '../../daemon/wire/ledger.ts';
import type { LiveSensor } from '../../daemon/wire/sensors.ts';
import { button, figure } from '../element.ts';
import { day, exact, fixed, plain, pretty, withUnit } from '../format.ts';
import { amountText, anodeGrams, anodeRange, chargeText, exactAmount } from './figures.ts';
import { celsiusOf } from './thermometer.ts';
import type { EntryDraft } from './entry-draft.ts';
import { ledgerWords as say } from '#words/ledger';

/** What a section can ask of its page. */
export interface Presses {
  /** Opens the form for an entry with this in it. */
  readonly enter: (part: Partial<EntryDraft>) => void;
  readonly changeFigures: () => void;
  readonly takeEfficiency: () => void;
  readonly takeBackEfficiency: () => void;
  /** Thermometers of the tank that holds this bath now. */
  readonly thermometers: readonly LiveSensor[];
  /** Why nothing can be changed; empty where it can. */
  readonly reason: string;
}

/** A section with its heading. */
export function titled(id: string, title: string, content: unknown): TemplateResult {
  return html`<section class="ledger-part" aria-labelledby=${id}>
    <h2 id=${id}>${title}</h2>
    ${content}
  </section>`;
}

type Addition = LedgerView['additions'][number];

function addition(one: Addition, { enter, reason }: Presses): TemplateResult {
  const { name, unit, due, dueAmount, dueAtAmpHours, lastWallMs, lastAmount, leftAmount } = one;
  const since = chargeText(one.ampHoursSince);
  const amount = amountText(dueAmount, unit);
  return html`<li class="addition ${due ? 'due' : ''}">
    <div>
      <h3>${name}</h3>
      <p class="stand">
        ${due ? say.additions.due(amount) : say.additions.notDue}
        <span class="aside">${due ? nothing : say.additions.dueAt(chargeText(dueAtAmpHours))}</span>
      </p>
      <p class="aside">
        ${
          lastWallMs === null
            ? say.additions.sinceFirst(since)
            : say.additions.since(since, day(lastWallMs), exactAmount(lastAmount ?? 0, unit))
        }
        ${leftAmount > 0 ? say.additions.left(amountText(leftAmount, unit)) : nothing}
        ${say.additions.rate(exactAmount(one.perAmpHour, unit))}
      </p>
    </div>
    ${button(
      say.additions.enter(name),
      () => {
        const dose = due ? plain(dueAmount, 2) : '';
        enter({ kind: 'addition', name, unit, amount: dose, planned: dose });
      },
      { reason, id: `add-${name.replaceAll(/\W/g, '-')}` },
    )}
  </li>`;
}

function carbon({ carbon: stand }: LedgerView, { enter, reason }: Presses): unknown {
  if (stand === null) return nothing;
  const now = plain(stand.ampHoursPerLitreSince, 2);
  const every = plain(stand.everyAmpHoursPerLitre, 3);
  return html`<li class="addition ${stand.due ? 'due' : ''}">
    <div>
      <h3>${say.carbon.title}</h3>
      <p class="stand">${stand.due ? say.carbon.due : say.carbon.notDue}</p>
      <p class="aside">
        ${
          stand.lastWallMs === null
            ? say.carbon.sinceFirst(now, every)
            : say.carbon.since(now, every, day(stand.lastWallMs))
        }
      </p>
    </div>
    ${button(say.carbon.enter, () => enter({ kind: 'upkeep', what: 'carbon' }), { reason, id: 'carbon-why' })}
  </li>`;
}

function sources({ additions, carbon: stand }: LedgerView): unknown {
  const told = [
    ...additions.map(({ name, source }) => [name, source] as const),
    ...(stand === null ? [] : [[say.carbon.title, stand.source] as const]),
  ].filter(([, source]) => source !== '');
  if (told.length === 0) return nothing;
  return html`<details>
    <summary>${say.additions.sources}</summary>
    <ul class="sources">
      ${told.map(([name, source]) => html`<li>${name}: ${pretty(source)}</li>`)}
    </ul>
  </details>`;
}

export function additionsSection(
  view: LedgerView,
  presses: Presses,
  form: unknown,
): TemplateResult {
  const { additions, ownFigures } = view;
  return titled(
    'additions-title',
    say.additions.title,
    html`<p class="aside">
        ${say.sheetWins} ${ownFigures ? say.additions.own : say.additions.usual}
      </p>
      ${additions.length === 0 ? html`<p>${say.additions.none}</p>` : nothing}
      <ul class="additions">
        ${additions.map((one) => addition(one, presses))} ${carbon(view, presses)}
      </ul>
      ${sources(view)}
      ${
        form === nothing
          ? button(say.additions.change, presses.changeFigures, {
              reason: presses.reason,
              id: 'change-why',
            })
          : form
      }`,
  );
}

export function anodesSection(view: LedgerView, { enter, reason }: Presses): TemplateResult {
  const { anode, anodes, metalGramsPerAmpHour: metal, acidGramsPerAmpHour: acid } = view;
  const rate = metal === null ? '' : `${fixed(metal, 2)} g`;
  const left =
    anode === null
      ? html`<p>${say.anodes.never}</p>`
      : html`<p class="stand">
            ${figure(anodeGrams(anode.leftGrams.value))}
            <span class="aside">${say.anodes.left(anodeRange(anode.leftGrams))}</span>
          </p>
          <p class="aside">
            ${say.anodes.since(
              chargeText(anode.ampHoursSince),
              day(anode.weighedWallMs),
              withUnit(anodeGrams(anode.weighedGrams)),
            )}
            ${
              anode.expectedGrams === null
                ? nothing
                : say.anodes.expected(
                    withUnit(anodeGrams(anode.expectedGrams.value)),
                    anodeRange(anode.expectedGrams),
                  )
            }
          </p>`;
  return titled(
    'anodes-title',
    say.anodes.title,
    anodes === 'insoluble'
      ? html`<p>${say.anodes.insoluble(rate, `${fixed(acid ?? 0, 2)} g`)}</p>`
      : html`${left}
          <p class="aside">${rate === '' ? nothing : say.anodes.rate(rate)}</p>
          ${button(say.anodes.enter, () => enter({ kind: 'anode' }), { reason, id: 'anode-why' })}`,
  );
}

function judged(
  celsius: number,
  { minCelsius, maxCelsius }: NonNullable<LedgerView['temperature']>,
): unknown {
  if (celsius >= minCelsius && celsius <= maxCelsius) return nothing;
  return html`<b>${celsius < minCelsius ? say.temperature.low : say.temperature.high};</b>`;
}

/** What a thermometer says now, offered for the record and never entered by itself. */
function thermometer(sensor: LiveSensor, { enter, reason }: Presses): TemplateResult {
  const { id, name, unit, value } = sensor;
  if (value === null) return html`<p class="aside">${say.temperature.silent(name)}</p>`;
  const celsius = celsiusOf(sensor);
  return html`<p>${say.temperature.now(name, exactAmount(value, unit))}</p>
    ${
      celsius === null
        ? nothing
        : button(
            say.temperature.take(exactAmount(celsius, '°C')),
            () =>
              enter({
                kind: 'temperature',
                celsius: String(celsius),
                note: say.temperature.bySensor(name),
              }),
            { reason, id: `sensor-${id}-why` },
          )
    }`;
}

export function temperatureSection(view: LedgerView, presses: Presses): TemplateResult {
  const { enter, reason, thermometers } = presses;
  const { temperature, entries } = view;
  const last = entries.find(({ entry }) => entry?.kind === 'temperature');
  const celsius = last?.entry?.kind === 'temperature' ? last.entry.celsius : null;
  const usual =
    temperature === null
      ? ''
      : say.temperature.usual(exact(temperature.minCelsius), exact(temperature.maxCelsius));
  return titled(
    'temperature-title',
    say.temperature.title,
    html`<p class="stand">
        ${
          celsius === null || last === undefined
            ? say.temperature.none
            : html`${figure({ text: exact(celsius), unit: '°C' })}
                <span class="aside">${day(last.atWallMs)}</span>`
        }
      </p>
      <p class="aside">
        ${celsius === null || temperature === null ? nothing : judged(celsius, temperature)}
        ${usual}
      </p>
      ${thermometers.map((sensor) => thermometer(sensor, presses))}
      ${button(say.temperature.enter, () => enter({ kind: 'temperature' }), { reason, id: 'temperature-why' })}`,
  );
}

export function symptomsSection(
  list: readonly Symptom[],
  chosen: Symptom | null,
  choose: (id: string) => void,
  { enter, reason }: Presses,
): TemplateResult {
  const select = html`<div class="field">
    <label for="symptom">${say.symptoms.choose}</label>
    <select
      id="symptom"
      @change=${(event: Event) => choose((event.target as HTMLSelectElement).value)}
    >
      <option value="" .selected=${chosen === null}>${say.symptoms.pick}</option>
      ${list.map(
        ({ id, name }) => html`<option value=${id} .selected=${id === chosen?.id}>${name}</option>`,
      )}
    </select>
  </div>`;
  return titled(
    'symptoms-title',
    say.symptoms.title,
    html`${select}
    ${
      chosen === null
        ? nothing
        : html`<p>${chosen.look}</p>
            <ul class="causes">
              ${chosen.causes.map(
                ({ cause, remedy, source }) =>
                  html`<li>
                    <p><b>${cause}</b> ${remedy}</p>
                    <p class="aside">${source}</p>
                  </li>`,
              )}
            </ul>
            <p class="aside">${say.symptoms.advice}</p>
            ${button(say.symptoms.enter, () => enter({ kind: 'symptom', symptom: chosen.id }), { reason, id: 'symptom-why' })}`
    }`,
  );
}
