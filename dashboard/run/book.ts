/** What the page knows of a run beside its readings: notes, photos, and what its plan foresees. */

import type { PlannedCourse, RunNote } from '../../daemon/wire/run-book.ts';
import { read, readList } from '../api.ts';
import { connection } from '../connection.ts';

export class RunBook {
  readonly id: string;
  notes: readonly RunNote[] = [];
  /** What the plan foresees; null until it is known. */
  planned: PlannedCourse | null = null;
  /** It was read once at least. */
  isRead = false;
  #loading = false;
  #again = false;

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
      [this.notes, this.planned] = await Promise.all([
        readList<RunNote>(`${path}/notes`),
        read<PlannedCourse>(`${path}/planned`),
      ]);
      this.isRead = true;
    } catch {
      // The page says by itself that it is not live; the next event or reconnect reads again.
    }
    this.#loading = false;
    connection.announce();
    if (this.#again) void this.load();
  }
}

const books = new Map<string, RunBook>();
/** What an event says of a run's book is on disk a moment after the event. */
const soonMs = 400;
const telling: ReadonlySet<string> = new Set(['note', 'changed']);

/** The first whole bench of a connection is no gap: what was asked for beside it is as new. */
let isConnected = connection.bench !== null;

connection.listen({
  bench: () => {
    for (const book of books.values()) if (isConnected || !book.isRead) void book.load();
    isConnected = true;
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
