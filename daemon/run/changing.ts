/** Moves that a person makes on a run under way: another target or density, and turning the piece. */

import { changedPlan } from './change.ts';
import type { RunInput } from './model.ts';
import { eventOf, go, refuse, type Step } from './steps.ts';
import type { RunState } from './state.ts';

/**
 * Takes a change where its plan holds. What raises anything has to be confirmed. The current follows
 * with the next reading, by the same way as it follows the growing area.
 */
export function change(state: RunState, input: Extract<RunInput, { kind: 'change' }>): Step {
  if (state.probe !== null)
    return refuse(state, 'A check takes seconds. There is nothing to change.');
  const answer = changedPlan(state, input.change);
  if (!answer.ok) return refuse(state, answer.problems[0].message);
  if (answer.raises && !input.confirmed) {
    return refuse(
      state,
      'This lets more current flow, or lets it flow for longer: press once more.',
    );
  }
  const { plan, sentence } = answer;
  return go(
    { ...state, plan, version: state.version + 1 },
    eventOf(input.atMs, 'changed', `${sentence} by ${input.by}.`),
  );
}
