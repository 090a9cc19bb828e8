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
  /** What is typed where a secret is asked for; left out, there is no terminal to type at. */
  readonly secrets?: readonly string[];
  /** What is typed where something is asked; left out, there is no terminal to type at. */
  readonly answers?: readonly string[];
  readonly decorated?: boolean;
}

/** Runs one command line in this process. */
export async function nightbath(
  args: readonly string[],
  options: RunOptions = {},
): Promise<CommandResult> {
  const secrets = options.secrets === undefined ? null : [...options.secrets];
  const answers = options.answers === undefined ? null : [...options.answers];
  let output = '';
  let complaints = '';
  const terminal: Terminal = {
    env: options.env ?? {},
    decorated: options.decorated ?? false,
    print: (text) => void (output += `${text}\n`),
    write: async (text) => void (output += text),
    complain: (text) => void (complaints += `${text}\n`),
    readInput: async () => options.input ?? '',
    ask: async (prompt) => {
      complaints += `${prompt}\n`;
      return answers?.shift() ?? null;
    },
    readSecret: async (prompt) => {
      if (secrets === null) return null;
      complaints += prompt;
      return secrets.shift() ?? '';
    },
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

  run(args: readonly string[], input = '', secrets?: readonly string[]): Promise<CommandResult> {
    return nightbath(args, { env: this.env, input, ...(secrets && { secrets }) });
  }
}
