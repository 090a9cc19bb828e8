/** Bringing a link up: settle, identify, look at everything, change nothing. */

import type { ConnectionReport, RectifierRange } from '../contract.ts';
import type { Dialect, ValueQuery } from './dialect-schema.ts';
import { drainErrors } from './errors.ts';
import { identifySupply, type MeantSupply } from './identity.ts';
import type { Ticket } from './lane.ts';
import { numberOf } from './number.ts';
import { powerOnQuestion, readSupply, valueQuestion, stateQuestion } from './read.ts';
import { clearLine, resyncLine } from './resync.ts';
import { ask, replyTo, type Session } from './session.ts';
import { stateOf } from './status.ts';

/** The range that a dialect gives, before the supply itself is asked. */
export function rangeOf({ limits }: Dialect): RectifierRange {
  const { minVolts, maxVolts, stepVolts, minAmps, maxAmps, stepAmps } = limits;
  return { minVolts, maxVolts, stepVolts, minAmps, maxAmps, stepAmps };
}

async function askRange(session: Session, ticket: Ticket): Promise<RectifierRange> {
  const { ops } = session.dialect;
  const known = rangeOf(session.dialect);
  const queries = [ops.minVolts, ops.maxVolts, ops.minAmps, ops.maxAmps];
  const questions = queries.filter((query) => query !== undefined).map(valueQuestion);
  const replies = await ask(session, ticket, questions);
  const told = (query: ValueQuery | undefined, otherwise: number): number => {
    if (query === undefined) return otherwise;
    const value = numberOf(query, replyTo(replies, query.send));
    return value >= 0 ? value : otherwise;
  };
  const range = {
    ...known,
    minVolts: told(ops.minVolts, known.minVolts),
    maxVolts: told(ops.maxVolts, known.maxVolts),
    minAmps: told(ops.minAmps, known.minAmps),
    maxAmps: told(ops.maxAmps, known.maxAmps),
  };
  const sound = range.minVolts < range.maxVolts && range.minAmps < range.maxAmps;
  return sound ? range : known;
}

/**
 * Asks whoever stands at a line that has just been opened who he is: waits, clears it, identifies the
 * supply. Nothing else is sent. Throws `wrongDevice`, `timeout` or `garbled`.
 */
async function meet(session: Session, ticket: Ticket, meant: MeantSupply): Promise<void> {
  const { exchange, dialect } = session;
  session.nonce = null;
  session.failedResyncs = 0;
  await exchange.clock.sleep(dialect.link.settleMs);
  ticket.check();
  await clearLine(session, ticket);
  await identifySupply(session, ticket, meant);
}

/**
 * Makes a line that has just been opened usable: meets the supply, enters remote mode and proves that
 * replies are in step. `met` is called once the supply is known and before anything is asked of it.
 * Throws `wrongDevice`, `timeout` or `garbled`, or what `met` throws.
 */
export async function greet(
  session: Session,
  ticket: Ticket,
  meant: MeantSupply,
  met: () => Promise<void> = () => Promise.resolve(),
): Promise<void> {
  const { exchange, dialect } = session;
  const known = session.identity;
  try {
    await meet(session, ticket, meant);
    await met();
    for (const line of dialect.session.enter) await exchange.command(ticket, line);
    await resyncLine(session, ticket, true);
  } catch (error) {
    // What was heard on a line that is no good is no supply's name.
    session.identity = known;
    throw error;
  }
  exchange.takePushedErrors();
}

async function overCurrentSwitchNote(session: Session, ticket: Ticket): Promise<string[]> {
  const { overCurrentSwitch } = session.dialect.ops;
  if (overCurrentSwitch === undefined) return [];
  const { state } = overCurrentSwitch;
  const replies = await ask(session, ticket, [stateQuestion(state)]);
  if (!stateOf(state, replyTo(replies, state.send))) return [];
  return [
    "The supply's over-current switch is on: it trips at the set current itself, and is switched off when set-points are programmed.",
  ];
}

/** Looks at a supply that has been greeted. */
export async function survey(session: Session, ticket: Ticket): Promise<ConnectionReport> {
  const { identity } = session;
  if (identity === null) throw new Error('survey comes after greet');
  const powerOn = powerOnQuestion(session);
  if (powerOn !== null) await ask(session, ticket, [powerOn]);
  const errors = await drainErrors(session, ticket);
  const notes = await overCurrentSwitchNote(session, ticket);
  session.range = await askRange(session, ticket);
  session.cyclesToSetPoints = 0;
  const { outputOn, volts, amps, setVolts, setAmps, restarted } = await readSupply(session, ticket);
  return {
    identity,
    range: session.range,
    outputOn,
    volts,
    amps,
    setVolts,
    setAmps,
    restarted,
    standingErrors: [...errors, ...notes],
  };
}
