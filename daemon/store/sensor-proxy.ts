/** The sensors' record as the control thread sees it: a promise in front of the database thread. */

import type { SensorRow } from '../wire/sensors.ts';
import { checkedFinite } from './checks.ts';
import type { SensorStore } from './door.ts';
import type { OperationCall, OperationName } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

/** A value that the disk refuses trips no run: the readings do that, four times a second. */
export const sensorOperations: ReadonlySet<OperationName> = new Set(['appendSensor']);

export function sensorStore(ask: Ask): SensorStore {
  return {
    append: async (runId, row) => {
      checkedFinite('atMs', row.atMs);
      checkedFinite('value', row.value);
      const given: [string, SensorRow] = [runId, row];
      await ask((id) => ({ kind: 'call', id, name: 'appendSensor', given }));
    },
  };
}
