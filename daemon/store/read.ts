/** How the readers of a part of the log are lent the open file. */

import type Database from 'better-sqlite3';

/** Runs a query on the open file, or answers `missing` while there is none. */
export type Read = <T>(missing: T, query: (db: Database.Database) => T) => T;
