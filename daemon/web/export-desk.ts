/** Serves one export at a time as a stream of small slices, so that nothing else has to wait for it. */

import { setImmediate as nextTurn } from 'node:timers/promises';
import { ProblemError } from './problem.ts';

/** Longest work in one turn of the event loop, ms, and the size at which a slice is sent. */
const sliceMs = 5;
const sliceCharacters = 64 * 1024;

export class ExportDesk {
  readonly #stallMs: number;
  #busy = false;

  /** A client that takes nothing for `stallMs` loses its export, so that others get their turn. */
  constructor(stallMs = 30_000) {
    this.#stallMs = stallMs;
  }

  get busy(): boolean {
    return this.#busy;
  }

  /** Streams the pieces; throws 503 while another export runs. */
  stream(pieces: Iterator<string>): ReadableStream<Uint8Array> {
    if (this.#busy) {
      const detail = 'Another export is running; they go one at a time.';
      throw new ProblemError('unavailable', detail, [], { 'retry-after': '5' });
    }
    this.#busy = true;
    let over = false;
    let timer: NodeJS.Timeout | undefined;
    const end = (): void => {
      if (over) return;
      over = true;
      this.#busy = false;
      clearTimeout(timer);
      pieces.return?.();
    };
    const encoder = new TextEncoder();
    const watch = (controller: ReadableStreamDefaultController<Uint8Array>): void => {
      clearTimeout(timer);
      timer = setTimeout(() => {
        end();
        controller.error(new Error('The export was given up: nobody took it.'));
      }, this.#stallMs);
      timer.unref();
    };
    return new ReadableStream<Uint8Array>(
      {
        start: watch,
        pull: async (controller) => {
          watch(controller);
          // Reads follow one another without leaving the turn, so each slice begins a new one.
          await nextTurn();
          if (over) return;
          try {
            const { text, done } = slice(pieces);
            if (text !== '') controller.enqueue(encoder.encode(text));
            if (!done) return;
            end();
            controller.close();
          } catch (error) {
            end();
            controller.error(error);
          }
        },
        cancel: end,
      },
      { highWaterMark: 0 },
    );
  }
}

function slice(pieces: Iterator<string>): { readonly text: string; readonly done: boolean } {
  const began = performance.now();
  const parts: string[] = [];
  let characters = 0;
  while (characters < sliceCharacters && performance.now() - began < sliceMs) {
    const step = pieces.next();
    if (step.done === true) return { text: parts.join(''), done: true };
    parts.push(step.value);
    characters += step.value.length;
  }
  return { text: parts.join(''), done: false };
}
