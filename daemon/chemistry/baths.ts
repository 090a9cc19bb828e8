/** Judges a bath's data: whether its figures agree with each other, and whether it may be run. */

import { meansCyanideBath } from './cyanide.ts';
import { metals } from './metals.ts';
import type { Bath } from './model.ts';

/** One thing wrong with a bath: the field by path, the value, the bound, and what to do. */
export interface BathProblem {
  readonly field: string;
  readonly value: string;
  readonly bound: string;
  readonly message: string;
}

const refusal =
  'names a cyanide bath. Acid and cyanide together give off hydrogen cyanide, which kills; ' +
  'such baths belong to licensed shops with their own controls, and this bench does not plan or ' +
  'run them. Local rules and licensed practice decide; choose a bath without cyanide.';

/**
 * Null where a name, id or note does not mean a cyanide bath; otherwise why it is refused. A bath
 * that says `non-cyanide` or `cyanide-free` is not refused.
 */
export function licensedBathRefusal(text: string): string | null {
  return meansCyanideBath(text) ? `"${text}" ${refusal}` : null;
}

interface Range {
  readonly field: string;
  readonly value: number;
  readonly min: number;
  readonly max: number;
  readonly unit: string;
}

// Widest figures any bath of this bench can have; beyond them a unit has slipped.
function ranges(bath: Bath): readonly Range[] {
  const { window, efficiency, temperature, conductivity, loading } = bath;
  const density = { min: 0.001, max: 100, unit: 'A/dm2' };
  const degrees = { min: 0, max: 100, unit: 'C' };
  return [
    { field: 'window.minAmpsPerDm2', value: window.minAmpsPerDm2, ...density },
    { field: 'window.typicalAmpsPerDm2', value: window.typicalAmpsPerDm2, ...density },
    { field: 'window.maxAmpsPerDm2', value: window.maxAmpsPerDm2, ...density },
    { field: 'efficiency.value', value: efficiency.value, min: 0.01, max: 1, unit: '' },
    { field: 'efficiency.uncertainty', value: efficiency.uncertainty, min: 0, max: 0.5, unit: '' },
    { field: 'temperature.minCelsius', value: temperature.minCelsius, ...degrees },
    { field: 'temperature.maxCelsius', value: temperature.maxCelsius, ...degrees },
    {
      field: 'conductivity.siemensPerMetre',
      value: conductivity.siemensPerMetre,
      min: 0.01,
      max: 100,
      unit: 'S/m',
    },
    {
      field: 'loading.maxAmpsPerLitre',
      value: loading.maxAmpsPerLitre,
      min: 0.001,
      max: 100,
      unit: 'A/L',
    },
  ];
}

function rangeProblems(bath: Bath): readonly BathProblem[] {
  return ranges(bath)
    .filter(({ value, min, max }) => !(value >= min && value <= max))
    .map(({ field, value, min, max, unit }) => {
      const bound = `${min} to ${max}${unit === '' ? '' : ` ${unit}`}`;
      const message = `${field} is ${value}; it must be ${bound}. Check the figure and its unit.`;
      return { field, value: String(value), bound, message };
    });
}

function outOfOrder(
  field: string,
  value: number,
  bound: 'at least' | 'at most',
  otherField: string,
  other: number,
): readonly BathProblem[] {
  const unit = field.endsWith('AmpsPerDm2') ? ' A/dm2' : ' °C';
  // Figures that are not numbers are reported by their range already.
  if (!(bound === 'at least' ? value < other : value > other)) {
    return [];
  }
  return [
    {
      field,
      value: String(value),
      bound: `${bound} ${other}${unit}, ${otherField}`,
      message: `${field} is ${value}${unit}; it must be ${bound} ${other}${unit}, which is ${otherField}.`,
    },
  ];
}

function orderProblems({ window, temperature }: Bath): readonly BathProblem[] {
  const { minAmpsPerDm2: least, typicalAmpsPerDm2: typical, maxAmpsPerDm2: most } = window;
  const { minCelsius, maxCelsius } = temperature;
  return [
    ...outOfOrder('window.maxAmpsPerDm2', most, 'at least', 'window.minAmpsPerDm2', least),
    ...outOfOrder('window.typicalAmpsPerDm2', typical, 'at least', 'window.minAmpsPerDm2', least),
    ...outOfOrder('window.typicalAmpsPerDm2', typical, 'at most', 'window.maxAmpsPerDm2', most),
    ...outOfOrder(
      'temperature.maxCelsius',
      maxCelsius,
      'at least',
      'temperature.minCelsius',
      minCelsius,
    ),
  ];
}

// The low end of the efficiency divides the charge to target, so it may not reach zero.
function spreadProblems({ efficiency: { value, uncertainty } }: Bath): readonly BathProblem[] {
  if (!(uncertainty >= value)) {
    return [];
  }
  const field = 'efficiency.uncertainty';
  const bound = `below efficiency.value, ${value}`;
  const message = `${field} is ${uncertainty}; it must be ${bound}.`;
  return [{ field, value: String(uncertainty), bound, message }];
}

function textProblems(bath: Bath): readonly BathProblem[] {
  const texts: readonly (readonly [string, string])[] = [
    ['id', bath.id],
    ['name', bath.name],
    ...bath.notes.map((note, index) => [`notes[${index}]`, note] as const),
  ];
  return texts.flatMap(([field, text]) => {
    const message = licensedBathRefusal(text);
    return message === null ? [] : [{ field, value: text, bound: 'no cyanide bath', message }];
  });
}

function sourceProblems(bath: Bath): readonly BathProblem[] {
  const figures = ['window', 'efficiency', 'temperature', 'conductivity', 'loading'] as const;
  return figures
    .filter((figure) => bath[figure].source.trim() === '')
    .map((figure) => ({
      field: `${figure}.source`,
      value: bath[figure].source,
      bound: 'not empty',
      message: `${figure}.source is empty; say where the figure was found, or "from memory".`,
    }));
}

function metalProblems({ metal }: Bath): readonly BathProblem[] {
  if (Object.hasOwn(metals, metal)) {
    return [];
  }
  const known = Object.keys(metals).join(', ');
  const message = `metal is "${metal}"; known metals are ${known}.`;
  return [{ field: 'metal', value: metal, bound: known, message }];
}

/**
 * Everything wrong with a bath, worst first: a cyanide bath by id, name or note; an unknown metal;
 * figures out of range or out of order; figures without a source. Empty for a sound bath.
 */
export function bathProblems(bath: Bath): readonly BathProblem[] {
  return [
    ...textProblems(bath),
    ...metalProblems(bath),
    ...rangeProblems(bath),
    ...orderProblems(bath),
    ...spreadProblems(bath),
    ...sourceProblems(bath),
  ];
}
