/** The grammar of moves: a step is a state, what the world must do, and a refusal or none. */

import { remainingMs } from './forecast.ts';
import type { Lifecycle, Plan, RunEffect, Stage } from './model.ts';
import type { RunState } from './state.ts';

export interface Step {
  readonly state: RunState;
  readonly effects: readonly RunEffect[];
  /** Why the input was refused, as a sentence for the person who gave it; null when it was not. */
  readonly refused: string | null;
}

export function stay(state: RunState): Step {
  return { state, effects: [], refused: null };
}

export function refuse(state: RunState, why: string): Step {
  return { state, effects: [], refused: why };
}

export function go(state: RunState, ...effects: readonly RunEffect[]): Step {
  return { state, effects, refused: null };
}

export function eventOf(atMs: number, code: string, message: string): RunEffect {
  return { kind: 'event', event: { atMs, code, message } };
}

export function enter(state: RunState, lifecycle: Lifecycle): RunState {
  if (state.lifecycle === lifecycle) return state;
  return { ...state, lifecycle, version: state.version + 1 };
}

/** The lifecycle that belongs to a kind of stage. */
export const lifecycleOfStage: Readonly<Record<Stage['kind'], Lifecycle>> = {
  strike: 'striking',
  ramp: 'ramping',
  hold: 'holding',
  trickle: 'trickling',
};

export function stageOf(state: RunState): Stage {
  const stage = state.plan.stages[state.stageIndex];
  if (stage === undefined) throw new RangeError(`The plan has no stage ${state.stageIndex}.`);
  return stage;
}

/** Where the run goes on from: what is lifted out of its ramp or its hold begins the ramp anew. */
export function placeToGoOn(state: RunState): Pick<RunState, 'stageIndex' | 'stageElapsedMs'> {
  const { stageIndex, stageElapsedMs, plan, lifecycle } = state;
  const here = { stageIndex, stageElapsedMs };
  if (lifecycle !== 'lifted') return here;
  const { kind } = stageOf(state);
  if (kind === 'ramp') return { stageIndex, stageElapsedMs: 0 };
  const rampIndex = kind === 'hold' ? plan.stages.findIndex((stage) => stage.kind === 'ramp') : -1;
  return rampIndex < 0 ? here : { stageIndex: rampIndex, stageElapsedMs: 0 };
}

/** Time until the target of a plan, ms, from where the run goes on: lifted, the ramp to come is in it. */
export function timeLeftMs(state: RunState, plan: Plan = state.plan): number {
  const { stageIndex, stageElapsedMs } = placeToGoOn(state);
  return remainingMs(plan, state.charge.ampHours, stageIndex, stageElapsedMs);
}

export function enterStage(state: RunState, stageIndex: number): RunState {
  const moved = { ...state, stageIndex, stageElapsedMs: 0 };
  return enter(moved, lifecycleOfStage[stageOf(moved).kind]);
}
