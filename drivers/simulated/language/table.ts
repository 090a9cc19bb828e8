/** What a command table is made of: patterns, typed parameters, and what each command does. */

import type { Supply } from '../supply.ts';
import type { ErrorQueue, ScpiError } from './errors.ts';
import { isError, type Parameter } from './message.ts';
import type { StatusRegisters } from './status.ts';

/** What commands act on. `nowMs` is the time of the message that is being obeyed. */
export interface ScpiDevice {
  readonly supply: Supply;
  readonly status: StatusRegisters;
  readonly errors: ErrorQueue;
  nowMs: number;
  remote: 'local' | 'remote' | 'locked';
  /** A reply of the same message is already waiting. */
  messageWaits: boolean;
}

/** What a numeric parameter may be, in its base unit. */
export interface Bounds {
  readonly min: number;
  readonly max: number;
  readonly def: number;
}

/**
 * Checked arguments: numbers, booleans as 0 or 1, a limit word as its value; undefined is absent.
 */
export type Arguments = readonly (number | undefined)[];

export type ParameterType =
  | {
      readonly kind: 'numeric';
      /** `V` or `A` with its multiples; `none` is a bare number, rounded to a whole one. */
      readonly unit: 'V' | 'A' | 'none';
      readonly bounds: (device: ScpiDevice) => Bounds;
    }
  | { readonly kind: 'boolean' }
  /** A channel list such as `(@1)`. */
  | { readonly kind: 'channels'; readonly optional: boolean }
  /** MIN, MAX or DEF in a query; it may be left out. */
  | { readonly kind: 'limit'; readonly bounds: (device: ScpiDevice) => Bounds };

export interface Command {
  /**
   * Long form with the short form in capitals; `[...]` can be left out, `#` takes a numeric suffix,
   * of which only 1 exists: `[SOURce#]:VOLTage[:LEVel]`.
   */
  readonly pattern: string;
  readonly parameters?: readonly ParameterType[];
  readonly set?: (device: ScpiDevice, values: Arguments) => ScpiError | undefined;
  readonly askParameters?: readonly ParameterType[];
  readonly ask?: (device: ScpiDevice, values: Arguments) => string;
}

/** How a language differs from others where SCPI leaves it open. */
export interface LanguageRules {
  /** Several units in one line. */
  readonly compound: boolean;
  /** `2500 mV` is understood; otherwise any unit is an error. */
  readonly units: boolean;
  /** A command that comes before the reply was sent drops the reply, with error -410. */
  readonly interrupts: boolean;
  /** How the code of an empty error queue is written. */
  readonly zeroCode: string;
}

const voltMultiples: Readonly<Record<string, number>> = { V: 1, MV: 1e-3, UV: 1e-6, KV: 1e3 };
const ampMultiples: Readonly<Record<string, number>> = { A: 1, MA: 1e-3, UA: 1e-6, KA: 1e3 };

const extremes: Readonly<Record<string, keyof Bounds>> = {
  MIN: 'min',
  MINIMUM: 'min',
  MAX: 'max',
  MAXIMUM: 'max',
  DEF: 'def',
  DEFAULT: 'def',
};

function numericValue(
  parameter: Parameter,
  type: Extract<ParameterType, { kind: 'numeric' }>,
  device: ScpiDevice,
  rules: LanguageRules,
): number | ScpiError {
  const bounds = type.bounds(device);
  if (parameter.kind === 'word') {
    const extreme = extremes[parameter.word];
    return extreme === undefined ? { code: -104 } : bounds[extreme];
  }
  if (parameter.kind !== 'number') return { code: -104 };
  let { value } = parameter;
  if (parameter.unit !== '') {
    if (type.unit === 'none' || !rules.units) return { code: -138 };
    const scale = (type.unit === 'V' ? voltMultiples : ampMultiples)[parameter.unit];
    if (scale === undefined) return { code: -131 };
    value *= scale;
  }
  if (type.unit === 'none') value = Math.round(value);
  const slack = 1e-9 * Math.max(1, Math.abs(bounds.max));
  if (!(value >= bounds.min - slack && value <= bounds.max + slack)) return { code: -222 };
  return value;
}

function booleanValue(parameter: Parameter): number | ScpiError {
  if (parameter.kind === 'number') {
    if (parameter.unit !== '') return { code: -138 };
    return Math.round(parameter.value) === 0 ? 0 : 1;
  }
  if (parameter.kind !== 'word') return { code: -104 };
  if (parameter.word === 'ON') return 1;
  return parameter.word === 'OFF' ? 0 : { code: -224 };
}

function channelValue(parameter: Parameter): number | ScpiError {
  if (parameter.kind !== 'channels') return { code: -104 };
  return parameter.channels.every((channel) => channel === 1) ? 1 : { code: -224 };
}

function valueOf(
  parameter: Parameter,
  type: ParameterType,
  device: ScpiDevice,
  rules: LanguageRules,
): number | ScpiError {
  if (type.kind === 'numeric') return numericValue(parameter, type, device, rules);
  if (type.kind === 'boolean') return booleanValue(parameter);
  if (type.kind === 'channels') return channelValue(parameter);
  if (parameter.kind !== 'word') return { code: -104 };
  const extreme = extremes[parameter.word];
  return extreme === undefined ? { code: -224 } : type.bounds(device)[extreme];
}

/** True where a parameter that may be left out was left out. */
function isAbsent(parameter: Parameter | undefined, type: ParameterType): boolean {
  if (type.kind === 'channels') return type.optional && parameter === undefined;
  // A limit word may be followed by a channel list that is there without it.
  return type.kind === 'limit' && (parameter === undefined || parameter.kind === 'channels');
}

/** Matches what was sent against what a command takes. */
export function checkArguments(
  parameters: readonly Parameter[],
  types: readonly ParameterType[],
  device: ScpiDevice,
  rules: LanguageRules,
): Arguments | ScpiError {
  const values: (number | undefined)[] = [];
  let next = 0;
  for (const type of types) {
    const parameter = parameters[next];
    if (isAbsent(parameter, type)) {
      values.push(undefined);
      continue;
    }
    if (parameter === undefined) return { code: -109 };
    next += 1;
    const value = valueOf(parameter, type, device, rules);
    if (isError(value)) return value;
    values.push(value);
  }
  return next < parameters.length ? { code: -108 } : values;
}
