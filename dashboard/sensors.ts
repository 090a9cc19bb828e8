/** Sensors of a bath: one line each beside a tank, and one quiet curve each beside a run. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import type { LiveSensor, SensorTrace } from '../daemon/wire/sensors.ts';
import { exact, noFigure, pretty } from './format.ts';
import { sensorWords } from '#words/sensors';

/** Size of the picture's own units; it is stretched to its place. */
const wide = 600;
const high = 64;
/** A point of a live curve is added this often, as it is written to the log, ms. */
const pointEveryMs = 5_000;

function limits({ low, high: most, unit }: LiveSensor): string {
  if (low !== null && most !== null)
    return sensorWords.between(exact(low), `${exact(most)} ${unit}`);
  if (low !== null) return sensorWords.atLeast(`${exact(low)} ${unit}`);
  return most === null ? '' : sensorWords.atMost(`${exact(most)} ${unit}`);
}

/** Name and value of each sensor, with what is wrong; nothing where a tank has none. */
export function sensorLines(sensors: readonly LiveSensor[] | undefined): unknown {
  if (sensors === undefined || sensors.length === 0) return nothing;
  return html`<ul class="sensors">
    ${sensors.map(
      (sensor) =>
        html`<li class=${sensor.state}>
          <span>${sensor.name}</span>
          <b>${sensor.value === null ? noFigure : `${exact(sensor.value)} ${sensor.unit}`}</b>
          <span class="aside"
            >${sensor.value === null ? pretty(sensor.message) : limits(sensor)}${
              sensor.state === 'well' || sensor.state === 'missing'
                ? nothing
                : html` · ${sensorWords.states[sensor.state]}`
            }</span
          >
        </li>`,
    )}
  </ul>`;
}

/** The traces with the values of now added, where the last ones are old enough. */
export function withLive(
  traces: readonly SensorTrace[],
  sensors: readonly LiveSensor[] | undefined,
  atMs: number,
): readonly SensorTrace[] {
  let grown = traces;
  for (const { id, name, kind, unit, value } of sensors ?? []) {
    const trace = grown.find((one) => one.id === id);
    if (value === null || atMs - (trace?.atMs.at(-1) ?? -Infinity) < pointEveryMs) continue;
    const { atMs: times, values } = trace ?? { atMs: [], values: [] };
    const next = { id, name, kind, unit, atMs: [...times, atMs], values: [...values, value] };
    grown = [...grown.filter((one) => one !== trace), next];
  }
  return grown;
}

/** The course of a curve as points; a flat one lies in the middle. */
export function curvePoints({ atMs, values }: SensorTrace, endMs: number): string {
  const least = Math.min(...values);
  const most = Math.max(...values);
  const span = most - least || 1;
  return atMs
    .map((at, index) => {
      const share = most === least ? 0.5 : ((values[index] ?? least) - least) / span;
      const x = endMs > 0 ? (wide * at) / endMs : 0;
      return `${x.toFixed(1)},${(4 + (high - 8) * (1 - share)).toFixed(1)}`;
    })
    .join(' ');
}

/** A curve for each sensor that said anything; in a replay, up to where it stands. */
export function sensorCurves(
  traces: readonly SensorTrace[],
  endMs: number,
  playedMs: number | null,
): unknown {
  const heard = traces.filter(({ values }) => values.length > 0);
  if (heard.length === 0) return nothing;
  return html`<section class="sensor-curves" aria-labelledby="sensors-title">
    <h2 id="sensors-title">${sensorWords.title}</h2>
    ${heard.map((trace) => sensorCurve(trace, Math.max(endMs, trace.atMs.at(-1) ?? 0), playedMs))}
  </section>`;
}

function sensorCurve(trace: SensorTrace, endMs: number, playedMs: number | null): TemplateResult {
  const { name, unit, values } = trace;
  const played = playedMs === null || endMs <= 0 ? null : (wide * playedMs) / endMs;
  const range = sensorWords.range(
    exact(Math.min(...values)),
    `${exact(Math.max(...values))} ${unit}`,
  );
  return html`<figure>
    <figcaption>${name} <span class="aside">${range}</span></figcaption>
    <svg viewBox="0 0 ${wide} ${high}" preserveAspectRatio="none" aria-hidden="true">
      <polyline points=${curvePoints(trace, endMs)} />
      ${played === null ? nothing : svg`<line x1=${played} x2=${played} y1="0" y2=${high} />`}
    </svg>
  </figure>`;
}
