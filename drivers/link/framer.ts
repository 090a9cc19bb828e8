/** Cuts a byte stream into frames: the readline parser behind a cap on the length of a line. */

import { Transform, type TransformCallback } from 'node:stream';
import { ReadlineParser } from '@serialport/parser-readline';
import type { Framing } from './link.ts';

export interface Framer {
  /** Frames that these bytes complete are delivered before it returns. */
  push(chunk: Buffer): void;
  /** Forgets a frame that has begun. */
  reset(): void;
}

interface FramerListener {
  readonly onFrame: (frame: string) => void;
  readonly onOverflow: () => void;
}

/** Passes whole and partial lines on, and drops the rest of a line that grows beyond the cap. */
class LengthCap extends Transform {
  readonly #terminator: Buffer;
  readonly #maxBytes: number;
  readonly #onOverflow: () => void;
  #lineBytes = 0;
  #matched = 0;
  #skipping = false;

  constructor(terminator: Buffer, maxBytes: number, onOverflow: () => void) {
    super();
    this.#terminator = terminator;
    this.#maxBytes = maxBytes + terminator.length;
    this.#onOverflow = onOverflow;
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: TransformCallback): void {
    let passFrom = 0;
    let lineFrom = 0;
    for (let index = 0; index < chunk.length; index += 1) {
      if (this.#endsLine(chunk[index])) {
        if (this.#skipping) passFrom = index + 1;
        this.#skipping = false;
        this.#lineBytes = 0;
        lineFrom = index + 1;
      } else if (!this.#skipping && this.#lineBytes >= this.#maxBytes) {
        if (lineFrom > passFrom) this.push(chunk.subarray(passFrom, lineFrom));
        this.#skipping = true;
        this.#onOverflow();
      }
    }
    if (!this.#skipping && passFrom < chunk.length) this.push(chunk.subarray(passFrom));
    done();
  }

  #endsLine(byte: number | undefined): boolean {
    this.#lineBytes += 1;
    if (byte === this.#terminator[this.#matched]) this.#matched += 1;
    else this.#matched = byte === this.#terminator[0] ? 1 : 0;
    if (this.#matched < this.#terminator.length) return false;
    this.#matched = 0;
    return true;
  }
}

function createLineFramer(
  terminator: string,
  maxBytes: number,
  { onFrame, onOverflow }: FramerListener,
): Framer {
  const delimiter = Buffer.from(terminator, 'latin1');
  let parser: ReadlineParser;
  let cap: LengthCap;

  // The parser keeps a line that has begun and offers no way to drop it, so it is replaced.
  const renewParser = (): void => {
    parser?.removeAllListeners('data');
    parser = new ReadlineParser({ delimiter, encoding: 'latin1', readableObjectMode: true });
    parser.on('data', onFrame);
  };
  const renew = (): void => {
    renewParser();
    cap?.removeAllListeners('data');
    cap = new LengthCap(delimiter, maxBytes, () => {
      renewParser();
      onOverflow();
    });
    cap.on('data', (bytes: Buffer) => parser.write(bytes));
  };

  renew();
  return { push: (chunk) => void cap.write(chunk), reset: renew };
}

/** A framer for one connection. */
export function createFramer(framing: Framing, listener: FramerListener): Framer {
  if (framing.kind === 'lines') {
    return createLineFramer(framing.terminator, framing.maxBytes, listener);
  }
  return { push: (chunk) => listener.onFrame(chunk.toString('latin1')), reset: () => undefined };
}
