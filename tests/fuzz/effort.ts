/** How much a fuzz test does, by which seed, and what it found: little beside the unit tests, all of it by `npm run fuzz`. */

import { appendFileSync } from 'node:fs';
import { expect } from 'vitest';

/** Longest that any single call may take, ms. */
const slowMs = 100;
/** A busy machine makes any call slow now and then; one that is slow by itself is so every time. */
const slowTries = 4;

export const seed = Number(process.env['FUZZ_SEED'] ?? 20_260_114);

function wanted(name: string): number | null {
  const given = process.env[`FUZZ_${name}`];
  return given === undefined ? null : Number(given);
}

/** How many cases of a kind to try: a small share of what is asked for, as given beside its name. */
export function effort(kind: 'LINES' | 'BODIES', share: number, small: number): number {
  const full = wanted(kind);
  return full === null ? small : Math.max(1, Math.round(full * share));
}

/** Time that a whole test may take, ms. */
export const patienceMs = wanted('LINES') === null ? 20_000 : 3_600_000;

/** Collects what should not be, and tells it at the end in one line. */
export class Findings {
  readonly #name: string;
  readonly #found: string[] = [];
  readonly #kinds = new Map<string, number>();
  #cases = 0;
  #slowestMs = 0;

  constructor(name: string) {
    this.#name = name;
  }

  /** Counts a case by what became of it. */
  count(kind: string): void {
    this.#cases += 1;
    this.#kinds.set(kind, (this.#kinds.get(kind) ?? 0) + 1);
  }

  add(what: string, input: unknown): void {
    if (this.#found.length >= 20) return;
    this.#found.push(
      `${what.slice(0, 300)}: ${JSON.stringify(input)?.slice(0, 4_000) ?? 'nothing'}`,
    );
  }

  /** Runs one call; what is slow again and again is a finding. */
  timed<T>(input: unknown, call: () => T): T {
    const watch = new Stopwatch();
    const answer = call();
    let tookMs = watch.wallMs();
    for (let again = 1; tookMs > slowMs && again < slowTries; again += 1) {
      const next = new Stopwatch();
      call();
      tookMs = Math.min(tookMs, next.workMs());
    }
    this.#took(tookMs, input);
    return answer;
  }

  /** As `timed`, for a call that is waited for. */
  async timedAsync<T>(input: unknown, call: () => Promise<T>): Promise<T> {
    const watch = new Stopwatch();
    const answer = await call();
    let tookMs = watch.wallMs();
    for (let again = 1; tookMs > slowMs && again < slowTries; again += 1) {
      const next = new Stopwatch();
      // One after the other, or they would slow each other down.
      // oxlint-disable-next-line no-await-in-loop
      await call();
      tookMs = Math.min(tookMs, next.workMs());
    }
    this.#took(tookMs, input);
    return answer;
  }

  /** Fails the test where anything was found; says how much was tried. */
  tell(): void {
    const kinds = [...this.#kinds].map(([kind, count]) => `${count} ${kind}`).join(', ');
    const slowest = `slowest ${this.#slowestMs.toFixed(1)} ms`;
    const line = `${this.#name}: ${this.#cases} cases (${kinds}), ${slowest}, ${this.#found.length} findings`;
    const report = process.env['FUZZ_REPORT'];
    if (report !== undefined) appendFileSync(report, `${[line, ...this.#found].join('\n  ')}\n`);
    expect(this.#found.map((one) => one.slice(0, 300))).toEqual([]);
    expect(this.#cases).toBeGreaterThan(0);
  }

  #took(tookMs: number, input: unknown): void {
    this.#slowestMs = Math.max(this.#slowestMs, tookMs);
    if (tookMs > slowMs) this.add(`took ${tookMs.toFixed(0)} ms, ${slowTries} times`, input);
  }
}

/** Wall time, and of it what this process has worked: others on the machine make nothing slow. */
class Stopwatch {
  readonly #startMs = performance.now();
  readonly #cpu = process.cpuUsage();

  wallMs(): number {
    return performance.now() - this.#startMs;
  }

  workMs(): number {
    const { user, system } = process.cpuUsage(this.#cpu);
    return Math.min(this.wallMs(), (user + system) / 1000);
  }
}

const prototypes = [Object.prototype, Array.prototype, String.prototype, Function.prototype];
const namesBefore = prototypes.map((one) => Reflect.ownKeys(one).length);

/** Whether something has been added to what every object inherits. */
export function polluted(): boolean {
  return prototypes.some((one, index) => Reflect.ownKeys(one).length !== namesBefore[index]);
}
