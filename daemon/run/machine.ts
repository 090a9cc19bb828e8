/** The run machine: one table in which every state answers every input, by a move, by ignoring it, or by refusing. */

import { change } from './changing.ts';
import { judge } from './judging.ts';
import type { Lifecycle, RunInput, RunInputKind } from './model.ts';
import { disarm, interrupt, offOverdue, offUnconfirmed, requestOff, stop, trip } from './ending.ts';
import { arm, lift, offConfirmed, onConfirmed, programmed, putBack, start } from './moves.ts';
import { clockGap, silence, watchArmed, watchEnded, watchLifted } from './standing-by.ts';
import { go, refuse, stay, type Step } from './steps.ts';
import { setTurning, turned } from './turning.ts';
import type { RunState } from './state.ts';

type InputOf<K extends RunInputKind> = Extract<RunInput, { kind: K }>;
type Move<K extends RunInputKind> = (state: RunState, input: InputOf<K>) => Step;
/** `ignore` where the input means nothing here; `refuse` with the sentence for whoever gave it. */
export type Cell<K extends RunInputKind> =
  'ignore' | { readonly refuse: string } | { readonly move: Move<K> };
type Row = { readonly [K in RunInputKind]: Cell<K> };

const ignore = 'ignore' as const;
const no = (sentence: string): { readonly refuse: string } => ({ refuse: sentence });
const by = <I extends RunInput>(move: (state: RunState, input: I) => Step) => ({ move });

const markDurable: Move<'made-durable'> = (state) => go({ ...state, durable: true });
const refusedSetting: Move<'program-failed'> = (state, input) =>
  trip(state, input.atMs, 'programRefused', input.reason);
const refusedOn: Move<'on-failed'> = (state, input) =>
  trip(state, input.atMs, 'outputRefused', input.reason);
const tripOn: Move<'fault'> = (state, input) => trip(state, input.atMs, input.code, input.found);
/** ON that is confirmed where none is wanted is answered with OFF. */
const unwantedOn: Move<'on-confirmed'> = (state, input) =>
  requestOff(state, input.atMs, 'The output came on after the run had left it.');

const notArmed = no('The run is not armed.');
const running = no('The run is already under way.');
const over = no('The run is over; arm a new one.');

const powered: Row = {
  arm: running,
  'made-durable': ignore,
  programmed: by(programmed),
  'program-failed': by(refusedSetting),
  disarm: running,
  start: running,
  'on-confirmed': by(onConfirmed),
  'on-failed': by(refusedOn),
  'off-confirmed': ignore,
  'off-unconfirmed': ignore,
  reading: by((state, input: InputOf<'reading'>) => judge(state, input.reading)),
  'reading-missing': by(silence),
  lift: by(lift),
  'put-back': no('The piece is in the bath.'),
  change: by(change),
  'turn-every': by(setTurning),
  turned: by(turned),
  stop: by(stop),
  'clock-gap': by(clockGap),
  fault: by(tripOn),
  interrupt: by(interrupt),
};

const ended: Row = {
  arm: over,
  'made-durable': ignore,
  programmed: ignore,
  'program-failed': ignore,
  disarm: over,
  start: over,
  'on-confirmed': by(unwantedOn),
  'on-failed': ignore,
  'off-confirmed': by(offConfirmed),
  'off-unconfirmed': by(offUnconfirmed),
  reading: by((state, input: InputOf<'reading'>) => watchEnded(state, input.reading)),
  'reading-missing': by(offOverdue),
  lift: over,
  'put-back': over,
  change: over,
  'turn-every': over,
  turned: over,
  stop: by(stop),
  'clock-gap': by(clockGap),
  fault: ignore,
  interrupt: ignore,
};

/** Every state by every input. */
export const table: Readonly<Record<Lifecycle, Row>> = {
  planned: {
    ...powered,
    arm: by(arm),
    programmed: ignore,
    'program-failed': ignore,
    disarm: notArmed,
    start: notArmed,
    'on-confirmed': by(unwantedOn),
    'on-failed': ignore,
    'off-confirmed': by(offConfirmed),
    'off-unconfirmed': by(offUnconfirmed),
    reading: ignore,
    'reading-missing': ignore,
    lift: notArmed,
    'put-back': notArmed,
    change: notArmed,
    'turn-every': notArmed,
    turned: notArmed,
    'clock-gap': ignore,
  },
  armed: {
    ...powered,
    arm: no('The run is already armed.'),
    'made-durable': by(markDurable),
    disarm: by(disarm),
    start: by(start),
    'on-confirmed': by(unwantedOn),
    'on-failed': ignore,
    'off-confirmed': by(offConfirmed),
    'off-unconfirmed': by(offUnconfirmed),
    reading: by((state, input: InputOf<'reading'>) => watchArmed(state, input.reading)),
    'reading-missing': ignore,
    lift: no('Nothing is running yet.'),
    'put-back': no('Nothing is lifted.'),
    change: no('Nothing is running yet. Disarm it and plan anew.'),
    turned: no('Nothing is running yet.'),
  },
  striking: powered,
  ramping: powered,
  holding: powered,
  trickling: {
    ...powered,
    change: no(
      'The target is reached; only a small current keeps the piece. Carry on as a new run.',
    ),
  },
  lifted: {
    ...powered,
    programmed: ignore,
    'program-failed': ignore,
    'on-confirmed': by(unwantedOn),
    'on-failed': ignore,
    'off-confirmed': by(offConfirmed),
    'off-unconfirmed': by(offUnconfirmed),
    reading: by((state, input: InputOf<'reading'>) => watchLifted(state, input.reading)),
    'reading-missing': by(offOverdue),
    lift: no('The piece is already lifted.'),
    'put-back': by(putBack),
  },
  finished: ended,
  stopped: ended,
  tripped: ended,
  interrupted: ended,
};

function answer<K extends RunInputKind>(cell: Cell<K>, state: RunState, input: InputOf<K>): Step {
  if (cell === 'ignore') return stay(state);
  if ('refuse' in cell) return refuse(state, cell.refuse);
  return cell.move(state, input);
}

/**
 * One step of a run: pure, without clock, random or wait. Effects are asked for in their order.
 * A monotonic time that runs backwards is a fault of the host, not of the run: it is refused here.
 */
export function step(state: RunState, input: RunInput): Step {
  if (!Number.isFinite(input.atMs)) {
    throw new RangeError(`atMs must be a finite monotonic time, not ${input.atMs}.`);
  }
  const row = table[state.lifecycle];
  return answer(row[input.kind] as Cell<typeof input.kind>, state, input as never);
}
