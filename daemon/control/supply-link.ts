/** The line to one supply as control sees it: connected or not, since when, and in which words. */

import {
  RectifierError,
  type ConnectionReport,
  type ProgrammedSetPoints,
  type Rectifier,
  type RectifierIdentity,
  type RectifierReading,
  type SetPoints,
} from '../../drivers/contract.ts';
import type { TankClock } from './clock.ts';

type LinkState = 'connecting' | 'connected' | 'lost';

/** After this many failures in a row the line counts as lost and is opened anew. */
const failuresToLose = 4;
/** Between two attempts to open a line that does not answer. */
const retryMs = 1_000;

/** The time that a reading takes is told as the median of so many. */
const timedReadings = 9;

/** No set-point above these leaves the program, A and V. */
interface SetPointLimits {
  readonly maxAmps: number;
  readonly maxVolts: number;
}

function refuseAbove(what: string, value: number, most: number, unit: string): void {
  if (Number.isFinite(value) && value >= 0 && value <= most) return;
  const message = `A ${what} set-point of ${value} ${unit} is not between 0 and the limit of ${most} ${unit}.`;
  throw new RectifierError('outOfRange', message);
}

export class SupplyLink {
  state: LinkState = 'connecting';
  message = 'Opening the line.';
  sinceWallMs: number;
  waitingFor = 'opening the line';
  /** Who answered when the line came up last; null before. */
  identity: RectifierIdentity | null = null;
  /** Errors that stood in the supply's own list then, and are not cleared up yet. */
  standingErrors: readonly string[] = [];
  /** ON was sent, and no OFF has been read back since. */
  switchedOn = false;

  readonly #rectifier: Rectifier;
  readonly #clock: TankClock;
  readonly #hardLimits: SetPointLimits;
  #answersMs: readonly number[] = [];
  #failures = 0;
  #lastAttemptMs = -Infinity;

  constructor(rectifier: Rectifier, clock: TankClock, hardLimits: SetPointLimits) {
    this.#rectifier = rectifier;
    this.#hardLimits = hardLimits;
    this.#clock = clock;
    this.sinceWallMs = clock.wallMs();
  }

  get connected(): boolean {
    return this.state === 'connected' && this.#rectifier.isConnected;
  }

  get description(): string {
    return this.#rectifier.description;
  }

  get health(): { timeouts: number; garbled: number; resyncs: number } {
    return this.#rectifier.health;
  }

  /** How long a reading takes the supply, the median of the last ones, ms; null before the first. */
  get answerMs(): number | null {
    const sorted = this.#answersMs.toSorted((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 2)] ?? null;
  }

  async connect(): Promise<ConnectionReport> {
    const nowMs = this.#clock.nowMs();
    const waitMs = this.#lastAttemptMs + retryMs - nowMs;
    if (waitMs > 0) await this.#clock.sleep(waitMs);
    this.#lastAttemptMs = this.#clock.nowMs();
    this.waitingFor = `Opening ${this.#rectifier.description}.`;
    const report = await this.#rectifier.connect();
    this.#failures = 0;
    this.#answersMs = [];
    this.identity = report.identity;
    this.standingErrors = report.standingErrors;
    this.#become('connected', report.identity.text);
    return report;
  }

  /** A reading; a `whole` one with the set-points as they now stand at the supply. */
  async read(whole = false): Promise<RectifierReading> {
    this.waitingFor = 'The supply has not answered a reading yet.';
    const askedMs = this.#clock.nowMs();
    const reading = await this.#rectifier.read({ whole });
    const answerMs = this.#clock.nowMs() - askedMs;
    // A driver of the maker's own is held to its word: what is no number would spoil every count.
    if (!Number.isFinite(reading.volts) || !Number.isFinite(reading.amps)) {
      const message = `The driver read ${reading.volts} V and ${reading.amps} A; that is no reading.`;
      throw new RectifierError('garbled', message);
    }
    this.#answersMs = [...this.#answersMs, answerMs].slice(-timedReadings);
    this.#failures = 0;
    return reading;
  }

  /** Refuses what is above the tank's hard limits, as the driver does once more at its own edge. */
  async program(setPoints: SetPoints): Promise<ProgrammedSetPoints> {
    refuseAbove('voltage', setPoints.volts, this.#hardLimits.maxVolts, 'V');
    refuseAbove('current', setPoints.amps, this.#hardLimits.maxAmps, 'A');
    this.waitingFor = 'The supply has not confirmed its set-points yet.';
    return this.#rectifier.program(setPoints);
  }

  async on(): Promise<{ readonly sentAtMs: number }> {
    this.waitingFor = 'The supply has not confirmed that its output is on yet.';
    this.switchedOn = true;
    return this.#rectifier.on();
  }

  /** The supply confirmed an OFF: whatever was said of the line before, it carries. */
  heard(): void {
    this.switchedOn = false;
    this.#failures = 0;
    if (this.state !== 'connected' && this.#rectifier.isConnected) {
      this.#become('connected', 'Answering again.');
    }
  }

  /** Takes note of a failure; a line that keeps failing is given up and opened anew. */
  note(error: unknown): void {
    if (error instanceof RectifierError && error.kind === 'preempted') return;
    const message = error instanceof Error ? error.message : String(error);
    this.#failures += 1;
    const gone =
      !this.#rectifier.isConnected ||
      this.#failures >= failuresToLose ||
      (error instanceof RectifierError && error.kind === 'wrongDevice');
    if (gone) this.#become('lost', message);
  }

  #become(state: LinkState, message: string): void {
    if (state !== this.state) this.sinceWallMs = this.#clock.wallMs();
    this.state = state;
    this.message = message;
  }
}
