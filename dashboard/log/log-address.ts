/** What is searched for in the log, as the page's own address keeps it: words, names and days. */

import type { RunResult } from '../../daemon/wire/log.ts';
import { logWords } from '#words/log';

/** Runs on a page of the log. */
export const pageSize = 20;
/** How many runs one comparison takes. */
export const mostCompared = 4;

export const resultNames: readonly RunResult[] = [
  'reached',
  'stopped',
  'tripped',
  'interrupted',
  'running',
  'probe',
];

/** A search; empty text is not asked for. Days are written 2026-01-31, both of them included. */
export interface LogSearch {
  readonly piece: string;
  readonly bath: string;
  readonly result: RunResult | '';
  readonly fromDay: string;
  readonly toDay: string;
  /** From 1. */
  readonly page: number;
  /** Runs chosen to be compared, the first one first. */
  readonly picked: readonly string[];
}

export const emptySearch: LogSearch = {
  piece: '',
  bath: '',
  result: '',
  fromDay: '',
  toDay: '',
  page: 1,
  picked: [],
};

type Field = 'piece' | 'bath' | 'result' | 'from' | 'to' | 'page' | 'pick';

/** A part of an address that says nothing, with what may stand there. */
export interface AddressProblem {
  readonly field: Field;
  readonly value: string;
  readonly bound: string;
}

export const mostPieceLetters = 80;
const mostPages = 10_000;
const runId = /^[A-Za-z0-9_-]{1,64}$/;

/** The start of a day of this device's clock, ms since the epoch; null for what is no day. */
export function dayStart(day: string, plusDays = 0): number | null {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day);
  if (match === null) return null;
  const [year, month, date] = match.slice(1).map(Number);
  if (year === undefined || month === undefined || date === undefined) return null;
  const start = new Date(year, month - 1, date);
  // A date that does not exist becomes another one.
  if (start.getMonth() !== month - 1 || start.getDate() !== date) return null;
  return new Date(year, month - 1, date + plusDays).getTime();
}

/** Reads the search out of an address; what says nothing is left out, and named. */
export function searchOf(query: string): {
  readonly search: LogSearch;
  readonly problems: readonly AddressProblem[];
} {
  const given = new URLSearchParams(query);
  const problems: AddressProblem[] = [];
  const take = <T>(name: Field, read: (text: string) => T | null, none: T, bound: string): T => {
    const text = given.get(name);
    if (text === null || text === '') return none;
    const value = read(text);
    if (value === null) problems.push({ field: name, value: text.slice(0, 40), bound });
    return value ?? none;
  };
  const day = (text: string): string | null => (dayStart(text) === null ? null : text);
  const { bounds } = logWords;
  const short = (most: number) => (text: string) => (text.length <= most ? text : null);
  const search: LogSearch = {
    piece: take('piece', short(mostPieceLetters), '', bounds.letters(mostPieceLetters)),
    bath: take('bath', short(200), '', bounds.letters(200)),
    result: take<RunResult | ''>(
      'result',
      (text) => resultNames.find((name) => name === text) ?? null,
      '',
      bounds.oneOf(resultNames),
    ),
    fromDay: take('from', day, '', bounds.day),
    toDay: take('to', day, '', bounds.day),
    page: take('page', readPage, 1, bounds.whole(1, mostPages)),
    picked: take('pick', readPicked, [], bounds.runs(mostCompared)),
  };
  if (search.fromDay !== '' && search.toDay !== '' && search.toDay < search.fromDay) {
    problems.push({ field: 'to', value: search.toDay, bound: bounds.notBefore(search.fromDay) });
    return { search: { ...search, toDay: '' }, problems };
  }
  return { search, problems };
}

function readPage(text: string): number | null {
  const page = /^\d{1,5}$/.test(text) ? Number(text) : 0;
  return page >= 1 && page <= mostPages ? page : null;
}

/** Ids with commas between them, each once; null where one is none or there are too many. */
export function readPicked(text: string): readonly string[] | null {
  const ids = [...new Set(text.split(','))];
  return ids.length <= mostCompared && ids.every((id) => runId.test(id)) ? ids : null;
}

/** The address of a search, without what is not asked for. */
export function logAddress(search: LogSearch): string {
  const query = new URLSearchParams();
  const put = (name: Field, value: string): void => {
    if (value !== '') query.set(name, value);
  };
  put('piece', search.piece);
  put('bath', search.bath);
  put('result', search.result);
  put('from', search.fromDay);
  put('to', search.toDay);
  if (search.page > 1) put('page', String(search.page));
  const picked = search.picked.join(',');
  const text = query.toString();
  // Ids need no escapes, and commas in an address stay legible.
  return `/log${text === '' && picked === '' ? '' : '?'}${text}${
    picked === '' ? '' : `${text === '' ? '' : '&'}pick=${picked}`
  }`;
}

/** What the daemon is asked for a search. */
export function askFor(search: LogSearch): string {
  const query = new URLSearchParams();
  if (search.piece.trim() !== '') query.set('piece', search.piece.trim());
  if (search.bath !== '') query.set('bath', search.bath);
  if (search.result !== '') query.set('result', search.result);
  const from = dayStart(search.fromDay);
  const to = dayStart(search.toDay, 1);
  if (from !== null) query.set('from', String(Math.max(0, from)));
  if (to !== null) query.set('to', String(Math.max(1, to)));
  query.set('skip', String((search.page - 1) * pageSize));
  query.set('limit', String(pageSize));
  return `/api/log?${query.toString()}`;
}

/** True where nothing is asked for but a page. */
export function asksNothing(search: LogSearch): boolean {
  const { piece, bath, result, fromDay, toDay } = search;
  return [piece.trim(), bath, result, fromDay, toDay].every((text) => text === '');
}
