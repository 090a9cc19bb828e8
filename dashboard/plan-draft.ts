/** A plan as it is being typed: every entry stays the text that was entered until it can be read. */

import { fromAmpsPerDm2, toAmpsPerDm2 } from '../daemon/chemistry/density-units.ts';
import type { Problem } from '../daemon/piece/model.ts';
import type { Paint, PlainTarget, PlanRequest, Target } from '../daemon/run/model.ts';
import {
  newPieceDraft,
  pieceDraftFrom,
  pieceDraftOf,
  pieceOf,
  type PieceDraft,
} from './piece/draft.ts';
import { numberFrom, Reader, short } from './piece/typed.ts';

/** The run that the new one carries on from, and what it had grown. */
export interface DraftOrigin {
  readonly runId: string;
  readonly ampHours: number;
  readonly thicknessMicrometres: number;
}

export interface Draft {
  piece: PieceDraft;
  tankId: string;
  bathId: string;
  paint: Paint;
  density: string;
  densityUnit: string;
  targetKind: PlainTarget['kind'];
  /** One entry for each way to stop, so that changing the way loses none. */
  targets: Record<PlainTarget['kind'], string>;
  trickle: boolean;
  trickleDensity: string;
  trickleHours: string;
  /** False: the paint decides how gently a run starts. */
  ownStart: boolean;
  strikePercent: string;
  strikeMinutes: string;
  rampMinutes: string;
  continues: DraftOrigin | null;
}

/** Where the number of each kind of target stands in a request. */
export const targetFields = {
  thickness: 'micrometres',
  mass: 'grams',
  charge: 'ampHours',
  time: 'hours',
} as const;

export function newDraft(): Draft {
  return {
    piece: newPieceDraft(),
    tankId: '',
    bathId: '',
    paint: 'copper',
    density: '',
    densityUnit: 'A/dm2',
    targetKind: 'thickness',
    targets: { thickness: '150', mass: '2', charge: '2', time: '8' },
    trickle: false,
    trickleDensity: '0.05',
    trickleHours: '6',
    ownStart: false,
    strikePercent: '20',
    strikeMinutes: '30',
    rampMinutes: '20',
    continues: null,
  };
}

/** A draft from what the browser kept; what is missing or of another shape is taken anew. */
export function draftFrom(text: string | null): Draft {
  const fresh = newDraft();
  try {
    const stored = JSON.parse(text ?? '{}') as Partial<Draft>;
    // Before the piece stood on its own, its entries lay among those of the run.
    const { name, parts, areaPercent, ...others } = stored as Partial<Draft & PieceDraft>;
    const piece = pieceDraftFrom(stored.piece ?? { name, parts, areaPercent });
    return { ...fresh, ...others, piece, targets: { ...fresh.targets, ...stored.targets } };
  } catch {
    return fresh;
  }
}

/** The form asks for plain targets: a time of day leaves its goal, a final size the usual thickness. */
function plainTarget(target: Target): PlainTarget {
  if (target.kind === 'done-by') return plainTarget(target.goal);
  if (target.kind !== 'final-size') return target;
  return { kind: 'thickness', micrometres: Number(newDraft().targets.thickness) };
}

/** The draft that would ask for this plan. */
export function draftOf(request: PlanRequest): Draft {
  const { piece, target, trickle, start } = request;
  const fresh = newDraft();
  const plain = plainTarget(target);
  const number = (plain as unknown as Record<string, number>)[targetFields[plain.kind]] ?? 0;
  return {
    ...fresh,
    piece: pieceDraftOf(piece),
    tankId: request.tankId,
    bathId: request.bathId,
    paint: request.paint,
    density: short(request.densityAmpsPerDm2),
    targetKind: plain.kind,
    targets: { ...fresh.targets, [plain.kind]: short(number) },
    trickle: trickle !== null,
    trickleDensity: trickle ? short(trickle.densityAmpsPerDm2) : fresh.trickleDensity,
    trickleHours: trickle ? short(trickle.maxHours) : fresh.trickleHours,
    ...(start && {
      ownStart: true,
      strikePercent: short(start.strikeShare * 100),
      strikeMinutes: short(start.strikeMinutes),
      rampMinutes: short(start.rampMinutes),
    }),
  };
}

function readDensity(reader: Reader, field: string, text: string, unit: string): number {
  const value = reader.number(field, text, 'a number above 0', Number.MIN_VALUE);
  return value > 0 ? toAmpsPerDm2(value, unit) : value;
}

function readStart(reader: Reader, draft: Draft): NonNullable<PlanRequest['start']> {
  const minutes = (field: string, text: string): number =>
    reader.number(field, text, 'a number from 0 to 600', 0, 600);
  return {
    strikeShare: reader.share('start.strikeShare', draft.strikePercent, 100, 1),
    strikeMinutes: minutes('start.strikeMinutes', draft.strikeMinutes),
    rampMinutes: minutes('start.rampMinutes', draft.rampMinutes),
  };
}

/** What the draft asks for. With problems the request is not fit to be sent. */
export function requestOf(draft: Draft): {
  readonly request: PlanRequest;
  readonly problems: readonly Problem[];
} {
  const reader = new Reader();
  const { targetKind, densityUnit } = draft;
  const targetField = targetFields[targetKind];
  const amount = reader.number(`target.${targetField}`, draft.targets[targetKind]);
  const { piece, problems } = pieceOf(draft.piece);
  const request: PlanRequest = {
    piece,
    tankId: draft.tankId,
    bathId: draft.bathId,
    paint: draft.paint,
    densityAmpsPerDm2: readDensity(reader, 'densityAmpsPerDm2', draft.density, densityUnit),
    target: { kind: targetKind, [targetField]: amount } as unknown as PlainTarget,
    trickle: draft.trickle
      ? {
          densityAmpsPerDm2: readDensity(
            reader,
            'trickle.densityAmpsPerDm2',
            draft.trickleDensity,
            densityUnit,
          ),
          maxHours: reader.number('trickle.maxHours', draft.trickleHours),
        }
      : null,
    ...(draft.ownStart && { start: readStart(reader, draft) }),
  };
  return { request, problems: [...problems, ...reader.problems] };
}

/** The same density as text in another unit, so that changing the unit changes no current. */
export function inUnit(text: string, from: string, to: string): string {
  const value = numberFrom(text);
  return value >= 0 ? short(fromAmpsPerDm2(toAmpsPerDm2(value, from), to)) : text;
}
