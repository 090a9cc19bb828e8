/** Edits a TOML text in place: what is not changed stays as it is, comments and line ends included. */

import { parse } from 'smol-toml';
import { changedData, EditRefused, isTable, placeName, sameData } from './changes.ts';
import type { TomlChange } from './changes.ts';
import { locate } from './locate.ts';
import { putEntry, putKey, spliced } from './put.ts';
import type { Splice } from './put.ts';
import { textLike } from './render.ts';
import { scan } from './scan.ts';
import type { Path } from './scan.ts';
import { take } from './take.ts';
import { valueAt } from '../problems.ts';

const options = { maxDepth: 32, integersAsBigInt: 'asNeeded' } as const;

/** The data of a text. Throws EditRefused where it is not TOML. */
function dataOf(text: string, why: string): unknown {
  try {
    return parse(text, options);
  } catch (error) {
    const reason = error instanceof Error ? (error.message.split('\n')[0] ?? '') : String(error);
    throw new EditRefused(`${why}: ${reason}`);
  }
}

/**
 * The text with the changes made, one after the other. What comes out is read again with the TOML
 * library, and has to say exactly what the same changes make of the data; else EditRefused is thrown.
 */
export function editToml(text: string, changes: readonly TomlChange[]): string {
  let data = dataOf(text, 'The file is not TOML as it stands');
  let edited = text;
  for (const change of changes) {
    const wanted = changedData(data, change);
    edited = editOnce(edited, data, change);
    data = dataOf(edited, `The change of ${placeName(change.path)} would have spoiled the file`);
    if (!sameData(data, wanted)) {
      throw new EditRefused(
        `The change of ${placeName(change.path)} could not be made without changing something ` +
          'else, so nothing was written. Change it in the file by hand.',
      );
    }
  }
  return edited;
}

function editOnce(text: string, data: unknown, change: TomlChange): string {
  try {
    switch (change.kind) {
      case 'set':
        return setValue(text, data, change.path, change.value);
      case 'add':
        return applied(text, putEntry(scan(text), change.path, change.value));
      case 'remove':
        return remove(text, change.path);
    }
  } catch (error) {
    if (error instanceof EditRefused) throw error;
    const reason = error instanceof Error ? error.message : String(error);
    throw new EditRefused(`The file is written in a way that cannot be edited here: ${reason}`);
  }
}

/** Splices that do not touch one another, the last of the text first. */
function applied(text: string, splices: readonly Splice[]): string {
  return splices.toSorted((left, right) => right.start - left.start).reduce(spliced, text);
}

/** Tables and lists are changed member by member, so that what stays the same is not written anew. */
function setValue(text: string, data: unknown, path: Path, value: unknown): string {
  const present = valueAt(data, path);
  if (present !== undefined && sameData(present, value)) return text;
  if (isTable(present) && isTable(value)) return setTable(text, present, path, value);
  const toml = scan(text);
  const place = locate(toml, path);
  // Entries with headers of their own can only be tables; other entries take the place of them all.
  const kept = place?.kind !== 'spread' || (Array.isArray(value) && value.every(isTable));
  if (Array.isArray(present) && Array.isArray(value) && kept) {
    return setList(text, present, path, value);
  }
  if (place?.kind === 'written') {
    const { start, end } = place.node;
    return spliced(text, { start, end, text: textLike(text.slice(start, end), value) });
  }
  const key = path.at(-1);
  if (typeof key !== 'string') {
    throw new EditRefused(
      `${placeName(path)} has a header of its own, so only a table can take its place.`,
    );
  }
  if (place === null) return spliced(text, putKey(toml, path.slice(0, -1), key, value));
  const rest = without(text, path);
  return spliced(rest, putKey(scan(rest), path.slice(0, -1), key, value));
}

function setTable(
  text: string,
  present: Record<string, unknown>,
  path: Path,
  value: Record<string, unknown>,
): string {
  let edited = text;
  for (const key of Object.keys(present)) {
    if (!Object.hasOwn(value, key)) edited = remove(edited, [...path, key]);
  }
  for (const [key, one] of Object.entries(value)) {
    edited = setValue(edited, dataOf(edited, 'The file would be spoiled'), [...path, key], one);
  }
  return edited;
}

function setList(
  text: string,
  present: readonly unknown[],
  path: Path,
  value: readonly unknown[],
): string {
  let edited = text;
  for (let index = present.length - 1; index >= value.length; index -= 1) {
    edited = remove(edited, [...path, index]);
  }
  for (const [index, one] of value.entries()) {
    if (index < present.length) {
      edited = setValue(edited, dataOf(edited, 'The file would be spoiled'), [...path, index], one);
    } else edited = applied(edited, putEntry(scan(edited), path, one));
  }
  return edited;
}

function without(text: string, path: Path): string {
  let edited = text;
  let dotted = true;
  while (dotted) {
    const toml = scan(edited);
    dotted = locate(toml, path)?.kind === 'dotted';
    edited = applied(edited, take(toml, path));
    dotted &&= locate(scan(edited), path) !== null;
  }
  return edited;
}

/** What is around the removed value stays, even where it existed by that value alone. */
function remove(text: string, path: Path): string {
  const edited = without(text, path);
  const around = path.slice(0, -1);
  if (around.length === 0 || locate(scan(edited), around) !== null) return edited;
  const name = around.at(-1);
  const empty = typeof path.at(-1) === 'number' ? [] : {};
  if (typeof name !== 'string') throw new EditRefused(`${placeName(path)} cannot be removed.`);
  return spliced(edited, putKey(scan(edited), around.slice(0, -1), name, empty));
}
