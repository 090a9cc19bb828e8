/** Protections that mind their level only once they are switched on: switched on, and read back as on. */

import { RectifierError } from '../contract.ts';
import type { Action, Dialect, StateQuery } from './dialect-schema.ts';
import { drainErrors, notTaken, refuseBlind, toldOf } from './errors.ts';
import type { Ticket } from './lane.ts';
import { stateQuestion } from './read.ts';
import { ask, replyTo, type Session } from './session.ts';
import { stateOf } from './status.ts';

/** What switches a protection on, and how the supply is asked whether it is. */
export interface Enable {
  readonly name: 'over-voltage protection' | 'over-current protection';
  readonly command: Action;
  /** Left out where the supply cannot be asked. */
  readonly state: StateQuery | undefined;
}

/** How over-voltage protection is switched on; undefined where its level acts without that. */
export function overVoltageEnableOf({ ops }: Dialect): Enable | undefined {
  const { enableOverVoltage: command, overVoltageEnabled: state } = ops;
  return command && { name: 'over-voltage protection', command, state };
}

/** How over-current protection is switched on; undefined where its level acts without that. */
export function overCurrentEnableOf({ ops }: Dialect): Enable | undefined {
  const { enableOverCurrent: command, overCurrentEnabled: state } = ops;
  return command && { name: 'over-current protection', command, state };
}

/** Failures that a supply without such a switch shows when it is asked about it. */
const noAnswer: ReadonlySet<string> = new Set(['timeout', 'garbled', 'overflow']);

/** The first that the supply says is off. */
async function firstOff(
  session: Session,
  ticket: Ticket,
  enables: readonly Enable[],
): Promise<Enable | undefined> {
  const states = enables.map(({ state }) => state).filter((state) => state !== undefined);
  const replies = await ask(session, ticket, states.map(stateQuestion));
  return enables.find(
    ({ state }) => state !== undefined && !stateOf(state, replyTo(replies, state.send)),
  );
}

/**
 * The first that is off, by two answers of three at the most: one turned bit is enough for a wrong one.
 * What is no answer is told with what was asked, as another dialect's question is a likely cause of it;
 * where the supply also reports an error, that is a refusal.
 */
async function stillOff(
  session: Session,
  ticket: Ticket,
  enables: readonly Enable[],
  told: string,
): Promise<Enable | undefined> {
  try {
    const first = await firstOff(session, ticket, enables);
    const second = await firstOff(session, ticket, enables);
    return first === second ? first : await firstOff(session, ticket, enables);
  } catch (error) {
    if (!(error instanceof RectifierError) || !noAnswer.has(error.kind)) throw error;
    const asked = enables.flatMap(({ state }) => (state === undefined ? [] : [state.send]));
    const reported = told === '' ? '' : ` It reports ${told}.`;
    throw new RectifierError(
      told === '' ? error.kind : 'refused',
      `${error.message} It was asked ${asked.join(' and ')}.${reported} Where the supply has no such switch, take it out of the dialect.`,
      { cause: error },
    );
  }
}

/**
 * Switches protections on whose levels and set-points have been programmed and read back before, so
 * that none starts to act below its set-point. Throws `readbackMismatch` where one says that it is
 * off, `refused` where the supply also reports an error, or cannot be asked and reports one.
 */
export async function enableProtections(
  session: Session,
  ticket: Ticket,
  enables: readonly Enable[],
): Promise<void> {
  if (enables.length === 0) return;
  for (const { command } of enables) await session.exchange.command(ticket, command.send);
  const errors = await drainErrors(session, ticket);
  const blind = enables.find(({ state }) => state === undefined);
  if (blind !== undefined) refuseBlind(blind.command.send, errors);
  const off = await stillOff(session, ticket, enables, toldOf(errors));
  if (off === undefined) return;
  const what = `The ${off.name} was switched on and reads back as off: its level would do nothing`;
  throw notTaken(what, errors);
}
