/** The `nightbath` command: finds the subcommand, parses its options, and turns errors into sentences. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { text } from 'node:stream/consumers';
import { parseArgs } from 'node:util';
import { didYouMean, packageRoot, SettingsError } from '../settings/door.ts';
import { exitCodes, UsageError } from './command.ts';
import type { Call, Command, Terminal } from './command.ts';
import { commands } from './commands.ts';
import type { CommandEntry } from './commands.ts';
import { commandHelp, mainHelp } from './help.ts';
import { askLine } from './ask.ts';
import { readSecret } from './secret.ts';

function version(): string {
  const description: unknown = JSON.parse(
    readFileSync(join(packageRoot(), 'package.json'), 'utf8'),
  );
  const known = typeof description === 'object' && description !== null && 'version' in description;
  return known ? String(description.version) : 'unknown';
}

function systemTerminal(): Terminal {
  const { env, stdout, stderr } = process;
  // A reader that went away is told by the write that fails, not by an exception from nowhere.
  stdout.on('error', () => {});
  stderr.on('error', () => {});
  const noColour = env['NO_COLOR'] !== undefined && env['NO_COLOR'] !== '';
  return {
    env,
    decorated: stdout.isTTY && !noColour && env['TERM'] !== 'dumb',
    print: (lines) => void stdout.write(`${lines}\n`),
    write: (chunk) =>
      new Promise((resolve, reject) => {
        stdout.write(chunk, (error) => {
          if (error === null || error === undefined) resolve();
          else reject(error);
        });
      }),
    complain: (lines) => void stderr.write(`${lines}\n`),
    readInput: () => text(process.stdin),
    ask: (prompt) => askLine(process.stdin, stderr, prompt),
    readSecret: (prompt) => readSecret(process.stdin, (shown) => void stderr.write(shown), prompt),
  };
}

function parse(
  commandName: string,
  command: Command,
  args: readonly string[],
  terminal: Terminal,
): Call | 'help' {
  const known = Object.entries(command.options).map(([name, { value }]) => {
    const type = value === undefined ? ('boolean' as const) : ('string' as const);
    return [name, { type }] as const;
  });
  const options = { ...Object.fromEntries(known), help: { type: 'boolean', short: 'h' } } as const;
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({ args: [...args], options, allowPositionals: true, strict: true });
  } catch (error) {
    throw new UsageError(sayUnknown(error, Object.keys(options)), { cause: error });
  }
  if (parsed.values['help'] === true) return 'help';
  if (parsed.positionals.length > command.words.length) {
    const extra = parsed.positionals[command.words.length] ?? '';
    throw new UsageError(`"${extra}" is one word too many for ${commandName}.`);
  }
  const values: Record<string, string | undefined> = {};
  const switches = new Set<string>();
  for (const [name, value] of Object.entries(parsed.values)) {
    if (value === true) switches.add(name);
    else if (typeof value === 'string') values[name] = value;
  }
  return { terminal, words: parsed.positionals, values, switches };
}

function sayUnknown(error: unknown, known: readonly string[]): string {
  const message = error instanceof Error ? error.message : String(error);
  const unknown = /^Unknown option '(-{1,2}[^']*)'/.exec(message)?.[1];
  if (unknown === undefined) return message.split('\n')[0] ?? message;
  const options = known.map((name) => `--${name}`);
  return `${unknown} is not a known option.${didYouMean(unknown, options)}`;
}

/** Runs one command line; resolves with its exit code and never throws. */
export async function runCommandLine(
  args: readonly string[],
  terminal: Terminal = systemTerminal(),
): Promise<number> {
  const [first, ...rest] = args;
  const entry = commands.find(({ name }) => name === first);
  try {
    if (entry === undefined) return await withoutCommand(first, rest, terminal);
    const command = await entry.load();
    const call = parse(entry.name, command, rest, terminal);
    if (call !== 'help') return await command.run(call);
    terminal.print(commandHelp(terminal, entry, command));
    return exitCodes.done;
  } catch (error) {
    return explain(error, entry, terminal);
  }
}

async function withoutCommand(
  first: string | undefined,
  rest: readonly string[],
  terminal: Terminal,
): Promise<number> {
  if (first === '-V' || first === '--version') {
    terminal.print(version());
    return exitCodes.done;
  }
  const asked = commands.find(({ name }) => name === rest[0]);
  if (first === 'help' && asked !== undefined) {
    terminal.print(commandHelp(terminal, asked, await asked.load()));
    return exitCodes.done;
  }
  if (first === '-h' || first === '--help' || first === 'help') {
    terminal.print(mainHelp(terminal, commands));
    return exitCodes.done;
  }
  if (first === undefined) throw new UsageError('Name a command.');
  const names = commands.map(({ name }) => name);
  throw new UsageError(
    `"${first}" is not a command.${didYouMean(first, names)} Known: ${names.join(', ')}.`,
  );
}

function explain(error: unknown, entry: CommandEntry | undefined, terminal: Terminal): number {
  if (error instanceof UsageError) {
    const help = entry === undefined ? 'nightbath --help' : `nightbath ${entry.name} --help`;
    terminal.complain(`${error.message}\nSee ${help}.`);
    return exitCodes.usage;
  }
  if (error instanceof SettingsError) {
    terminal.complain(error.message);
    return exitCodes.settings;
  }
  // Whoever read our output has gone, as `head` does; there is nobody left to tell.
  if (error instanceof Error && 'code' in error && error.code === 'EPIPE') return exitCodes.done;
  terminal.complain(error instanceof Error ? error.message : String(error));
  return exitCodes.failed;
}
