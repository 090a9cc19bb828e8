/** Reads CSV by RFC 4180, for holding an export against what was stored. */

interface ParsedCell {
  readonly text: string;
  readonly quoted: boolean;
}

/** RFC 4180 section 2, rule by rule; throws on anything that its grammar does not allow. */
export function parseCsv(text: string): ParsedCell[][] {
  const records: ParsedCell[][] = [];
  let record: ParsedCell[] = [];
  let at = 0;
  while (at < text.length) {
    let cell: ParsedCell;
    if (text[at] === '"') {
      const found = /"((?:[^"]|"")*)"/y;
      found.lastIndex = at;
      const match = found.exec(text);
      if (match === null) throw new Error(`no closing quote after ${at}`);
      cell = { text: (match[1] ?? '').replaceAll('""', '"'), quoted: true };
      at += match[0].length;
    } else {
      const found = /[^",\r\n]*/y;
      found.lastIndex = at;
      const bare = found.exec(text)?.[0] ?? '';
      cell = { text: bare, quoted: false };
      at += bare.length;
    }
    record.push(cell);
    if (text[at] === ',') {
      at += 1;
      if (at === text.length) throw new Error('no line end');
    } else if (text.startsWith('\r\n', at)) {
      at += 2;
      records.push(record);
      record = [];
    } else {
      throw new Error(`unexpected ${JSON.stringify(text.slice(at, at + 5))} at ${at}`);
    }
  }
  if (record.length > 0) throw new Error('no line end');
  return records;
}
