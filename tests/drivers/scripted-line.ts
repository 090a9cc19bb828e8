/** A line that expects a written exchange: what is sent, what is answered, in this order. */

import type { Instrument } from '../../drivers/link/in-process.ts';

/**
 * One step: the exact bytes expected, and the bytes answered, if any. Bytes are latin1 and written
 * with their terminators. `{n}` stands for the mask that the driver has given with *ESE, which is
 * any number. `afterMs` delays the answer; default 5.
 */
export interface Step {
  readonly sent: string;
  readonly reply?: string;
  readonly afterMs?: number;
}

export class ScriptedLine implements Instrument {
  attached = true;
  /** Everything sent so far, write by write. */
  readonly writes: string[] = [];
  /** What was sent and not expected; empty when the exchange went as written. */
  readonly surprises: string[] = [];
  readonly #steps: Step[];
  #mask = '';
  #received = '';
  #due: { atMs: number; bytes: string }[] = [];

  constructor(steps: readonly Step[]) {
    this.#steps = [...steps];
  }

  /** Steps that have not been reached. */
  get left(): readonly Step[] {
    return this.#steps;
  }

  expect(...steps: readonly Step[]): void {
    this.#steps.push(...steps);
  }

  /** Bytes that the device sends by itself at a moment. */
  push(bytes: string, atMs: number): void {
    this.#due.push({ atMs, bytes: bytes.replaceAll('{n}', this.#mask) });
  }

  receive(bytes: string, nowMs: number): void {
    this.writes.push(bytes);
    this.#received += bytes.replace(/(?<=\*ESE )\d+/, (mask) => {
      this.#mask = mask;
      return '{n}';
    });
    for (;;) {
      const step = this.#steps[0];
      if (step === undefined || !this.#received.startsWith(step.sent)) break;
      this.#received = this.#received.slice(step.sent.length);
      this.#steps.shift();
      if (step.reply !== undefined) this.push(step.reply, nowMs + (step.afterMs ?? 5));
      if (this.#received === '') return;
    }
    const step = this.#steps[0];
    if (this.#received === '' || step?.sent.startsWith(this.#received) === true) return;
    this.surprises.push(this.#received);
    this.#received = '';
  }

  nextDueMs(): number | null {
    return this.#due.length === 0 ? null : Math.min(...this.#due.map(({ atMs }) => atMs));
  }

  take(nowMs: number): string {
    const ready = this.#due.filter(({ atMs }) => atMs <= nowMs);
    this.#due = this.#due.filter(({ atMs }) => atMs > nowMs);
    return ready
      .toSorted((left, right) => left.atMs - right.atMs)
      .map(({ bytes }) => bytes)
      .join('');
  }
}

/** A line that answers by a function of the whole command line; null is silence. */
export class AnsweringLine implements Instrument {
  attached = true;
  readonly lines: string[] = [];
  latencyMs = 5;
  answer: (line: string) => string | null;
  #partial = '';
  #due: { atMs: number; bytes: string }[] = [];

  constructor(answer: (line: string) => string | null) {
    this.answer = answer;
  }

  receive(bytes: string, nowMs: number): void {
    this.#partial += bytes;
    const lines = this.#partial.split('\n');
    this.#partial = lines.pop() ?? '';
    for (const line of lines.map((one) => one.replace('\r', ''))) {
      if (line === '') continue;
      this.lines.push(line);
      const reply = this.answer(line);
      if (reply !== null) this.#due.push({ atMs: nowMs + this.latencyMs, bytes: reply });
    }
  }

  nextDueMs(): number | null {
    return this.#due[0]?.atMs ?? null;
  }

  take(nowMs: number): string {
    let bytes = '';
    while (this.#due[0] !== undefined && this.#due[0].atMs <= nowMs) {
      bytes += this.#due.shift()?.bytes ?? '';
    }
    return bytes;
  }
}
