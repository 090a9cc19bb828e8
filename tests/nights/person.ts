/** The person at the bench: arms, starts, lifts, stops, acknowledges, and sometimes presses too much. */

import { checkIds } from '../../daemon/run/checks/model.ts';
import { isFinal, isPowered } from '../../daemon/run/state.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import { type Command, type CommandAnswer } from '../../daemon/wire/command.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import type { PlanRequest } from '../../daemon/run/model.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import type { Act } from './besides.ts';
import { holdsBack } from './board.ts';
import { ChangingHands } from './changing-hands.ts';
import { ProbingHands } from './probing-hands.ts';
import type { Control } from './control.ts';
import type { Host } from './host.ts';
import type { Scenario } from './scenario.ts';

/** `sleeps`: sees nothing that happens to a run that is over, and acknowledges nothing. */
export type Misbehaviour = 'doubleClick' | 'staleTab' | 'twoBrowsers' | 'unitSlip' | 'sleeps';

export interface PersonParts {
  readonly host: Host;
  readonly scenario: Scenario;
  /** Control as the page reaches it; null while it is away. */
  readonly control: () => Control | null;
  /** A command did what it must not do. */
  readonly violated: (what: string) => void;
  readonly note: (kind: string, what: string) => void;
  readonly did: (act: Act) => void;
  /** A change of the run under way is on its way to control, and is answered. */
  readonly changePressed: (change: Change) => void;
  readonly changeAnswered: (change: Change, isTaken: boolean) => void;
  /** Puts the piece of the night into the bath. */
  readonly hangPiece: () => void;
}

type Change = Extract<Command, { kind: 'change' }>;
type OnRun = 'start' | 'disarm' | 'lift' | 'put-back';

const lookEveryMs = 700;
/** Looks at a run that goes on are rarer. */
const calmLookMs = 4_000;
/** How often a person who wants to go on looks at an alarm before taking it on. */
const mostLooksAtAlarm = 12;
/** A plan that is refused so often will not be taken any more. */
const mostRefusals = 40;

export class Person {
  /** Every run that was wanted has been made, or has been given up. */
  done = false;
  armed = 0;
  readonly #parts: PersonParts;
  readonly #random: RandomStream;
  readonly #doing = new Set<Misbehaviour>();
  readonly #changing: ChangingHands;
  readonly #probing: ProbingHands;
  #key = 0;
  #busy = false;
  #refusals = 0;
  #lifted = false;
  #liftForMs: number | null = null;
  #stopped = false;
  #looksAtAlarm = 0;
  #triedUnacknowledged = false;
  #slipped = false;
  #acknowledging = false;
  #acknowledgements = 0;
  #waitUntilMs = 0;
  #lastRunId: string | null = null;

  constructor(parts: PersonParts) {
    this.#parts = parts;
    this.#random = createRandomStream(parts.scenario.seed, 'hands');
    const tell = this.#tell.bind(this);
    const { besides } = parts.scenario;
    this.#changing = new ChangingHands({
      ...parts,
      wanted: besides.changes,
      tell,
      press: (command, told) => this.#pressSoon(command, told),
      pressed: parts.changePressed,
      answered: parts.changeAnswered,
    });
    const stop = this.stop.bind(this);
    this.#probing = new ProbingHands({ ...parts, wanted: besides.probes, tell, stop });
  }

  begin(): void {
    this.#lookIn(lookEveryMs);
  }

  /** Pressing wrongly, as often as there is something to press, until the answer is called. */
  misbehave(how: Misbehaviour): () => void {
    this.#doing.add(how);
    return () => this.#doing.delete(how);
  }

  /** Stop, now, whatever there is. */
  stop(): void {
    this.#parts.note('person', 'stop');
    this.#tell({ kind: 'stop', tankId: 'one', by: 'the person' }, (answer) => {
      if (!answer.ok) this.#parts.violated(`Stop was refused: ${answer.reason}`);
    });
  }

  /** Lifts, now, where there is something to lift, and puts back after so long. */
  liftFor(durationMs: number): void {
    const tank = this.#parts.control()?.tank ?? null;
    if (tank === null || this.#busy || tank.run?.state.output !== 'on') return;
    this.#lifted = true;
    this.#liftForMs = durationMs;
    this.#press('lift', tank);
  }

  #lookIn(delayMs: number): void {
    this.#parts.host.after(delayMs, () => {
      const powered = this.#look();
      this.#lookIn(powered ? calmLookMs : lookEveryMs);
    });
  }

  /** One look at the page; true while a run goes on by itself. */
  #look(): boolean {
    const { host, control } = this.#parts;
    const tank = control()?.tank ?? null;
    if (tank === null || this.#busy || host.nowMs < this.#waitUntilMs || this.done) return false;
    const run = tank.run;
    if (run === null || isFinal(run.state.lifecycle)) {
      this.#between(tank);
      return false;
    }
    const { lifecycle } = run.state;
    if (run.record.kind === 'probe') {
      this.#probing.watch(run.state);
      return false;
    }
    if (lifecycle === 'armed') this.#beforeStart(tank);
    else if (lifecycle === 'lifted') this.#whileLifted(tank);
    else if (isPowered(lifecycle)) this.#whilePowered(tank);
    return isPowered(lifecycle);
  }

  #between(tank: Tank): void {
    if (this.#doing.has('sleeps')) return;
    const { habits } = this.#parts.scenario;
    const stopped = tank.alarms.standing.filter(holdsBack);
    if (stopped.length > 0) {
      if (habits.triesBeforeAcknowledging && !this.#triedUnacknowledged) {
        // For a while, until nothing but the alarm is in the way.
        const free = tank.link.connected && tank.output === 'confirmedOff';
        this.#looksAtAlarm += 1;
        if (!free && this.#looksAtAlarm < mostLooksAtAlarm) return;
        this.#triedUnacknowledged = true;
        this.#armUnacknowledged();
        return;
      }
      this.#acknowledge(stopped[0]?.id ?? 0);
      return;
    }
    this.#triedUnacknowledged = false;
    this.#looksAtAlarm = 0;
    if (this.armed >= habits.runs || this.#refusals > mostRefusals) {
      this.done = true;
      return;
    }
    if (!tank.link.connected || tank.output !== 'confirmedOff') return;
    if (this.armed === 0 && this.#probing.begin(tank, () => this.#pause())) return;
    if (this.#doing.has('unitSlip') && !this.#slipped) {
      this.#slipped = true;
      this.#slip();
      return;
    }
    this.#arm();
  }

  #armUnacknowledged(): void {
    this.#parts.note('person', 'arms without acknowledging');
    const before = this.#acknowledgements;
    this.#tell(this.#armCommand(this.#parts.scenario.request, null), (answer) => {
      if (!answer.ok) return;
      if (this.#acknowledgements === before) {
        this.#parts.violated('I5: a run was armed over an alarm nobody acknowledged.');
      }
      // The answer waited for a disk that hung, and the alarm was acknowledged meanwhile.
      this.armed += 1;
      this.#lastRunId = answer.runId ?? null;
    });
  }

  #acknowledge(alarmId: number): void {
    if (this.#acknowledging) return;
    this.#acknowledging = true;
    this.#acknowledgements += 1;
    this.#pause();
    this.#tell({ kind: 'acknowledge', alarmId, by: 'the person' }, () => {
      this.#acknowledging = false;
    });
  }

  #armCommand(plan: PlanRequest, continues: string | null): Command {
    return {
      kind: 'arm',
      tankId: 'one',
      by: 'the person',
      plan: plan as Extract<Command, { kind: 'arm' }>['plan'],
      checklist: checklistItems.map((item) => item.id),
      continues,
    };
  }

  #arm(): void {
    const { scenario, note } = this.#parts;
    const { habits, request } = scenario;
    const continues = habits.carriesOn ? this.#lastRunId : null;
    const command = this.#armCommand(request, continues);
    const told = (answer: CommandAnswer): void => {
      note('person', `armed: ${answer.ok ? 'taken' : answer.reason}`);
      if (answer.ok) {
        this.armed += 1;
        this.#lastRunId = answer.runId ?? null;
        this.#lifted = false;
        this.#stopped = false;
        return;
      }
      this.#refusals += 1;
      // What cannot be carried on is begun anew.
      this.#lastRunId = null;
      if (answer.code === 'invalid') this.done = true;
      this.#pause();
    };
    if (this.#doing.has('doubleClick')) this.#twice(command, told);
    else if (this.#doing.has('twoBrowsers')) this.#fromTwo(command, told);
    else this.#tell(command, told);
  }

  /** A length in the wrong unit, or no number at all: refused, or planned within every limit. */
  #slip(): void {
    const { request } = this.#parts.scenario;
    const wrong: readonly PlanRequest[] = [
      { ...request, densityAmpsPerDm2: request.densityAmpsPerDm2 * 100 },
      { ...request, densityAmpsPerDm2: Number.NaN },
      { ...request, target: { kind: 'charge', ampHours: Number.POSITIVE_INFINITY } },
      { ...request, target: { kind: 'time', hours: -1 } },
      {
        ...request,
        piece: {
          ...request.piece,
          parts: request.piece.parts.map((part) => ({ ...part, sizes: { areaMm2: 4e7 } })),
        },
      },
    ];
    const plan = wrong[this.#random.whole(wrong.length)] ?? request;
    this.#tell(this.#armCommand(plan, null), (answer) => {
      if (answer.ok) this.#parts.violated('A plan with a slip of the unit was armed.');
    });
  }

  #beforeStart(tank: Tank): void {
    const { habits } = this.#parts.scenario;
    const state = tank.run?.state;
    if (state === undefined || !state.durable || !state.programmed || habits.forgets) return;
    if (habits.disarms) {
      this.#press('disarm', tank);
      return;
    }
    const before = state.version;
    if (this.#doing.has('staleTab')) this.#pressStale('start', tank, before - 1);
    this.#press('start', tank);
  }

  #whileLifted(tank: Tank): void {
    if (this.#changing.begin(tank, true, false)) return;
    const { habits, host } = { ...this.#parts.scenario, ...this.#parts };
    const liftedAtMs = tank.run?.state.liftedAtMs ?? null;
    const forMs = this.#liftForMs ?? habits.lift?.forMs ?? null;
    if (forMs === null || liftedAtMs === null || tank.output !== 'confirmedOff') return;
    if (host.monotonicMs - liftedAtMs < forMs) return;
    this.#liftForMs = null;
    this.#press('put-back', tank);
  }

  #whilePowered(tank: Tank): void {
    const { lift, stopAfterMs } = this.#parts.scenario.habits;
    const state = tank.run?.state;
    if (state === undefined || state.output !== 'on') return;
    if (lift !== null && !this.#lifted && state.poweredMs >= lift.afterMs) {
      this.#lifted = true;
      this.#press('lift', tank);
      return;
    }
    if (this.#changing.begin(tank, false, lift !== null && !this.#lifted)) return;
    if (stopAfterMs !== null && !this.#stopped && state.poweredMs >= stopAfterMs) {
      this.#stopped = true;
      this.stop();
    }
  }

  #onRun(kind: OnRun, tank: Tank, version: number): Command {
    const runId = tank.run?.record.id ?? 'none';
    const command = { tankId: 'one', by: 'the person', runId, version };
    if (kind !== 'start') return { kind, ...command };
    // Whoever presses has read the advice, and stays with the bench.
    return { kind, ...command, acknowledged: [...checkIds], attended: true };
  }

  /** The press comes a moment after the look that led to it. */
  #press(kind: OnRun, tank: Tank): void {
    this.#pressSoon(this.#onRun(kind, tank, tank.run?.state.version ?? 0), (answer) => {
      this.#parts.note('person', `${kind}: ${answer.ok ? 'taken' : answer.reason}`);
    });
  }

  #pressSoon(command: Command, heard: (answer: CommandAnswer) => void): void {
    const { host, scenario } = this.#parts;
    this.#busy = true;
    const reactionMs = scenario.habits.reactionMs * (0.5 + this.#random.uniform());
    host.after(reactionMs, () => {
      this.#busy = false;
      const told = (answer: CommandAnswer): void => {
        heard(answer);
        this.#pause();
      };
      if (this.#doing.has('doubleClick')) this.#twice(command, told);
      else if (this.#doing.has('twoBrowsers')) this.#fromTwo(command, told);
      else this.#tell(command, told);
    });
  }

  #pressStale(kind: OnRun, tank: Tank, version: number): void {
    if (version < 0) return;
    this.#tell(this.#onRun(kind, tank, version), (answer) => {
      if (answer.ok) this.#parts.violated(`A stale ${kind} was taken.`);
    });
  }

  /** The same press sent twice, as a page does that got no answer. */
  #twice(command: Command, told: (answer: CommandAnswer) => void): void {
    this.#key += 1;
    const key = `press-${this.#key}`;
    let first: string | null = null;
    const both = (answer: CommandAnswer): void => {
      const text = JSON.stringify(answer);
      if (first === null) {
        first = text;
        told(answer);
      } else if (first !== text) {
        this.#parts.violated(`One press had two answers: ${first} and ${text}.`);
      }
    };
    this.#tell(command, both, key);
    this.#tell(command, both, key);
  }

  /** Two browsers press at the same moment: one of them is too late. */
  #fromTwo(command: Command, told: (answer: CommandAnswer) => void): void {
    const answers: CommandAnswer[] = [];
    const both = (answer: CommandAnswer): void => {
      answers.push(answer);
      if (answers.length < 2) return;
      const taken = answers.filter((one) => one.ok);
      if (taken.length > 1) this.#parts.violated(`Two browsers both had their ${command.kind}.`);
      const first = taken[0] ?? answers[0];
      if (first !== undefined) told(first);
    };
    this.#tell(command, both);
    this.#tell(command, both);
  }

  #pause(): void {
    const { host, scenario } = this.#parts;
    this.#waitUntilMs = host.nowMs + scenario.habits.reactionMs * (1 + this.#random.uniform());
  }

  #tell(command: Command, told: (answer: CommandAnswer) => void, key?: string): void {
    const { host, control, violated } = this.#parts;
    this.#key += 1;
    const ownKey = key ?? `press-${this.#key}`;
    const id = this.#key;
    const there = control();
    const desk = there?.desk ?? null;
    if (there === null || desk === null) return;
    this.#waitUntilMs = host.nowMs + 300;
    host.deliver(there.process, () => {
      desk.answer({ id, key: ownKey, command }).then(told, (error: unknown) => {
        // The disk may refuse; anything else is a fault of the desk.
        const words = error instanceof Error ? error.message : String(error);
        if (!(error instanceof Error) || error.name !== 'StoreError') {
          violated(`The desk failed over ${command.kind}: ${words}`);
        }
        this.#acknowledging = false;
      });
    });
  }
}
