/** Names for messages, unlike any other, that stand in every copy. */

import { randomBytes } from 'node:crypto';
import type { AlertMessage } from '../wire/alerts.ts';

export function newMessageId(kind: AlertMessage['kind']): string {
  return `${kind}-${Date.now().toString(36)}-${randomBytes(2).toString('hex')}`;
}
