/** What can go wrong with the store, as one typed error with a sentence for the person at the bench. */

export type StoreErrorKind =
  /** The file was written by a newer version of this program. */
  | 'newer'
  /** The file is a database of some other program. */
  | 'foreign'
  | 'damaged'
  | 'cannotOpen'
  /** The native part of better-sqlite3 is not there or does not fit this Node. */
  | 'missingBinding'
  /** Another process writes to the file. */
  | 'busy'
  | 'notBuilt'
  | 'migrationFailed'
  | 'diskFull'
  | 'io'
  /** The database thread does not answer. */
  | 'stalled'
  | 'closed'
  /** One stored row is not what this version writes. The file is well. */
  | 'unreadable'
  /** The caller's fault: a value out of bounds, an unknown run. The file is well. */
  | 'invalid';

/** Every error of this folder; `kind` is its identity, the wording is free. */
export class StoreError extends Error {
  readonly kind: StoreErrorKind;

  constructor(kind: StoreErrorKind, message: string, options?: { cause?: unknown }) {
    super(message, options);
    this.name = 'StoreError';
    this.kind = kind;
  }
}

/** Plain fields of an error, for the way between threads. */
export interface ErrorFields {
  readonly kind: StoreErrorKind;
  readonly message: string;
}

export const missingBindingSentence =
  'The database library better-sqlite3 has no compiled part that fits this Node, usually because ' +
  'npm skipped its install script. In a clone or a project run `npm install-scripts approve better-sqlite3` ' +
  'and `npm rebuild better-sqlite3`; with npx run `npx --allow-scripts=better-sqlite3 …`.';

function codeOf(error: unknown): string {
  if (typeof error !== 'object' || error === null || !('code' in error)) return '';
  return typeof error.code === 'string' ? error.code : '';
}

/** True when the library is there but its compiled part is not, or was built for another Node. */
export function isMissingBinding(error: unknown): boolean {
  const message = error instanceof Error ? error.message : '';
  const code = codeOf(error);
  return (
    message.includes('Could not locate the bindings file') ||
    code === 'ERR_DLOPEN_FAILED' ||
    ((code === 'ERR_MODULE_NOT_FOUND' || code === 'MODULE_NOT_FOUND') &&
      /better-sqlite3|bindings|better_sqlite3/.test(message))
  );
}

const kindsBySqliteCode: readonly (readonly [prefix: string, kind: StoreErrorKind, why: string])[] =
  [
    ['SQLITE_FULL', 'diskFull', 'the disk is full; free some space'],
    ['SQLITE_NOTADB', 'damaged', 'it is not a database, or its first page is damaged'],
    ['SQLITE_CORRUPT', 'damaged', 'its pages do not fit together'],
    ['SQLITE_BUSY', 'busy', 'another program holds it'],
    ['SQLITE_LOCKED', 'busy', 'another connection holds it'],
    ['SQLITE_READONLY', 'cannotOpen', 'it may not be written'],
    ['SQLITE_CANTOPEN', 'cannotOpen', 'it cannot be opened; look at its folder and permissions'],
    ['SQLITE_PERM', 'cannotOpen', 'its permissions forbid it'],
    ['SQLITE_CONSTRAINT', 'invalid', 'a value breaks a rule of the tables'],
    ['SQLITE_MISMATCH', 'invalid', 'a value is of the wrong type'],
    ['SQLITE_IOERR', 'io', 'the disk reported an error'],
  ];

/** Any error as a `StoreError`; `doing` is the half sentence that comes first, with the file in it. */
export function toStoreError(error: unknown, doing: string): StoreError {
  if (error instanceof StoreError) return error;
  if (isMissingBinding(error)) {
    return new StoreError('missingBinding', missingBindingSentence, { cause: error });
  }
  const code = codeOf(error);
  const detail = error instanceof Error ? error.message : String(error);
  const known = kindsBySqliteCode.find(([prefix]) => code.startsWith(prefix));
  if (known !== undefined) {
    const [, kind, why] = known;
    return new StoreError(kind, `${doing}: ${why} (${code}: ${detail}).`, { cause: error });
  }
  const system = /^E[A-Z]+$/.test(code) ? 'cannotOpen' : 'io';
  return new StoreError(system, `${doing}: ${detail}.`, { cause: error });
}

/** Kinds that mean the file can no longer be trusted to take what it is given. */
export function isCommitFailure(error: StoreError): boolean {
  return error.kind !== 'invalid' && error.kind !== 'closed' && error.kind !== 'unreadable';
}

/** For whoever asks after the file was closed. */
export function closedError(file: string): StoreError {
  return new StoreError('closed', `The database ${file} is closed. Nothing was stored.`);
}
