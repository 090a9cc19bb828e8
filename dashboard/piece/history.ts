/** Undo and redo: the piece before each edit, bounded, and kept with the draft across reloads. */

import { pieceDraftFrom, type PieceDraft } from './draft.ts';

/** One edit: what it was, and the piece before it (or, once undone, after it). */
interface Step {
  readonly what: string;
  readonly piece: PieceDraft;
}

/** Edits that can be taken back, and how many characters all of them may take in the browser. */
export const mostSteps = 100;
const mostCharacters = 1_500_000;
/** Typing in one entry is one edit until it rests this long, ms. */
const restMs = 1500;

interface Stored {
  readonly past: readonly Step[];
  readonly future: readonly Step[];
  readonly now: unknown;
}

function stepsFrom(stored: unknown): Step[] {
  if (!Array.isArray(stored)) return [];
  return (stored as Partial<Step>[])
    .filter((step) => typeof step?.what === 'string')
    .map(({ what = '', piece }) => ({ what, piece: pieceDraftFrom(piece) }));
}

export class PieceHistory {
  #now: PieceDraft;
  #past: Step[] = [];
  #future: Step[] = [];
  #last = { entry: '', atMs: -Infinity };

  constructor(now: PieceDraft) {
    this.#now = now;
  }

  /** Goes on where the stored history ended, if it ended at this very piece; else begins anew. */
  static from(text: string | null, now: PieceDraft): PieceHistory {
    const history = new PieceHistory(now);
    try {
      const stored = JSON.parse(text ?? '{}') as Partial<Stored>;
      if (JSON.stringify(stored.now) !== JSON.stringify(now)) return history;
      history.#past = stepsFrom(stored.past);
      history.#future = stepsFrom(stored.future);
    } catch {
      // What cannot be read is no history.
    }
    return history;
  }

  get now(): PieceDraft {
    return this.#now;
  }

  /** What would be taken back; null for nothing. */
  get undoes(): string | null {
    return this.#past.at(-1)?.what ?? null;
  }

  /** What would be done again; null for nothing. */
  get redoes(): string | null {
    return this.#future.at(-1)?.what ?? null;
  }

  /** Takes in the piece after an edit; one with the same `entry` soon after belongs to the same edit. */
  record(piece: PieceDraft, what: string, entry = '', atMs = Date.now()): void {
    const goesOn =
      entry !== '' &&
      entry === this.#last.entry &&
      atMs - this.#last.atMs < restMs &&
      this.#past.length > 0;
    if (!goesOn) this.#past = [...this.#past, { what, piece: this.#now }].slice(-mostSteps);
    this.#future = [];
    this.#now = piece;
    this.#last = { entry, atMs };
  }

  /** The piece before the last edit, which is now the piece; null where there is none. */
  undo(): PieceDraft | null {
    return this.#step(this.#past, this.#future);
  }

  redo(): PieceDraft | null {
    return this.#step(this.#future, this.#past);
  }

  #step(from: Step[], to: Step[]): PieceDraft | null {
    const step = from.pop();
    if (!step) return null;
    to.push({ what: step.what, piece: this.#now });
    this.#now = step.piece;
    this.#last = { entry: '', atMs: -Infinity };
    return step.piece;
  }

  /** To be kept; the oldest edits are left out where there is not room for all. */
  toText(): string {
    let past: readonly Step[] = this.#past;
    for (;;) {
      const stored: Stored = { past, future: this.#future, now: this.#now };
      const text = JSON.stringify(stored);
      if (text.length <= mostCharacters || past.length === 0) return text;
      past = past.slice(Math.ceil(past.length / 2));
    }
  }
}
