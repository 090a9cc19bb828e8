/** What a reading does to a probe: it is watched like any run, and answers instead of growing. */

import { end, trip } from './ending.ts';
import type { FaultCode, RunReading } from './model.ts';
import type { ProbeFinding, ProbePlan, ProbeProgress } from './probe-model.ts';
import { eventOf, go, stay, type Step } from './steps.ts';
import type { RunState } from './state.ts';
import { amps, settlingMs, volts, type WatchView } from './watch/rule.ts';
import { shortedBelowVolts } from './watch/short-circuit.ts';
import { watch } from './watch/watch.ts';

/** What a probe is asked about is its answer, and no fault. */
const answers: ReadonlySet<FaultCode> = new Set(['openCircuit', 'shortCircuit']);
/** It answers by the mean of this many settled readings at least. */
const leastReadings = 2;
/** A steady current that is none by the last so many settled readings has no circuit. */
const leastSteady = 12;
/** Once the limit is lowered, so many readings below it and there is nothing left to trip. */
const mostSpared = 4;
/** The current has come up when it reaches this share of its set-point. */
const fullShare = 0.8;

export function judgeProbe(
  state: RunState,
  probe: ProbePlan,
  progress: ProbeProgress,
  view: WatchView,
): Step {
  const { reading } = view;
  const { drillAmps } = probe;
  // The limit of a run may only tighten: here it does so, below the current that flows.
  const limits =
    progress.lowered && drillAmps !== null ? { ...view.limits, maxAmps: drillAmps } : view.limits;
  const verdict = watch(state.watch, { ...view, limits, striking: true }, answers);
  const { finding } = verdict;
  const settled = { ...state, watch: verdict.memory, probe: countIn(progress, view) };
  if (progress.lowered && finding?.code === 'overCurrent') {
    return drilled(settled, reading, finding.found);
  }
  if (finding !== null) {
    return trip(settled, reading.atMs, finding.code, finding.found);
  }
  if (probe.kind === 'meter') return holdSteady(settled, probe, settled.probe, view);
  return drillAmps === null
    ? lookAtCircuit(settled, probe, settled.probe, view)
    : lowerLimit(settled, probe, settled.probe, view);
}

/** The current stays on for a person who reads another meter; without a circuit there is none to read. */
function holdSteady(
  state: RunState,
  probe: ProbePlan,
  progress: ProbeProgress,
  { reading, stepAmps }: WatchView,
): Step {
  const { readings, sumVolts, sumAmps, lastAmps } = progress;
  // By the last ones: a lead that falls off later leaves no circuit either, whatever flowed before.
  const late = lastAmps.reduce((sum, one) => sum + one, 0) / leastSteady;
  if (readings >= leastSteady && late < Math.max(0.05 * probe.amps, 2 * stepAmps)) {
    const sentence = `Open: ${amps(late)} at ${volts(reading.volts)}. There was nothing to read.`;
    const seen = { volts: reading.volts, amps: late, offMs: null };
    return close(state, reading.atMs, progress, { ...seen, verdict: 'open', sentence });
  }
  if (state.poweredMs < probe.lookMs) return stay(state);
  const minutes = Math.round(probe.lookMs / 60_000);
  if (readings === 0) {
    const sentence = `Off by itself after ${minutes} min. The current never settled.`;
    const seen = { volts: reading.volts, amps: reading.amps, offMs: null };
    return close(state, reading.atMs, progress, { ...seen, verdict: 'failed', sentence });
  }
  const mean = { volts: sumVolts / readings, amps: sumAmps / readings, offMs: null };
  const sentence =
    `Off by itself after ${minutes} min. By the supply's meter ${amps(mean.amps)} flowed at ` +
    `${volts(mean.volts)}.`;
  return close(state, reading.atMs, progress, { ...mean, verdict: 'closed', sentence });
}

function countIn(progress: ProbeProgress, { reading, settledForMs }: WatchView): ProbeProgress {
  if (settledForMs < settlingMs) return progress;
  return {
    ...progress,
    readings: progress.readings + 1,
    sumVolts: progress.sumVolts + reading.volts,
    sumAmps: progress.sumAmps + reading.amps,
    lastAmps: [...progress.lastAmps, reading.amps].slice(-leastSteady),
  };
}

function answered(state: RunState, probe: ProbePlan, { readings }: ProbeProgress): boolean {
  return readings >= leastReadings && state.poweredMs >= probe.lookMs;
}

/** Open, shorted or closed, by what flows and what voltage it takes. */
function lookAtCircuit(
  state: RunState,
  probe: ProbePlan,
  progress: ProbeProgress,
  { reading, stepAmps }: WatchView,
): Step {
  if (!answered(state, probe, progress)) return stay(state);
  const finding = circuitOf(progress, probe, stepAmps);
  return close(state, reading.atMs, progress, finding);
}

/** The verdict on a circuit from settled readings at a low current. */
function circuitOf(
  { readings, sumVolts, sumAmps }: ProbeProgress,
  probe: ProbePlan,
  stepAmps: number,
): ProbeFinding {
  const measured = { volts: sumVolts / readings, amps: sumAmps / readings, offMs: null };
  const flows = `${amps(measured.amps)} at ${volts(measured.volts)}`;
  if (measured.amps < Math.max(0.05 * probe.amps, 2 * stepAmps)) {
    const sentence = `Open: ${flows}, where ${amps(probe.amps)} was asked for.`;
    return { ...measured, verdict: 'open', sentence };
  }
  const floor = shortedBelowVolts(measured.amps);
  if (measured.amps > 0.5 * probe.amps && measured.volts < floor) {
    const sentence = `Shorted: ${flows}; below ${volts(floor)} nothing but metal carries it.`;
    return { ...measured, verdict: 'shorted', sentence };
  }
  if (measured.amps >= fullShare * probe.amps) {
    return { ...measured, verdict: 'closed', sentence: `Closed: ${flows}.` };
  }
  const ohms = Math.round(measured.volts / measured.amps);
  const sentence =
    `Closed, with much resistance: ${flows}, where ${amps(probe.amps)} was asked for. ` +
    `That is ${ohms} ohms: a contact, or thin paint.`;
  return { ...measured, verdict: 'closed', sentence };
}

/** Current flows and is settled: the limit goes below it, and the next reading has to trip. */
function lowerLimit(
  state: RunState,
  probe: ProbePlan,
  progress: ProbeProgress,
  view: WatchView,
): Step {
  const { reading } = view;
  const drillAmps = probe.drillAmps ?? 0;
  if (progress.lowered) return spare(state, progress, drillAmps, view);
  if (progress.readings >= leastReadings && reading.amps > drillAmps) {
    return go(
      { ...state, probe: { ...progress, lowered: true } },
      eventOf(
        reading.atMs,
        'drillLimit',
        `${amps(reading.amps)} flows. The limit is now ${amps(drillAmps)}: it has to trip.`,
      ),
    );
  }
  if (!answered(state, probe, progress)) return stay(state);
  const sentence =
    `Only ${amps(reading.amps)} flowed at ${volts(reading.volts)}; ` +
    `the drill needs more than ${amps(drillAmps)}. Is the circuit closed?`;
  const { volts: sawVolts, amps: sawAmps } = reading;
  return close(state, reading.atMs, progress, {
    verdict: 'failed',
    volts: sawVolts,
    amps: sawAmps,
    offMs: null,
    sentence,
  });
}

/** The current went away before the lowered limit could trip on it: that proves nothing. */
function spare(
  state: RunState,
  progress: ProbeProgress,
  drillAmps: number,
  { reading }: WatchView,
): Step {
  const spared = progress.spared + 1;
  if (spared < mostSpared) return stay({ ...state, probe: { ...progress, spared } });
  return close(state, reading.atMs, progress, {
    verdict: 'failed',
    volts: reading.volts,
    amps: reading.amps,
    offMs: null,
    sentence:
      `The current fell to ${amps(reading.amps)} by itself, below the limit of ${amps(drillAmps)}, ` +
      `before that could trip. Is there a loose contact?`,
  });
}

/** The trip came; whether it passed shows when OFF is read back. */
function drilled(state: RunState, reading: RunReading, found: string): Step {
  const { volts: sawVolts, amps: sawAmps } = reading;
  return close(state, reading.atMs, state.probe, {
    verdict: 'passed',
    volts: sawVolts,
    amps: sawAmps,
    offMs: null,
    sentence: `${found} OFF was sent, and nobody was called.`,
  });
}

function close(
  state: RunState,
  atMs: number,
  progress: ProbeProgress | null,
  finding: ProbeFinding,
): Step {
  const told = progress === null ? state : { ...state, probe: { ...progress, finding } };
  const outcome = { end: 'reached', reason: finding.sentence, faultCode: null } as const;
  return end(told, atMs, 'finished', outcome);
}
