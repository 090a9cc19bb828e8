/** An entry of a ledger while it is typed, of any kind; and the maker's figures. */

import type { Problem } from '../../daemon/piece/model.ts';
import { symptomIds, type SymptomId } from '../../daemon/chemistry/symptoms.ts';
import type { LedgerEntry, LedgerView, SavedEntry } from '../../daemon/wire/ledger.ts';
import { Figures, shown } from './typed-figures.ts';
import { ledgerWords } from '#words/ledger';
import { typedWords } from '#words/typed';

const say = ledgerWords.entry;

/** Kinds that are entered by this form; figures and efficiency have forms of their own. */
export const enteredKinds = ['addition', 'temperature', 'symptom', 'anode', 'upkeep'] as const;
export type EnteredKind = (typeof enteredKinds)[number];
export type UpkeepKind = keyof typeof say.upkeep;

export interface EntryDraft {
  readonly kind: EnteredKind;
  readonly name: string;
  readonly amount: string;
  /** The whole dose, where less than that may be given; empty where nothing stays due. */
  readonly planned: string;
  readonly unit: 'mL' | 'g';
  readonly grams: string;
  readonly celsius: string;
  readonly symptom: SymptomId;
  readonly what: UpkeepKind;
  /** As a date field has it, in the zone of this device; empty for now. */
  readonly when: string;
  readonly note: string;
}

export const emptyEntry: EntryDraft = {
  kind: 'addition',
  name: '',
  amount: '',
  planned: '',
  unit: 'mL',
  grams: '',
  celsius: '',
  symptom: 'dull',
  what: 'dummy',
  when: '',
  note: '',
};

const two = (value: number): string => String(value).padStart(2, '0');

/** A moment as a date field has it. */
export function fieldTime(wallMs: number): string {
  const date = new Date(wallMs);
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  return `${day}T${two(date.getHours())}:${two(date.getMinutes())}`;
}

/** An entry that is to be corrected; null for a kind that has a form of its own, or one taken back. */
export function entryDraftOf({ entry, atWallMs }: SavedEntry): EntryDraft | null {
  const base = { ...emptyEntry, when: fieldTime(atWallMs) };
  switch (entry?.kind) {
    case 'addition': {
      const { kind, name, unit, amount, plannedAmount = null, note } = entry;
      const planned = shown(plannedAmount);
      return { ...base, kind, name, unit, amount: shown(amount), planned, note };
    }
    case 'anode':
      return { ...base, kind: entry.kind, grams: shown(entry.grams), note: entry.note };
    case 'temperature':
      return { ...base, kind: entry.kind, celsius: shown(entry.celsius), note: entry.note };
    case 'symptom':
      return { ...base, kind: entry.kind, symptom: entry.symptom, note: entry.note };
    case 'upkeep':
      return { ...base, kind: entry.kind, what: entry.what, note: entry.note };
    default:
      return null;
  }
}

interface ReadEntry {
  readonly entry: LedgerEntry;
  /** Null for now. */
  readonly atWallMs: number | null;
  readonly problems: readonly Problem[];
}

function timeOf(text: string, figures: Figures): number | null {
  if (text.trim() === '') return null;
  const wallMs = new Date(text).getTime();
  if (Number.isFinite(wallMs)) return wallMs;
  const message = typedWords.is(say.when, text, say.timeBound);
  figures.problems.push({ field: 'atWallMs', value: text, bound: say.timeBound, message });
  return null;
}

/** What the draft means; `runId` is that of the newest run, for a symptom. */
export function entryOf(draft: EntryDraft, runId: string | null): ReadEntry {
  const figures = new Figures();
  const note = draft.note.trim();
  const read = (): LedgerEntry => {
    switch (draft.kind) {
      case 'addition': {
        const name = draft.name.trim();
        if (name === '') {
          figures.nameless('name', say.additive);
        }
        const amount = figures.needed('amount', say.amount, draft.amount);
        const planned = figures.optional('plannedAmount', say.planned, draft.planned);
        // As much as was planned, or more: nothing stays due.
        const part = planned !== null && planned > amount ? { plannedAmount: planned } : {};
        return { kind: 'addition', name, unit: draft.unit, amount, ...part, note };
      }
      case 'anode':
        return { kind: 'anode', grams: figures.needed('grams', say.grams, draft.grams), note };
      case 'temperature': {
        const celsius = figures.needed('celsius', say.celsius, draft.celsius);
        return { kind: 'temperature', celsius, note };
      }
      case 'symptom':
        return { kind: 'symptom', symptom: draft.symptom, runId, note };
      case 'upkeep':
        return { kind: 'upkeep', what: draft.what, note };
    }
  };
  const entry = read();
  const atWallMs = timeOf(draft.when, figures);
  return { entry, atWallMs, problems: figures.problems };
}

/** The symptom that a chooser's value stands for. */
export function symptomOf(value: string): SymptomId {
  return symptomIds.find((id) => id === value) ?? 'dull';
}

export interface AdditiveDraft {
  readonly name: string;
  readonly unit: 'mL' | 'g';
  readonly rate: string;
  readonly least: string;
  readonly source: string;
}

export interface FiguresDraft {
  readonly additives: readonly AdditiveDraft[];
  readonly carbon: string;
  readonly anodes: 'soluble' | 'insoluble';
}

export const emptyAdditive: AdditiveDraft = {
  name: '',
  unit: 'mL',
  rate: '',
  least: '0.5',
  source: '',
};

/** The figures that are in use, to be changed. */
export function figuresDraftOf({ additions, carbon, anodes }: LedgerView): FiguresDraft {
  return {
    additives: additions.map(({ name, unit, perAmpHour, leastAmount, source }) => ({
      name,
      unit,
      rate: shown(perAmpHour),
      least: shown(leastAmount),
      source,
    })),
    carbon: shown(carbon?.everyAmpHoursPerLitre ?? null),
    anodes,
  };
}

export function figuresOf(draft: FiguresDraft): Pick<ReadEntry, 'entry' | 'problems'> {
  const words = ledgerWords.figures;
  const figures = new Figures();
  const additives = draft.additives.map(({ name, unit, rate, least, source }, index) => {
    const at = `additives[${index}]`;
    if (name.trim() === '') {
      figures.nameless(`${at}.name`, words.name);
    }
    return {
      name: name.trim(),
      unit,
      perAmpHour: figures.needed(`${at}.perAmpHour`, words.rate, rate),
      leastAmount: figures.needed(`${at}.leastAmount`, words.least, least),
      source: source.trim(),
    };
  });
  const carbon = figures.optional('carbonAmpHoursPerLitre', words.carbon, draft.carbon);
  const { anodes } = draft;
  return {
    entry: { kind: 'figures', additives, carbonAmpHoursPerLitre: carbon, anodes, note: '' },
    problems: figures.problems,
  };
}

/** Problems of the daemon by the names of the fields here. */
export function underEntry(problem: Problem): Problem {
  return { ...problem, field: problem.field.replace(/^entry\./, '') };
}
