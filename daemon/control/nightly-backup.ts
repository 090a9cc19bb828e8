/** Copies the log once a night: while no run is under way, where there is room, and not more often. */

import type { BackupSettings } from '../settings/model.ts';
import type { KeptBackup } from '../store/door.ts';

export interface NightlyBackupParts {
  readonly settings: BackupSettings;
  /** A run is armed, under way, lifted, or over with its output not read back as off. */
  readonly busy: () => boolean;
  /** Copies of this log, the newest first. */
  readonly kept: () => Promise<readonly KeptBackup[]>;
  /** Size of the log, MB; null where there is none. */
  readonly logMegabytes: () => Promise<number | null>;
  /** Room where the copies lie, MB; null where the system does not tell. */
  readonly freeMegabytes: () => Promise<number | null>;
  /** Makes one; rejects with the reason. */
  readonly copy: () => Promise<unknown>;
  readonly say: (sentence: string) => void;
}

/** The hour of the night from which on that night's copy is due, by the clock of the place. */
const dueHour = 3;
/** The bench has to have been left alone for so long, ms. */
const quietMs = 10 * 60_000;
/** After a copy that failed, ms. */
const againMs = 60 * 60_000;
/** Beside the copy so much has to stay free, for the log of the next runs, MB. */
const leftFreeMegabytes = 200;

/** The last moment at which a night's copy fell due. */
export function lastDueWallMs(nowWallMs: number): number {
  const due = new Date(nowWallMs);
  due.setHours(dueHour, 0, 0, 0);
  if (due.getTime() > nowWallMs) due.setDate(due.getDate() - 1);
  return due.getTime();
}

export class NightlyBackup {
  readonly #parts: NightlyBackupParts;
  #idleSinceMs: number | null = null;
  #notBeforeMs = -Infinity;
  #underWay = false;

  constructor(parts: NightlyBackupParts) {
    this.#parts = parts;
  }

  /** To be called about once a minute; times are monotonic and of the wall, ms. Never rejects. */
  async look(nowMs: number, nowWallMs: number): Promise<void> {
    if (!this.#parts.settings.nightly || this.#underWay) return;
    if (this.#parts.busy()) {
      this.#idleSinceMs = null;
      return;
    }
    this.#idleSinceMs ??= nowMs;
    if (nowMs - this.#idleSinceMs < quietMs || nowMs < this.#notBeforeMs) return;
    this.#underWay = true;
    try {
      await this.#makeWhereDue(nowMs, nowWallMs);
    } catch (error) {
      this.#notBeforeMs = nowMs + againMs;
      const why = error instanceof Error ? error.message : String(error);
      this.#parts.say(`The log was not copied tonight; it is tried again in an hour. ${why}`);
    } finally {
      this.#underWay = false;
    }
  }

  async #makeWhereDue(nowMs: number, nowWallMs: number): Promise<void> {
    const { kept, logMegabytes, freeMegabytes, copy, say } = this.#parts;
    const newest = (await kept())[0]?.wallMs ?? -Infinity;
    // One from the future was made by a clock that was not right, and stands for no night.
    if (newest >= lastDueWallMs(nowWallMs) && newest <= nowWallMs) return;
    const size = await logMegabytes();
    if (size === null) return;
    const free = await freeMegabytes();
    const needed = size + leftFreeMegabytes;
    if (free !== null && free < needed) {
      this.#notBeforeMs = nowMs + againMs;
      say(
        `The log was not copied: ${Math.floor(free)} MB are free where the copies lie, and ${Math.ceil(needed)} MB are needed.`,
      );
      return;
    }
    // A run may have begun while the system was asked.
    if (this.#parts.busy()) return;
    await copy();
  }
}
