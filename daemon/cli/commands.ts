/** The table of commands, in the order of the help. */

import type { Command } from './command.ts';
import { exportCommand } from './export.ts';
import { offCommand } from './off.ts';
import { planCommand } from './plan.ts';
import { portsCommand } from './ports.ts';
import { rectifierCommand } from './rectifier.ts';
import { serveCommand } from './serve.ts';

export const commands: readonly Command[] = [
  serveCommand,
  planCommand,
  portsCommand,
  offCommand,
  exportCommand,
  rectifierCommand,
];
