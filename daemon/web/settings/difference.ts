/** Where two settings differ, place by place, as it is shown on the page and written into the log. */

/** A place and what it holds on both sides; undefined where it holds nothing. */
export interface Difference {
  readonly field: string;
  readonly before: unknown;
  readonly after: unknown;
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** Entries of a list are told apart by their id or name, so that one taken out is not all of them changed. */
function keyOf(entry: unknown, index: number): string {
  if (!isObject(entry)) return String(index);
  const key = entry['id'] ?? entry['name'];
  return typeof key === 'string' ? key : String(index);
}

function keyed(value: unknown): Record<string, unknown> | null {
  if (Array.isArray(value)) {
    return Object.fromEntries(value.map((entry, index) => [`[${keyOf(entry, index)}]`, entry]));
  }
  return isObject(value) ? value : null;
}

/** Leaves in which the two differ; a place that only one of them has stands as a whole. */
export function differences(before: unknown, after: unknown, field = ''): readonly Difference[] {
  const left = keyed(before);
  const right = keyed(after);
  if (left === null || right === null) {
    return JSON.stringify(before) === JSON.stringify(after) ? [] : [{ field, before, after }];
  }
  const keys = new Set([...Object.keys(left), ...Object.keys(right)]);
  return [...keys].flatMap((key) => {
    const inner = key.startsWith('[') || field === '' ? `${field}${key}` : `${field}.${key}`;
    return differences(left[key] ?? null, right[key] ?? null, inner);
  });
}

function shown(value: unknown): string {
  if (value === null || value === undefined) return 'nothing';
  return JSON.stringify(value) ?? 'nothing';
}

const longestNote = 190;

/** One line for the log; what may be secret is not repeated in it. */
export function noteOf({ field, before, after }: Difference, by: string): string {
  const hidden = field.startsWith('alerts');
  const whole = [before, after].some((value) => typeof value === 'object' && value !== null);
  const gone = after === null ? 'taken out' : before === null ? 'added' : 'changed';
  const what =
    hidden || whole ? `${field} ${gone}` : `${field} from ${shown(before)} to ${shown(after)}`;
  const text = `Settings: ${what}, by ${by}.`.replaceAll(/[\p{C}\p{Zl}\p{Zp}]/gu, ' ');
  return text.length <= longestNote ? text : `${text.slice(0, longestNote - 1)}…`;
}
