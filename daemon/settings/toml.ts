/** Reads a TOML file and turns every way in which that can fail into a clear problem. */

import { readFileSync, statSync } from 'node:fs';
import { parse, TomlError } from 'smol-toml';
import type { z } from 'zod';
import { lineOfKey } from './lines.ts';
import { didYouMean, fileProblem, keyPath, SettingsError, showValue, valueAt } from './problems.ts';
import type { SettingsProblem } from './problems.ts';

const largestFileBytes = 1024 * 1024;

/** What zod says of a value; its own `zod/mini` schemas report in the same shape. */
type Issue = z.core.$ZodIssue;

export interface TomlFile {
  readonly file: string;
  readonly text: string;
  readonly value: unknown;
}

/** Reads and parses; throws a SettingsError for a file that is missing, unreadable, huge or not TOML. */
export function readTomlFile(file: string): TomlFile {
  return parseToml(file, readText(file));
}

/** Parses the text of a file; throws a SettingsError for one that is not TOML. */
export function parseToml(file: string, text: string): TomlFile {
  try {
    return { file, text, value: parse(text, { maxDepth: 32 }) };
  } catch (error) {
    if (!(error instanceof TomlError)) {
      throw new SettingsError([fileProblem(file, `This is not TOML: ${reason(error)}`)]);
    }
    const what = error.message.split('\n')[0] ?? '';
    const saying = what.replace(/^Invalid TOML document: /, '');
    throw new SettingsError([fileProblem(file, `This is not TOML: ${saying}.`, error.line)]);
  }
}

function readText(file: string): string {
  try {
    if (statSync(file).size > largestFileBytes) {
      throw new SettingsError([fileProblem(file, 'The file is larger than 1 MiB.')]);
    }
    return readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof SettingsError) throw error;
    throw new SettingsError([fileProblem(file, `The file cannot be read: ${reason(error)}`)]);
  }
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** Turns zod's issues into problems that name the key, its value, the bound and the line. */
export function problemsFromIssues(
  source: TomlFile,
  issues: readonly Issue[],
  knownKeys: Readonly<Record<string, readonly string[]>>,
): SettingsProblem[] {
  return worded(issues).flatMap((issue) => {
    if (issue.code === 'unrecognized_keys') {
      const known = knownKeys[keyPath(issue.path).replaceAll(/\[\d+\]/g, '[]')] ?? [];
      return issue.keys.map((key) => unknownKey(source, [...issue.path, key], known));
    }
    return [wrongValue(source, issue.path, boundOf(issue))];
  });
}

function boundOf(issue: Issue): string {
  if (issue.code === 'invalid_union' && 'options' in issue && Array.isArray(issue.options)) {
    return `one of ${issue.options.map((option) => `"${String(option)}"`).join(', ')}`;
  }
  return libraryWords.test(issue.message) ? plainBound(issue) : issue.message;
}

/** How zod words a bound for which the schema has no words of its own. */
const libraryWords = /^(?:Invalid|Too big|Too small)/;

const kinds: Readonly<Record<string, string>> = {
  number: 'a number',
  int: 'a whole number',
  string: 'text',
  boolean: 'true or false',
  array: 'a list',
  object: 'a table',
};

function plainBound(issue: Issue): string {
  switch (issue.code) {
    case 'invalid_type':
      return kinds[issue.expected] ?? `a ${issue.expected}`;
    case 'too_big':
      return sized(issue.origin, issue.inclusive === false ? 'below' : 'at most', issue.maximum);
    case 'too_small':
      return sized(issue.origin, issue.inclusive === false ? 'above' : 'at least', issue.minimum);
    case 'invalid_value':
      return `one of ${issue.values.map((one) => `"${String(one)}"`).join(', ')}`;
    default:
      return 'written as in the shipped files';
  }
}

function sized(origin: string, side: string, bound: number | bigint): string {
  if (origin === 'string') return `text of ${side} ${bound} characters`;
  if (origin === 'array') return `a list of ${side} ${bound}`;
  return `${side} ${bound}`;
}

/** Of several bounds of one number the last, which is the narrowest: said once. */
function worded(issues: readonly Issue[]): readonly Issue[] {
  const isBound = ({ code, message }: Issue): boolean =>
    (code === 'too_small' || code === 'too_big') && libraryWords.test(message);
  const place = ({ path }: Issue): string => keyPath(path);
  return issues.filter(
    (issue, index) =>
      !isBound(issue) ||
      !issues.slice(index + 1).some((later) => isBound(later) && place(later) === place(issue)),
  );
}

/** Keys of the alerts under which a secret may have been written by mistake. */
const mayBeSecret = new Set<PropertyKey>(['password', 'url', 'headers', 'arguments']);

/** A channel is the third step; a text that stands for one, or for all, may be its address or password. */
const channelDepth = 3;

/** The value as it may be shown: what may be a secret is not repeated. */
function shownAt(path: readonly PropertyKey[], value: unknown): string {
  const instead = path.length <= channelDepth && typeof value !== 'object';
  const secret = path[0] === 'alerts' && (instead || path.some((key) => mayBeSecret.has(key)));
  return secret && value !== undefined ? 'not shown here' : showValue(value);
}

/** A value outside its bound, or one that is missing. */
export function wrongValue(
  source: TomlFile,
  path: readonly PropertyKey[],
  bound: string,
  hint = '',
): SettingsProblem {
  const field = keyPath(path);
  const value = valueAt(source.value, path);
  const shown = shownAt(path, value);
  const name = field === '' ? 'The file' : field;
  const message =
    value === undefined
      ? `${name} is missing; it must be ${bound}.${hint}`
      : `${name} is ${shown}; it must be ${bound}.${hint}`;
  return {
    file: source.file,
    line: lineOfKey(source.text, path),
    field,
    value: shown,
    bound,
    message,
  };
}

function unknownKey(
  source: TomlFile,
  path: readonly PropertyKey[],
  known: readonly string[],
): SettingsProblem {
  const key = String(path.at(-1));
  const list = known.length === 0 ? '' : ` Known here: ${known.join(', ')}.`;
  return {
    file: source.file,
    line: lineOfKey(source.text, path),
    field: keyPath(path),
    value: shownAt(path, valueAt(source.value, path)),
    bound: known.length === 0 ? 'a known key' : `one of ${known.join(', ')}`,
    message: `${keyPath(path)} is not a known key.${didYouMean(key, known) || list}`,
  };
}
