/** Set-points and protections: refused before any byte, or sent and read back. */

import {
  RectifierError,
  type ProgrammedSetPoints,
  type RectifierRange,
  type SetPoints,
} from '../contract.ts';
import type { Dialect, Setting, ValueQuery } from './dialect-schema.ts';
import type { Ticket } from './lane.ts';
import { numberOf, roundToStep, settingText } from './number.ts';
import {
  enableProtections,
  overCurrentEnableOf,
  overVoltageEnableOf,
  type Enable,
} from './enable.ts';
import { drainErrors, notTaken, refuseBlind } from './errors.ts';
import { ensureClean, stateQuestion, valueQuestion } from './read.ts';
import { ask, replyTo, type Session } from './session.ts';
import { stateOf } from './status.ts';

/** Set-points that never reach the supply, whoever asks. */
export interface HardLimits {
  readonly maxAmps: number;
  readonly maxVolts: number;
}

interface Target {
  readonly name: string;
  readonly unit: 'V' | 'A';
  readonly value: number;
  readonly step: number;
  readonly set: Setting;
  readonly get: ValueQuery | undefined;
  /** Only of a protection that has to be switched on for its level to act. */
  readonly enable?: Enable | undefined;
}

/** Slack of comparisons in binary arithmetic, V or A. */
const EPSILON = 1e-9;

function outOfRange(name: string, value: number, unit: string, bound: string): RectifierError {
  return new RectifierError('outOfRange', `${name} of ${value} ${unit} is ${bound}.`);
}

/** The set-point in whole steps, or an `outOfRange`. Never rounded past the hard limit. */
function judge(
  name: string,
  unit: string,
  value: number,
  bounds: { min: number; max: number; hard: number; step: number },
): number {
  if (!Number.isFinite(value)) throw outOfRange(name, value, unit, 'not a number');
  if (value > bounds.hard) {
    throw outOfRange(name, value, unit, `above the limit of ${bounds.hard} ${unit}`);
  }
  let rounded = roundToStep(value, bounds.step);
  if (rounded > bounds.hard) rounded = roundToStep(rounded - bounds.step, bounds.step);
  if (rounded < bounds.min - EPSILON) {
    throw outOfRange(name, value, unit, `below the supply's lowest, ${bounds.min} ${unit}`);
  }
  if (rounded > bounds.max + EPSILON) {
    throw outOfRange(name, value, unit, `above the supply's highest, ${bounds.max} ${unit}`);
  }
  return rounded;
}

function judgeProtection(
  target: Omit<Target, 'set'> & { readonly set: Setting | undefined },
  setPoint: number,
  max: number,
): Target {
  const { name, unit, set, step } = target;
  if (set === undefined) {
    throw new RectifierError('unsupported', `This supply has no ${name} that can be set.`);
  }
  const value = judge(name, unit, target.value, { min: 0, max, hard: Infinity, step });
  if (value < setPoint) {
    throw outOfRange(name, target.value, unit, `below the set-point of ${setPoint} ${unit}`);
  }
  return { ...target, set, value };
}

/** Everything to program, checked and rounded. Throws `outOfRange` or `unsupported`. */
export function planSetPoints(
  setPoints: SetPoints,
  range: RectifierRange,
  hardLimits: HardLimits,
  dialect: Dialect,
): Target[] {
  const { ops, limits } = dialect;
  const { stepVolts, stepAmps, minVolts, minAmps, maxVolts, maxAmps } = range;
  const volts = judge('A voltage set-point', 'V', setPoints.volts, {
    min: minVolts,
    max: maxVolts,
    hard: hardLimits.maxVolts,
    step: stepVolts,
  });
  const amps = judge('A current set-point', 'A', setPoints.amps, {
    min: minAmps,
    max: maxAmps,
    hard: hardLimits.maxAmps,
    step: stepAmps,
  });
  const targets: Target[] = [
    {
      name: 'voltage',
      unit: 'V',
      value: volts,
      step: stepVolts,
      set: ops.setVolts,
      get: ops.getVolts,
    },
    { name: 'current', unit: 'A', value: amps, step: stepAmps, set: ops.setAmps, get: ops.getAmps },
  ];
  if (setPoints.overVoltageVolts !== undefined) {
    const target = {
      name: 'over-voltage level',
      unit: 'V',
      value: setPoints.overVoltageVolts,
      step: stepVolts,
      set: ops.setOverVoltage,
      get: ops.getOverVoltage,
      enable: overVoltageEnableOf(dialect),
    } as const;
    targets.push(judgeProtection(target, volts, maxVolts * limits.protectionShare));
  }
  if (setPoints.overCurrentAmps !== undefined) {
    const target = {
      name: 'over-current level',
      unit: 'A',
      value: setPoints.overCurrentAmps,
      step: stepAmps,
      set: ops.setOverCurrent,
      get: ops.getOverCurrent,
      enable: overCurrentEnableOf(dialect),
    } as const;
    targets.push(judgeProtection(target, amps, maxAmps * limits.protectionShare));
  }
  return targets;
}

/**
 * A protection must never stand below its set-point, not even between two commands: a level that
 * rises is sent before the set-points, one that falls after them.
 */
async function inOrder(
  session: Session,
  ticket: Ticket,
  targets: readonly Target[],
): Promise<Target[]> {
  const [volts, amps, ...protections] = targets;
  const setPoints = [volts, amps].filter((target) => target !== undefined);
  const readable = protections.filter(({ get }) => get !== undefined);
  const questions = readable.map(({ get }) => get).filter((get) => get !== undefined);
  const replies = await ask(session, ticket, questions.map(valueQuestion));
  const rises = ({ get, value }: Target): boolean =>
    get === undefined || value >= numberOf(get, replyTo(replies, get.send));
  return [
    ...protections.filter((target) => rises(target)),
    ...setPoints,
    ...protections.filter((target) => !rises(target)),
  ];
}

/** Switches off an over-current switch that trips at the set current: it would end every run. */
async function disarmSwitch(session: Session, ticket: Ticket): Promise<void> {
  const { overCurrentSwitch } = session.dialect.ops;
  if (overCurrentSwitch === undefined) return;
  const { disable, state } = overCurrentSwitch;
  const isOn = async (): Promise<boolean> => {
    const replies = await ask(session, ticket, [stateQuestion(state)]);
    return stateOf(state, replyTo(replies, state.send));
  };
  if (!(await isOn())) return;
  await session.exchange.command(ticket, disable.send);
  if (!(await isOn())) return;
  throw new RectifierError(
    'readbackMismatch',
    "The supply's over-current switch stays on; it trips at the set current itself. Switch it off.",
  );
}

/** Targets that read back as something else, with what was found. */
function differing(
  targets: readonly Target[],
  replies: ReadonlyMap<string, string>,
): { target: Target; found: number }[] {
  return targets.flatMap((target) => {
    if (target.get === undefined) return [];
    const found = numberOf(target.get, replyTo(replies, target.get.send));
    return Math.abs(found - target.value) <= target.step / 2 + EPSILON ? [] : [{ target, found }];
  });
}

function compare(
  targets: readonly Target[],
  replies: ReadonlyMap<string, string>,
  errors: readonly string[],
): void {
  const blind = targets.find(({ get }) => get === undefined);
  if (blind !== undefined) refuseBlind(`${blind.value} ${blind.unit}`, errors);
  for (const { target, found } of differing(targets, replies)) {
    const { name, value, unit } = target;
    const what = `The ${name} was set to ${value} ${unit} and reads back as ${found} ${unit}`;
    throw notTaken(what, errors);
  }
}

/** Reads everything back; what differs is asked for once more, as one turned bit is enough for that. */
async function readBack(
  session: Session,
  ticket: Ticket,
  targets: readonly Target[],
  errors: readonly string[],
): Promise<ReadonlyMap<string, string>> {
  const queries = targets.map(({ get }) => get).filter((get) => get !== undefined);
  const look = () => ask(session, ticket, queries.map(valueQuestion));
  const first = await look();
  const replies = differing(targets, first).length === 0 ? first : await look();
  compare(targets, replies, errors);
  return replies;
}

/**
 * Does what can be done twice without harm once more where it was refused: an error line that a
 * supply pushes may be about something older, and a true refusal comes again.
 */
export async function againIfRefused<T>(
  session: Session,
  ticket: Ticket,
  work: () => Promise<T>,
): Promise<T> {
  try {
    return await work();
  } catch (error) {
    ticket.check();
    const refused = error instanceof RectifierError && error.kind === 'refused';
    if (!refused || !session.exchange.link.isOpen) throw error;
    return work();
  }
}

/**
 * Sends checked targets and reads all of them back; then switches on the protections among them that
 * need it, and reads that back.
 */
export async function programSupply(
  session: Session,
  ticket: Ticket,
  targets: readonly Target[],
): Promise<ProgrammedSetPoints> {
  await ensureClean(session, ticket, false);
  session.setVolts = null;
  session.setAmps = null;
  session.cyclesToSetPoints = 0;
  await disarmSwitch(session, ticket);
  for (const { set, value } of await inOrder(session, ticket, targets)) {
    await session.exchange.command(ticket, settingText(set, value));
  }
  const errors = await drainErrors(session, ticket);
  const replies = await readBack(session, ticket, targets, errors);
  const enables = targets.map(({ enable }) => enable).filter((enable) => enable !== undefined);
  await enableProtections(session, ticket, enables);
  const { ops } = session.dialect;
  const told = (query: ValueQuery | undefined): number | null => {
    const reply = query === undefined ? undefined : replies.get(query.send);
    return query === undefined || reply === undefined ? null : numberOf(query, reply);
  };
  const [volts, amps] = targets;
  session.setVolts = told(ops.getVolts) ?? volts?.value ?? null;
  session.setAmps = told(ops.getAmps) ?? amps?.value ?? null;
  return {
    volts: told(ops.getVolts),
    amps: told(ops.getAmps),
    overVoltageVolts: told(ops.getOverVoltage),
    overCurrentAmps: told(ops.getOverCurrent),
  };
}
