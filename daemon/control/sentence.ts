/** What is going on, in one sentence for a person. */

import { isPowered, type RunState } from '../run/state.ts';

/** A length of time as a person says it: "12 min", "3 h 05 min". */
export function spoken(durationMs: number): string {
  const minutes = Math.max(0, Math.round(durationMs / 60_000));
  if (minutes < 1) return 'less than a minute';
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}

export function sentenceOf(state: RunState, remainingMs: number | null): string {
  const stage = state.plan.stages[state.stageIndex];
  const leftMs = Math.max(0, (stage?.durationMs ?? 0) - state.stageElapsedMs);
  const density = `${Number((stage?.endAmpsPerDm2 ?? 0).toPrecision(3))} A/dm2`;
  const { probe } = state.plan;
  if (probe != null && isPowered(state.lifecycle)) {
    return probe.kind === 'meter'
      ? `A steady current for the meter. Off by itself in ${spoken(probe.lookMs - state.poweredMs)}.`
      : 'Looking, at a low current.';
  }
  switch (state.lifecycle) {
    case 'planned':
      return 'Planned.';
    case 'armed':
      return state.durable && state.programmed
        ? 'Armed. Limits are set and read back. No current flows.'
        : 'Arming. Limits are being set and read back.';
    case 'striking':
      return state.output === 'on'
        ? `Striking at a low current. Ramp begins in ${spoken(leftMs)}.`
        : 'Switching on at a low current.';
    case 'ramping':
      return `Ramping. Full current in ${spoken(leftMs)}.`;
    case 'holding':
      return remainingMs === null
        ? `Holding at ${density}.`
        : `Holding at ${density}. Done in about ${spoken(remainingMs)}.`;
    case 'lifted':
      return state.output === 'confirmedOff'
        ? 'Lifted out. Output off; the charge is kept.'
        : 'Lifting. Waiting for the supply to confirm that its output is off.';
    case 'trickling':
      return `Target reached. A small current keeps the piece for up to ${spoken(leftMs)}.`;
    case 'finished':
      return state.probe?.finding?.sentence ?? 'Finished. The target is reached.';
    case 'stopped':
    case 'interrupted':
    case 'tripped':
      return endSentence(state, endWords[state.lifecycle]);
  }
}

const endWords = { stopped: 'Stopped', interrupted: 'Interrupted', tripped: 'Tripped' } as const;

function endSentence(state: RunState, word: string): string {
  const reason = state.outcome?.reason ?? '';
  return reason.startsWith(word) ? reason : `${word}. ${reason}`.trim();
}
