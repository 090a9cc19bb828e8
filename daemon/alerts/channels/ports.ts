/** The usual ports of mail servers, for the sender and for whoever shows where mail goes. */

import type { EmailChannel } from '../../settings/model.ts';

const usualPorts = { tls: 465, starttls: 587, none: 25 } as const;

/** The port that is connected to. */
export function portOf({ port, security }: Pick<EmailChannel, 'port' | 'security'>): number {
  return port ?? usualPorts[security];
}
