/** What the page knows of a run beside its readings: notes, photos, and changes of its plan. */

import type { PlanChange, RunNote } from '../../daemon/wire/run-book.ts';
import { readList } from '../api.ts';
import { connection } from '../connection.ts';
import type { RunFolder } from '../runs.ts';
import { stretchesOf, type PlanStretch } from './planned.ts';

export class RunBook {
  readonly id: string;
  notes: readonly RunNote[] = [];
  #changes: readonly PlanChange[] = [];
  #loading = false;
  #again = false;
  #stretches: {
    readonly plan: unknown;
    readonly changes: readonly PlanChange[];
    readonly value: readonly PlanStretch[];
  } | null = null;

  constructor(id: string) {
    this.id = id;
  }

  /** Reads both anew; asked for while it reads, it reads once more. */
  async load(): Promise<void> {
    this.#again = this.#loading;
    if (this.#loading) return;
    this.#loading = true;
    const path = `/api/runs/${encodeURIComponent(this.id)}`;
    try {
      [this.notes, this.#changes] = await Promise.all([
        readList<RunNote>(`${path}/notes`),
        readList<PlanChange>(`${path}/changes`),
      ]);
    } catch {
      // The page says by itself that it is not live; the next event or reconnect reads again.
    }
    this.#loading = false;
    connection.announce();
    if (this.#again) void this.load();
  }

  /** The plan as the curves show it; the same array for as long as nothing changes. */
  stretches({ record, track }: RunFolder): readonly PlanStretch[] {
    if (!record || record.kind === 'probe') return [];
    const { plan } = record;
    if (this.#stretches?.plan === plan && this.#stretches.changes === this.#changes) {
      return this.#stretches.value;
    }
    const carried = record.carriedAmpHours > 0 ? track.valueAt('thicknessMicrometres', 0) : 0;
    const value = stretchesOf(plan, this.#changes, carried, (atMs) =>
      track.valueAt('thicknessMicrometres', atMs),
    );
    this.#stretches = { plan, changes: this.#changes, value };
    return value;
  }
}

const books = new Map<string, RunBook>();
/** What an event says of a run's book is on disk a moment after the event. */
const soonMs = 400;
const telling: ReadonlySet<string> = new Set(['note', 'changed']);

connection.listen({
  bench: () => {
    for (const book of books.values()) void book.load();
  },
  event: ({ runId, code }) => {
    const book = books.get(runId ?? '');
    if (book && telling.has(code)) setTimeout(() => void book.load(), soonMs);
  },
});

/** The book of a run that is in the log; read when it is first asked for. */
export function bookOf(id: string): RunBook {
  const known = books.get(id);
  if (known) return known;
  const book = new RunBook(id);
  books.set(id, book);
  void book.load();
  return book;
}
