/** Interrupted runs as the control thread sees them: what waits, and the end of one. */

import { checkedFinite } from './checks.ts';
import type { InterruptedStore } from './door.ts';
import type { OperationCall } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

export function interruptedStore(ask: Ask): InterruptedStore {
  return {
    waiting: () => ask((id) => ({ kind: 'call', id, name: 'interruptedRuns', given: [] })),
    end: async (runId, message, wallMs) => {
      const given: [string, string, number] = [runId, message, checkedFinite('wallMs', wallMs)];
      return ask((id) => ({ kind: 'call', id, name: 'endInterrupted', given }));
    },
  };
}
