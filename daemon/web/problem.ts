/** Errors as RFC 9457 problem documents: every refusal names the field, the value and the bound. */

import * as z from 'zod/mini';
import type { Problem } from '../piece/model.ts';
import { problemSchema } from '../wire/plan.ts';

export const problemDocumentSchema = z.strictObject({
  /** `urn:nightbath:problem:` and the code. */
  type: z.string(),
  title: z.string(),
  status: z.int(),
  /** The sentence to show. */
  detail: z.string(),
  problems: z.array(problemSchema),
});
export type ProblemDocument = z.infer<typeof problemDocumentSchema>;

/** What went wrong, as a word that a program can tell apart. */
export type ProblemCode =
  | 'malformed'
  | 'unauthorized'
  | 'forbidden'
  | 'notAllowed'
  | 'notFound'
  | 'methodNotAllowed'
  | 'refused'
  | 'stale'
  | 'busy'
  | 'tooLarge'
  | 'unsupportedMediaType'
  | 'invalid'
  | 'upgradeRequired'
  | 'tooMany'
  | 'internal'
  | 'unavailable';

const kinds: Readonly<Record<ProblemCode, { readonly status: ProblemStatus; title: string }>> = {
  malformed: { status: 400, title: 'The request cannot be read' },
  unauthorized: { status: 401, title: 'Sign in' },
  forbidden: { status: 403, title: 'Not allowed from there' },
  notAllowed: { status: 403, title: 'Not with this passphrase' },
  notFound: { status: 404, title: 'Not found' },
  methodNotAllowed: { status: 405, title: 'Method not allowed' },
  refused: { status: 409, title: 'Refused' },
  stale: { status: 409, title: 'Out of date' },
  busy: { status: 409, title: 'Busy' },
  tooLarge: { status: 413, title: 'Too large' },
  unsupportedMediaType: { status: 415, title: 'This kind of body is not accepted' },
  invalid: { status: 422, title: 'Something in the request is out of bounds' },
  upgradeRequired: { status: 426, title: 'Upgrade required' },
  tooMany: { status: 429, title: 'Too many tries' },
  internal: { status: 500, title: 'Something failed' },
  unavailable: { status: 503, title: 'Not available right now' },
};
export type ProblemStatus =
  400 | 401 | 403 | 404 | 405 | 409 | 413 | 415 | 422 | 426 | 429 | 500 | 503;

/** Thrown anywhere in a request; answered as a problem document. */
export class ProblemError extends Error {
  override readonly name = 'ProblemError';
  readonly code: ProblemCode;
  readonly problems: readonly Problem[];
  readonly headers: Readonly<Record<string, string>>;

  constructor(
    code: ProblemCode,
    detail: string,
    problems: readonly Problem[] = [],
    headers: Readonly<Record<string, string>> = {},
  ) {
    super(detail);
    this.code = code;
    this.problems = problems;
    this.headers = headers;
  }

  get status(): ProblemStatus {
    return kinds[this.code].status;
  }

  document(): ProblemDocument {
    return {
      type: `urn:nightbath:problem:${this.code}`,
      title: kinds[this.code].title,
      status: this.status,
      detail: this.message,
      problems: [...this.problems],
    };
  }
}

const maxShown = 60;
const maxProblems = 20;

/** A value as it was received, short and printable. */
export function shownValue(value: unknown): string {
  if (value === undefined) return 'missing';
  if (typeof value === 'string') return printable(JSON.stringify(value));
  if (typeof value === 'number' || typeof value === 'boolean' || value === null) {
    return String(value);
  }
  if (Array.isArray(value)) return `a list of ${value.length}`;
  return 'an object';
}

function printable(text: string): string {
  // Characters that hide or turn text around would make the answer lie about what was received.
  const escaped = text.replace(
    /[\p{C}\p{Zl}\p{Zp}]/gu,
    (character) => `\\u{${(character.codePointAt(0) ?? 0).toString(16)}}`,
  );
  return escaped.length <= maxShown ? escaped : `${escaped.slice(0, maxShown - 1)}…`;
}

/** The problems of a value that a schema refused, at most 20 of them. */
export function problemsOf(error: z.core.$ZodError, input: unknown): readonly Problem[] {
  return error.issues.flatMap((issue) => problemsOfIssue(issue, input)).slice(0, maxProblems);
}

function problemsOfIssue(issue: z.core.$ZodIssue, input: unknown): readonly Problem[] {
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) =>
      problem([...issue.path, key], valueAt(input, [...issue.path, key]), 'no field of that name'),
    );
  }
  if (issue.code === 'invalid_key') {
    const [inner] = issue.issues;
    return [problem(issue.path, issue.path.at(-1), inner ? boundOf(inner) : 'another name')];
  }
  return [problem(issue.path, valueAt(input, issue.path), boundOf(issue))];
}

function problem(path: readonly PropertyKey[], value: unknown, bound: string): Problem {
  const field = fieldPath(path);
  const shown = shownValue(value);
  const message =
    bound === 'no field of that name'
      ? `There is no field named ${field}.`
      : `${field} is ${shown}; it must be ${bound}.`;
  return { field, value: shown, bound, message };
}

function fieldPath(path: readonly PropertyKey[]): string {
  let text = '';
  for (const key of path) {
    if (typeof key === 'number') text += `[${key}]`;
    else text += `${text === '' ? '' : '.'}${printable(String(key))}`;
  }
  return text === '' ? 'the request' : text;
}

function valueAt(input: unknown, path: readonly PropertyKey[]): unknown {
  let value = input;
  for (const key of path) {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, key)) return undefined;
    value = Reflect.get(value, key);
  }
  return value;
}

const expectations: Readonly<Record<string, string>> = {
  number: 'a finite number',
  int: 'a whole number',
  string: 'text',
  boolean: 'true or false',
  array: 'a list',
  object: 'an object',
  record: 'an object',
};

function boundOf(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case 'invalid_type':
      return expectations[issue.expected] ?? `of type ${issue.expected}`;
    case 'too_small':
      return amount(issue.origin, issue.minimum, issue.inclusive ?? true, 'min');
    case 'too_big':
      return amount(issue.origin, issue.maximum, issue.inclusive ?? true, 'max');
    case 'invalid_value':
      return oneOf(issue.values.map(String));
    case 'invalid_union':
      return 'options' in issue && Array.isArray(issue.options)
        ? oneOf(issue.options.map(String))
        : 'of one of the known shapes';
    case 'invalid_format':
      // Schemas that say their bound in words are quoted; the library's own texts all begin so.
      if (!issue.message.startsWith('Invalid')) return issue.message;
      return `text that matches ${issue.pattern ?? issue.format}`;
    case 'custom':
    case 'invalid_element':
    case 'invalid_key':
    case 'not_multiple_of':
    case 'unrecognized_keys':
      break;
  }
  return issue.message.replace(/^must be /, '');
}

function oneOf(values: readonly string[]): string {
  return values.length === 1 ? `${values[0]}` : `one of ${values.join(', ')}`;
}

function amount(
  origin: string,
  limit: number | bigint,
  inclusive: boolean,
  side: 'min' | 'max',
): string {
  const least = side === 'min' ? 'at least' : 'at most';
  if (origin === 'string') return `${least} ${limit} characters long`;
  if (origin === 'array') return `a list of ${least} ${limit}`;
  if (inclusive) return `${least} ${limit}`;
  return side === 'min' ? `more than ${limit}` : `less than ${limit}`;
}
