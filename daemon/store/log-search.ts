/** Searches the log: runs by piece, bath, result and day, a page of them at a time. */

import type Database from 'better-sqlite3';
import type { LogPage } from '../wire/log.ts';
import { checkedFinite, checkedWhole } from './checks.ts';
import type { LogFilter } from './door.ts';
import { StoreError } from './errors.ts';
import { summaryColumnsOfRun, toRunSummary, type RunColumns } from './rows.ts';

/** Bounds of what one search may ask for. */
const maxLimit = 100;
const maxSkip = 1_000_000;
/** Longest text that is looked for in the names of pieces. */
export const maxPieceText = 80;
const maxBaths = 200;

/** Small letters without accents, so that "Épi" is found by "epi". */
function plainLetters(text: string): string {
  return text
    .normalize('NFKD')
    .replaceAll(/\p{Mark}/gu, '')
    .toLowerCase();
}

/** Everything that a search looks at stands in one index, so the plans beside it are not read. */
const conditions = `
  armed_wall_ms < @before AND (ended_wall_ms IS NULL OR ended_wall_ms >= @from)
  AND (@result IS NULL
    OR (@result = 'probe' AND kind = 'probe')
    OR (@result = 'running' AND kind = 'run' AND outcome_end IS NULL)
    OR (kind = 'run' AND outcome_end = @result))
  AND (@bath IS NULL OR bath_name = @bath)
  AND (@tank IS NULL OR tank_id = @tank)
  AND (@piece IS NULL OR names_piece(piece_name, @piece))`;

type Bound = Readonly<Record<string, string | number | null>>;

export class LogSearch {
  readonly #count: Database.Statement<[Bound], number>;
  readonly #page: Database.Statement<[Bound], Omit<RunColumns, 'plan' | 'checklist'>>;
  readonly #baths: Database.Statement<[], string>;
  readonly #inOneMoment: (work: () => LogPage) => LogPage;

  constructor(db: Database.Database) {
    db.function('names_piece', { deterministic: true }, (name, wanted) => {
      const plain = plainLetters(String(name));
      return String(wanted)
        .split(' ')
        .every((word) => plain.includes(word))
        ? 1
        : 0;
    });
    this.#count = db.prepare<[Bound], number>(countOfFound).pluck();
    this.#page = db.prepare(pageOfFound);
    this.#baths = db
      .prepare<[], string>(
        `SELECT DISTINCT bath_name FROM runs ORDER BY bath_name COLLATE NOCASE LIMIT ${maxBaths}`,
      )
      .pluck();
    this.#inOneMoment = (work) => db.transaction(work)();
  }

  /** Throws a `StoreError` of kind `invalid` that names what is out of bounds. */
  search(filter: LogFilter): LogPage {
    const limit = checkedWhole('limit', filter.limit, 1, maxLimit);
    const skip = checkedWhole('skip', filter.skip, 0, maxSkip);
    const { fromWallMs: from = 0, toWallMs: to = Number.MAX_SAFE_INTEGER } = filter;
    checkedFinite('fromWallMs', from);
    if (checkedFinite('toWallMs', to) <= from) {
      const message = `toWallMs is ${to}; it must be later than fromWallMs, which is ${from}.`;
      throw new StoreError('invalid', message);
    }
    const bound: Bound = {
      from,
      before: to,
      result: filter.result ?? null,
      bath: filter.bath ?? null,
      tank: filter.tankId ?? null,
      piece: wantedWords(filter.piece ?? ''),
    };
    return this.#inOneMoment(() => ({
      total: this.#count.get(bound) ?? 0,
      skip,
      runs: this.#page.all({ ...bound, limit, skip }).map((row) => toRunSummary(row)),
      baths: this.#baths.all(),
    }));
  }
}

/** Exported for the test that asks SQLite how it goes about them. */
export const countOfFound = `SELECT count(*) FROM runs WHERE ${conditions}`;
const numbersOfFound = `
  SELECT number FROM runs WHERE ${conditions}
  ORDER BY armed_wall_ms DESC, number DESC LIMIT @limit OFFSET @skip`;
export const pageOfFound = `
  SELECT ${summaryColumnsOfRun} FROM runs WHERE number IN (${numbersOfFound})
  ORDER BY armed_wall_ms DESC, number DESC`;

/** The words to look for, with a blank between them; null where nothing is asked for. */
function wantedWords(piece: string): string | null {
  if (piece.length > maxPieceText) {
    const shown = `${piece.slice(0, 20)}…`;
    const message = `piece is "${shown}" with ${piece.length} letters; at most ${maxPieceText}.`;
    throw new StoreError('invalid', message);
  }
  const words = plainLetters(piece).trim().split(/\s+/).join(' ');
  return words === '' ? null : words;
}
