/** What a command of `nightbath` is made of: its words, its options, and what it does. */

/** Exit codes; the numbers of sysexits where it has one. */
export const exitCodes = {
  done: 0,
  failed: 1,
  usage: 2,
  supplyNotReachable: 69,
  offNotConfirmed: 70,
  database: 74,
  settings: 78,
} as const;

export const exitCodeMeanings: readonly (readonly [number, string])[] = [
  [exitCodes.done, 'done; for serve and off: the output is confirmed off'],
  [exitCodes.failed, 'failed, or refused with a reason'],
  [exitCodes.usage, 'the command line is not understood'],
  [exitCodes.supplyNotReachable, 'the supply, or the port of the page, cannot be had'],
  [
    exitCodes.offNotConfirmed,
    'THE OUTPUT COULD NOT BE CONFIRMED OFF: switch the supply off by hand',
  ],
  [exitCodes.database, 'the database cannot be read or written'],
  [exitCodes.settings, 'the settings cannot be used'],
];

/** One option: a switch, or one with a value whose placeholder is shown in the help. */
export interface CommandOption {
  readonly value?: string;
  readonly help: string;
}

/** Where a command reads and writes; real streams, or those of a test. */
export interface Terminal {
  readonly env: NodeJS.ProcessEnv;
  /** True where bold and colour may be used. */
  readonly decorated: boolean;
  /** One or more whole lines for the result. */
  print(text: string): void;
  /** Raw text for the result; resolves when more may be written. */
  write(text: string): Promise<void>;
  /** One or more whole lines about the work, apart from the result. */
  complain(text: string): void;
  readInput(): Promise<string>;
  /** A line that is typed; null where there is no terminal to type at. */
  ask(prompt: string): Promise<string | null>;
  /** A line that is typed and not shown; null where there is no terminal to type at. */
  readSecret(prompt: string): Promise<string | null>;
}

export interface Call {
  readonly terminal: Terminal;
  readonly words: readonly string[];
  readonly values: Readonly<Record<string, string | undefined>>;
  /** Switches that were given. */
  readonly switches: ReadonlySet<string>;
}

export interface Command {
  /** Its positional words, as in a usage line: `FILE`, `[TANK]`. */
  readonly words: readonly string[];
  readonly options: Readonly<Record<string, CommandOption>>;
  /** Paragraphs and examples under the options. */
  readonly notes: readonly string[];
  /** Resolves with the exit code. */
  run(call: Call): Promise<number>;
}

/** The command line itself is at fault; ends with exit code 2 and a hint at the help. */
export class UsageError extends Error {
  override readonly name = 'UsageError';
}

export const configOption: CommandOption = {
  value: 'FILE',
  help: 'settings to use, in place of the usual places',
};

export const jsonOption: CommandOption = { help: 'print the result as JSON' };

/** An option's value as a whole number within bounds; throws a UsageError that names them. */
export function wholeNumber(call: Call, name: string, min: number, max: number): number | null {
  const text = call.values[name];
  if (text === undefined) return null;
  const value = /^\d{1,10}$/.test(text) ? Number(text) : NaN;
  if (value >= min && value <= max) return value;
  throw new UsageError(`--${name} is "${text}"; it must be a whole number from ${min} to ${max}.`);
}

export function configPathOf(call: Call): { readonly configPath?: string } {
  const { config } = call.values;
  return config === undefined ? {} : { configPath: config };
}

/** Bold where the terminal can. */
export function bold(terminal: Terminal, text: string): string {
  return terminal.decorated ? `\u001B[1m${text}\u001B[22m` : text;
}
