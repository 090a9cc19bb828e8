/** Plain tables for the terminal. */

/** Columns side by side under their headings; the last one is not padded. */
export function table(headings: readonly string[], rows: readonly (readonly string[])[]): string {
  const all = [headings, ...rows];
  const widths = headings.map((_, column) =>
    Math.max(...all.map((row) => (row[column] ?? '').length)),
  );
  return all
    .map((row) =>
      row
        .map((cell, column) =>
          column === row.length - 1 ? cell : cell.padEnd(widths[column] ?? 0),
        )
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}
