/** Results of probes as the control thread sees them: promises in front of the database thread. */

import type { ProbeResult } from '../wire/probe.ts';
import { checkedProbe } from './checks.ts';
import type { ProbeStore } from './door.ts';
import type { OperationCall } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

export class ProbesProxy implements ProbeStore {
  readonly #ask: Ask;

  constructor(ask: Ask) {
    this.#ask = ask;
  }

  async record(result: ProbeResult): Promise<void> {
    const given: [ProbeResult] = [checkedProbe(result)];
    await this.#ask((id) => ({ kind: 'call', id, name: 'recordProbe', given }));
  }

  latest(): Promise<readonly ProbeResult[]> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'latestProbes', given: [] }));
  }

  newestRecordWallMs(): Promise<number | null> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'newestRecordWallMs', given: [] }));
  }
}
