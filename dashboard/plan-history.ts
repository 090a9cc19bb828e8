/** Undo and redo for a page: what was there before each edit, bounded, and kept across reloads. */

/** One edit: what it was, and the state before it (or, once undone, after it). */
interface Step<State> {
  readonly what: string;
  readonly state: State;
}

/** Edits that can be taken back, and how many characters all of them may take in the browser. */
export const mostSteps = 100;
const mostCharacters = 1_500_000;
/** Typing in one entry is one edit until it rests this long, ms. */
const restMs = 1500;

interface Stored {
  readonly past?: unknown;
  readonly future?: unknown;
  readonly now?: unknown;
}

export class History<State> {
  #now: State;
  #past: readonly Step<State>[] = [];
  #future: readonly Step<State>[] = [];
  #last = { entry: '', atMs: -Infinity };

  constructor(now: State) {
    this.#now = now;
  }

  /**
   * Goes on where the stored history ended, if it ended at this very state; else begins anew.
   * `read` makes a state of whatever was stored.
   */
  static from<State>(
    text: string | null,
    now: State,
    read: (stored: unknown) => State,
  ): History<State> {
    const history = new History(now);
    try {
      const stored = (JSON.parse(text ?? '{}') ?? {}) as Stored;
      // Read first, since what was stored may have its entries in another order.
      if (JSON.stringify(read(stored.now)) !== JSON.stringify(now)) return history;
      const steps = (list: unknown): Step<State>[] =>
        (Array.isArray(list) ? (list as Partial<Step<unknown>>[]) : [])
          .filter((step) => typeof step?.what === 'string')
          .map(({ what = '', state }) => ({ what, state: read(state) }));
      history.#past = steps(stored.past);
      history.#future = steps(stored.future);
    } catch {
      // What cannot be read is no history.
    }
    return history;
  }

  get now(): State {
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

  /** Takes in the state after an edit; one with the same `entry` soon after belongs to the same edit. */
  record(state: State, what: string, entry = '', atMs = Date.now()): void {
    const { entry: last, atMs: lastMs } = this.#last;
    const goesOn =
      entry !== '' && entry === last && atMs - lastMs < restMs && this.#past.length > 0;
    if (!goesOn) this.#past = [...this.#past, { what, state: this.#now }].slice(-mostSteps);
    this.#future = [];
    this.#now = state;
    this.#last = { entry, atMs };
  }

  /** Takes in a state that nobody edited: the way back stays as it is. */
  replace(state: State): void {
    this.#now = state;
  }

  /** Puts a state of elsewhere behind the one that is now, so that an undo leads to it. */
  shelve(state: State, what: string): void {
    this.#past = [...this.#past, { what, state }].slice(-mostSteps);
    this.#last = { entry: '', atMs: -Infinity };
  }

  /** Changes all states alike where something became true of each of them, such as being saved. */
  amend(change: (state: State) => State): void {
    const amended = (steps: readonly Step<State>[]): readonly Step<State>[] =>
      steps.map(({ what, state }) => ({ what, state: change(state) }));
    this.#past = amended(this.#past);
    this.#future = amended(this.#future);
    this.#now = change(this.#now);
  }

  /** The state before the last edit, which is now the state; null where there is none. */
  undo(): State | null {
    const step = this.#past.at(-1);
    if (!step) return null;
    this.#past = this.#past.slice(0, -1);
    this.#future = [...this.#future, { what: step.what, state: this.#now }];
    return this.#goTo(step.state);
  }

  redo(): State | null {
    const step = this.#future.at(-1);
    if (!step) return null;
    this.#future = this.#future.slice(0, -1);
    this.#past = [...this.#past, { what: step.what, state: this.#now }];
    return this.#goTo(step.state);
  }

  #goTo(state: State): State {
    this.#now = state;
    this.#last = { entry: '', atMs: -Infinity };
    return state;
  }

  /** To be kept; the oldest edits are left out where there is not room for all. */
  toText(): string {
    let past = this.#past;
    for (;;) {
      const text = JSON.stringify({ past, future: this.#future, now: this.#now });
      if (text.length <= mostCharacters || past.length === 0) return text;
      past = past.slice(Math.ceil(past.length / 2));
    }
  }
}
