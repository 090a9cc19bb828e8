/** A terminal that keeps what a command printed, and a settings folder with a state folder of its own. */

import { runCommandLine } from '../../daemon/cli/main.ts';
import type { Terminal } from '../../daemon/cli/command.ts';
import { BenchFolder } from '../settings/bench-folder.ts';

export interface CommandResult {
  readonly code: number;
  readonly output: string;
  readonly complaints: string;
}

export interface RunOptions {
  readonly env?: NodeJS.ProcessEnv;
  readonly input?: string;
  readonly decorated?: boolean;
}

/** Runs one command line in this process. */
export async function nightbath(
  args: readonly string[],
  options: RunOptions = {},
): Promise<CommandResult> {
  let output = '';
  let complaints = '';
  const terminal: Terminal = {
    env: options.env ?? {},
    decorated: options.decorated ?? false,
    print: (text) => void (output += `${text}\n`),
    write: async (text) => void (output += text),
    complain: (text) => void (complaints += `${text}\n`),
    readInput: async () => options.input ?? '',
  };
  const code = await runCommandLine(args, terminal);
  return { code, output, complaints };
}

/** A bench whose settings, database and control socket are all in one throw-away folder. */
export class CliBench extends BenchFolder {
  readonly env: NodeJS.ProcessEnv = {
    HOME: this.path,
    NIGHTBATH_CONFIG: this.file,
    STATE_DIRECTORY: `${this.path}/state`,
  };

  run(args: readonly string[], input = ''): Promise<CommandResult> {
    return nightbath(args, { env: this.env, input });
  }
}
