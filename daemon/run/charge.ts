/** Counts charge from measured current and monotonic time, and declares what it could not measure. */

import type { Charge, ChargeGap } from './model.ts';

const msPerHour = 3_600_000;

/** The count and the last measured point that the next stretch starts from. */
export interface ChargeLedger extends Charge {
  /** Null while the output is off: the next reading starts a new stretch. */
  readonly lastAtMs: number | null;
  readonly lastAmps: number;
  /** The most that looks between two measurements have found to flow, beyond what bounded it, A; else 0. */
  readonly glimpsedAmps: number;
  /** What the computer slept since the last measurement; null while that is nothing. */
  readonly slept: Slept | null;
}

/** A sleep with current on, and what its charge was bounded by. */
interface Slept {
  readonly durationMs: number;
  readonly mostAmps: number;
}

/** Charge of the run that is carried on, with the bounds that its gaps left. */
export type CarriedCharge = Pick<Charge, 'ampHours' | 'lowAmpHours' | 'highAmpHours'>;

export const nothingCarried: CarriedCharge = { ampHours: 0, lowAmpHours: 0, highAmpHours: 0 };

export function openLedger(carried: CarriedCharge): ChargeLedger {
  const { ampHours, lowAmpHours, highAmpHours } = carried;
  return {
    ampHours,
    lowAmpHours,
    highAmpHours,
    gaps: [],
    lastAtMs: null,
    lastAmps: 0,
    glimpsedAmps: 0,
    slept: null,
  };
}

/** The output has just come on: nothing is counted yet, but from here every moment counts. */
export function beginStretch(ledger: ChargeLedger, atMs: number): ChargeLedger {
  return { ...ledger, lastAtMs: atMs, lastAmps: Number.NaN, glimpsedAmps: 0, slept: null };
}

/** What was measured last in this stretch, A; 0 before its first measurement. */
function measuredAmps({ lastAmps }: ChargeLedger): number {
  return Number.isNaN(lastAmps) ? 0 : lastAmps;
}

/** Up to this share of its set-point, and this many of its digits, a current is a matter of the meter; judgement, no source. */
const meterShare = 1.05;
const meterDigits = 2;

export interface Glimpse {
  /** What was found to flow, A. */
  readonly amps: number;
  /** The set-point, and one digit of it, A. */
  readonly setAmps: number;
  readonly stepAmps: number;
}

/**
 * A look after OFF was asked for, while it is not confirmed. It is no measurement of the run; where the
 * supply does not keep to its set-point, the largest such current bounds the charge from the last
 * measurement to the next one, sleeps in between included. What is no finite number, or flows backwards, or no more than was measured
 * last, changes nothing.
 */
export function glimpse(ledger: ChargeLedger, seen: Glimpse): ChargeLedger {
  const { lastAtMs, glimpsedAmps } = ledger;
  const { amps, setAmps, stepAmps } = seen;
  if (lastAtMs === null || !Number.isFinite(amps)) return ledger;
  const meant = Math.max(meterShare * setAmps, setAmps + meterDigits * stepAmps);
  const known = Math.max(measuredAmps(ledger), glimpsedAmps);
  return amps > Math.max(meant, known) ? { ...sleptAt(ledger, amps), glimpsedAmps: amps } : ledger;
}

/** What the computer slept in this stretch may have flowed at `amps`, A, all of the time. */
function sleptAt(ledger: ChargeLedger, amps: number): ChargeLedger {
  const { slept, lastAtMs } = ledger;
  if (slept === null || lastAtMs === null || amps <= slept.mostAmps) return ledger;
  const highAmpHours = (amps - slept.mostAmps) * (slept.durationMs / msPerHour);
  const gap: ChargeGap = { fromMs: lastAtMs, toMs: lastAtMs, lowAmpHours: 0, highAmpHours };
  return {
    ...ledger,
    highAmpHours: ledger.highAmpHours + highAmpHours,
    gaps: [...ledger.gaps, gap],
    slept: { ...slept, mostAmps: amps },
  };
}

export interface ChargeStep {
  readonly atMs: number;
  /** Measured amperes; what flows backwards deposits nothing and counts as zero. */
  readonly amps: number;
  /** The set-point: the upper bound of what can have flowed unseen. */
  readonly setAmps: number;
  /** A stretch longer than this is a gap, ms. */
  readonly gapBoundMs: number;
  /** The output was found off, or the current beyond its limit: when in this stretch that came was not seen. */
  readonly cut?: boolean;
}

/**
 * Adds the stretch since the last reading by the trapezoid rule. The first stretch after the output
 * came on has only one measured end and counts as level. A stretch longer than the bound is counted
 * the same way but declared as a gap: nothing at the least, the set-point throughout at the most. So
 * is one at whose end the output is found off: what flowed before may have flowed until just now; or
 * the current is found beyond its limit, or was by a look meanwhile: it may have flowed all the time.
 */
export function addMeasurement(ledger: ChargeLedger, step: ChargeStep): ChargeLedger {
  const amps = Math.max(0, step.amps);
  if (ledger.lastAtMs === null) return { ...ledger, lastAtMs: step.atMs, lastAmps: amps };
  const { glimpsedAmps } = ledger;
  const durationMs = step.atMs - ledger.lastAtMs;
  if (durationMs <= 0) return ledger;
  const before = Number.isNaN(ledger.lastAmps) ? amps : ledger.lastAmps;
  const counted = ((before + amps) / 2) * (durationMs / msPerHour);
  // Fields written out: a spread with new keys would cost more than the count, at every reading.
  if (durationMs <= step.gapBoundMs && step.cut !== true && glimpsedAmps === 0) {
    return {
      lastAtMs: step.atMs,
      lastAmps: amps,
      glimpsedAmps,
      slept: null,
      ampHours: ledger.ampHours + counted,
      lowAmpHours: ledger.lowAmpHours + counted,
      highAmpHours: ledger.highAmpHours + counted,
      gaps: ledger.gaps,
    };
  }
  const seen = durationMs <= step.gapBoundMs && !Number.isNaN(ledger.lastAmps);
  const mostAmps = Math.max(before, amps, glimpsedAmps, seen ? 0 : step.setAmps);
  const highAmpHours = mostAmps * (durationMs / msPerHour);
  // A run that has been off for longer than one reading has no more to declare.
  if (highAmpHours === 0) return { ...ledger, lastAtMs: step.atMs, lastAmps: amps };
  const gap: ChargeGap = {
    fromMs: ledger.lastAtMs,
    toMs: step.atMs,
    lowAmpHours: 0,
    highAmpHours,
  };
  return {
    lastAtMs: step.atMs,
    lastAmps: amps,
    glimpsedAmps: 0,
    slept: null,
    ampHours: ledger.ampHours + counted,
    lowAmpHours: ledger.lowAmpHours,
    highAmpHours: ledger.highAmpHours + gap.highAmpHours,
    gaps: [...ledger.gaps, gap],
  };
}

/** OFF that takes longer than this from the first asking may have been obeyed at any time of it, ms. */
const promptOffMs = 1_500;

export interface ChargeEnd {
  /** When OFF was first asked for, ms. */
  readonly askedAtMs: number;
  /** When the OFF that was confirmed had been sent, ms. */
  readonly sentAtMs: number;
  readonly confirmedAtMs: number;
  readonly setAmps: number;
  readonly gapBoundMs: number;
}

/**
 * The output has gone off: the last measured current is taken to have flowed until OFF was sent, at
 * the least not since that measurement, at the most until OFF was confirmed. Where nothing was ever
 * measured since ON, nothing is counted, and the most is the set-point throughout. What a look at OFF
 * has found beyond the set-point may have flowed throughout in any case.
 */
export function endStretch(ledger: ChargeLedger, end: ChargeEnd): ChargeLedger {
  if (ledger.lastAtMs === null) return ledger;
  const last = measuredAmps(ledger);
  const fromMs = ledger.lastAtMs;
  const sentMs = Math.min(
    Math.max(0, end.sentAtMs - fromMs),
    Math.max(0, end.confirmedAtMs - fromMs),
  );
  const confirmedMs = Math.max(0, end.confirmedAtMs - fromMs);
  const prompt = end.confirmedAtMs - end.askedAtMs <= promptOffMs;
  const { glimpsedAmps } = ledger;
  const unmeasured = Number.isNaN(ledger.lastAmps) || glimpsedAmps > 0;
  const gap = !prompt || confirmedMs > end.gapBoundMs || unmeasured;
  const mostAmps = gap ? Math.max(last, end.setAmps, glimpsedAmps) : last;
  const high = mostAmps * (confirmedMs / msPerHour);
  const lost: ChargeGap = { fromMs, toMs: end.confirmedAtMs, lowAmpHours: 0, highAmpHours: high };
  return {
    lastAtMs: null,
    lastAmps: 0,
    glimpsedAmps: 0,
    slept: null,
    ampHours: ledger.ampHours + last * (sentMs / msPerHour),
    lowAmpHours: ledger.lowAmpHours,
    highAmpHours: ledger.highAmpHours + high,
    gaps: gap && high > 0 ? [...ledger.gaps, lost] : ledger.gaps,
  };
}

/**
 * Time that the monotonic clock did not see: nothing is counted. From above the set-point bounds it, or
 * what flowed last where that was more: a supply that had run away may have gone on so. Where a look
 * at OFF finds more before anything is measured again, that bounds it too.
 */
export function declareUnseen(
  ledger: ChargeLedger,
  atMs: number,
  unseenMs: number,
  setAmps: number,
): ChargeLedger {
  const last = measuredAmps(ledger);
  const mostAmps = Math.max(last, setAmps, ledger.glimpsedAmps);
  const highAmpHours = mostAmps * (unseenMs / msPerHour);
  const before = ledger.slept ?? { durationMs: 0, mostAmps };
  return {
    ...ledger,
    highAmpHours: ledger.highAmpHours + highAmpHours,
    gaps: [...ledger.gaps, { fromMs: atMs, toMs: atMs, lowAmpHours: 0, highAmpHours }],
    slept: {
      durationMs: before.durationMs + unseenMs,
      mostAmps: Math.min(before.mostAmps, mostAmps),
    },
  };
}
