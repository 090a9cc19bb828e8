/** Saves changes of the maker's own settings: edited in place, judged as a whole, and only then written. */

import { createHash } from 'node:crypto';
import { existsSync, openSync, closeSync, realpathSync, rmSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { findSettingsFile } from '../find.ts';
import type { SettingsSource } from '../find.ts';
import { judgeSettings } from '../load.ts';
import type { Settings } from '../model.ts';
import { readTls, requirePassphrase } from '../network.ts';
import { userConfigFolders } from '../places.ts';
import { fileProblem, SettingsError, valueAt } from '../problems.ts';
import { parseToml, readTomlFile } from '../toml.ts';
import type { TomlFile } from '../toml.ts';
import { EditRefused } from './changes.ts';
import type { TomlChange } from './changes.ts';
import { editToml } from './edit-text.ts';
import type { Path } from './scan.ts';
import { writeWhole } from './write-file.ts';

export interface SettingsOptions {
  readonly configPath?: string;
  readonly env?: NodeJS.ProcessEnv;
}

/** The settings file as it is to be edited. */
export interface EditableSettings {
  /** The file that was read: the maker's own, or the shipped one as long as there is no other. */
  readonly file: string;
  readonly source: SettingsSource;
  /** Where a change is written; another than `file` only for the first change of the shipped file. */
  readonly target: string;
  /** Tells this text from any other; given back with the changes. */
  readonly hash: string;
  /** As the TOML has it, without defaults. */
  readonly data: unknown;
}

/** One place that was to be changed while the file changed by other hands: what was asked, and what it holds. */
export interface Conflict {
  readonly path: Path;
  readonly yours: unknown;
  readonly now: unknown;
}

/** The file is not what it was when it was read; nothing was written. */
export class SettingsConflict extends Error {
  override readonly name = 'SettingsConflict';
  readonly conflicts: readonly Conflict[];
  readonly hash: string;

  constructor(file: string, hash: string, conflicts: readonly Conflict[]) {
    super(
      `${file} has changed since it was read, so nothing was written. Look at both and decide.`,
    );
    this.hash = hash;
    this.conflicts = conflicts;
  }
}

export interface SavedSettings {
  readonly file: string;
  readonly hash: string;
  /** Whether a file of the maker's own was made of the shipped one. */
  readonly copied: boolean;
  /** The copy of what stood there before; null where nothing did. */
  readonly previous: string | null;
  readonly before: Settings;
  readonly settings: Settings;
}

/** The file that keeps what the settings were before the last change. */
export function previousFile(file: string): string {
  return `${file}.previous`;
}

/** Tells a text from any other. */
export function hashOf(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}

function found(options: SettingsOptions) {
  const { file, source } = findSettingsFile(options);
  const target =
    source === 'shipped'
      ? join(userConfigFolders(options.env ?? process.env)[0], 'bench.toml')
      : followed(file);
  return { file, source, target };
}

/** A link stays one: what it leads to is written. */
function followed(file: string): string {
  try {
    return realpathSync(file);
  } catch {
    return file;
  }
}

/** Reads the settings for editing. Throws a SettingsError for a file that is missing or not TOML. */
export function readEditable(options: SettingsOptions = {}): EditableSettings {
  const place = found(options);
  // Made since the start by another hand: that one is what a restart will find.
  const own = place.source === 'shipped' && existsSync(place.target);
  const { text, value } = readTomlFile(own ? place.target : place.file);
  return {
    ...place,
    ...(own && { file: place.target, source: 'user' as const }),
    hash: hashOf(text),
    data: value,
  };
}

/**
 * Makes the changes in the maker's own file. Throws a SettingsConflict where the file is not the one
 * of the hash, a SettingsError where the changed settings could not be used, and an EditRefused where
 * the text cannot be edited; in all of these no file has changed.
 */
export function saveSettings(
  options: SettingsOptions,
  request: EditRequest & {
    /** A last look at what would be in use; what it throws keeps everything as it is. */
    readonly judge?: (before: Settings, after: Settings) => void;
  },
): SavedSettings {
  const env = options.env ?? process.env;
  const place = readEditable(options);
  const { before, after, ...saved } = editFile(
    place,
    request,
    (source, edited) => {
      const settings = judgeSettings({ ...source, file: place.target }, env);
      if (edited) requireStart(settings, place.target, env);
      return settings;
    },
    request.judge,
  );
  return { ...saved, before, settings: after };
}

/** Of which text, and what is to become of it. */
export interface EditRequest {
  readonly hash: string;
  readonly changes: readonly TomlChange[];
}

/** What became of an edit, with what the text said before it and says now. */
interface Edited<T> {
  readonly file: string;
  readonly hash: string;
  readonly copied: boolean;
  readonly previous: string | null;
  readonly before: T;
  readonly after: T;
}

/** Edits one file in place, or makes the maker's own of a shipped one; see `saveSettings`. */
export function editFile<T>(
  place: { readonly file: string; readonly target: string },
  request: EditRequest,
  read: (source: TomlFile, edited: boolean) => T,
  judge: (before: T, after: T) => void = () => undefined,
): Edited<T> {
  return alone(place.target, () => {
    const source = readTomlFile(place.file);
    const { text, value } = source;
    const hash = hashOf(text);
    if (hash !== request.hash) {
      const conflicts = request.changes.map((change) => ({
        path: change.path,
        yours: change.kind === 'remove' ? undefined : change.value,
        now: valueAt(value, change.path),
      }));
      throw new SettingsConflict(place.file, hash, conflicts);
    }
    const before = read(source, false);
    const edited = editToml(text, request.changes);
    const after = read(parseToml(place.target, edited), true);
    judge(before, after);
    const copied = place.target !== followed(place.file);
    if (edited === text && !copied) {
      return { file: place.target, hash, copied: false, previous: null, before, after };
    }
    const previous = previousFile(place.target);
    try {
      if (!copied) writeWhole(previous, text, place.target);
      writeWhole(place.target, edited);
    } catch (error) {
      throw cannotWrite(place.target, error);
    }
    const kept = copied ? null : previous;
    return { file: place.target, hash: hashOf(edited), copied, previous: kept, before, after };
  });
}

/** What else a start would look at, so that no saved file keeps Nightbath from starting. */
function requireStart(settings: Settings, file: string, env: NodeJS.ProcessEnv): void {
  requirePassphrase(settings, file, env);
  if (settings.web.tls !== null) readTls(settings.web.tls, file);
}

/** A lock that is older has been left behind: a save takes a moment, ms. */
const staleLockMs = 30_000;

/** Two that save at once, such as a page and a command, would lose the change of one. */
function alone<T>(target: string, work: () => T): T {
  const lock = `${target}.lock`;
  try {
    if (existsSync(lock) && Date.now() - statSync(lock).mtimeMs > staleLockMs) {
      rmSync(lock, { force: true });
    }
    if (existsSync(dirname(target))) closeSync(openSync(lock, 'wx', 0o600));
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'EEXIST') {
      throw new EditRefused(`${target} is being saved by somebody else. Try again.`);
    }
    throw cannotWrite(target, error);
  }
  try {
    return work();
  } finally {
    letGo(lock);
  }
}

/** One that cannot be removed is stale soon; the save itself is done, or has its own reason to tell. */
function letGo(lock: string): void {
  try {
    rmSync(lock, { force: true });
  } catch {
    // As above.
  }
}

function cannotWrite(file: string, error: unknown): SettingsError {
  const reason = error instanceof Error ? error.message : String(error);
  const message = `The settings cannot be written: ${reason}. What stood there still does.`;
  return new SettingsError([fileProblem(file, message)], { cause: error });
}
