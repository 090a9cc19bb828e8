/** Answers commands on ledgers and weigh-ins: passes them to the store and words what became of them. */

import type { Problem } from '../piece/model.ts';
import type { EntryAnswer, LedgerStore, WeighInAnswer } from '../store/door.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import type { LedgerCommand } from '../wire/ledger.ts';
import { refusal, type Refusal } from './refusal.ts';

type OnLedger = LedgerCommand | Extract<Command, { kind: 'weigh-in' }>;

/** The tanks as far as their clock: a hurried one is ahead of the wall. */
type Clocks = ReadonlyMap<string, { readonly clock: { wallMs(): number } }>;

/** An entry may be dated ahead by no more than this: another clock, or another zone, ms. */
const aheadMs = 24 * 60 * 60 * 1000;

/** True for the commands of this desk. */
export function isOnLedger(command: Command): command is OnLedger {
  return command.kind.startsWith('ledger-') || command.kind === 'weigh-in';
}

export async function answerOnLedger(
  ledger: LedgerStore,
  tanks: Clocks,
  command: OnLedger,
  wallMs: number,
): Promise<CommandAnswer> {
  switch (command.kind) {
    case 'ledger-add': {
      const { tankId, bathId, by, entry } = command;
      // What is done now is done after what a hurried tank has just recorded.
      const nowMs = Math.max(wallMs, tanks.get(tankId)?.clock.wallMs() ?? 0);
      const refused = datedAhead(command.atWallMs, nowMs);
      if (refused !== null) return refused;
      const atWallMs = command.atWallMs ?? nowMs;
      return entryAnswer(
        await ledger.add({ tankId, bathId, by, entry, atWallMs, savedWallMs: wallMs }),
      );
    }
    case 'ledger-change': {
      const { entryId, version, by, entry, atWallMs } = command;
      const ahead = Math.max(wallMs, ...[...tanks.values()].map(({ clock }) => clock.wallMs()));
      const refused = datedAhead(atWallMs, ahead);
      if (refused !== null) return refused;
      return entryAnswer(
        await ledger.change({ entryId, version, by, entry, atWallMs, savedWallMs: wallMs }),
      );
    }
    case 'weigh-in': {
      const { runId, version, weighIn, by } = command;
      return weighInAnswer(
        await ledger.saveWeighIn({ runId, version, weighIn, by, savedWallMs: wallMs }),
        version,
      );
    }
  }
}

function datedAhead(atWallMs: number | null, nowMs: number): Refusal | null {
  if (atWallMs === null || atWallMs <= nowMs + aheadMs) return null;
  const value = new Date(atWallMs).toISOString();
  const bound = `at most ${new Date(nowMs + aheadMs).toISOString()}`;
  const message = `The date is ${value}; it must be ${bound}. It says when this was done.`;
  return invalid([{ field: 'atWallMs', value, bound, message }]);
}

function entryAnswer(answer: EntryAnswer): CommandAnswer {
  switch (answer.kind) {
    case 'saved':
      return { ok: true, entry: answer.saved };
    case 'unknown':
      return refusal('notFound', 'There is no such entry in the ledger.');
    case 'stale': {
      const { version, by, savedWallMs } = answer.newest;
      return stale('This entry', version, by, savedWallMs);
    }
    case 'invalid':
      return invalid(answer.problems);
  }
}

function weighInAnswer(answer: WeighInAnswer, looked: number): CommandAnswer {
  switch (answer.kind) {
    case 'saved':
      return { ok: true, weighIn: answer.saved };
    case 'unknown':
      return refusal('notFound', 'There is no such run in the log, or no weigh-in to take back.');
    case 'stale': {
      const { newest } = answer;
      if (newest === null) {
        const message = `version is ${looked}; it must be 0: nobody has weighed this run yet.`;
        return invalid([{ field: 'version', value: `${looked}`, bound: '0', message }]);
      }
      return stale('This weigh-in', newest.version, newest.by, newest.savedWallMs);
    }
    case 'invalid':
      return invalid(answer.problems);
  }
}

function stale(what: string, version: number, by: string, savedWallMs: number): Refusal {
  const when = new Date(savedWallMs).toISOString();
  const message = `${what} was changed meanwhile, by ${by} at ${when}. Nothing was overwritten: look at version ${version} and save again if yours is right.`;
  const problem = { field: 'version', value: 'an older one', bound: `${version}`, message };
  return { ...refusal('stale', message), problems: [problem] };
}

function invalid(problems: readonly Problem[]): Refusal {
  const reason = problems[0]?.message ?? 'The request is not valid.';
  return { ...refusal('invalid', reason), problems: [...problems] };
}
