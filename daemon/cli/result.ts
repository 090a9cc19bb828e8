/** Writes a long result: to standard output, or to a new file where one is named. */

import { closeSync, openSync, rmSync, writeSync } from 'node:fs';
import type { Call, CommandOption } from './command.ts';

/** A short text is gathered before it is written: a reading a write would take minutes. */
const gatherCharacters = 64 * 1024;

export const outOption: CommandOption = {
  value: 'FILE',
  help: 'write to a new file in place of standard output',
};

/** Writes to the file of `--out`, and says so, or to standard output. Throws where it cannot. */
export async function writeResult(call: Call, pieces: Iterable<string>): Promise<void> {
  const { out } = call.values;
  if (out === undefined) {
    for (const text of gathered(pieces)) await call.terminal.write(text);
    return;
  }
  writeFile(out, pieces);
  call.terminal.complain(`Written to ${out}.`);
}

function* gathered(pieces: Iterable<string>): Generator<string> {
  let text = '';
  for (const piece of pieces) {
    text += piece;
    if (text.length < gatherCharacters) continue;
    yield text;
    text = '';
  }
  yield text;
}

/** Never over a file that is there; a half-written one is removed. */
function writeFile(file: string, pieces: Iterable<string>): void {
  let descriptor: number;
  try {
    descriptor = openSync(file, 'wx');
  } catch (error) {
    const taken = error instanceof Error && 'code' in error && error.code === 'EEXIST';
    const why = taken ? 'it is there already' : reason(error);
    throw new Error(`${file} cannot be written: ${why}.`, { cause: error });
  }
  try {
    for (const text of gathered(pieces)) writeSync(descriptor, text);
    closeSync(descriptor);
  } catch (error) {
    rmSync(file, { force: true });
    throw error;
  }
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
