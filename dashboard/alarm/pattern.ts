/** How an alarm sounds: three priorities told apart by their tones, each growing more urgent with its age. */

import type { AlarmPriority } from '../../daemon/run/model.ts';

/** `away`: nothing was heard of the bench for a while, so nobody knows whether something is wrong. */
export type Sound = AlarmPriority | 'away';

export interface Tone {
  /** From the start of the pattern, ms. */
  readonly atMs: number;
  readonly lengthMs: number;
  readonly hertz: number;
}

interface Pattern {
  readonly tones: readonly Tone[];
  /** From one start of the pattern to the next, ms: at first, and once it has grown urgent. */
  readonly everyMs: readonly [number, number];
  /** Share of full loudness: at first, and once it has grown urgent. */
  readonly loudness: readonly [number, number];
  /** Unanswered for this long it is as urgent as it gets, ms. */
  readonly growsForMs: number;
}

function run(hertz: readonly number[], lengthMs: number, stepMs: number, fromMs = 0): Tone[] {
  return hertz.map((one, index) => ({ atMs: fromMs + index * stepMs, lengthMs, hertz: one }));
}

const minuteMs = 60_000;

/** Rising and doubled; falling; one long tone; two low ones. Nobody needs an ear for pitch: the rhythms differ. */
const patterns: Readonly<Record<Sound, Pattern>> = {
  stopped: {
    tones: [...run([660, 830, 990], 150, 190), ...run([660, 830, 990], 150, 190, 900)],
    everyMs: [6_000, 2_500],
    loudness: [0.4, 1],
    growsForMs: minuteMs,
  },
  'act-soon': {
    tones: run([740, 590], 260, 380),
    everyMs: [20_000, 8_000],
    loudness: [0.3, 0.8],
    growsForMs: 3 * minuteMs,
  },
  note: {
    tones: run([520], 700, 700),
    everyMs: [5 * minuteMs, 5 * minuteMs],
    loudness: [0.25, 0.4],
    growsForMs: 10 * minuteMs,
  },
  away: {
    tones: run([390, 390], 420, 620),
    everyMs: [60_000, 20_000],
    loudness: [0.25, 0.6],
    growsForMs: 5 * minuteMs,
  },
};

export function tonesOf(sound: Sound): readonly Tone[] {
  return patterns[sound].tones;
}

/** From the first tone to the end of the last, ms. */
export function lengthMsOf(sound: Sound): number {
  return Math.max(...tonesOf(sound).map(({ atMs, lengthMs }) => atMs + lengthMs));
}

function grown([from, to]: readonly [number, number], sound: Sound, ageMs: number): number {
  const share = Math.min(1, Math.max(0, ageMs) / patterns[sound].growsForMs);
  return from + (to - from) * share;
}

/** Share of full loudness, 0 to 1, after it has gone unanswered for so long. */
export function loudnessAt(sound: Sound, ageMs: number): number {
  return grown(patterns[sound].loudness, sound, ageMs);
}

/** From one start of the pattern to the next, ms. */
export function pauseMsAt(sound: Sound, ageMs: number): number {
  return grown(patterns[sound].everyMs, sound, ageMs);
}
