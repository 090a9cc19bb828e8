/** The record of a night, line by line, and the promises that were broken in it. */

import type { Host } from '../host.ts';

/** A promise that was broken, and when, ms. */
export interface Violation {
  readonly invariant: string;
  readonly atMs: number;
  readonly what: string;
}

const keptLines = 60;

/** What is written down of one night; equal nights have equal records. */
export class NightRecord {
  readonly violations: Violation[] = [];
  readonly lines: string[] = [];
  hash = 2166136261;
  readonly #host: Host;
  /** The whole record is wanted, not its end alone. */
  readonly #keepsAll: boolean;
  readonly #onViolated: () => void;

  constructor(host: Host, keepsAll: boolean, onViolated: () => void) {
    this.#host = host;
    this.#keepsAll = keepsAll;
    this.#onViolated = onViolated;
  }

  note(kind: string, what: string): void {
    const line = `${(this.#host.nowMs / 1000).toFixed(3)} s ${kind}: ${what}`;
    this.lines.push(line);
    const most = this.#keepsAll ? Infinity : 4 * keptLines;
    if (this.lines.length > most) this.lines.splice(0, 3 * keptLines);
    let { hash } = this;
    for (let at = 0; at < line.length; at += 1) {
      hash = Math.imul(hash ^ line.charCodeAt(at), 16777619);
    }
    this.hash = hash >>> 0;
  }

  get lastLines(): readonly string[] {
    return this.lines.slice(-keptLines);
  }

  violated(invariant: string, what: string): void {
    if (this.violations.some((one) => one.invariant === invariant)) return;
    this.violations.push({ invariant, atMs: this.#host.nowMs, what });
    this.note('VIOLATED', `${invariant} ${what}`);
    this.#onViolated();
  }
}
