/** The person's changes of a run under way: looked at first, and confirmed where they raise anything. */

import type { RunChange } from '../../daemon/run/change-model.ts';
import type { RunState } from '../../daemon/run/state.ts';
import type { Command, CommandAnswer } from '../../daemon/wire/command.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import type { Act, WantedChange } from './besides.ts';

type ChangeCommand = Extract<Command, { kind: 'change' }>;

export interface ChangingParts {
  readonly wanted: readonly WantedChange[];
  readonly control: () => { readonly tank: Tank | null } | null;
  readonly tell: (command: Command, told: (answer: CommandAnswer) => void) => void;
  /** The same, a moment later and as this person presses. */
  readonly press: (command: Command, told: (answer: CommandAnswer) => void) => void;
  readonly note: (kind: string, what: string) => void;
  readonly violated: (what: string) => void;
  readonly did: (act: Act) => void;
  /** A change is on its way to control. */
  readonly pressed: (change: ChangeCommand) => void;
  /** Control says whether it stands. */
  readonly answered: (change: ChangeCommand, isTaken: boolean) => void;
}

const msPerHour = 3_600_000;
/** A run that has moved on since it was looked at is looked at again so often. */
const mostLooks = 4;
const rounded = (value: number): number => Number(value.toPrecision(4));

function changeOf({ plan }: RunState, { what, factor }: WantedChange): RunChange {
  switch (what) {
    case 'density':
      return { kind: 'density', ampsPerDm2: rounded(plan.request.densityAmpsPerDm2 * factor) };
    case 'slip':
      return { kind: 'density', ampsPerDm2: plan.request.densityAmpsPerDm2 * 100 };
    case 'charge': {
      const ampHours = rounded(plan.targetChargeAmpHours * factor);
      return { kind: 'target', target: { kind: 'charge', ampHours } };
    }
    case 'hours': {
      const hours = rounded((plan.durationMs * factor) / msPerHour);
      return { kind: 'target', target: { kind: 'time', hours } };
    }
    case 'micrometres': {
      const micrometres = rounded(plan.thicknessMicrometres.value * factor);
      return { kind: 'target', target: { kind: 'thickness', micrometres } };
    }
  }
}

/** The ramp after a lift takes as long as the first one did, and the tank allows so much in all. */
function hasTimeToLift({ run }: Tank, leftMs: number): boolean {
  if (run === null) return true;
  const { plan, poweredMs } = run.state;
  const rampMs = plan.stages.find(({ kind }) => kind === 'ramp')?.durationMs ?? 0;
  return poweredMs + leftMs + rampMs <= plan.tank.maxHours * msPerHour;
}

export class ChangingHands {
  readonly #parts: ChangingParts;
  #made = 0;
  #looks = 0;

  constructor(parts: ChangingParts) {
    this.#parts = parts;
  }

  /** Looks at the change that is due now; false where none is. */
  begin(tank: Tank, isLifted: boolean, liftIsToCome: boolean): boolean {
    const { wanted, tell } = this.#parts;
    const change = wanted[this.#made];
    const state = tank.run?.state;
    if (change === undefined || state === undefined) return false;
    const waits = change.whileLifted && liftIsToCome;
    const due = (isLifted && change.whileLifted) || state.poweredMs >= change.afterMs;
    if (waits || !due) return false;
    const asked = changeOf(state, change);
    this.#looks += 1;
    tell({ kind: 'look-change', tankId: 'one', change: asked }, (answer) => {
      const leavesRoom =
        !liftIsToCome || !answer.ok || hasTimeToLift(tank, answer.change?.leftMs ?? 0);
      if (leavesRoom) this.#looked(change, asked, isLifted, answer);
      else this.#leave();
    });
    return true;
  }

  /** A person who will lift the piece yet sees that the time would not do. */
  #leave(): void {
    this.#parts.note('person', 'change: left, there would be no time for the lift');
    this.#next();
  }

  #looked(wanted: WantedChange, asked: RunChange, isLifted: boolean, answer: CommandAnswer): void {
    const { control, note, violated, did } = this.#parts;
    if (!answer.ok || answer.change === undefined) {
      note('person', `look-change: ${answer.ok ? 'no answer' : answer.reason}`);
      if (!answer.ok) did('changeRefused');
      this.#next();
      return;
    }
    if (wanted.what === 'slip') violated('I7: a density in a wrong unit would be taken.');
    const run = control()?.tank?.run ?? null;
    if (run === null) return;
    const command: ChangeCommand = {
      kind: 'change',
      tankId: 'one',
      by: 'the person',
      runId: run.record.id,
      version: run.state.version,
      change: asked,
      confirmed: true,
    };
    const { raises } = answer.change;
    if (raises && wanted.hasty) this.#pressHastily(command);
    this.#press(command, raises, isLifted);
  }

  /** What lets more current flow, or longer, is asked for twice. */
  #pressHastily(command: ChangeCommand): void {
    this.#parts.tell({ ...command, confirmed: false }, (answer) => {
      if (answer.ok)
        this.#parts.violated('I7: a change that raises was taken without a second press.');
    });
  }

  #press(command: ChangeCommand, raises: boolean, isLifted: boolean): void {
    const { press, note, did, pressed, answered } = this.#parts;
    pressed(command);
    press(command, (answer) => {
      note('person', `change: ${answer.ok ? 'taken' : answer.reason}`);
      answered(command, answer.ok);
      if (answer.ok) {
        const { kind } = command.change;
        did(raises ? `${kind}Raised` : `${kind}Lowered`);
        if (isLifted) did('changedWhileLifted');
      }
      if (answer.ok || answer.code !== 'stale' || this.#looks >= mostLooks) this.#next();
    });
  }

  #next(): void {
    this.#made += 1;
    this.#looks = 0;
  }
}
