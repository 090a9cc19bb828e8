/** Reads status registers by the dialect's rules, and holds them against the measured values. */

import { RectifierError, type Regulation, type SupplyTrip } from '../contract.ts';
import { patternOf } from './dialect.ts';
import type { Dialect, StateQuery, StatusQuery } from './dialect-schema.ts';
import { parseInteger, showReply } from './number.ts';
import { replyTo, type Question } from './session.ts';

type Meaning = StatusQuery['rules'][number]['means'];

const TRIPS = {
  overVoltage: 'overVoltage',
  overCurrent: 'overCurrent',
  overPower: 'overPower',
  overTemperature: 'overTemperature',
} as const satisfies Partial<Record<Meaning, SupplyTrip>>;

function isTrip(meaning: Meaning): meaning is SupplyTrip {
  return meaning in TRIPS;
}

/** True where the supply says on, false where it says off. Throws `garbled` for anything else. */
export function stateOf(query: StateQuery, reply: string): boolean {
  if (patternOf(query.off).test(reply)) return false;
  if (patternOf(query.on).test(reply)) return true;
  throw new RectifierError('garbled', `${query.send} was answered by ${showReply(reply)}.`);
}

function registerOf(query: StatusQuery, reply: string): number | null {
  return query.type === 'byte' ? reply.charCodeAt(0) : parseInteger(reply);
}

/** The question that a status entry asks. */
export function statusQuestion(query: StatusQuery): Question {
  return {
    send: query.send,
    shape: query,
    check: (reply) => {
      if (query.type === 'text' || registerOf(query, reply) !== null) return;
      throw new RectifierError('garbled', `${query.send} was answered by ${showReply(reply)}.`);
    },
  };
}

/** Everything that the replies of these entries say. */
export function claimsOf(
  entries: readonly StatusQuery[],
  replies: ReadonlyMap<string, string>,
): ReadonlySet<Meaning> {
  const claims = new Set<Meaning>();
  for (const entry of entries) {
    const reply = replyTo(replies, entry.send);
    const register = registerOf(entry, reply);
    for (const rule of entry.rules) {
      const said =
        'pattern' in rule
          ? patternOf(rule.pattern).test(reply)
          : register !== null && (register & rule.mask) === rule.equals;
      if (said) claims.add(rule.means);
    }
  }
  return claims;
}

/** The protections among the claims. */
export function tripsOf(claims: ReadonlySet<Meaning>): SupplyTrip[] {
  return [...claims].filter(isTrip);
}

/** Whether any status entry tells how the supply regulates. */
export function tellsRegulation(dialect: Dialect): boolean {
  return dialect.status.some(({ rules }) =>
    rules.some(({ means }) => means === 'constantCurrent' || means === 'constantVoltage'),
  );
}

/** Whether any status entry tells of protections. */
export function tellsTrips(dialect: Dialect): boolean {
  return dialect.status.some(({ rules }) => rules.some(({ means }) => isTrip(means)));
}

/** What a claim about the regulation is held against. */
export interface Measured {
  readonly outputOn: boolean | null;
  readonly volts: number;
  readonly amps: number;
  /** Null where the set-points are not known. */
  readonly setVolts: number | null;
  readonly setAmps: number | null;
}

/** Meters of bench supplies are good to a per cent and a few digits; judgement, no source. */
const TOLERANCE_SHARE = 0.02;
const TOLERANCE_OF_RANGE = 0.002;

function near(measured: number, set: number, max: number): boolean {
  return Math.abs(measured - set) <= TOLERANCE_SHARE * set + TOLERANCE_OF_RANGE * max;
}

/**
 * How the supply regulates. A claim of the status register counts only when the measured values do
 * not contradict it: layouts differ between makers, and a swapped pair of bits looks plausible.
 */
export function judgeRegulation(
  claims: ReadonlySet<Meaning>,
  measured: Measured,
  { limits }: Pick<Dialect, 'limits'>,
): Regulation {
  const { outputOn, volts, amps, setVolts, setAmps } = measured;
  const current = claims.has('constantCurrent');
  const voltage = claims.has('constantVoltage');
  const regulating = current || voltage || claims.has('unregulated');
  if (outputOn === false) return regulating || amps > limits.offAmps ? 'unknown' : 'off';
  if (claims.has('off')) return outputOn === null && amps <= limits.offAmps ? 'off' : 'unknown';
  if (claims.has('unregulated')) return 'unregulated';
  if (current === voltage) return 'unknown';
  if (current) {
    const held = setAmps === null || near(amps, setAmps, limits.maxAmps);
    return held ? 'constantCurrent' : 'unknown';
  }
  const held = setVolts === null || near(volts, setVolts, limits.maxVolts);
  return held ? 'constantVoltage' : 'unknown';
}
