/** Reads what a view would show, and calls what it would call, without a browser. */

interface Template {
  readonly strings: readonly string[];
  readonly values: readonly unknown[];
}

function isTemplate(view: unknown): view is Template {
  return typeof view === 'object' && view !== null && 'strings' in view && 'values' in view;
}

function everyTemplate(view: unknown): readonly Template[] {
  if (Array.isArray(view)) return view.flatMap(everyTemplate);
  return isTemplate(view) ? [view, ...view.values.flatMap(everyTemplate)] : [];
}

/** The markup with its texts in place; what is listened for and what is nothing is left out. */
export function shownBy(view: unknown): string {
  if (Array.isArray(view)) return view.map(shownBy).join('');
  if (!isTemplate(view)) return ['string', 'number'].includes(typeof view) ? String(view) : '';
  return view.strings.map((text, index) => text + shownBy(view.values[index])).join('');
}

/** What listens in the templates whose markup, with all that is in them, holds a text. */
export function listeners(view: unknown, event: string, beside: string): readonly Listener[] {
  return everyTemplate(view)
    .filter((one) => shownBy(one).includes(beside))
    .flatMap(({ strings, values }) =>
      values.filter((_value, index) => strings[index]?.endsWith(`@${event}=`)),
    )
    .filter((value): value is Listener => typeof value === 'function');
}

type Listener = (event: unknown) => void;
