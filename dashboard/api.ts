/** Calls to the daemon over HTTP: reads that are checked, commands that say what became of them. */

import { access } from './access.ts';
import { commandAnswerSchema, type CommandAnswer } from '../daemon/wire/command.ts';
import { comparisonSchema } from '../daemon/wire/compare.ts';
import { planResultSchema } from '../daemon/wire/plan.ts';
import type { PlanQuestion, PlanResult } from '../daemon/run/model.ts';
import type { Comparison } from '../daemon/run/plan-compare.ts';
import type { Problem } from '../daemon/piece/model.ts';

/** A refusal in words, with the fields it is about. Status 0 is no answer at all. */
export class ApiError extends Error {
  readonly status: number;
  readonly problems: readonly Problem[];

  constructor(message: string, status: number, problems: readonly Problem[] = []) {
    super(message);
    this.status = status;
    this.problems = problems;
  }
}

export type Accepted = Extract<CommandAnswer, { ok: true }>;

interface Schema<T> {
  parse(value: unknown): T;
}

/** Random and never repeated. On a plain-http address of the network randomUUID does not exist. */
export function randomKey(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Off waits for the supply to be read back, which takes seconds; nothing takes longer. */
const timeoutMs = 12_000;

async function request(path: string, init: RequestInit): Promise<unknown> {
  let response: Response;
  let body: unknown;
  try {
    const signals = [AbortSignal.timeout(timeoutMs), ...(init.signal ? [init.signal] : [])];
    response = await fetch(path, { ...init, signal: AbortSignal.any(signals) });
    body = await response.json();
  } catch {
    throw new ApiError('The daemon does not answer.', 0);
  }
  if (response.ok) {
    return body;
  }
  if (response.status === 401) void access.ask();
  const { detail, problems } = body as { detail?: string; problems?: readonly Problem[] };
  const text = detail ?? `The daemon answered ${response.status}.`;
  throw new ApiError(text, response.status, Array.isArray(problems) ? problems : []);
}

/** One document. */
export async function read<T>(path: string, schema: Schema<T>): Promise<T> {
  return schema.parse(await request(path, {}));
}

/** A list of documents. */
export async function readList<T>(path: string, schema: Schema<T>): Promise<T[]> {
  const rows = (await request(path, {})) as readonly unknown[];
  return rows.map((row) => schema.parse(row));
}

function post(path: string, body: unknown, signal?: AbortSignal): Promise<unknown> {
  return request(path, {
    method: 'POST',
    headers: {
      'content-type': 'application/json',
      'x-nightbath': '1',
      'idempotency-key': randomKey(),
    },
    body: JSON.stringify(body),
    ...(signal && { signal }),
  });
}

/** Sends a command; rejects with an ApiError whose message is the sentence to show. */
export async function command(path: string, body: unknown = {}): Promise<Accepted> {
  const answer = commandAnswerSchema.parse(await post(path, body));
  if (answer.ok) {
    return answer;
  }
  throw new ApiError(answer.reason, 200, answer.problems);
}

/**
 * The daemon's plan for a question, or what is wrong with the question. `carriedAmpHours` is the charge
 * that an earlier run has left on the piece.
 */
export async function plan(
  wanted: PlanQuestion,
  signal: AbortSignal,
  carriedAmpHours?: number,
): Promise<PlanResult> {
  try {
    const body = { ...wanted, ...(carriedAmpHours !== undefined && { carriedAmpHours }) };
    return planResultSchema.parse(await post('/api/plans', body, signal));
  } catch (error) {
    if (error instanceof ApiError && error.status === 422) {
      return { ok: false, problems: error.problems };
    }
    throw error;
  }
}

/** One question at two or three densities, A/dm2, or what is wrong with it. */
export async function comparePlans(
  question: PlanQuestion,
  densitiesAmpsPerDm2: readonly number[],
  signal: AbortSignal,
): Promise<Comparison> {
  try {
    const body = { plan: question, densitiesAmpsPerDm2 };
    return comparisonSchema.parse(await post('/api/plans/compare', body, signal));
  } catch (error) {
    if (error instanceof ApiError && error.status === 422) {
      return { ok: false, problems: error.problems };
    }
    throw error;
  }
}
