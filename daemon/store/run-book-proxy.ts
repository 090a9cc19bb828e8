/** Notes and changes of a run as the control thread sees them: promises in front of the database thread. */

import { checkedFinite } from './checks.ts';
import type { NewNote, NewPlanChange, RunBookStore } from './door.ts';
import type { OperationCall, OperationName } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

/** A note that finds the disk full is told to whoever wrote it, and trips no run. */
export const runBookOperations: ReadonlySet<OperationName> = new Set(['addNote']);

export function runBookStore(ask: Ask): RunBookStore {
  return {
    addNote: async (note) => {
      if (note.atMs !== null) checkedFinite('atMs', note.atMs);
      checkedFinite('wallMs', note.wallMs);
      const given: [NewNote] = [note];
      return ask((id) => ({ kind: 'call', id, name: 'addNote', given }));
    },
    changePlan: async (runId, change) => {
      if (change.atMs !== null) checkedFinite('atMs', change.atMs);
      checkedFinite('wallMs', change.wallMs);
      const given: [string, NewPlanChange] = [runId, change];
      await ask((id) => ({ kind: 'call', id, name: 'changePlan', given }));
    },
  };
}
