/** Asks one line at a terminal. */

import { createInterface } from 'node:readline/promises';

/** The answer, trimmed; null where nobody sits at a terminal, or where it was closed. */
export async function askLine(
  input: NodeJS.ReadStream,
  output: NodeJS.WriteStream,
  prompt: string,
): Promise<string | null> {
  if (!input.isTTY) return null;
  const lines = createInterface({ input, output });
  const ended = new AbortController();
  lines.once('close', () => ended.abort());
  try {
    return (await lines.question(`${prompt} `, { signal: ended.signal })).trim();
  } catch {
    return null;
  } finally {
    lines.close();
  }
}
