/**
 * Standard SCPI error codes and the queue they wait in (from memory of SCPI-1999, volume 2,
 * chapter 21).
 */

const texts = {
  0: 'No error',
  [-101]: 'Invalid character',
  [-102]: 'Syntax error',
  [-104]: 'Data type error',
  [-108]: 'Parameter not allowed',
  [-109]: 'Missing parameter',
  [-111]: 'Header separator error',
  [-112]: 'Program mnemonic too long',
  [-113]: 'Undefined header',
  [-114]: 'Header suffix out of range',
  [-121]: 'Invalid character in number',
  [-123]: 'Exponent too large',
  [-124]: 'Too many digits',
  [-131]: 'Invalid suffix',
  [-138]: 'Suffix not allowed',
  [-151]: 'Invalid string data',
  [-161]: 'Invalid block data',
  [-171]: 'Invalid expression',
  [-200]: 'Execution error',
  [-222]: 'Data out of range',
  [-224]: 'Illegal parameter value',
  [-350]: 'Queue overflow',
  [-363]: 'Input buffer overrun',
  [-410]: 'Query INTERRUPTED',
  [-420]: 'Query UNTERMINATED',
} as const;

export type ErrorCode = Exclude<keyof typeof texts, 0>;

/** A SCPI error on its way to the queue; `detail` is the device's own addition. */
export interface ScpiError {
  readonly code: ErrorCode;
  readonly detail?: string;
}

const capacity = 20;

/** First in, first out; when full the newest entry becomes -350 and what follows is lost. */
export class ErrorQueue {
  #entries: ScpiError[] = [];
  /** Called for each error, for the event status register. */
  readonly #onError: (code: ErrorCode) => void;

  constructor(onError: (code: ErrorCode) => void) {
    this.#onError = onError;
  }

  get empty(): boolean {
    return this.#entries.length === 0;
  }

  push(error: ScpiError): void {
    this.#onError(error.code);
    if (this.#entries.length < capacity) {
      this.#entries.push(error);
      return;
    }
    this.#entries[capacity - 1] = { code: -350 };
    this.#onError(-350);
  }

  /** Takes the oldest error out as `code,"text;detail"`. */
  next(zero: string): string {
    const entry = this.#entries.shift();
    if (entry === undefined) return `${zero},"${texts[0]}"`;
    const detail = entry.detail === undefined ? '' : `;${entry.detail}`;
    return `${entry.code},"${texts[entry.code]}${detail}"`;
  }

  clear(): void {
    this.#entries = [];
  }
}
