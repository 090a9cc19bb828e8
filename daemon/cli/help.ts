/** The help texts, made from the table of commands, so that they cannot fall behind it. */

import { bold, exitCodeMeanings } from './command.ts';
import type { Command, Terminal } from './command.ts';
import type { CommandEntry } from './commands.ts';

const width = 96;

/** Breaks a text into lines; each but the first is indented. */
function wrap(text: string, indent: number, firstUsed: number): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const used = lines.length === 0 ? firstUsed : indent;
    if (line !== '' && used + line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else {
      line = line === '' ? word : `${line} ${word}`;
    }
  }
  lines.push(line);
  return lines.join(`\n${' '.repeat(indent)}`);
}

/** Two columns, the second one wrapped. */
export function columns(rows: readonly (readonly [string, string])[]): string {
  const left = Math.max(...rows.map(([name]) => name.length)) + 4;
  return rows
    .map(([name, text]) => `  ${name.padEnd(left - 2)}${wrap(text, left, left)}`)
    .join('\n');
}

function usageLine(name: string, command: Command): string {
  const options = Object.keys(command.options).length > 0 ? ['[OPTIONS]'] : [];
  return ['nightbath', name, ...command.words, ...options].join(' ');
}

const helpRow = ['-h, --help', 'this text'] as const;

export function commandHelp(
  terminal: Terminal,
  { name: itsName, summary }: CommandEntry,
  command: Command,
): string {
  const options = Object.entries(command.options).map(
    ([name, { value, help }]) =>
      [`--${name}${value === undefined ? '' : ` ${value}`}`, help] as const,
  );
  return [
    wrap(`${summary}.`, 0, 0),
    '',
    `${bold(terminal, 'Usage')}  ${usageLine(itsName, command)}`,
    '',
    bold(terminal, 'Options'),
    columns([...options, helpRow]),
    ...command.notes.flatMap((note) => ['', note.startsWith('  ') ? note : wrap(note, 0, 0)]),
  ].join('\n');
}

export function mainHelp(terminal: Terminal, commands: readonly CommandEntry[]): string {
  return [
    'Nightbath runs an electroforming bench through the night.',
    '',
    `${bold(terminal, 'Usage')}  nightbath COMMAND [OPTIONS]`,
    '',
    bold(terminal, 'Commands'),
    columns(commands.map((command) => [command.name, command.summary])),
    '',
    bold(terminal, 'Options'),
    columns([helpRow, ['-V, --version', 'the version']]),
    '',
    bold(terminal, 'Settings'),
    wrap(
      'The first of these that is there: --config FILE; the file in NIGHTBATH_CONFIG; bench.toml in ' +
        "the user's folder for settings (~/.config/nightbath); the simulated bench that is shipped.",
      0,
      0,
    ),
    '',
    bold(terminal, 'Exit codes'),
    columns(exitCodeMeanings.map(([code, meaning]) => [String(code), meaning])),
    '',
    'nightbath COMMAND --help tells more of a command. NO_COLOR is respected.',
  ].join('\n');
}
