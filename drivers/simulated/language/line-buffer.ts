/** Cuts what arrives into lines that end with a line feed, with a bounded buffer. */

const bufferLength = 512;

export class LineBuffer {
  #text = '';
  #overrun = false;
  #sinceMs = 0;

  /** What stands there without a terminator. */
  get partial(): string {
    return this.#text;
  }
  /** When the last bytes of the partial line came, ms. */
  get sinceMs(): number {
    return this.#sinceMs;
  }

  clear(): void {
    this.#text = '';
    this.#overrun = false;
  }

  /**
   * Calls `onLine` for each complete line, and `onOverrun` once for a line that did not fit: all of
   * it is thrown away up to its terminator.
   */
  push(bytes: string, nowMs: number, onLine: (line: string) => void, onOverrun: () => void): void {
    this.#sinceMs = nowMs;
    let start = 0;
    for (;;) {
      const end = bytes.indexOf('\n', start);
      const piece = bytes.slice(start, end < 0 ? undefined : end);
      if (!this.#overrun && this.#text.length + piece.length > bufferLength) {
        this.#overrun = true;
        this.#text = '';
        onOverrun();
      }
      if (end < 0) {
        if (!this.#overrun) this.#text += piece;
        return;
      }
      const line = this.#text + piece;
      const whole = !this.#overrun;
      this.clear();
      if (whole) onLine(line);
      start = end + 1;
    }
  }
}
