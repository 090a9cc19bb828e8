/** Finds the line of a key in a TOML text, as a hint for messages; it judges nothing. */

const bareOrQuoted = String.raw`(?:[A-Za-z0-9_-]+|"[^"\\]*"|'[^']*')`;
const dotted = `${bareOrQuoted}(?:\\s*\\.\\s*${bareOrQuoted})*`;
const listHeader = new RegExp(`^\\s*\\[\\[\\s*(${dotted})\\s*\\]\\]`);
const tableHeader = new RegExp(`^\\s*\\[\\s*(${dotted})\\s*\\]`);
const assignment = new RegExp(`^\\s*(${dotted})\\s*=`);

function steps(text: string): string[] {
  return (text.match(new RegExp(bareOrQuoted, 'g')) ?? []).map((step) =>
    step.replaceAll(/^["']|["']$/g, ''),
  );
}

function label(path: readonly PropertyKey[]): string {
  return JSON.stringify(path.map(String));
}

/** The path of a header, with the index of the newest element wherever it crosses a list of tables. */
function resolvePath(keys: readonly string[], lengths: ReadonlyMap<string, number>): PropertyKey[] {
  const path: PropertyKey[] = [];
  for (const key of keys) {
    path.push(key);
    const length = lengths.get(label(path));
    if (length !== undefined) path.push(length - 1);
  }
  return path;
}

/** The line, counted from 1, of a key or of the nearest table around it; null when none is found. */
export function lineOfKey(toml: string, path: readonly PropertyKey[]): number | null {
  const lines = new Map<string, number>();
  const lengths = new Map<string, number>();
  let table: PropertyKey[] = [];
  const note = (where: readonly PropertyKey[], line: number) => {
    if (!lines.has(label(where))) lines.set(label(where), line);
  };
  for (const [index, text] of toml.split('\n').entries()) {
    const list = listHeader.exec(text)?.[1];
    const header = tableHeader.exec(text)?.[1];
    const key = assignment.exec(text)?.[1];
    if (list !== undefined) {
      const keys = steps(list);
      const parent = [...resolvePath(keys.slice(0, -1), lengths), keys.at(-1) ?? ''];
      lengths.set(label(parent), (lengths.get(label(parent)) ?? 0) + 1);
      table = resolvePath(keys, lengths);
      note(table, index + 1);
    } else if (header !== undefined) {
      table = resolvePath(steps(header), lengths);
      note(table, index + 1);
    } else if (key !== undefined) {
      const keys = steps(key);
      for (let depth = 1; depth <= keys.length; depth += 1) {
        note([...table, ...keys.slice(0, depth)], index + 1);
      }
    }
  }
  for (let length = path.length; length > 0; length -= 1) {
    const line = lines.get(label(path.slice(0, length)));
    if (line !== undefined) return line;
  }
  return null;
}
