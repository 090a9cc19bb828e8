/** A weigh-in while it is typed: every entry stays the text that was entered until it is saved. */

import type { Problem } from '../../daemon/piece/model.ts';
import type { CalliperReading, WeighIn } from '../../daemon/run/weigh-in/model.ts';
import { Figures, shown } from './typed-figures.ts';
import { weighInWords as say } from '#words/ledger';

/** One place measured with callipers. */
export interface PlaceDraft {
  readonly label: string;
  readonly before: string;
  readonly after: string;
  readonly growth: CalliperReading['growthPerThickness'];
}

export interface WeighInDraft {
  readonly before: string;
  readonly after: string;
  readonly step: string;
  readonly hangers: boolean;
  readonly calliperStep: string;
  readonly places: readonly PlaceDraft[];
  readonly note: string;
}

export const emptyPlace: PlaceDraft = { label: '', before: '', after: '', growth: 2 };

const growths = [2, -2, 1, -1] as const;

/** Kinds of calliper readings as a chooser offers them. */
export const placeKinds = growths.map(
  (growth) => [String(growth), say.kinds[`${growth}`]] as const,
);

/** The growth that a chooser's value stands for. */
export function growthOf(value: string): PlaceDraft['growth'] {
  return growths.find((growth) => String(growth) === value) ?? 2;
}

/** What was saved, or a blank one; a balance of 0.01 g and callipers of 0.01 mm are usual. */
export function draftOf(saved: WeighIn | null): WeighInDraft {
  return {
    before: shown(saved?.beforeGrams ?? null),
    after: shown(saved?.afterGrams ?? null),
    step: shown(saved?.balanceGrams ?? 0.01),
    hangers: saved?.hangersWeighed ?? true,
    calliperStep: shown(saved?.calliperMm ?? 0.01),
    places: (saved?.callipers ?? []).map(({ label, beforeMm, afterMm, growthPerThickness }) => ({
      label,
      before: shown(beforeMm),
      after: shown(afterMm),
      growth: growthPerThickness,
    })),
    note: saved?.note ?? '',
  };
}

const isBlank = ({ label, before, after }: PlaceDraft): boolean =>
  label.trim() === '' && before.trim() === '' && after.trim() === '';

/** What the draft means, and a problem for each entry that cannot be read. Blank places are left out. */
export function weighInOf(draft: WeighInDraft): {
  readonly weighIn: WeighIn;
  readonly problems: readonly Problem[];
} {
  const figures = new Figures();
  // A blank place keeps its number, so that a problem stands beside the place it is about.
  const callipers = draft.places.flatMap((place, index): CalliperReading[] => {
    if (isBlank(place)) return [];
    const at = `callipers[${index}]`;
    return [
      {
        label: place.label.trim(),
        beforeMm: figures.needed(`${at}.beforeMm`, say.beforeMm, place.before),
        afterMm: figures.needed(`${at}.afterMm`, say.afterMm, place.after),
        growthPerThickness: place.growth,
      },
    ];
  });
  const weighIn = {
    beforeGrams: figures.optional('beforeGrams', say.before, draft.before),
    afterGrams: figures.optional('afterGrams', say.after, draft.after),
    balanceGrams: figures.needed('balanceGrams', say.step, draft.step),
    hangersWeighed: draft.hangers,
    calliperMm: figures.needed('calliperMm', say.calliperStep, draft.calliperStep),
    callipers,
    note: draft.note.trim(),
  };
  return { weighIn, problems: figures.problems };
}

/** The daemon counts the places that were sent; the page shows blank ones between them. */
export function asOnPage(problem: Problem, { places }: WeighInDraft): Problem {
  const field = problem.field.replace(/^weighIn\./, '');
  const at = /^callipers\[(\d+)\](.*)$/.exec(field);
  if (at === null) return { ...problem, field };
  const sent = places.flatMap((place, index) => (isBlank(place) ? [] : [index]));
  return { ...problem, field: `callipers[${sent[Number(at[1])] ?? at[1]}]${at[2]}` };
}

/** A draft that this browser kept, or null where it is none. */
export function draftFrom(text: string | null): WeighInDraft | null {
  if (text === null) return null;
  try {
    const stored: unknown = JSON.parse(text);
    return isDraft(stored) ? stored : null;
  } catch {
    return null;
  }
}

const isText = (value: unknown): boolean => typeof value === 'string';

function isPlace(value: unknown): boolean {
  if (typeof value !== 'object' || value === null) return false;
  const { label, before, after, growth } = value as Record<string, unknown>;
  return [label, before, after].every(isText) && growths.some((one) => one === growth);
}

function isDraft(value: unknown): value is WeighInDraft {
  if (typeof value !== 'object' || value === null) return false;
  const { before, after, step, hangers, calliperStep, places, note } = value as Record<
    string,
    unknown
  >;
  return (
    [before, after, step, calliperStep, note].every(isText) &&
    typeof hangers === 'boolean' &&
    Array.isArray(places) &&
    places.every(isPlace)
  );
}
