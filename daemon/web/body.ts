/** Reads bodies and queries: strict UTF-8 JSON, no names that reach into prototypes, then the schema. */

import type { Context, Env, MiddlewareHandler } from 'hono';
import { bodyLimit } from 'hono/body-limit';
import type * as z from 'zod/mini';
import type { Problem } from '../piece/model.ts';
import { crowdedJson, maxDepth } from './json-shape.ts';
import { problemsOf, ProblemError } from './problem.ts';

/** Largest body unless a route says otherwise, bytes. */
const maxBodyBytes = 64 * 1024;
/** Largest body that holds a piece, bytes; a careful trace takes most of it. */
export const pieceBodyBytes = 224 * 1024;
const forbiddenKeys: ReadonlySet<string> = new Set([
  '__proto__',
  'constructor',
  'prototype',
  // With either of these an object can neither be compared nor shown, not even to refuse it.
  'toString',
  'valueOf',
]);

type Checked<Target extends 'json' | 'query', Value> = MiddlewareHandler<
  Env,
  string,
  { in: Record<Target, Value>; out: Record<Target, Value> }
>;

/** Refuses a body above the limit, whether or not it announces its length. */
function limitTo(maxBytes: number): MiddlewareHandler {
  return bodyLimit({
    maxSize: maxBytes,
    onError: (context) => {
      const announced = context.req.header('content-length');
      const value = announced === undefined ? `over ${maxBytes} bytes` : `${announced} bytes`;
      const bound = `at most ${maxBytes} bytes`;
      const message = `The body has ${value}; it may hold ${bound}.`;
      throw new ProblemError('tooLarge', message, [{ field: 'body', value, bound, message }]);
    },
  });
}

/** The body as it came, up to so many bytes. */
export async function bodyBytes(context: Context, maxBytes: number): Promise<ArrayBuffer> {
  let bytes = new ArrayBuffer(0);
  await limitTo(maxBytes)(context, async () => {
    bytes = await context.req.arrayBuffer();
  });
  return bytes;
}

/**
 * The body as the schema has it, or a problem document that names what is wrong. `answerInvalid`
 * words a body that is JSON but not as the schema wants it in the route's own way.
 */
export function jsonBody<Schema extends z.ZodMiniType<object>>(
  schema: Schema,
  answerInvalid?: (context: Context, problems: readonly Problem[]) => Response,
  maxBytes = maxBodyBytes,
): Checked<'json', z.infer<Schema>> {
  const limit = limitTo(maxBytes);
  return async (context, next) => {
    let invalid: Response | null = null;
    const tooLarge = await limit(context, async () => {
      const input = parseJson(await context.req.arrayBuffer());
      const result = schema.safeParse(input);
      if (!result.success && answerInvalid !== undefined) {
        invalid = answerInvalid(context, problemsOf(result.error, input));
        return;
      }
      context.req.addValidatedData('json', accepted(result, input));
      await next();
    });
    return invalid ?? tooLarge;
  };
}

/** The query as the schema has it; an unknown name is refused. */
export function query<Schema extends z.ZodMiniType<object>>(
  schema: Schema,
): Checked<'query', z.infer<Schema>> {
  return async (context, next) => {
    // Entries, not assignment: a parameter named __proto__ stays a plain unknown name.
    const input = Object.fromEntries(new URL(context.req.url).searchParams);
    context.req.addValidatedData('query', accepted(schema.safeParse(input), input));
    await next();
  };
}

/** A path parameter that has to match a schema; one that does not names nothing here. */
export function pathParam<Schema extends z.ZodMiniType>(
  schema: Schema,
  value: string,
  what: string,
): z.infer<Schema> {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  throw new ProblemError('notFound', `There is no ${what} of that name.`);
}

/** What a schema made of an input, or a problem document. */
export function accepted<Value>(result: z.core.util.SafeParseResult<Value>, input: unknown): Value {
  if (result.success) return result.data;
  const problems = problemsOf(result.error, input);
  throw new ProblemError('invalid', problems[0]?.message ?? 'The request is not valid.', problems);
}

/** Parses UTF-8 JSON, refusing what holds too many values before it costs time and room, refusing what is not text, not JSON, nested too deep or names a prototype. */
export function parseJson(bytes: ArrayBuffer): unknown {
  const crowded = crowdedJson(bytes);
  if (crowded !== null) throw new ProblemError('malformed', crowded);
  let input: unknown;
  try {
    input = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
  } catch {
    throw new ProblemError('malformed', 'The body is not JSON in UTF-8.');
  }
  const refusal = findForbidden(input);
  if (refusal !== null) throw new ProblemError('malformed', refusal);
  return input;
}

/** Walks without recursion, so that deep nesting cannot exhaust the stack. */
function findForbidden(input: unknown): string | null {
  const open: { value: unknown; depth: number }[] = [{ value: input, depth: 0 }];
  for (let item = open.pop(); item !== undefined; item = open.pop()) {
    if (typeof item.value !== 'object' || item.value === null) continue;
    if (item.depth >= maxDepth) return `The body is nested deeper than ${maxDepth} levels.`;
    for (const [key, value] of Object.entries(item.value)) {
      if (forbiddenKeys.has(key)) return `A field may not be named ${key}.`;
      open.push({ value, depth: item.depth + 1 });
    }
  }
  return null;
}
