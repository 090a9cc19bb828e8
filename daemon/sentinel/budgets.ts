/** How long the sentinel waits for what; all in milliseconds of the monotonic clock. */

export interface Budgets {
  /** From the fork of control to its `ready`: opening the database and checking it may take long. */
  readonly startUpMs: number;
  /** Longest silence of control while a supply on a line of its own may have its output on. */
  readonly guardedSilenceMs: number;
  /** Longest silence while no line to a supply is guarded. */
  readonly idleSilenceMs: number;
  /** How often the silence is looked at. */
  readonly lookEveryMs: number;
  /** How long the exit of a killed process is waited for before OFF is sent all the same. */
  readonly exitWaitMs: number;
  /** How long OFF is retried before a new control process takes that over, to raise the alarm. */
  readonly handOverMs: number;
  /** How long OFF is tried for what an earlier Nightbath left on, before control is started. */
  readonly owedMs: number;
  /** From waking out of a sleep to the OFF that control must have sent by then. */
  readonly afterSleepMs: number;
  /** How long control may take to switch off and close in order. */
  readonly shutDownMs: number;
  /** How long OFF is retried when nothing will follow: at the end, and after giving up. */
  readonly lastAttemptsMs: number;
  /** How often somebody is sent to the bench again while an output is not off and nothing else follows. */
  readonly tellAgainMs: number;
  /** From control's last word to its end; then it is ended. */
  readonly lastWordMs: number;
  readonly webShutDownMs: number;
  readonly maxRestarts: number;
  readonly restartWindowMs: number;
  /** First pause before a dead web process is started again; it doubles up to `webPauseMaxMs`. */
  readonly webPauseMs: number;
  readonly webPauseMaxMs: number;
}

/** Whatever a driver says of itself, a bench is not left unwatched for longer than this takes, ms. */
const longestCycleMs = 10_000;

/**
 * The silence that counts as a hang. From one round to the judgement that a reading is missing a
 * cycle and a half pass at the most and a computer may be busy for 400 ms on top, so it is three cycles
 * and a bit, and 800 ms at the usual four polls a second.
 */
export function silenceFor(cycleMs: number): number {
  return Math.max(800, 3.2 * Math.min(cycleMs, longestCycleMs));
}

/** From the last sign of a control that hangs to the OFF over a line that is held for it, ms. */
export function hungOffMs(
  silenceMs: number,
  { lookEveryMs, exitWaitMs }: Pick<Budgets, 'lookEveryMs' | 'exitWaitMs'>,
): number {
  return silenceMs + lookEveryMs + exitWaitMs;
}

/** The budgets for a bench whose slowest tank is polled every `slowestCycleMs`. */
export function budgetsFor(slowestCycleMs: number): Budgets {
  const guardedSilenceMs = silenceFor(slowestCycleMs);
  return {
    startUpMs: 30_000,
    guardedSilenceMs,
    idleSilenceMs: Math.max(5_000, 2 * guardedSilenceMs),
    lookEveryMs: 50,
    exitWaitMs: 200,
    handOverMs: 10_000,
    owedMs: 5_000,
    afterSleepMs: 5_000,
    shutDownMs: 10_000,
    lastAttemptsMs: 60_000,
    tellAgainMs: 5 * 60_000,
    lastWordMs: 3_000,
    webShutDownMs: 2_000,
    maxRestarts: 5,
    restartWindowMs: 5 * 60_000,
    webPauseMs: 250,
    webPauseMaxMs: 30_000,
  };
}
