/** Wire gauges: American by the formula of ASTM B258, and the British Standard Wire Gauge. */

import { found, quoted, refused } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOf, tidied } from './typed-numbers.ts';

/** American Wire Gauge, or Standard Wire Gauge. */
export type GaugeScaleId = 'awg' | 'swg';

const mmPerInch = 25.4;

// Thickest gauge in reach: 4/0.
const thickestAwg = -3;

// Thinnest gauge in reach.
const thinnestAwg = 40;

// B258 fixes two sizes, 0.0050 in at 36 and 0.4600 in at 4/0, and 39 equal steps of ratio between them.
const diameterMmAt36 = 0.127;
const ratio = 0.46 / 0.005;
const stepsBetween = 39;

/**
 * Diameter, mm, of a whole gauge from -3 (4/0) to 40; throws RangeError outside. AWG is for
 * non-ferrous wire; steel binding wire uses other gauges. Source: ASTM B258.
 */
export function diameterMmFromAwg(gauge: number): number {
  if (!Number.isInteger(gauge) || gauge < thickestAwg || gauge > thinnestAwg) {
    throw new RangeError(
      `gauge is ${gauge}; it must be a whole number from ${thickestAwg} (4/0) to ${thinnestAwg}`,
    );
  }
  return diameterMmAt36 * ratio ** ((36 - gauge) / stepsBetween);
}

/**
 * Gauge of a wire by its diameter, mm, as a real number: the exact inverse of the formula, to be
 * rounded for the nearest gauge. Throws RangeError for wire thicker than 4/0 or thinner than 40,
 * with half a gauge of grace on either side.
 */
export function awgFromDiameterMm(diameterMm: number): number {
  const gauge = 36 - stepsBetween * (Math.log(diameterMm / diameterMmAt36) / Math.log(ratio));
  if (!(gauge >= thickestAwg - 0.5 && gauge <= thinnestAwg + 0.5)) {
    const thick = diameterMmFromAwg(thickestAwg).toFixed(2);
    const thin = diameterMmFromAwg(thinnestAwg).toFixed(3);
    throw new RangeError(
      `diameterMm is ${diameterMm}; it must be a diameter between 40 AWG, ${thin} mm, ` +
        `and 4/0 AWG, ${thick} mm`,
    );
  }
  return gauge;
}

// Thousandths of an inch from 7/0 to 50. BS 3737 itself was not opened: the figures are from memory.
const swgMils = [
  500, 464, 432, 400, 372, 348, 324, 300, 276, 252, 232, 212, 192, 176, 160, 144, 128, 116, 104, 92,
  80, 72, 64, 56, 48, 40, 36, 32, 28, 24, 22, 20, 18, 16.4, 14.8, 13.6, 12.4, 11.6, 10.8, 10, 9.2,
  8.4, 7.6, 6.8, 6, 5.2, 4.8, 4.4, 4, 3.6, 3.2, 2.8, 2.4, 2, 1.6, 1.2, 1,
];

// Thickest gauge of the table: 7/0.
const thickestSwg = -6;
const thinnestSwg = 50;

/**
 * Diameter, mm, of a whole Standard Wire Gauge from -6 (7/0) to 50; throws RangeError outside.
 * Source: BS 3737 (withdrawn), from memory.
 */
export function diameterMmFromSwg(gauge: number): number {
  const mils = Number.isInteger(gauge) ? swgMils[gauge - thickestSwg] : undefined;
  if (mils === undefined) {
    throw new RangeError(
      `gauge is ${gauge}; it must be a whole number from ${thickestSwg} (7/0) to ${thinnestSwg}`,
    );
  }
  return (mils / 1000) * mmPerInch;
}

/** A gauge scale as data; `thickest` and `thinnest` are gauge numbers, 0 and below being 1/0, 2/0. */
export interface GaugeScale {
  readonly id: GaugeScaleId;
  readonly name: string;
  readonly thickest: number;
  readonly thinnest: number;
  readonly source: string;
  readonly note: string;
}

/** The gauge scales of the bench. */
export const gaugeScales: readonly GaugeScale[] = [
  {
    id: 'awg',
    name: 'AWG',
    thickest: thickestAwg,
    thinnest: thinnestAwg,
    source: 'ASTM B258',
    note: 'For non-ferrous wire only; steel binding wire has other gauges.',
  },
  {
    id: 'swg',
    name: 'SWG',
    thickest: thickestSwg,
    thinnest: thinnestSwg,
    source: 'BS 3737 (withdrawn), from memory',
    note: 'The British gauge; from number 1 on it is a thicker wire than the same number in AWG.',
  },
];

function scaleOf(id: GaugeScaleId): GaugeScale {
  const scale = gaugeScales.find((one) => one.id === id);
  if (scale === undefined) throw new RangeError(`scale is ${id}; it must be awg or swg`);
  return scale;
}

/** Diameter, mm, of a whole gauge of either scale; throws RangeError outside the scale. */
export function diameterMmFromGauge(scale: GaugeScaleId, gauge: number): number {
  return scaleOf(scale).id === 'awg' ? diameterMmFromAwg(gauge) : diameterMmFromSwg(gauge);
}

/** A gauge as it is written: `18 AWG`, `4/0 AWG`. */
export function gaugeLabel(scale: GaugeScaleId, gauge: number): string {
  const { name } = scaleOf(scale);
  const ought = scale === 'swg' && gauge === 0 ? '0' : `${1 - gauge}/0`;
  return `${gauge > 0 ? gauge : ought} ${name}`;
}

/** The gauge next to a diameter. Lengths in mm. */
export interface NearestGauge {
  readonly scale: GaugeScaleId;
  readonly gauge: number;
  readonly label: string;
  readonly diameterMm: number;
  /** The diameter asked about less that of the gauge. */
  readonly differenceMm: number;
  /** `20 AWG`, or `20 AWG, 0.02 mm thicker`. */
  readonly words: string;
}

/**
 * The gauge whose wire comes nearest to a diameter, mm, by its ratio; null for a wire more than 10 %
 * off the ends of the scale. Throws RangeError unless the diameter is finite and above 0.
 */
export function nearestGauge(scale: GaugeScaleId, diameterMm: number): NearestGauge | null {
  if (!(Number.isFinite(diameterMm) && diameterMm > 0)) {
    throw new RangeError(`diameterMm is ${diameterMm}; it must be a finite number above 0`);
  }
  const { thickest, thinnest } = scaleOf(scale);
  let gauge = thickest;
  const away = (candidate: number) =>
    Math.abs(Math.log(diameterMm / diameterMmFromGauge(scale, candidate)));
  for (let next = thickest + 1; next <= thinnest; next += 1) {
    if (away(next) < away(gauge)) gauge = next;
  }
  if (away(gauge) > Math.log(1.1) && (gauge === thickest || gauge === thinnest)) return null;
  const ofGauge = diameterMmFromGauge(scale, gauge);
  const differenceMm = diameterMm - ofGauge;
  const label = gaugeLabel(scale, gauge);
  const shown = Math.abs(differenceMm).toFixed(ofGauge < 0.2 ? 3 : 2);
  const off =
    Number(shown) === 0 ? '' : `, ${shown} mm ${differenceMm > 0 ? 'thicker' : 'thinner'}`;
  return { scale, gauge, label, diameterMm: ofGauge, differenceMm, words: `${label}${off}` };
}

const gaugeText = /^(?:gauge |ga |g |no\.? ?|#)?(\d{1,2}|[1-7]\/0|0{1,7})(?: ?(?:gauge|ga|g))?$/;

/**
 * A gauge number from typed text: `18`, `18 AWG`, `18 ga`, `AWG 18`, `4/0`, `0000`. `field` is the
 * name used in the refusal.
 */
export function parseGauge(scale: GaugeScaleId, text: string, field = 'gauge'): Answer<number> {
  const { name, thickest, thinnest } = scaleOf(scale);
  const bound = `a whole ${name} gauge from ${1 - thickest}/0 to ${thinnest}`;
  const other = scale === 'awg' ? 'swg' : 'awg';
  const plain = tidied(text);
  if (plain.includes(other)) {
    const advice = `${other.toUpperCase()} is another gauge: choose it as the scale first.`;
    return refused(field, quoted(text), bound, advice);
  }
  const number = gaugeText.exec(plain.replace(scale, '').replaceAll(/\s+/g, ' ').trim())?.[1];
  if (number === undefined) return refused(field, quoted(text), bound);
  const gauge = gaugeNumber(number);
  if (gauge < thickest || gauge > thinnest) return refused(field, quoted(text), bound);
  return found(gauge);
}

/** 4/0 and 0000 are gauge -3; 1/0 and 0 are gauge 0. */
function gaugeNumber(text: string): number {
  if (text.endsWith('/0')) return 1 - Number(text.slice(0, -2));
  if (/^0+$/.test(text)) return 1 - text.length;
  return Number(text);
}

// Wider than any bar a bench would hold, mm; thinner than any wire of the scales, mm.
const widestMm = 100;
const thinnestMm = 0.01;

/**
 * Diameter, mm, of a wire from typed text: `0.8 mm`, `0.032 in`, `20 AWG`, `21 SWG`. A bare number
 * is refused, since 18 may be a gauge and a diameter; so is a bare gauge, whose scale is not said.
 */
export function parseWireDiameterMm(text: string, field = 'wireDiameter'): Answer<number> {
  const plain = tidied(text);
  const bound = `a size with its unit, such as "0.8 mm", "0.032 in", "20 AWG" or "21 SWG"`;
  for (const scale of gaugeScales) {
    if (!plain.includes(scale.id)) continue;
    const gauge = parseGauge(scale.id, text, field);
    return gauge.ok ? found(diameterMmFromGauge(scale.id, gauge.value)) : gauge;
  }
  const parts = /^(.*?) ?(mm|in|inch|inches|"|″)$/.exec(plain);
  const number = numberOf(parts?.[1] ?? '');
  if (parts === null || number === null) {
    const bare =
      numberOf(plain) === null ? '' : 'It may be millimetres, inches or a gauge: say which.';
    return refused(field, quoted(text), bound, bare);
  }
  const diameterMm = parts[2] === 'mm' ? number : number * mmPerInch;
  if (diameterMm < thinnestMm || diameterMm > widestMm) {
    return refused(field, quoted(text), `from ${thinnestMm} mm to ${widestMm} mm across`);
  }
  return found(diameterMm);
}
