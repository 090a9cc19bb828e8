/** Takes notes and photos on runs, on those under way and on those in the log. */

import type { RunBookStore } from '../store/door.ts';
import type { Command, CommandAnswer, ControlMessage } from '../wire/command.ts';
import { refusal } from './refusal.ts';
import type { Tank } from './tank.ts';

interface NoteParts {
  readonly tanks: ReadonlyMap<string, Tank>;
  readonly store: { readonly runBook: RunBookStore };
  readonly publish: (message: ControlMessage) => void;
}

/** A note has the time of its run while that is on a tank; afterwards it has the time of the clock. */
export async function takeNote(
  { tanks, store, publish }: NoteParts,
  { runId, by, note }: Extract<Command, { kind: 'run-note' }>,
): Promise<CommandAnswer> {
  const tank = [...tanks.values()].find(({ run }) => run?.record.id === runId);
  const run = tank?.run ?? null;
  const when =
    tank === undefined || run === null
      ? { atMs: null, wallMs: Date.now() }
      : tank.journal.timeOf(run);
  const text = note.text.trim();
  const answer = await store.runBook.addNote({ runId, by, ...note, text, ...when });
  switch (answer.kind) {
    case 'written':
      publish({ type: 'event', event: answer.event });
      return { ok: true, note: answer.note };
    case 'unknown':
      return refusal('notFound', 'There is no run of that name in the log.');
    case 'invalid':
      return {
        ...refusal('invalid', answer.problems[0]?.message ?? 'The note is not valid.'),
        problems: [...answer.problems],
      };
  }
}
