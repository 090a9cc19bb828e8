/** The words of messages: what happened, what it means, what to do. Pure. */

import { faultWords } from '../run/faults.ts';
import type { RunOutcome } from '../run/model.ts';
import type { AlertMessage } from '../wire/alerts.ts';
import type { Alarm } from '../wire/run.ts';

/** The run that a message is about, as far as it had come. */
export interface RunFacts {
  readonly pieceName: string;
  readonly startedWallMs: number | null;
  readonly thicknessMicrometres: number;
  readonly targetMicrometres: number;
  readonly ampHours: number;
}

/** Where it happened, and the times: the tank's own and that of this computer. */
export interface Scene {
  readonly tankId: string;
  readonly tankName: string;
  readonly simulated: boolean;
  readonly tankWallMs: number;
  readonly wallMs: number;
  readonly run: RunFacts | null;
}

const longestTitle = 180;

function titleOf(scene: Scene, what: string): string {
  const title = `${scene.simulated ? 'Simulated: ' : ''}${what}: ${scene.tankName}`;
  return title.replaceAll(/\p{Cc}/gu, ' ').slice(0, longestTitle);
}

function clockOf(wallMs: number): string {
  const at = new Date(wallMs);
  return [at.getHours(), at.getMinutes()].map((value) => String(value).padStart(2, '0')).join(':');
}

function millimetres(micrometres: number): string {
  return `${(micrometres / 1000).toFixed(3)} mm`;
}

/** How far it has come, as one sentence. */
function progressOf({ run }: Scene): string {
  if (run === null || run.startedWallMs === null) return '';
  const { thicknessMicrometres, targetMicrometres, ampHours } = run;
  return `${run.pieceName}: ${millimetres(thicknessMicrometres)} of ${millimetres(targetMicrometres)}, ${ampHours.toFixed(2)} A·h.`;
}

function textOf(lines: readonly string[]): string {
  return lines
    .filter((line) => line !== '')
    .join('\n')
    .slice(0, 6000);
}

type FoundAlarm = Pick<Alarm, 'priority' | 'found' | 'cause' | 'remedy'> & {
  readonly code: keyof typeof faultWords;
};

/** An alarm for outside. `stopped` where this alarm ended the run, so that OFF has been sent. */
export function alarmMessage(
  id: string,
  scene: Scene,
  alarm: FoundAlarm,
  stopped: boolean,
): AlertMessage {
  const { title } = faultWords[alarm.code];
  return {
    id,
    kind: 'alarm',
    priority: alarm.priority,
    tankId: scene.tankId,
    createdWallMs: scene.wallMs,
    title: titleOf(scene, title),
    text: textOf([
      `${clockOf(scene.tankWallMs)}, ${scene.tankName}.`,
      stopped ? 'The run was stopped and OFF was sent to the supply.' : '',
      `Found: ${alarm.found}`,
      `What it means: ${alarm.cause}`,
      `What to do: ${alarm.remedy}`,
      progressOf(scene),
      alarm.priority === 'stopped'
        ? 'It is said again until somebody acknowledges it on the page.'
        : '',
    ]),
    code: null,
  };
}

const ends: Readonly<Record<RunOutcome['end'], string>> = {
  reached: 'Finished',
  stopped: 'Stopped',
  tripped: 'Tripped',
  interrupted: 'Interrupted',
};

/** The end of a run, good or not. `byPerson` where somebody asked for it and so knows. */
export function runEndMessage(
  id: string,
  scene: Scene,
  outcome: RunOutcome,
  byPerson: boolean,
): AlertMessage {
  const well = outcome.end === 'reached' || byPerson;
  return {
    id,
    kind: 'run-end',
    priority: well ? 'note' : 'act-soon',
    tankId: scene.tankId,
    createdWallMs: scene.wallMs,
    title: titleOf(scene, ends[outcome.end]),
    text: textOf([
      `${clockOf(scene.tankWallMs)}, ${scene.tankName}.`,
      outcome.reason,
      progressOf(scene),
      'OFF was sent. If the supply does not confirm it, you are told.',
    ]),
    code: null,
  };
}

/** The piece is to be turned; said so often `inARow`, of `most` at the most. */
export function turnMessage(
  id: string,
  scene: Scene,
  { inARow, most }: { readonly inARow: number; readonly most: number },
): AlertMessage {
  return {
    id,
    kind: 'turn',
    priority: 'note',
    tankId: scene.tankId,
    createdWallMs: scene.wallMs,
    title: titleOf(scene, 'Turn the piece'),
    text: textOf([
      `${clockOf(scene.tankWallMs)}, ${scene.tankName}.`,
      'It is time to turn the piece, for even growth. Nothing is wrong.',
      progressOf(scene),
      inARow < most
        ? 'Press Turned on the page once it is done.'
        : `This is the last of ${most} reminders in a row: the next one comes once somebody has pressed Turned on the page.`,
    ]),
    code: null,
  };
}

/** A test on one channel; the code is what a person types to say that it arrived. */
export function testMessage(
  id: string,
  channel: string,
  code: string,
  wallMs: number,
): AlertMessage {
  return {
    id,
    kind: 'test',
    priority: 'note',
    tankId: null,
    createdWallMs: wallMs,
    title: `Test alert, code ${code}`,
    text: textOf([
      `This is a test of the channel "${channel}". Nothing is wrong.`,
      `It has arrived: type the code ${code} on the page under Alerts, or after "nightbath alerts".`,
    ]),
    code,
  };
}
