/** Operations beside the records: where one fails, that is the asker's alone, and no run is tripped. */

import { ledgerOperations } from './ledger-proxy.ts';
import { libraryOperations } from './library-proxy.ts';
import { outboxOperations } from './outbox-proxy.ts';
import { runBookOperations } from './run-book-proxy.ts';
import { sensorOperations } from './sensor-proxy.ts';
import type { OperationName } from './thread-messages.ts';

const aside = [
  ledgerOperations,
  libraryOperations,
  outboxOperations,
  sensorOperations,
  runBookOperations,
];

export function isAside(name: OperationName): boolean {
  return aside.some((operations) => operations.has(name));
}
