/** What every link to a supply offers: framed latin1 text in, bytes out, a deadline on everything. */

/** How incoming bytes are cut into frames; chosen when the link is made. */
export type Framing =
  | {
      readonly kind: 'lines';
      /** Ends a line; not part of the frame. */
      readonly terminator: string;
      /** Longest line, bytes, without its terminator; more is an `overflow`. */
      readonly maxBytes: number;
    }
  | {
      /** Chunks as they arrive, for replies without a terminator. */
      readonly kind: 'raw';
      /** Most bytes that may wait unread; more is an `overflow`. */
      readonly maxBytes: number;
    };

/** Totals since the link object was made. */
export interface LinkCounters {
  bytesWritten: number;
  bytesRead: number;
  frames: number;
  overflows: number;
}

/**
 * A line to one device. Strings are latin1: one character is one byte. All failures are
 * `RectifierError`s; a line that is gone is `closed`, a line that is silent is `timeout`.
 */
export interface Link {
  /** The path or address, for messages. */
  readonly name: string;
  readonly isOpen: boolean;
  readonly counters: Readonly<LinkCounters>;
  /** Opens a new connection, whatever became of the last one. Throws `cannotOpen` or `locked`. */
  open(): Promise<void>;
  /** Hands the bytes over before it returns; the promise settles when the system took them. */
  write(bytes: string): Promise<void>;
  /** Settles when the bytes have left, or after its own deadline. */
  drain(): Promise<void>;
  /** The next frame. Throws `timeout` at the deadline (the clock's ms), `closed` or `overflow`. */
  next(deadlineMs: number): Promise<string>;
  /** A frame that has already arrived, if there is one. */
  take(): string | undefined;
  /** Drops what arrived and what arrives, until `quietMs` of silence or `capMs` in all. */
  discard(quietMs: number, capMs: number): Promise<void>;
  /** Ends a `next` in progress with `preempted`, and a `discard` in progress quietly. */
  interrupt(): void;
  close(): Promise<void>;
}
