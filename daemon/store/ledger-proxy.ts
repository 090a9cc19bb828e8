/** Ledgers and weigh-ins as the control thread sees them: promises in front of the database thread. */

import { checkedFinite } from './checks.ts';
import type { EntryChange, LedgerStore, NewEntry, WeighInChange } from './door.ts';
import type { OperationCall, OperationName } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

/** An entry that the disk refuses is told to whoever made it, and trips no run. */
export const ledgerOperations: ReadonlySet<OperationName> = new Set([
  'addLedgerEntry',
  'changeLedgerEntry',
  'saveWeighIn',
]);

export function ledgerStore(ask: Ask): LedgerStore {
  return {
    add: async (entry) => {
      checkedFinite('savedWallMs', entry.savedWallMs);
      const given: [NewEntry] = [{ ...entry, atWallMs: checkedFinite('atWallMs', entry.atWallMs) }];
      return ask((id) => ({ kind: 'call', id, name: 'addLedgerEntry', given }));
    },
    change: async (change) => {
      checkedFinite('savedWallMs', change.savedWallMs);
      if (change.atWallMs !== null) checkedFinite('atWallMs', change.atWallMs);
      const given: [EntryChange] = [change];
      return ask((id) => ({ kind: 'call', id, name: 'changeLedgerEntry', given }));
    },
    saveWeighIn: async (change) => {
      checkedFinite('savedWallMs', change.savedWallMs);
      const given: [WeighInChange] = [change];
      return ask((id) => ({ kind: 'call', id, name: 'saveWeighIn', given }));
    },
    adopted: () => ask((id) => ({ kind: 'call', id, name: 'adoptedEfficiencies', given: [] })),
  };
}
