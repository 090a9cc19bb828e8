/** The alarms so far, the latest first: read from the log by pages, and kept up with what is heard since. */

import type { Alarm } from '../../daemon/wire/run.ts';
import { readList } from '../api.ts';

const pageSize = 20;
/** The most that one answer holds. */
const mostRows = 500;

export class AlarmHistory {
  /** As the log had them, the latest first; null before it was read. */
  #rows: readonly Alarm[] | null = null;
  /** As they were last heard of since the log was read, by id. */
  #heard = new Map<number, Alarm>();
  /** There are older ones. */
  more = false;
  /** One reading after the other: two at once would lose rows or have them twice. */
  #reading: Promise<void> = Promise.resolve();
  readonly #changed: () => void;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** Null before the log was read. */
  get alarms(): readonly Alarm[] | null {
    if (this.#rows === null) return null;
    const oldest = this.more ? (this.#rows.at(-1)?.id ?? 0) : 1;
    const byId = new Map([...this.#rows.map((row) => [row.id, row] as const), ...this.#heard]);
    // Until the disk has an alarm it stands in the banner alone, under a passing id below zero.
    return [...byId.values()].filter(({ id }) => id >= oldest).toSorted((a, b) => b.id - a.id);
  }

  hear(alarm: Alarm): void {
    const known = this.#heard.get(alarm.id) ?? this.#rows?.find(({ id }) => id === alarm.id);
    // Nobody takes an acknowledgement back; an end may be told before it, and be written after it.
    const acknowledgedWallMs = alarm.acknowledgedWallMs ?? known?.acknowledgedWallMs ?? null;
    this.#heard.set(alarm.id, { ...alarm, acknowledgedWallMs });
    this.#changed();
  }

  /** Reads it from its latest on, as many as were shown before. Rejects with an ApiError. */
  read(): Promise<void> {
    return this.#next(async () => {
      const before = [...this.#heard.values()];
      const limit = Math.min(Math.max(pageSize, this.alarms?.length ?? 0), mostRows);
      this.#rows = await readList<Alarm>(`/api/alarms?limit=${limit}`);
      this.more = this.#rows.length === limit;
      // What came while it was read may be newer than it.
      for (const alarm of before) {
        if (this.#heard.get(alarm.id) === alarm) this.#heard.delete(alarm.id);
      }
    });
  }

  /** Reads one page more. Rejects with an ApiError. */
  readOlder(): Promise<void> {
    return this.#next(async () => {
      const last = this.#rows?.at(-1);
      if (last === undefined) return;
      const rows = await readList<Alarm>(`/api/alarms?limit=${pageSize}&before=${last.id}`);
      this.#rows = [...(this.#rows ?? []), ...rows];
      this.more = rows.length === pageSize;
    });
  }

  #next(work: () => Promise<void>): Promise<void> {
    const done = this.#reading.then(work).finally(this.#changed);
    // Whoever asked hears of a failure; the next one reads all the same.
    this.#reading = done.catch(() => undefined);
    return done;
  }
}
