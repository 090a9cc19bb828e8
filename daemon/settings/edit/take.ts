/** Takes a value out of a text: its lines, or its place in a list or a table in braces. */

import { EditRefused, placeName } from './changes.ts';
import { locate } from './locate.ts';
import type { Holder } from './locate.ts';
import type { Splice } from './put.ts';
import type { Path, Statement, TomlText, ValueNode } from './scan.ts';

/** What has to go for the value at `path`, or for a part of it, to be gone. Throws EditRefused where it is not there. */
export function take(toml: TomlText, path: Path): readonly Splice[] {
  const place = locate(toml, path);
  if (place === null) throw new EditRefused(`There is no ${placeName(path)}.`);
  switch (place.kind) {
    case 'written':
      return [takeWritten(toml, place.holder)];
    case 'dotted': {
      // One after the other: two that stand side by side share the comma between them.
      const { table, pairs } = place;
      const last = pairs.at(-1);
      return last === undefined
        ? []
        : [member(toml, table.pairs, table.pairs.indexOf(last), table)];
    }
    case 'spread':
      return runs(toml, place.statements).map(takeLines);
  }
}

function takeWritten(toml: TomlText, holder: Holder): Splice {
  switch (holder.kind) {
    case 'line':
      return takeLines([holder.statement]);
    case 'array':
      return member(toml, holder.array.items, holder.index, holder.array);
    case 'table':
      return member(
        toml,
        holder.table.pairs,
        holder.table.pairs.indexOf(holder.pair),
        holder.table,
      );
  }
}

interface Stretch {
  readonly start: number;
  readonly end: number;
}

/** A member with the comma that parts it from the others. */
function member(
  { text }: TomlText,
  members: readonly Stretch[],
  index: number,
  around: ValueNode,
): Splice {
  const one = members[index];
  const next = members[index + 1];
  const previous = members[index - 1];
  if (one === undefined) throw new EditRefused('There is no such entry.');
  if (previous !== undefined) return { start: previous.end, end: one.end, text: '' };
  if (next !== undefined) return { start: one.start, end: next.start, text: '' };
  const rest = /^(?:[ \t\r\n]|#[^\n]*)*,/.exec(text.slice(one.end, around.end - 1));
  return { start: one.start, end: one.end + (rest?.[0].length ?? 0), text: '' };
}

/** Statements that follow one another in the text. */
function runs(toml: TomlText, statements: readonly Statement[]): readonly Statement[][] {
  const found: Statement[][] = [];
  let last = -2;
  for (const statement of statements) {
    const index = toml.statements.indexOf(statement);
    if (index === last + 1) found.at(-1)?.push(statement);
    else found.push([statement]);
    last = index;
  }
  return found;
}

/** Whole lines from the first statement to the last, comments between them with them. */
function takeLines(statements: readonly Statement[]): Splice {
  const start = statements[0]?.start ?? 0;
  const end = statements.at(-1)?.end ?? start;
  return { start, end, text: '' };
}
