/** Cuts a stream of text into JSON values, one a line, with a bound on the length of a line. */

/**
 * Longest request to control, characters. A plan with a careful trace stays below it; a picture comes
 * in parts, because taking megabytes in one line would hold the loop up.
 */
export const longestRequest = 256 * 1024;

export class JsonLines {
  readonly #longest: number;
  readonly #take: (value: unknown) => void;
  #rest = '';

  constructor(longestLine: number, take: (value: unknown) => void) {
    this.#longest = longestLine;
    this.#take = take;
  }

  /** False when a line is too long or is no JSON: the other side is then not to be trusted. */
  push(text: string): boolean {
    this.#rest += text;
    let end = this.#rest.indexOf('\n');
    while (end >= 0) {
      const line = this.#rest.slice(0, end);
      this.#rest = this.#rest.slice(end + 1);
      if (line.length > this.#longest || !this.#parse(line)) return false;
      end = this.#rest.indexOf('\n');
    }
    return this.#rest.length <= this.#longest;
  }

  #parse(line: string): boolean {
    if (line.trim() === '') return true;
    let value: unknown;
    try {
      value = JSON.parse(line);
    } catch {
      return false;
    }
    this.#take(value);
    return true;
  }
}
