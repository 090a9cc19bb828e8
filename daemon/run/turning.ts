/** Turning the piece for even growth: when it is due, and whether it was done; counted while metal grows. */

import type { RunInput } from './model.ts';
import { eventOf, go, refuse, type Step } from './steps.ts';
import { isPowered, type RunState } from './state.ts';

/** Between two turns, minutes. Nobody turns a piece more often, and after a day it is one turn a run. */
export const turnMinutes = { least: 5, most: 1440 } as const;

const minuteMs = 60_000;
/** Reminders in a row that reach a person outside of the page; whoever misses so many is left in peace. */
export const mostTurnCalls = 3;

/** What a run knows of its turns. Times count while the output is on. */
export interface Turning {
  readonly everyMs: number;
  /** Powered time at which the next turn is, or became, due, ms. */
  readonly dueAtMs: number;
  readonly isDue: boolean;
  readonly done: number;
  readonly missed: number;
  /** Times in a row that it fell due since somebody turned it or set the reminder. */
  readonly unanswered: number;
}

const dueCode = 'turnDue';
const missedCode = 'turnMissed';

/** Whether an event of the run, by its code, is a reminder that reaches a person outside of the page. */
export function callsToTurn({ turning }: RunState, code: string): boolean {
  if (turning === null || (code !== dueCode && code !== missedCode)) return false;
  return turning.isDue && turning.unanswered <= mostTurnCalls;
}

type SetTurning = Extract<RunInput, { kind: 'turn-every' }>;
type Turned = Extract<RunInput, { kind: 'turned' }>;

function minutesText(ms: number): string {
  return `${Math.round(ms / minuteMs)} min`;
}

/** Sets how often, from now; null ends the reminding and keeps nothing due. */
export function setTurning(state: RunState, { atMs, everyMinutes, by }: SetTurning): Step {
  if (state.probe !== null) return refuse(state, 'A check takes seconds. Nothing is turned.');
  const version = state.version + 1;
  if (everyMinutes === null) {
    if (state.turning === null) return refuse(state, 'No reminder to turn is set.');
    const told = `No reminder to turn the piece any more, by ${by}.`;
    return go(
      { ...state, version, turning: null, turningVersion: version },
      eventOf(atMs, 'turnEvery', told),
    );
  }
  const { least, most } = turnMinutes;
  if (!(everyMinutes >= least && everyMinutes <= most)) {
    return refuse(
      state,
      `everyMinutes is ${everyMinutes}; it must be a number from ${least} to ${most}.`,
    );
  }
  const everyMs = everyMinutes * minuteMs;
  const { done = 0, missed = 0 } = state.turning ?? {};
  const dueAtMs = state.poweredMs + everyMs;
  const turning = { everyMs, dueAtMs, isDue: false, done, missed, unanswered: 0 };
  const told = `Turn the piece every ${minutesText(everyMs)}, set by ${by}.`;
  return go(
    { ...state, version, turning, turningVersion: version },
    eventOf(atMs, 'turnEvery', told),
  );
}

/** Somebody has turned it, when it was due or before. */
export function turned(state: RunState, { atMs, by }: Turned): Step {
  const { turning } = state;
  if (turning === null) return refuse(state, 'No reminder to turn is set.');
  const lateMs = state.poweredMs - turning.dueAtMs;
  const late =
    turning.isDue && lateMs >= minuteMs ? `, ${minutesText(lateMs)} after it was due` : '';
  const next: Turning = {
    ...turning,
    dueAtMs: state.poweredMs + turning.everyMs,
    isDue: false,
    done: turning.done + 1,
    unanswered: 0,
  };
  const version = state.version + 1;
  return go(
    { ...state, version, turning: next, turningVersion: version },
    eventOf(atMs, 'turned', `Turned by ${by}${late}.`),
  );
}

/** After a reading: says once that a turn is due, and a whole interval later that it was missed. */
export function remindToTurn(step: Step, atMs: number): Step {
  const { state } = step;
  const { turning, poweredMs, lifecycle } = state;
  // After the target little grows: nobody is called for that.
  if (turning === null || !isPowered(lifecycle) || lifecycle === 'trickling') return step;
  if (poweredMs < turning.dueAtMs) return step;
  if (!turning.isDue) {
    const told = eventOf(atMs, dueCode, 'Turn the piece: it is due.');
    const next = { ...state, turning: { ...turning, isDue: true, unanswered: 1 } };
    return { ...step, state: next, effects: [...step.effects, told] };
  }
  if (poweredMs < turning.dueAtMs + turning.everyMs) return step;
  const missed = {
    ...turning,
    dueAtMs: turning.dueAtMs + turning.everyMs,
    missed: turning.missed + 1,
    unanswered: turning.unanswered + 1,
  };
  const told = eventOf(
    atMs,
    missedCode,
    `Not turned within ${minutesText(turning.everyMs)}. It is due again.`,
  );
  return { ...step, state: { ...state, turning: missed }, effects: [...step.effects, told] };
}
