/** One line of `nightbath verify`: what was looked at, and how it was found. */

export type Word = 'ok' | 'look' | 'wrong';

export interface Finding {
  readonly word: Word;
  /** What was found, and what to do where it is not well. */
  readonly found: string;
}

export interface Line extends Finding {
  readonly what: string;
  /** The exit code that a wrong one leads to. */
  readonly code: number;
}

/** A check that throws is wrong, in the words of its error. */
export function check(what: string, code: number, look: () => Finding): Line {
  try {
    return { what, code, ...look() };
  } catch (error) {
    const found = error instanceof Error ? error.message : String(error);
    return { what, code, word: 'wrong', found: found.split('\n')[0] ?? found };
  }
}
