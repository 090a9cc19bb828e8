/** Calls to the daemon over HTTP: reads that are checked, commands that say what became of them. */

import { access } from './access.ts';
import type { CommandAnswer } from '../daemon/wire/command.ts';
import type { PlanQuestion } from '../daemon/run/model.ts';
import type { Planned } from '../daemon/run/outlook.ts';
import type { Comparison } from '../daemon/run/plan-compare.ts';
import type { Problem } from '../daemon/piece/model.ts';
import { words } from '#words/common';

/** A refusal in words, with the fields it is about. Status 0 is no answer at all. */
export class ApiError extends Error {
  readonly status: number;
  readonly problems: readonly Problem[];
  /** The type of the problem document, a URN; empty where the answer was none. */
  readonly type: string;

  constructor(message: string, status: number, problems: readonly Problem[] = [], type = '') {
    super(message);
    this.status = status;
    this.problems = problems;
    this.type = type;
  }

  /** What was changed has been changed by somebody else meanwhile. */
  get stale(): boolean {
    return this.type === 'urn:nightbath:problem:stale';
  }
}

export type Accepted = Extract<CommandAnswer, { ok: true }>;

/** Random and never repeated. On a plain-http address of the network randomUUID does not exist. */
export function randomKey(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Off waits for the supply to be read back, which takes seconds; nothing takes longer. */
const timeoutMs = 12_000;

/**
 * What the daemon answers is taken at its word: it is built from the same sources as this page, its
 * tests hold every answer to its schema, and a page of another version is told to load anew. So no
 * page carries the validator.
 */
async function request<T>(path: string, init: RequestInit): Promise<T> {
  let response: Response;
  let body: unknown;
  try {
    const signals = [AbortSignal.timeout(timeoutMs), ...(init.signal ? [init.signal] : [])];
    response = await fetch(path, { ...init, signal: AbortSignal.any(signals) });
    body = await response.json();
  } catch {
    throw new ApiError(words.daemon.silent, 0);
  }
  if (response.ok) {
    return body as T;
  }
  if (response.status === 401) void access.ask();
  const { type, detail, problems } = body as {
    type?: string;
    detail?: string;
    problems?: readonly Problem[];
  };
  const text = detail ?? words.daemon.answered(response.status);
  throw new ApiError(text, response.status, Array.isArray(problems) ? problems : [], type);
}

/** Answers that were asked for before whoever needs them was here. */
const ahead = new Map<string, Promise<unknown>>();
/** They are for the page that is about to open, and for nothing later, ms. */
const aheadForMs = 10_000;

/** Asks already for what will be read in a moment. */
export function readAhead(path: string): void {
  const answer = request<unknown>(path, {});
  ahead.set(path, answer);
  // Who reads it hears of a failure; nobody may come.
  answer.catch(() => undefined);
  setTimeout(() => ahead.delete(path), aheadForMs);
}

/** One document. */
export function read<T>(path: string): Promise<T> {
  const early = ahead.get(path);
  ahead.delete(path);
  return early === undefined ? request<T>(path, {}) : (early as Promise<T>);
}

/** A list of documents. */
export function readList<T>(path: string): Promise<T[]> {
  return read<T[]>(path);
}

/** Sends a change under a key of its own; rejects with an ApiError whose message is the sentence to show. */
export function send<T>(
  method: 'POST' | 'PUT',
  path: string,
  body: unknown,
  signal?: AbortSignal,
): Promise<T> {
  return request<T>(path, {
    method,
    headers: {
      'content-type': 'application/json',
      'x-nightbath': '1',
      'idempotency-key': randomKey(),
    },
    body: JSON.stringify(body),
    ...(signal && { signal }),
  });
}

function post<T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> {
  return send<T>('POST', path, body, signal);
}

/** A command from a page that is being left: it goes out after the page is gone, and nobody hears the answer. */
export function lastWord(path: string): void {
  const headers = {
    'content-type': 'application/json',
    'x-nightbath': '1',
    'idempotency-key': randomKey(),
  };
  void fetch(path, { method: 'POST', keepalive: true, headers, body: '{}' }).catch(() => undefined);
}

/** Sends a command; rejects with an ApiError whose message is the sentence to show. */
export async function command(path: string, body: unknown = {}): Promise<Accepted> {
  const answer = await post<CommandAnswer>(path, body);
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
): Promise<Planned> {
  try {
    const body = { ...wanted, ...(carriedAmpHours !== undefined && { carriedAmpHours }) };
    return await post<Planned>('/api/plans', body, signal);
  } catch (error) {
    if (error instanceof ApiError && error.status === 422) {
      return { ok: false, problems: error.problems };
    }
    throw error;
  }
}

/** One question at two or three densities, A/dm2, or what is wrong with it; `carriedAmpHours` as above. */
export async function comparePlans(
  question: PlanQuestion,
  densitiesAmpsPerDm2: readonly number[],
  signal: AbortSignal,
  carriedAmpHours?: number,
): Promise<Comparison> {
  try {
    const carried = carriedAmpHours !== undefined && { carriedAmpHours };
    const body = { plan: question, densitiesAmpsPerDm2, ...carried };
    return await post<Comparison>('/api/plans/compare', body, signal);
  } catch (error) {
    if (error instanceof ApiError && error.status === 422) {
      return { ok: false, problems: error.problems };
    }
    throw error;
  }
}
