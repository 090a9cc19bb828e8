/** A plan as it is being typed: every entry stays the text that was entered until it can be read. */

import type { RingScaleId } from '../daemon/piece/ring-scales.ts';
import type {
  FinalSizeTarget,
  Paint,
  PlainTarget,
  PlanRequest,
  Target,
} from '../daemon/run/model.ts';
import {
  newPieceDraft,
  pieceDraftFrom,
  pieceDraftOf,
  pieceOf,
  type PieceDraft,
} from './piece/draft.ts';
import { markOf } from './piece/library-place.ts';
import { short } from './piece/typed.ts';
import { acceptedKeys } from './plan-accept.ts';
import type { BlankEntries } from './plan-blank.ts';
import type { SizePlace } from './plan-final-size.ts';
import { withDensityUnit } from './units.ts';

/** The run that the new one carries on from, and what it had grown. */
export interface DraftOrigin {
  readonly runId: string;
  readonly ampHours: number;
  readonly thicknessMicrometres: number;
  /** Bounds of the charge; missing where an earlier version of the page kept it. */
  readonly lowAmpHours?: number;
  readonly highAmpHours?: number;
  /** The name of its piece; missing where an earlier version of the page kept it. */
  readonly pieceName?: string;
  /** When it was armed, ms since the epoch; missing likewise. */
  readonly armedWallMs?: number;
}

/** What ends a run: its amount, whatever the density. */
export type GoalKind = PlainTarget['kind'] | FinalSizeTarget['kind'];

/** The day of a time to be done by: whichever comes first, or one by name. */
export type DueDay = 'next' | 'today' | 'tomorrow';

export interface Draft {
  piece: PieceDraft;
  tankId: string;
  bathId: string;
  paint: Paint;
  /** Both empty: nothing is said about contacts. */
  contactPoints: string;
  contactFarthest: string;
  /** As typed, with its unit or without; empty leaves it to the bath. */
  density: string;
  /** The unit of densities that were typed without one. */
  bareUnit: string;
  /** Whether a density is asked for, or a time by which it is done. */
  pace: 'density' | 'done-by';
  dueDay: DueDay;
  /** `07:00`. */
  dueTime: string;
  goal: GoalKind;
  /** One entry for each way to stop, so that changing the way loses none. */
  targets: Record<GoalKind, string>;
  /** Which size is to end at the one wanted; null until one was chosen. */
  sizeOf: SizePlace | null;
  /** What the wanted size is typed in: a length, or a size of a ring scale. */
  sizeScale: 'mm' | RingScaleId;
  trickle: boolean;
  trickleDensity: string;
  trickleHours: string;
  /** False: the paint decides how gently a run starts. */
  ownStart: boolean;
  strikePercent: string;
  strikeMinutes: string;
  rampMinutes: string;
  /** Keys of parts whose openings may close. */
  acceptClosures: string[];
  /** Ids of materials that give off a poison in the bath and have to go in all the same. */
  acceptMaterials: string[];
  /** Densities to put side by side, as typed. */
  compare: string[];
  /** The calculator for what to wrap to. */
  blank: BlankEntries;
  continues: DraftOrigin | null;
}

/** Where the number of each kind of target stands in a request. */
export const targetFields: Readonly<Record<GoalKind, string>> = {
  thickness: 'micrometres',
  mass: 'grams',
  charge: 'ampHours',
  time: 'hours',
  'final-size': 'mm',
};

export function newDraft(): Draft {
  return {
    piece: newPieceDraft(),
    tankId: '',
    bathId: '',
    paint: 'copper',
    contactPoints: '',
    contactFarthest: '',
    density: '',
    bareUnit: 'A/dm2',
    pace: 'density',
    dueDay: 'next',
    dueTime: '07:00',
    goal: 'thickness',
    targets: { thickness: '150', mass: '2', charge: '2', time: '8', 'final-size': '' },
    sizeOf: null,
    sizeScale: 'mm',
    trickle: false,
    trickleDensity: '0.05 A/dm2',
    trickleHours: '6',
    ownStart: false,
    strikePercent: '20',
    strikeMinutes: '30',
    rampMinutes: '20',
    acceptClosures: [],
    acceptMaterials: [],
    compare: ['', '', ''],
    blank: { scale: 'iso', size: '54', wire: '1 mm' },
    continues: null,
  };
}

/** Entries as earlier versions of the page kept them. */
interface OlderDraft extends Partial<PieceDraft> {
  readonly densityUnit?: string;
  readonly targetKind?: GoalKind;
}

const isText = (value: unknown): value is string => typeof value === 'string';

/** What was stored, where it is of the kind that a new draft has; else what the new draft has. */
function sameKinds(fresh: Draft, stored: Readonly<Record<string, unknown>>): Draft {
  const found = Object.entries(fresh).map(([name, value]) => {
    const other = stored[name];
    const kept =
      value === null || typeof value === 'object'
        ? Array.isArray(value)
          ? Array.isArray(other) && other.every(isText)
          : typeof other === 'object' && !Array.isArray(other) && (value === null || other !== null)
        : typeof other === typeof value;
    return [name, kept ? other : value] as const;
  });
  return Object.fromEntries(found) as unknown as Draft;
}

/** A copy in which an edit of the run changes nothing of the first; the piece is never changed in place. */
export function copied(draft: Draft): Draft {
  const { targets, acceptClosures, acceptMaterials, compare, blank } = draft;
  return {
    ...draft,
    targets: { ...targets },
    acceptClosures: [...acceptClosures],
    acceptMaterials: [...acceptMaterials],
    compare: [...compare],
    blank: { ...blank },
  };
}

/** The draft with the unit written beside its bare densities where bare ones are in another unit now. */
export function withBareUnit(draft: Draft, unitId: string): Draft {
  if (draft.bareUnit === unitId) return draft;
  const written = (text: string): string => withDensityUnit(text, draft.bareUnit);
  return {
    ...draft,
    bareUnit: unitId,
    density: written(draft.density),
    trickleDensity: written(draft.trickleDensity),
    compare: draft.compare.map(written),
  };
}

/** A draft from what the browser kept; what is missing or of another shape is taken anew. */
export function draftFrom(text: string | null): Draft {
  const fresh = newDraft();
  try {
    const stored = (JSON.parse(text ?? '{}') ?? {}) as Partial<Draft> & OlderDraft;
    // Before the piece stood on its own, its entries lay among those of the run.
    const { name, parts, areaPercent, densityUnit, targetKind } = stored;
    const read = sameKinds(fresh, stored as Readonly<Record<string, unknown>>);
    const compare = [...read.compare, '', '', ''].slice(0, fresh.compare.length);
    const goal = targetKind ?? read.goal;
    return {
      ...read,
      piece: pieceDraftFrom(stored.piece ?? { name, parts, areaPercent }),
      targets: { ...fresh.targets, ...read.targets },
      goal: goal in targetFields ? goal : fresh.goal,
      // The unit once stood in a field of its own.
      density: densityUnit ? withDensityUnit(read.density, densityUnit) : read.density,
      trickleDensity: densityUnit
        ? withDensityUnit(read.trickleDensity, densityUnit)
        : read.trickleDensity,
      bareUnit: densityUnit === undefined ? read.bareUnit : fresh.bareUnit,
      compare,
      blank: { ...fresh.blank, ...read.blank },
    };
  } catch {
    return fresh;
  }
}

/**
 * The draft with a piece of elsewhere in place of its own. What was grown or accepted before was so of
 * the other piece.
 */
export function withAnotherPiece(draft: Draft, piece: PieceDraft): Draft {
  return { ...draft, piece, continues: null, acceptClosures: [], acceptMaterials: [] };
}

const densityText = (ampsPerDm2: number): string => `${short(ampsPerDm2)} A/dm2`;

/** What a draft's goal becomes. */
export type Goal = Exclude<Target, { readonly kind: 'done-by' }>;

function goalEntries(fresh: Draft, goal: Goal, piece: PieceDraft): Partial<Draft> {
  const amount = (goal as unknown as Record<string, number>)[targetFields[goal.kind]] ?? 0;
  const targets = { ...fresh.targets, [goal.kind]: short(amount) };
  if (goal.kind !== 'final-size') return { goal: goal.kind, targets };
  const part = piece.parts[goal.partIndex];
  const sizeOf = part ? { partKey: part.key, dimension: goal.dimension } : null;
  return { goal: goal.kind, targets, sizeOf, sizeScale: 'mm' };
}

/** The draft that would ask for this plan. A time of day is taken as the next there is. */
export function draftOf(request: PlanRequest): Draft {
  const { target, trickle, start, contact, acceptClosures } = request;
  const fresh = newDraft();
  const read = pieceDraftOf(request.piece);
  const { pieceRef } = request;
  // A request names the version in the library only where its piece is that version.
  const piece: PieceDraft = pieceRef
    ? { ...read, library: pieceRef, savedMark: markOf(pieceOf(read).piece) }
    : read;
  const clock = target.kind === 'done-by' ? target : null;
  return {
    ...fresh,
    piece,
    tankId: request.tankId,
    bathId: request.bathId,
    paint: request.paint,
    density: request.densityTyped ?? densityText(request.densityAmpsPerDm2),
    ...goalEntries(fresh, target.kind === 'done-by' ? target.goal : target, piece),
    ...(clock && { pace: 'done-by', dueTime: clock.localTime.slice(-5) }),
    ...(contact && {
      contactPoints: String(contact.points),
      contactFarthest: short(contact.farthestMm),
    }),
    acceptClosures: acceptedKeys(acceptClosures ?? [], piece, request.piece),
    acceptMaterials: [...(request.acceptMaterials ?? [])],
    trickle: trickle !== null,
    trickleDensity: trickle ? densityText(trickle.densityAmpsPerDm2) : fresh.trickleDensity,
    trickleHours: trickle ? short(trickle.maxHours) : fresh.trickleHours,
    ...(start && {
      ownStart: true,
      strikePercent: short(start.strikeShare * 100),
      strikeMinutes: short(start.strikeMinutes),
      rampMinutes: short(start.rampMinutes),
    }),
  };
}
