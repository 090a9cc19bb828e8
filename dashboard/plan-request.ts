/** What a draft of a plan asks the daemon, and what keeps it from asking. */

import { readDensityText } from '../daemon/chemistry/density-text.ts';
import type { Problem } from '../daemon/piece/model.ts';
import type { MeasuredPiece } from '../daemon/run/measured-piece.ts';
import type { PlainTarget, PlanQuestion, StartRequest, Target } from '../daemon/run/model.ts';
import { pieceOf } from './piece/draft.ts';
import { markOf } from './piece/library-place.ts';
import { Reader } from './piece/typed.ts';
import { acceptedNames } from './plan-accept.ts';
import { targetFields, type Draft, type Goal } from './plan-draft.ts';
import { sizeGoal } from './plan-lazy.ts';
import { problemOf, shownEntry } from './problem.ts';
import { typedDensity } from './units.ts';
import { planBounds as bounds } from '#words/plan-bounds';

/** The hour and the place at which a draft is asked about. */
export interface Place {
  readonly nowWallMs: number;
  /** By its IANA name; local days are those of this browser. */
  readonly timeZone: string;
}

const two = (value: number): string => String(value).padStart(2, '0');

/** A day and a time as they are asked for: `07:00`, or `2026-11-26 07:00`. */
function localTime({ dueDay, dueTime }: Draft, nowWallMs: number): string {
  if (dueDay === 'next') return dueTime;
  const day = new Date(nowWallMs);
  if (dueDay === 'tomorrow') day.setDate(day.getDate() + 1);
  return `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())} ${dueTime}`;
}

/** A density from its text, A/dm2; with a problem and NaN where it cannot be read. */
export function densityFrom(field: string, text: string, problems: Problem[]): number {
  const reading = readDensityText(text);
  if (reading.ok) return reading.density.ampsPerDm2;
  problems.push(problemOf(field, shownEntry(text), reading.bound, reading.advice));
  return Number.NaN;
}

function readStart(reader: Reader, draft: Draft): StartRequest {
  const minutes = (field: string, text: string): number =>
    reader.number(field, text, bounds.minutes(0, 600), 0, 600);
  return {
    strikeShare: reader.share('start.strikeShare', draft.strikePercent, 100, 1),
    strikeMinutes: minutes('start.strikeMinutes', draft.strikeMinutes),
    rampMinutes: minutes('start.rampMinutes', draft.rampMinutes),
  };
}

function readContact(reader: Reader, draft: Draft): PlanQuestion['contact'] {
  const { paint, contactPoints, contactFarthest } = draft;
  const told = [contactPoints, contactFarthest].some((text) => text.trim() !== '');
  if (paint === 'none' || !told) return undefined;
  const points = reader.number('contact.points', contactPoints, bounds.whole, 1);
  if (points % 1 !== 0 && points >= 1) {
    reader.problems.push(problemOf('contact.points', contactPoints.trim(), bounds.whole));
  }
  const farthestMm = reader.length('contact.farthestMm', contactFarthest);
  return { points, farthestMm };
}

function readGoal(reader: Reader, draft: Draft, measured: MeasuredPiece | null): Goal {
  const { goal } = draft;
  if (goal === 'final-size') {
    const parts = measured?.parts ?? [null];
    return (
      sizeGoal.code?.finalSizeFrom(draft, parts, reader.problems) ??
        // Not to be sent: whoever asks waits for the code that reads it.
        { kind: goal, partIndex: 0, dimension: '', mm: Number.NaN }
    );
  }
  const field = targetFields[goal];
  const amount = reader.number(`target.${field}`, draft.targets[goal]);
  return { kind: goal, [field]: amount } as unknown as PlainTarget;
}

function readTarget(
  reader: Reader,
  draft: Draft,
  measured: MeasuredPiece | null,
  place: Place,
): Target {
  const goal = readGoal(reader, draft, measured);
  if (draft.pace !== 'done-by') return goal;
  if (goal.kind === 'time') {
    reader.problems.push(problemOf('target.kind', bounds.timeTwice, bounds.notTime));
    return goal;
  }
  if (!/^\d\d:\d\d/.test(draft.dueTime)) {
    reader.problems.push(problemOf('target.localTime', shownEntry(''), bounds.timeOfDay));
  }
  const { nowWallMs, timeZone } = place;
  return { kind: 'done-by', goal, localTime: localTime(draft, nowWallMs), timeZone, nowWallMs };
}

/** This browser's hour and zone. */
export function placeNow(nowWallMs = Date.now()): Place {
  return { nowWallMs, timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone };
}

/**
 * What the draft asks for, with what the daemon has found of its piece. With problems the question is
 * not fit to be sent.
 */
export function requestOf(
  draft: Draft,
  measured: MeasuredPiece | null,
  place: Place = placeNow(),
): {
  readonly request: PlanQuestion;
  readonly problems: readonly Problem[];
} {
  const reader = new Reader();
  const { paint, tankId, bathId, bareUnit } = draft;
  const density = typedDensity(draft.density, bareUnit);
  const { piece, problems } = pieceOf(draft.piece);
  // An empty density is left to the bath, and one beside a time of day to the clock.
  const typed = draft.pace === 'density' && density.trim() !== '';
  if (typed) densityFrom('densityAmpsPerDm2', density, reader.problems);
  const contact = readContact(reader, draft);
  const closures = measured?.whole?.closures ?? [];
  const acceptClosures = acceptedNames(draft.acceptClosures, draft.piece, closures);
  // What is not on the piece any more needs no accepting.
  const onPiece = new Set((piece.materials ?? []).map(({ id }) => id));
  const acceptMaterials = draft.acceptMaterials.filter((id) => onPiece.has(id));
  // An edited piece is no longer the one in the library.
  const unedited = draft.piece.savedMark === markOf(piece);
  const library = unedited ? draft.piece.library : null;
  const request: PlanQuestion = {
    piece,
    tankId,
    bathId,
    paint,
    ...(typed && { densityTyped: density.trim() }),
    target: readTarget(reader, draft, measured, place),
    trickle: draft.trickle
      ? {
          densityAmpsPerDm2: densityFrom(
            'trickle.densityAmpsPerDm2',
            typedDensity(draft.trickleDensity, bareUnit),
            reader.problems,
          ),
          maxHours: reader.number('trickle.maxHours', draft.trickleHours),
        }
      : null,
    ...(draft.ownStart && { start: readStart(reader, draft) }),
    ...(contact && { contact }),
    ...(acceptClosures.length > 0 && { acceptClosures }),
    ...(acceptMaterials.length > 0 && { acceptMaterials }),
    ...(library && { pieceRef: library }),
  };
  return { request, problems: [...problems, ...reader.problems] };
}
