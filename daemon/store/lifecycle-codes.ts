/** Lifecycles as small numbers in the readings: each file keeps its own table of them. */

import type Database from 'better-sqlite3';
import { lifecycles, type Lifecycle } from '../run/model.ts';
import { StoreError } from './errors.ts';

function readCodes(db: Database.Database): Map<string, number> {
  const rows = db.prepare<[], { code: number; name: string }>('SELECT code, name FROM lifecycles');
  return new Map(rows.all().map(({ code, name }) => [name, code]));
}

/** Gives every lifecycle a code in this file; codes already given stay. Index: place in `lifecycles`. */
export function ensureCodes(db: Database.Database): readonly number[] {
  const insert = db.prepare('INSERT OR IGNORE INTO lifecycles (name) VALUES (?)');
  db.transaction(() => {
    const known = readCodes(db);
    for (const name of lifecycles) if (!known.has(name)) insert.run(name);
  }).immediate();
  const codes = readCodes(db);
  return lifecycles.map((name) => codes.get(name) ?? -1);
}

/** From code to name, as this file has it. */
export class LifecycleNames {
  readonly #names: Map<number, Lifecycle>;

  constructor(db: Database.Database) {
    const codes = readCodes(db);
    this.#names = new Map(
      lifecycles.flatMap((name) => {
        const code = codes.get(name);
        return code === undefined ? [] : [[code, name] as const];
      }),
    );
  }

  /** Throws a `StoreError` of kind `unreadable` for a code that stands for nothing. */
  of(code: number): Lifecycle {
    const name = this.#names.get(code);
    if (name === undefined) {
      throw new StoreError(
        'unreadable',
        `A stored reading has the unknown lifecycle code ${code}.`,
      );
    }
    return name;
  }
}
