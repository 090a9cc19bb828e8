/** The door to the control process: a client of its local socket, for the web process and the command line. */

import type { Command, CommandAnswer, ControlMessage } from '../wire/command.ts';

export interface ControlClient {
  readonly alive: boolean;
  /** Sends a command; the key makes a repeat harmless. Rejects when control is away or mute. */
  command(command: Command, key: string): Promise<CommandAnswer>;
  onMessage(listener: (message: ControlMessage) => void): void;
  onAlive(listener: (alive: boolean) => void): void;
  close(): void;
}
