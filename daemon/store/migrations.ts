/** The tables, as numbered steps that only ever go forward. */

import type Database from 'better-sqlite3';
import { StoreError, toStoreError } from './errors.ts';
import { ledgerCharge, ledgerTables } from './ledger-tables.ts';

export interface Migration {
  /** 1, 2, 3 …; becomes the file's `user_version`. */
  readonly version: number;
  /** What it does, in a few words. */
  readonly name: string;
  readonly sql: string;
}

/** Marks a file as ours ("NBTH"), so that another program's database is never written to. */
export const applicationId = 0x4e425448;

/**
 * Numbers are REAL where they were measured or counted in time: SQLite keeps whole ones as
 * integers on disk and gives back exactly the double it was given.
 *
 * A reading's key is its run's number times 2^32 plus its sequence in the run, so that one run lies
 * together in order and needs no second index. Summaries hold what charts need of each 60 and 300
 * readings; packed blocks of old readings can come later as a table of their own.
 */
const first = `
CREATE TABLE lifecycles (
  code INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE runs (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  kind TEXT NOT NULL,
  tank_id TEXT NOT NULL,
  continues TEXT REFERENCES runs (id),
  carried_amp_hours REAL NOT NULL,
  simulated INTEGER NOT NULL,
  plan TEXT NOT NULL,
  checklist TEXT NOT NULL,
  piece_name TEXT NOT NULL,
  bath_name TEXT NOT NULL,
  target_micrometres REAL NOT NULL,
  armed_wall_ms REAL NOT NULL,
  started_wall_ms REAL,
  ended_wall_ms REAL,
  lifecycle TEXT NOT NULL,
  outcome_end TEXT,
  outcome_reason TEXT,
  outcome_fault_code TEXT,
  amp_hours REAL NOT NULL,
  low_amp_hours REAL NOT NULL,
  high_amp_hours REAL NOT NULL,
  thickness_micrometres REAL NOT NULL
) STRICT;
CREATE INDEX runs_by_time ON runs (armed_wall_ms);
CREATE INDEX runs_by_tank ON runs (tank_id, armed_wall_ms);

CREATE TABLE readings (
  key INTEGER PRIMARY KEY,
  at_ms REAL NOT NULL,
  wall_ms REAL NOT NULL,
  volts REAL NOT NULL,
  amps REAL NOT NULL,
  set_amps REAL NOT NULL,
  amp_hours REAL NOT NULL,
  thickness_micrometres REAL NOT NULL,
  lifecycle INTEGER NOT NULL
) STRICT;

CREATE TABLE summaries (
  run INTEGER NOT NULL REFERENCES runs (number),
  span INTEGER NOT NULL,
  position INTEGER NOT NULL,
  count INTEGER NOT NULL,
  from_ms REAL NOT NULL,
  to_ms REAL NOT NULL,
  min_volts REAL NOT NULL,
  max_volts REAL NOT NULL,
  sum_volts REAL NOT NULL,
  min_amps REAL NOT NULL,
  max_amps REAL NOT NULL,
  sum_amps REAL NOT NULL,
  set_amps REAL NOT NULL,
  amp_hours REAL NOT NULL,
  thickness_micrometres REAL NOT NULL,
  lifecycle INTEGER NOT NULL,
  PRIMARY KEY (run, span, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE events (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  run_id TEXT REFERENCES runs (id),
  tank_id TEXT NOT NULL,
  at_ms REAL,
  wall_ms REAL NOT NULL,
  code TEXT NOT NULL,
  message TEXT NOT NULL
) STRICT;
CREATE INDEX events_by_run ON events (run_id, id);

CREATE TABLE alarms (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  event_id INTEGER NOT NULL REFERENCES events (id),
  run_id TEXT REFERENCES runs (id),
  tank_id TEXT NOT NULL,
  wall_ms REAL NOT NULL,
  priority TEXT NOT NULL,
  code TEXT NOT NULL,
  found TEXT NOT NULL,
  cause TEXT NOT NULL,
  remedy TEXT NOT NULL,
  acknowledged_wall_ms REAL
) STRICT;
CREATE INDEX alarms_standing ON alarms (id) WHERE acknowledged_wall_ms IS NULL;
`;

/** Runs closed before this step are taken at the word of the program that closed them. */
const offReadBack = `
ALTER TABLE runs ADD COLUMN off_confirmed INTEGER NOT NULL DEFAULT 0
  CHECK (off_confirmed IN (0, 1));
UPDATE runs SET off_confirmed = 1
  WHERE lifecycle IN ('finished', 'stopped', 'tripped', 'interrupted');
CREATE INDEX runs_off_owed ON runs (number) WHERE off_confirmed = 0;
CREATE INDEX runs_by_origin ON runs (continues) WHERE continues IS NOT NULL;
`;

/**
 * The library. What is saved of a piece never changes: an edit is another version, and the tables
 * themselves refuse anything else. The bytes of a picture come last, so that its size is read without
 * them. A picture stays for as long as a version of a piece or a run refers to it.
 */
const library = `
CREATE TABLE pieces (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  created_wall_ms REAL NOT NULL,
  archived_wall_ms REAL
) STRICT;

CREATE TABLE piece_versions (
  key INTEGER PRIMARY KEY,
  piece INTEGER NOT NULL REFERENCES pieces (number),
  version INTEGER NOT NULL CHECK (version > 0),
  saved_wall_ms REAL NOT NULL,
  name TEXT NOT NULL,
  part_count INTEGER NOT NULL,
  area_mm2 REAL NOT NULL,
  document TEXT NOT NULL,
  UNIQUE (piece, version)
) STRICT;
CREATE TRIGGER piece_versions_do_not_change BEFORE UPDATE ON piece_versions
  BEGIN SELECT RAISE(ABORT, 'a saved version of a piece cannot be changed'); END;
CREATE TRIGGER piece_versions_do_not_go BEFORE DELETE ON piece_versions
  BEGIN SELECT RAISE(ABORT, 'a saved version of a piece cannot be deleted'); END;

CREATE TABLE pictures (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  saved_wall_ms REAL NOT NULL,
  mime TEXT NOT NULL CHECK (mime IN ('image/jpeg', 'image/png', 'image/webp')),
  width_pixels INTEGER NOT NULL CHECK (width_pixels > 0),
  height_pixels INTEGER NOT NULL CHECK (height_pixels > 0),
  bytes BLOB NOT NULL
) STRICT;
CREATE INDEX pictures_by_time ON pictures (saved_wall_ms);

CREATE TABLE piece_pictures (
  picture INTEGER NOT NULL REFERENCES pictures (number),
  piece_version INTEGER NOT NULL REFERENCES piece_versions (key),
  PRIMARY KEY (picture, piece_version)
) STRICT, WITHOUT ROWID;

CREATE TABLE run_pictures (
  picture INTEGER NOT NULL REFERENCES pictures (number),
  run INTEGER NOT NULL REFERENCES runs (number),
  PRIMARY KEY (picture, run)
) STRICT, WITHOUT ROWID;
`;

/**
 * What is said outside, and what became of it on each channel. A message belongs to one event, and
 * its rows are written with that event or not at all. What is due is tried, and tried again.
 */
const outbox = `
CREATE TABLE messages (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  event_id INTEGER UNIQUE REFERENCES events (id),
  alarm_id INTEGER UNIQUE REFERENCES alarms (id),
  kind TEXT NOT NULL,
  priority TEXT NOT NULL,
  tank_id TEXT,
  created_wall_ms REAL NOT NULL,
  title TEXT NOT NULL,
  text TEXT NOT NULL,
  code TEXT
) STRICT;

CREATE TABLE outbox (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  message INTEGER NOT NULL REFERENCES messages (number),
  channel TEXT NOT NULL,
  print TEXT NOT NULL,
  state TEXT NOT NULL
    CHECK (state IN ('waiting', 'repeating', 'delivered', 'withdrawn', 'given-up')),
  tries INTEGER NOT NULL DEFAULT 0,
  failures INTEGER NOT NULL DEFAULT 0,
  deliveries INTEGER NOT NULL DEFAULT 0,
  due_wall_ms REAL,
  tried_wall_ms REAL,
  delivered_wall_ms REAL,
  last_error TEXT,
  confirmed_wall_ms REAL,
  UNIQUE (message, channel)
) STRICT;
CREATE INDEX outbox_due ON outbox (number) WHERE due_wall_ms IS NOT NULL;
CREATE INDEX outbox_by_channel ON outbox (channel, number);
`;

/** What probes came to, for as long as it counts: a drill belongs to the supply that it was done on. */
const probes = `
CREATE TABLE probes (
  number INTEGER PRIMARY KEY,
  run INTEGER NOT NULL UNIQUE REFERENCES runs (number),
  kind TEXT NOT NULL,
  tank_id TEXT NOT NULL,
  supply TEXT NOT NULL,
  verdict TEXT NOT NULL,
  volts REAL NOT NULL,
  amps REAL NOT NULL,
  off_ms REAL,
  wall_ms REAL NOT NULL,
  sentence TEXT NOT NULL
) STRICT;
CREATE INDEX probes_by_supply ON probes (kind, tank_id, supply, number);
`;

const sensors = `
CREATE TABLE sensors (
  number INTEGER PRIMARY KEY,
  run_number INTEGER NOT NULL REFERENCES runs (number),
  id TEXT NOT NULL,
  name TEXT NOT NULL,
  kind TEXT NOT NULL,
  unit TEXT NOT NULL,
  UNIQUE (run_number, id)
) STRICT;

CREATE TABLE sensor_values (
  sensor INTEGER NOT NULL REFERENCES sensors (number),
  at_ms REAL NOT NULL,
  value REAL NOT NULL
) STRICT;
CREATE INDEX sensor_values_by_time ON sensor_values (sensor, at_ms);
`;

/** What was acknowledged before this step is over: nobody looked whether its cause went on. */
const clearing = `
ALTER TABLE alarms ADD COLUMN cleared_wall_ms REAL;
UPDATE alarms SET cleared_wall_ms = acknowledged_wall_ms;
DROP INDEX alarms_standing;
CREATE INDEX alarms_standing ON alarms (id)
  WHERE acknowledged_wall_ms IS NULL OR cleared_wall_ms IS NULL;
`;

/**
 * A search looks at these columns alone, so that plans, which may take many pages each, are not read.
 * It begins with what the older index had, and takes its place.
 */
const searching = `
CREATE INDEX runs_for_search ON runs (
  armed_wall_ms, ended_wall_ms, kind, outcome_end, bath_name, tank_id, piece_name
);
DROP INDEX runs_by_time;
CREATE INDEX alarms_by_run ON alarms (run_id, id);
`;

/**
 * What a person adds to a run. The plan of a run is the one that stands; the ones before it are kept
 * with the changes that ended them. A note is an event with a text, and maybe a photo.
 */
const runBook = `
CREATE TABLE run_changes (
  number INTEGER PRIMARY KEY,
  run INTEGER NOT NULL REFERENCES runs (number),
  at_ms REAL,
  wall_ms REAL NOT NULL,
  asked_by TEXT NOT NULL,
  plan_before TEXT NOT NULL
) STRICT;
CREATE INDEX run_changes_by_run ON run_changes (run, number);

CREATE TABLE run_notes (
  event INTEGER PRIMARY KEY REFERENCES events (id),
  run INTEGER NOT NULL REFERENCES runs (number),
  written_by TEXT NOT NULL,
  text TEXT NOT NULL,
  picture INTEGER REFERENCES pictures (number)
) STRICT;
CREATE INDEX run_notes_by_run ON run_notes (run, event);
`;

/** How long nobody looked after a restart must not hang on a wall clock that was set meanwhile. */
const startClocks = 'ALTER TABLE runs ADD COLUMN clocks TEXT;';
/** A restart bounds the charge from where its own process had seen it, not from the last reading. */
const chargeSeen = 'ALTER TABLE runs ADD COLUMN charge_seen TEXT;';

export const migrations: readonly Migration[] = [
  { version: 1, name: 'runs, readings, events and alarms', sql: first },
  { version: 2, name: 'whether the output was read back as off', sql: offReadBack },
  { version: 3, name: 'pieces and pictures', sql: library },
  { version: 4, name: 'messages and their delivery', sql: outbox },
  { version: 5, name: 'what probes came to', sql: probes },
  { version: 6, name: 'what sensors of the bath said', sql: sensors },
  { version: 7, name: 'when what an alarm is about has ended', sql: clearing },
  { version: 8, name: 'an index for searching the log', sql: searching },
  { version: 9, name: 'the ledger of each bath, and weigh-ins', sql: ledgerTables },
  { version: 10, name: 'notes, photos and changes of runs', sql: runBook },
  { version: 11, name: 'an index for the charge of a bath', sql: ledgerCharge },
  { version: 12, name: 'the clocks of the computer at the start of a run', sql: startClocks },
  { version: 13, name: 'how far the charge of a run was seen', sql: chargeSeen },
];

/** The version that this program writes and reads. */
export function latestVersion(list: readonly Migration[] = migrations): number {
  return list.at(-1)?.version ?? 0;
}

/** The version of an open file; 0 for a fresh one. */
export function versionOf(db: Database.Database): number {
  return Number(db.pragma('user_version', { simple: true }));
}

/**
 * Brings the open file up to date, each step in a transaction of its own. A step that fails is
 * undone and leaves the file at the version before it.
 */
export function migrate(
  db: Database.Database,
  file: string,
  list: readonly Migration[] = migrations,
): void {
  // A step that rebuilds a table would otherwise delete what refers to it; checked below instead.
  db.pragma('foreign_keys = OFF');
  for (const step of list) {
    if (step.version <= versionOf(db)) continue;
    try {
      db.transaction(() => {
        db.exec(step.sql);
        const orphans = db.pragma('foreign_key_check');
        if (Array.isArray(orphans) && orphans.length > 0) {
          throw new Error(`${orphans.length} rows would refer to nothing`);
        }
        db.pragma(`application_id = ${applicationId}`);
        db.pragma(`user_version = ${step.version}`);
      }).immediate();
    } catch (error) {
      const cause = toStoreError(error, `Step ${step.version} (${step.name})`);
      throw new StoreError(
        'migrationFailed',
        `${file} could not be brought to version ${step.version} and stays as it was. ` +
          cause.message,
        { cause },
      );
    }
  }
  db.pragma('foreign_keys = ON');
}
