/** The steps of the migrations that bring ledgers and weigh-ins. */

/**
 * The ledger of each bath and the weigh-ins of runs. Whatever is corrected becomes another version, and
 * the tables refuse anything else. A run's bath is read out of its plan, which never changes; a plan
 * that is not JSON belongs to no bath, and must not keep the file from being opened.
 */
export const ledgerTables = `
ALTER TABLE runs ADD COLUMN bath_id TEXT GENERATED ALWAYS AS
  (CASE WHEN json_valid(plan) THEN json_extract(plan, '$.bath.id') END) VIRTUAL;
CREATE INDEX runs_by_bath ON runs (tank_id, bath_id, armed_wall_ms);

CREATE TABLE weigh_ins (
  number INTEGER PRIMARY KEY,
  run INTEGER NOT NULL REFERENCES runs (number),
  version INTEGER NOT NULL CHECK (version > 0),
  saved_wall_ms REAL NOT NULL,
  saved_by TEXT NOT NULL,
  document TEXT,
  UNIQUE (run, version)
) STRICT;
CREATE TRIGGER weigh_ins_do_not_change BEFORE UPDATE ON weigh_ins
  BEGIN SELECT RAISE(ABORT, 'a saved weigh-in cannot be changed'); END;
CREATE TRIGGER weigh_ins_do_not_go BEFORE DELETE ON weigh_ins
  BEGIN SELECT RAISE(ABORT, 'a saved weigh-in cannot be deleted'); END;

CREATE TABLE ledger_entries (
  number INTEGER PRIMARY KEY,
  tank_id TEXT NOT NULL,
  bath_id TEXT NOT NULL
) STRICT;
CREATE INDEX ledger_by_bath ON ledger_entries (tank_id, bath_id);

CREATE TABLE ledger_versions (
  number INTEGER PRIMARY KEY,
  entry INTEGER NOT NULL REFERENCES ledger_entries (number),
  version INTEGER NOT NULL CHECK (version > 0),
  saved_wall_ms REAL NOT NULL,
  saved_by TEXT NOT NULL,
  at_wall_ms REAL NOT NULL,
  kind TEXT NOT NULL,
  document TEXT,
  UNIQUE (entry, version)
) STRICT;
CREATE TRIGGER ledger_versions_do_not_change BEFORE UPDATE ON ledger_versions
  BEGIN SELECT RAISE(ABORT, 'a saved entry of a ledger cannot be changed'); END;
CREATE TRIGGER ledger_versions_do_not_go BEFORE DELETE ON ledger_versions
  BEGIN SELECT RAISE(ABORT, 'a saved entry of a ledger cannot be deleted'); END;
`;

/** The charge of a bath is added up from this alone, so that plans, many pages each, are not read. */
export const ledgerCharge = `
DROP INDEX runs_by_bath;
CREATE INDEX runs_by_bath ON runs (
  tank_id, bath_id, simulated, started_wall_ms, ended_wall_ms, carried_amp_hours, amp_hours
);
`;
