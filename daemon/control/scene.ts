/** What people outside are told of a tank and its run, and the words for it. */

import { newMessageId, turnMessage, type Scene } from '../alerts/door.ts';
import { faultWords } from '../run/faults.ts';
import { meanThicknessNow } from '../run/forecast.ts';
import { isFinal, type RunState } from '../run/state.ts';
import { callsToTurn, mostTurnCalls } from '../run/turning.ts';
import type { AlertMessage } from '../wire/alerts.ts';
import type { TankClock } from './clock.ts';
import type { ActiveRun } from './snapshot.ts';

interface SceneParts {
  readonly settings: { readonly id: string; readonly name: string };
  readonly rectifier: { readonly simulated: boolean };
  readonly clock: TankClock;
}

/** The tank as it is at this moment, with the run on it. */
export function sceneOf(run: ActiveRun | null, { settings, rectifier, clock }: SceneParts): Scene {
  return {
    tankId: settings.id,
    tankName: settings.name,
    simulated: rectifier.simulated,
    tankWallMs: clock.wallMs(),
    wallMs: Date.now(),
    run: run === null ? null : factsOf(run),
  };
}

function factsOf({ state, startedWallMs }: ActiveRun): Scene['run'] {
  const { plan, charge } = state;
  return {
    pieceName: plan.request.piece.name,
    startedWallMs,
    thicknessMicrometres: thicknessOf(state),
    targetMicrometres: plan.thicknessMicrometres.value,
    ampHours: charge.ampHours,
  };
}

/** What is said outside of an event that says that a turn is due; null for every other event. */
export function turnReminder(
  run: ActiveRun | null,
  code: string,
  parts: SceneParts,
): AlertMessage | null {
  if (run === null || !callsToTurn(run.state, code)) return null;
  const inARow = run.state.turning?.unanswered ?? 1;
  return turnMessage(newMessageId('turn'), sceneOf(run, parts), { inARow, most: mostTurnCalls });
}

/** Whether a turn of the piece is due on a run that goes on. */
export function awaitsTurn(run: ActiveRun | null): boolean {
  return run !== null && !isFinal(run.state.lifecycle) && run.state.turning?.isDue === true;
}

/** The title of a fault; an alarm read back from disk may be of a kind that this version does not know. */
export function faultTitle(code: string): string {
  const known = Object.entries(faultWords).find(([name]) => name === code);
  return known?.[1].title ?? code;
}

/** Micrometres, by the charge counted so far. */
export function thicknessOf({ plan, charge }: RunState): number {
  return meanThicknessNow(plan, charge.ampHours);
}
