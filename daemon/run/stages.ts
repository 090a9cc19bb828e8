/** The stages of a run: how gently it starts on each paint, and the density wanted at any moment. */

import type { Bath } from '../chemistry/model.ts';
import { contactStart } from './contact.ts';
import type { Paint, PlanRequest, Stage, StageKind } from './model.ts';
import type { ContactPlan } from './plan-findings.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;

/** How a run starts on one kind of contact. */
export interface GentleStart {
  /** Share of the hold's density at which the paint is struck, 0 to 1. */
  readonly strikeShare: number;
  readonly strikeMs: number;
  readonly rampMs: number;
  readonly source: string;
}

const habit = 'common practice, no source';

/**
 * The start for each paint: a tenth to a quarter of the hold until the paint is covered, the
 * thinner the contact the gentler and the longer, then a ramp. Bare metal conducts everywhere and
 * needs only a soft switch-on.
 */
export const gentleStarts: Readonly<Record<Paint, GentleStart>> = {
  none: { strikeShare: 0.5, strikeMs: 5 * minuteMs, rampMs: 5 * minuteMs, source: habit },
  silver: { strikeShare: 0.25, strikeMs: 15 * minuteMs, rampMs: 15 * minuteMs, source: habit },
  copper: { strikeShare: 0.2, strikeMs: 30 * minuteMs, rampMs: 20 * minuteMs, source: habit },
  graphite: { strikeShare: 0.1, strikeMs: 2 * hourMs, rampMs: hourMs, source: habit },
};

/** The start of a request in figures, and what the contacts had to say in it. */
export interface ChosenStart {
  readonly strikeAmpsPerDm2: number;
  readonly strikeMs: number;
  readonly rampMs: number;
  /** What the contacts ask for; null where they are not known, and on bare metal. */
  readonly contact: ContactPlan | null;
  /** True where the maker's own start is taken, whatever the contacts ask for. */
  readonly own: boolean;
}

/**
 * The maker's own start where there is one, else the paint's, made gentler and longer where the
 * paint is far from its contacts. The strike is a share of the wanted density or of the bath's
 * typical one, whichever is lower: a bold hold is no reason for a bold start.
 */
export function startOf(request: PlanRequest, bath: Bath): ChosenStart {
  const { start, paint, contact, densityAmpsPerDm2 } = request;
  const base = Math.min(densityAmpsPerDm2, bath.window.typicalAmpsPerDm2);
  const gentle = gentleStarts[paint];
  const usual = { strikeAmpsPerDm2: gentle.strikeShare * base, strikeMs: gentle.strikeMs };
  const asks =
    contact === null || contact === undefined || paint === 'none'
      ? null
      : contactStart(paint, contact, usual, bath);
  if (start !== null && start !== undefined) {
    return {
      strikeAmpsPerDm2: start.strikeShare * base,
      strikeMs: start.strikeMinutes * minuteMs,
      rampMs: start.rampMinutes * minuteMs,
      contact: asks,
      own: true,
    };
  }
  const { strikeAmpsPerDm2, strikeMs } = asks ?? usual;
  return { strikeAmpsPerDm2, strikeMs, rampMs: gentle.rampMs, contact: asks, own: false };
}

/** The order in which stages follow each other; a trickle only where it was asked for. */
export const stageSequence: readonly StageKind[] = ['strike', 'ramp', 'hold', 'trickle'];

/**
 * The stages of a request. Strike and ramp last as long as their paint needs; the hold is ended by
 * the target, and `holdEstimateMs` (0 when the target falls before it) is only its estimate.
 */
export function chooseStages(
  request: PlanRequest,
  bath: Bath,
  holdEstimateMs: number,
): readonly Stage[] {
  const start = startOf(request, bath);
  const hold = request.densityAmpsPerDm2;
  const strike = start.strikeAmpsPerDm2;
  const stages: Stage[] = [
    {
      kind: 'strike',
      startAmpsPerDm2: strike,
      endAmpsPerDm2: strike,
      durationMs: start.strikeMs,
    },
    { kind: 'ramp', startAmpsPerDm2: strike, endAmpsPerDm2: hold, durationMs: start.rampMs },
    {
      kind: 'hold',
      startAmpsPerDm2: hold,
      endAmpsPerDm2: hold,
      durationMs: Math.max(0, holdEstimateMs),
    },
  ];
  const { trickle } = request;
  if (trickle !== null) {
    stages.push({
      kind: 'trickle',
      startAmpsPerDm2: trickle.densityAmpsPerDm2,
      endAmpsPerDm2: trickle.densityAmpsPerDm2,
      durationMs: trickle.maxHours * hourMs,
    });
  }
  return stages;
}

/** Density wanted in a stage, A/dm2: a straight line over its duration, clamped at both ends. */
export function densityAmpsPerDm2At(stage: Stage, elapsedInStageMs: number): number {
  const { startAmpsPerDm2, endAmpsPerDm2, durationMs } = stage;
  if (durationMs <= 0 || elapsedInStageMs >= durationMs) {
    return endAmpsPerDm2;
  }
  const share = Math.max(0, elapsedInStageMs) / durationMs;
  return startAmpsPerDm2 + (endAmpsPerDm2 - startAmpsPerDm2) * share;
}

/** Current that puts a density, A/dm2, on an area, mm2. Limits are applied by whoever asks. */
export function wantedAmps(densityAmpsPerDm2: number, areaMm2: number): number {
  return (densityAmpsPerDm2 * areaMm2) / mm2PerDm2;
}

/** Square millimetres in one square decimetre. */
export const mm2PerDm2 = 10_000;
