/** Asks for a secret at a terminal without showing it. */

export interface SecretInput {
  readonly isTTY?: boolean;
  setRawMode(on: boolean): unknown;
  setEncoding(encoding: 'utf8'): unknown;
  on(event: 'data', listener: (text: string) => void): unknown;
  on(event: 'end', listener: () => void): unknown;
  off(event: 'data', listener: (text: string) => void): unknown;
  off(event: 'end', listener: () => void): unknown;
  resume(): unknown;
  pause(): unknown;
}

/** What one key does to what was typed so far. */
function typed(before: string, key: string): string {
  if (key === '\u007F' || key === '\b') return Array.from(before).slice(0, -1).join('');
  if (key === '\u0015') return '';
  // Arrows and the like mean nothing here.
  return /^\p{Cc}$/u.test(key) ? before : before + key;
}

/**
 * The line that is typed; null where there is no terminal. Nothing is echoed, not even its length.
 * Rejects on Ctrl-C and where the terminal goes away.
 */
export function readSecret(
  input: SecretInput,
  show: (text: string) => void,
  prompt: string,
): Promise<string | null> {
  if (input.isTTY !== true) return Promise.resolve(null);
  return new Promise((resolve, reject) => {
    let line = '';
    const end = (settle: () => void): void => {
      input.off('data', hear);
      input.off('end', gone);
      input.setRawMode(false);
      input.pause();
      show('\n');
      settle();
    };
    const gone = (): void => end(() => reject(new Error('Nothing was set.')));
    const hear = (text: string): void => {
      // A key with a name sends a sequence that begins with escape.
      if (text.startsWith('\u001B')) return;
      for (const key of text) {
        if (key === '\u0003' || key === '\u0004') return gone();
        if (key === '\r' || key === '\n') return end(() => resolve(line));
        line = typed(line, key);
      }
    };
    // Before the prompt: what is typed at once must not be echoed either.
    input.setRawMode(true);
    input.setEncoding('utf8');
    input.on('data', hear);
    input.on('end', gone);
    input.resume();
    show(prompt);
  });
}
