/** What the parts of a piece are called in requests and answers. */

/** A piece, as far as its parts have labels. */
interface Labelled {
  readonly parts: readonly { readonly label: string }[];
}

/** The name of a part in a request: its label, or its place in the list counted from 1. */
export function partNameOf({ parts }: Labelled, index: number): string {
  const label = parts[index]?.label.trim() ?? '';
  return label === '' ? numberNameOf(index) : label;
}

/** A part by its place in the list, counted from 1; every part has this name, whatever its label. */
export function numberNameOf(partIndex: number): string {
  return `part ${partIndex + 1}`;
}

/** Whether two names are the same to a person. */
export function sameName(one: string, other: string): boolean {
  return one.trim().toLowerCase() === other.trim().toLowerCase();
}
