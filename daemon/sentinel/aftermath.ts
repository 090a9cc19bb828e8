/** What the sentinel does when nobody else does: OFF, its words, and the note for the next control. */

import { renameSync } from 'node:fs';
import { GuardBook, readGuardBook } from './guard-book.ts';
import type { OffResult } from './guard.ts';
import type { Guards } from './guards.ts';
import { readBootClocks } from './boot-clocks.ts';
import { addSentinelNote } from './note.ts';
import type { SentinelNote } from './note.ts';

/** One thing to be said outside; grave is what sends somebody to the bench at once. */
export type Tell = (word: {
  readonly grave: boolean;
  readonly title: string;
  readonly text: string;
}) => void;

export interface AftermathParts {
  readonly guards: Guards;
  readonly noteFile: string;
  readonly bookFile: string;
  readonly say: (sentence: string) => void;
  /** Says it outside. */
  readonly tell: Tell;
  /** Ends the trying: somebody insists on leaving. */
  readonly leave: AbortSignal;
}

export class Aftermath {
  readonly #parts: AftermathParts;
  readonly #book: GuardBook;
  /** Another sentinel's book is not ours to write. */
  #bookIsOurs = true;
  #written: Promise<void> = Promise.resolve();

  constructor(parts: AftermathParts) {
    this.#parts = parts;
    this.#book = new GuardBook(parts.bookFile);
  }

  /** What is held has changed. */
  writeDown(): void {
    if (!this.#bookIsOurs) return;
    this.#written = this.#book.write(this.#parts.guards.ways);
    // Whoever needs it asks with `written`; one OFF too many at the next start harms nobody.
    this.#written.catch(() => undefined);
  }

  /** Resolves once what is held is on disk; rejects with the reason when it cannot be. */
  async written(): Promise<void> {
    try {
      await this.#written;
    } catch (error) {
      throw new Error(`the way to OFF cannot be written down: ${reasonOf(error)}`, {
        cause: error,
      });
    }
  }

  /**
   * Before anything else is started: OFF for every output that an earlier sentinel and its control
   * have left on because both were ended at once. True when nothing is left to switch off.
   */
  async settleLeftBehind(withinMs: number): Promise<boolean> {
    const { bookFile, guards, say } = this.#parts;
    const left = readGuardBook(bookFile);
    if (left.kind === 'unreadable') {
      const found = `What an earlier Nightbath may have left on cannot be read: ${left.why}`;
      say(found);
      this.leaveNote('unreadable', found, []);
      this.#keepAside();
    } else if (left.kind === 'in-use') {
      this.#bookIsOurs = false;
      say(`Another Nightbath (process ${left.pid}) watches over this bench.`);
    } else if (left.kind === 'owed') {
      const found =
        'Nightbath was cut off, and its sentinel left no word that everything was off. ' +
        'OFF is sent before all else.';
      say(found);
      guards.takeOver(left.ways);
      const results = await this.switchOff(withinMs);
      this.leaveNote('left-on', found, results);
    }
    return this.#parts.guards.isEmpty;
  }

  /** The next thing that is held would write over it; somebody may still make sense of it. */
  #keepAside(): void {
    const { bookFile, say } = this.#parts;
    try {
      renameSync(bookFile, `${bookFile}.unreadable`);
    } catch (error) {
      say(`It could not be kept aside: ${reasonOf(error)}`);
    }
  }

  async switchOff(withinMs: number): Promise<readonly OffResult[]> {
    const { guards, say, leave } = this.#parts;
    if (guards.isEmpty) return [];
    // A timer of our own: a signal made of others may be collected as garbage and never fire.
    const end = new AbortController();
    const stop = (): void => end.abort();
    const timer = setTimeout(stop, withinMs);
    leave.addEventListener('abort', stop);
    if (leave.aborted) stop();
    const results = await guards.switchOff(end.signal, (tankId, reason) => {
      say(`Tank ${tankId}: OFF is not confirmed: ${reason}. Trying on.`);
    });
    clearTimeout(timer);
    leave.removeEventListener('abort', stop);
    for (const { tankId, confirmed, message } of results) {
      say(`Tank ${tankId}: ${confirmed ? '' : 'NOT CONFIRMED OFF. '}${message}`);
    }
    return results;
  }

  /** Control is dead: whoever is asleep hears of it from here, and by what is known of the outputs. */
  #tell(found: string, results: readonly OffResult[], unknown: boolean): void {
    if (unknown) {
      this.#parts.tell({
        grave: true,
        title: 'Nobody knows whether an output was left on',
        text: `Look at every supply of this bench now, and switch off by hand what is on.\n${found}`,
      });
      return;
    }
    const open = results.filter(({ confirmed }) => !confirmed);
    const lines = results.map(({ tankId, message }) => `Tank ${tankId}: ${message}`);
    if (open.length > 0) {
      const names = open.map(({ tankId }) => tankId).join(', ');
      this.#parts.tell({
        grave: true,
        title: `The output could not be confirmed off: ${names}`,
        text: [
          'Go to the bench now and switch the supply off by hand, at its mains switch.',
          found,
          ...lines,
        ].join('\n'),
      });
      return;
    }
    const off =
      results.length === 0
        ? 'No output of a supply was held on at that time.'
        : 'Every tank that was on is off, read back from its supply.';
    const after = 'Nothing goes on by itself. Look at the page.';
    this.#parts.tell({
      grave: false,
      title: 'The control process was lost; the tanks are off',
      text: [found, off, ...lines, after].join('\n'),
    });
  }

  /** `offUnknown`: nothing is held here that OFF could be sent to, and something may be on all the same. */
  leaveNote(
    cause: SentinelNote['cause'],
    found: string,
    results: readonly OffResult[],
    offUnknown = cause === 'unreadable',
  ): void {
    const tanks = results.map(({ tankId, confirmed, message }) => ({
      tankId,
      offConfirmed: confirmed,
      message,
    }));
    this.#tell(found, results, offUnknown);
    try {
      const times = { wallMs: Date.now(), clocks: readBootClocks() };
      addSentinelNote(this.#parts.noteFile, { ...times, cause, found, tanks });
    } catch (error) {
      this.#parts.say(`The note for the log could not be written: ${reasonOf(error)}`);
    }
  }
}

function reasonOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
