/** I8, I10 to I12: what is on disk, at the end of each process and at the end of the night. */

import type { ActiveRun } from '../../../daemon/control/snapshot.ts';
import type { Tank } from '../../../daemon/control/tank.ts';
import { isFinal, isPowered } from '../../../daemon/run/state.ts';
import { sampleMs, type Evidence } from './evidence.ts';

const keptReadings = 20;
/** A second of readings, and what the looks of the monitor add to it, ms. */
const mostLostMs = 1_000 + 2 * sampleMs;

/** Judges the file by the readings that the page has shown, and by itself. */
export class OnDisk {
  readonly #evidence: Evidence;
  readonly #readings: { readonly wallMs: number; readonly seenMs: number }[] = [];

  constructor(evidence: Evidence) {
    this.#evidence = evidence;
  }

  /** The readings of the last seconds, as the page shows them. */
  noteReading({ lastReading }: Tank): void {
    const wallMs = lastReading?.wallMs ?? null;
    if (wallMs === null || this.#readings.at(-1)?.wallMs === wallMs) return;
    this.#readings.push({ wallMs, seenMs: this.#evidence.nowMs });
    if (this.#readings.length > keptReadings) this.#readings.shift();
  }

  /** I12: what a process leaves on disk of a run that is on. */
  controlEnds(run: ActiveRun | null): void {
    const { parts, record, faults } = this.#evidence;
    const readings = this.#readings.splice(0);
    if (run === null || !isPowered(run.state.lifecycle)) return;
    const stored = parts.disk.file.readings.get(run.record.id)?.last;
    // Where a clock was set, or a disk is late, the times do not tell which reading is missing.
    const excused = faults.all.some(
      ({ kind }) => kind.group === 'clock' || kind.group === 'database',
    );
    if (stored == null || excused) return;
    const missing = readings.filter(({ wallMs }) => wallMs > stored.wallMs);
    const lostMs = (missing.at(-1)?.seenMs ?? 0) - (missing[0]?.seenMs ?? 0);
    if (lostMs <= mostLostMs) return;
    record.violated('I12', `${lostMs} ms of readings were not on disk when control ended.`);
  }

  /** The disk refuses or hangs, or did a moment ago, or its writer was given up. */
  get troubled(): boolean {
    const { parts, faults } = this.#evidence;
    const { host } = parts;
    // A fault that ended while the computer slept ended, for what is tried again, when it woke.
    const justAwake = host.nowMs - host.asleepUntilMs < 15_000;
    return (
      faults.affected('disk', 15_000) ||
      (justAwake && faults.everAffected('disk')) ||
      this.#writerLost()
    );
  }

  #writerLost(): boolean {
    const { faults, controlSinceMs } = this.#evidence;
    return faults.all.some(
      ({ kind, endedMs }) => kind.name === 'diskGone' && (endedMs ?? Infinity) > controlSinceMs,
    );
  }

  /** What the file holds at the end of the night. */
  judgeFile(): void {
    const { parts, record } = this.#evidence;
    const { file } = parts.disk;
    const active = parts.control()?.tank?.run ?? null;
    for (const run of file.runs.values()) {
      const readings = file.readings.get(run.id);
      const numbers = [run.ampHours, run.lowAmpHours, run.highAmpHours];
      if (!numbers.every(Number.isFinite)) {
        record.violated('I8', `run ${run.id} holds a charge that is no number.`);
      }
      if (readings !== undefined && readings.fault !== null) {
        record.violated('I8', `run ${run.id}: ${readings.fault}.`);
      }
      const lastAmpHours = readings?.last?.ampHours ?? run.carriedAmpHours;
      if (isFinal(run.lifecycle) && run.ampHours < lastAmpHours - 1e-12) {
        record.violated('I10', `run ${run.id} has less charge than its last reading.`);
      }
      // A writer that was given up stores nothing more until the next start.
      const current = run.id === active?.record.id || this.#writerLost();
      if (!current && !isFinal(run.lifecycle)) {
        record.violated('I11', `run ${run.id} is on disk as ${run.lifecycle}, and nobody runs it.`);
      }
    }
  }
}
