/** OFF: sent first and asked about afterwards, and believed only on the supply's own word. */

import type { OffReport, OffScript } from '../contract.ts';
import { patternOf } from './dialect.ts';
import type { Dialect } from './dialect-schema.ts';
import type { Ticket } from './lane.ts';
import { ampsOf } from './plausible.ts';
import { ensureClean, stateQuestion, valueQuestion } from './read.ts';
import { ask, replyTo, type Session } from './session.ts';
import { stateOf } from './status.ts';

const OFF_TRIES = 3;
/** How long one OFF may take to show in output state and measured current, ms. */
const CONFIRM_MS = 350;
const LOOK_AGAIN_MS = 40;

/** OFF alone: what ends another writer's half line, then the command. */
export function offBytes({ ops, tx }: Dialect): string {
  return ops.off.leading + ops.off.send + tx.terminator;
}

/**
 * OFF for a supply that may have been taken out of remote control: OFF, remote, OFF again. Where
 * commands need pauses they cannot be strung together, and OFF stands alone.
 */
function offBytesInSteps(dialect: Dialect): string {
  const { session, tx } = dialect;
  const off = offBytes(dialect);
  if (session.enter.length === 0 || tx.gapMs > 0 || tx.gapAfterSetMs > 0) return off;
  return off + session.enter.map((line) => line + tx.terminator).join('') + offBytes(dialect);
}

/** The bytes and patterns for another process. */
export function offScriptOf(
  dialect: Dialect,
  path: string | null,
  baudRate: number | null,
): OffScript {
  const { output } = dialect.ops;
  const strip = dialect.rx.mode === 'line' ? '\\s*' : '';
  return {
    path,
    baudRate,
    off: offBytesInSteps(dialect),
    verifyQuery: output === undefined ? null : output.send + dialect.tx.terminator,
    verifyOffPattern:
      output === undefined ? null : `^${strip}(?:${output.off.slice(1, -1)})${strip}$`,
  };
}

/** The question for who the supply is; like OFF it first ends another writer's half line. */
export function identityOf(
  dialect: Dialect,
  reply: string,
  baudRate: number | null,
): NonNullable<OffScript['identity']> {
  const { leading } = dialect.ops.off;
  const query = leading + dialect.session.identify.send + dialect.tx.terminator;
  // The question, its echo and the reply, at ten bits a character.
  const bits = 10 * (2 * query.length + reply.length + dialect.rx.terminator.length);
  const onWireMs = baudRate === null ? 0 : (1000 * bits) / baudRate;
  const pattern = patternOf(dialect.session.identify.pattern).source;
  return { query, reply, pattern, timeoutMs: Math.ceil(dialect.rx.timeoutMs + onWireMs) };
}

interface Look {
  readonly outputOn: boolean | null;
  readonly amps: number;
}

/** What the looks of one request for OFF have found, whatever became of their attempts. */
export class OffLooks {
  /** The largest current that two looks in a row have reached, A, as one digit may be wrong; null before that. */
  highestAmps: number | null = null;
  /** The last look, of an OFF before where there was none since, A. */
  lastAmps: number | null;

  constructor(lastAmps: number | null) {
    this.lastAmps = lastAmps;
  }

  saw(amps: number): void {
    if (this.lastAmps !== null) {
      const reached = Math.min(this.lastAmps, amps);
      this.highestAmps = Math.max(this.highestAmps ?? reached, reached);
    }
    this.lastAmps = amps;
  }
}

async function look(session: Session, ticket: Ticket, looks: OffLooks): Promise<Look> {
  const { output, measureAmps } = session.dialect.ops;
  const state = output === undefined ? [] : [stateQuestion(output)];
  const replies = await ask(session, ticket, [valueQuestion(measureAmps), ...state]);
  const amps = ampsOf(session, replies);
  looks.saw(amps);
  return {
    amps,
    outputOn: output === undefined ? null : stateOf(output, replyTo(replies, output.send)),
  };
}

function describe({ outputOn, amps }: Look, offAmps: number): string {
  if (outputOn === true) return `The supply says that its output is on; ${amps} A flows.`;
  if (outputOn === null) return `${amps} A flows (off is below ${offAmps} A).`;
  return `The supply says that its output is off, but ${amps} A flows (off is below ${offAmps} A).`;
}

/** Looks until output and current are off, or for as long as one OFF may take. */
async function confirm(session: Session, ticket: Ticket, looks: OffLooks): Promise<OffReport> {
  const { exchange, dialect } = session;
  const { offAmps } = dialect.limits;
  await ensureClean(session, ticket, true);
  const endMs = exchange.clock.nowMs() + CONFIRM_MS;
  let without = 0;
  for (;;) {
    const seen = await look(session, ticket, looks);
    // A reversed current is a current.
    without = Math.abs(seen.amps) < offAmps ? without + 1 : 0;
    // Where the supply says nothing of its output, one digit is all there is: it has to say it twice.
    const needed = seen.outputOn === null ? 2 : 1;
    if (seen.outputOn !== true && without >= needed) {
      return { confirmed: true, ...seen, reason: '' };
    }
    if (exchange.clock.nowMs() + LOOK_AGAIN_MS >= endMs) {
      return { confirmed: false, ...seen, reason: describe(seen, offAmps) };
    }
    await exchange.clock.sleep(LOOK_AGAIN_MS);
    ticket.check();
  }
}

function reasonOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** OFF could not be confirmed for the reason of an error. */
export function unconfirmed(error: unknown): OffReport {
  return { confirmed: false, outputOn: null, amps: null, reason: reasonOf(error) };
}

/**
 * Confirms an OFF that has been sent, and repeats it while it is not. `resend` says that the first
 * one may have been missed, as by a supply that was not given its pause.
 */
export async function confirmOff(
  session: Session,
  ticket: Ticket,
  resend: boolean,
  looks: OffLooks,
): Promise<OffReport> {
  const { exchange, dialect } = session;
  let report: OffReport = unconfirmed('OFF was not tried.');
  for (let attempt = 0; attempt < OFF_TRIES; attempt += 1) {
    try {
      if (attempt > 0 || resend) {
        await exchange.waitGap(ticket);
        await exchange.sendAtOnce(attempt > 0 ? offBytesInSteps(dialect) : offBytes(dialect));
        ticket.check();
      }
      report = await confirm(session, ticket, looks);
      if (report.confirmed) return report;
    } catch (error) {
      ticket.check();
      report = { ...report, confirmed: false, reason: reasonOf(error) };
      if (!exchange.link.isOpen) return report;
    }
  }
  return report;
}
