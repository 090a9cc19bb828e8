/** Answers commands. Each is done once per key, and judged against what is true now, not what a page showed. */

import type { Bath } from '../chemistry/model.ts';
import type { Material } from '../piece/material.ts';
import { demoPlanRequest } from '../run/demo.ts';
import type { StoreWriter } from '../store/door.ts';
import {
  type Command,
  type CommandAnswer,
  type ControlMessage,
  type ControlRequest,
} from '../wire/command.ts';
import { checklistItems } from '../wire/checklist.ts';
import { answerOnAlerts, isOnAlerts, type AlertCommands } from './alert-commands.ts';
import { ArmingDesk } from './arming-desk.ts';
import { changeRun, lookAtChange } from './change-desk.ts';
import type { CheckDesk } from './check-desk.ts';
import { answerOnLedger, isOnLedger } from './ledger-desk.ts';
import { answerOnLibrary, isOnLibrary } from './library-desk.ts';
import type { InterruptedRuns } from './interrupted.ts';
import { takeNote } from './note-desk.ts';
import type { ProbeBook } from './probe-book.ts';
import { ProbeDesk } from './probe-desk.ts';
import { refusal, type Refusal } from './refusal.ts';
import type { BringUpDesk } from './bring-up-desk.ts';
import type { SettingsDesk } from './settings-desk.ts';
import { startRun } from './start-desk.ts';
import type { Tank } from './tank.ts';
import { witness, witnessAccess } from './witness.ts';

type OnTank = Exclude<Extract<Command, { tankId: string }>, { kind: 'ledger-add' }>;
type OnRun = Extract<
  Command,
  { kind: 'disarm' | 'start' | 'lift' | 'put-back' | 'change' | 'turn-every' | 'turned' }
>;

export interface CommandParts {
  readonly tanks: ReadonlyMap<string, Tank>;
  readonly baths: readonly Bath[];
  /** Reads the table that materials are judged by; throws for a file that is none. */
  readonly materials: () => readonly Material[];
  readonly store: StoreWriter;
  readonly checks: CheckDesk;
  readonly book: ProbeBook;
  readonly interrupted: InterruptedRuns;
  readonly alerts: AlertCommands;
  readonly settings: SettingsDesk;
  /** Tells every page. */
  readonly publish: (message: ControlMessage) => void;
  readonly bringUp: BringUpDesk;
  readonly listPorts: () => Promise<
    readonly { path: string; stablePath: string | null; description: string }[]
  >;
}

/**
 * Looking changes nothing, and OFF is done as often as it is asked for. A part of a picture twice is
 * the same part; the many of them would push other answers out.
 */
const unremembered: ReadonlySet<Command['kind']> = new Set([
  'snapshot',
  'ports',
  'checks',
  'look-change',
  'alert-readiness',
  'access-note',
  'settings-note',
  'bring-up-try',
  'bring-up-set',
  'alert-channels',
  'stop',
  'picture-part',
]);

/** What leads to an output that is on; not begun while the bench is about to start anew. */
const switchesOn: ReadonlySet<Command['kind']> = new Set([
  'arm',
  'start',
  'probe',
  'put-back',
  'demo',
]);

/** What begins a run; one that is on already goes on over its own line. */
const begins: ReadonlySet<Command['kind']> = new Set(['arm', 'start', 'probe', 'demo']);

/** Answers are remembered by key for repeats of the same press; the oldest go first. */
const rememberedAnswers = 500;

export class CommandDesk {
  readonly #parts: CommandParts;
  readonly #arming: ArmingDesk;
  readonly #probes: ProbeDesk;
  readonly #answers = new Map<string, Promise<CommandAnswer>>();

  constructor(parts: CommandParts) {
    this.#parts = parts;
    this.#arming = new ArmingDesk(parts);
    this.#probes = new ProbeDesk(parts);
  }

  answer(request: ControlRequest): Promise<CommandAnswer> {
    const { command, key } = request;
    if (unremembered.has(command.kind)) return this.#do(command);
    const known = this.#answers.get(key);
    if (known !== undefined) return known;
    const answer = this.#do(command);
    this.#answers.set(key, answer);
    const oldest = this.#answers.keys().next();
    if (this.#answers.size > rememberedAnswers && oldest.done !== true) {
      this.#answers.delete(oldest.value);
    }
    return answer;
  }

  async #do(command: Command): Promise<CommandAnswer> {
    if (isOnLibrary(command)) {
      return answerOnLibrary(this.#parts.store.library, command, Date.now());
    }
    if (isOnLedger(command)) {
      const { store, tanks } = this.#parts;
      return answerOnLedger(store.ledger, tanks, command, Date.now());
    }
    if (isOnAlerts(command)) return answerOnAlerts(this.#parts.alerts, command);
    switch (command.kind) {
      case 'snapshot':
        return {
          ok: true,
          tanks: [...this.#parts.tanks.values()].map((tank) => tank.snapshot()),
          interrupted: [...this.#parts.interrupted.waiting],
        };
      case 'ports':
        return { ok: true, ports: [...(await this.#parts.listPorts())] };
      case 'access-note':
        witnessAccess(this.#parts.tanks.values(), command.note);
        return { ok: true };
      case 'bring-up-try':
      case 'bring-up-set':
        return this.#parts.bringUp.answer(command);
      case 'settings-note':
        return this.#parts.settings.note(command.note);
      case 'take-settings':
        return this.#parts.settings.take(command.by);
      case 'acknowledge':
        return this.#acknowledge(command.alarmId, command.by);
      case 'run-note':
        return takeNote(this.#parts, command);
      case 'end-interrupted':
        return this.#parts.interrupted.end(command);
      default:
        return this.#onTank(command);
    }
  }

  async #onTank(command: OnTank): Promise<CommandAnswer> {
    const tank = this.#parts.tanks.get(command.tankId);
    if (tank === undefined) {
      const known = [...this.#parts.tanks.keys()].join(', ');
      return refusal('notFound', `There is no tank "${command.tankId}". Known tanks: ${known}.`);
    }
    if (this.#parts.settings.leaving && switchesOn.has(command.kind)) {
      return refusal(
        'unavailable',
        'Nightbath is starting anew on changed settings. Try again soon.',
      );
    }
    const waits = begins.has(command.kind) ? this.#parts.settings.whyLineWaits(tank) : null;
    const answer = waits ?? (await this.#doOnTank(tank, command));
    witness(tank, command, answer);
    return answer;
  }

  async #doOnTank(tank: Tank, command: OnTank): Promise<CommandAnswer> {
    switch (command.kind) {
      case 'stop': {
        const { run } = tank;
        if (command.runId !== undefined && run !== null && run.record.id !== command.runId) {
          return refusal('stale', 'Another run is on the tank by now. It was left as it is.');
        }
        const offConfirmed = await tank.stop(command.by);
        return { ok: true, offConfirmed };
      }
      case 'arm':
        return this.#arming.arm(tank, command);
      case 'demo':
        return this.#demo(tank);
      case 'probe':
        return this.#probes.start(tank, command);
      case 'look-change':
        return lookAtChange(tank, command);
      case 'checks':
        return { ok: true, checks: await this.#parts.checks.answer(tank) };
      default:
        return this.#onRun(tank, command);
    }
  }

  async #onRun(tank: Tank, command: OnRun): Promise<CommandAnswer> {
    const moved = movedOn(tank, command);
    if (moved !== null) return moved;
    const refused = await this.#asked(tank, command);
    if (refused !== null) return refused;
    const version = tank.run?.state.version ?? command.version;
    return { ok: true, runId: command.runId, version };
  }

  async #asked(tank: Tank, command: OnRun): Promise<Refusal | null> {
    const moved = (): Refusal | null => movedOn(tank, command);
    switch (command.kind) {
      case 'start':
        return startRun(tank, command, this.#parts.checks, moved);
      case 'change':
        return changeRun(tank, command, moved);
      case 'turn-every':
      case 'turned': {
        const { tankId: _, runId: __, version: ___, ...input } = command;
        return refusedBy(tank.feed({ ...input, atMs: tank.clock.nowMs() }));
      }
      case 'disarm':
      case 'lift':
      case 'put-back':
        return fedTo(tank, command.kind);
    }
  }

  async #demo(tank: Tank): Promise<CommandAnswer> {
    if (!tank.simulated) {
      return refusal('refused', 'The demo night runs on a simulated tank only.');
    }
    const request = demoPlanRequest(tank.id, tank.bath.id);
    const checklist = checklistItems.map((item) => item.id);
    const adopted = await this.#parts.store.ledger.adopted();
    return this.#arming.armPlan(tank, request, { checklist, carried: null, adopted }, () => {
      void this.#startDemo(tank);
    });
  }

  /**
   * The demo is judged like any other start, and let go where a check stands in its way. What a person
   * sets on it meanwhile, as a reminder to turn, is no reason to leave it: it is started as it then is.
   */
  async #startDemo(tank: Tank): Promise<void> {
    const runId = tank.run?.record.id;
    while (runId !== undefined && tank.run?.record.id === runId) {
      const { version, lifecycle } = tank.run.state;
      if (lifecycle !== 'armed') return;
      const command = { kind: 'start', tankId: tank.id, by: 'the demo', runId, version } as const;
      const answer = await this.#onRun(tank, command);
      if (answer.ok) return;
      if (movedOn(tank, command) === null) {
        fedTo(tank, 'disarm');
        return;
      }
    }
  }

  /** Two people may press at once: the second finds it taken on, which is no error and changes nothing. */
  #acknowledge(alarmId: number, by: string): CommandAnswer {
    const tanks = [...this.#parts.tanks.values()];
    const tank = tanks.find((one) => one.alarms.find(alarmId) !== null);
    const shown = tank?.alarms.find(alarmId) ?? null;
    if (tank === undefined || shown === null) {
      if (tanks.some(({ alarms }) => alarms.isTakenOn(alarmId))) return { ok: true };
      return refusal('notFound', 'There is no such alarm, or it was acknowledged a while ago.');
    }
    tank.journal.acknowledge(tank.run, shown, by);
    return { ok: true };
  }
}

/**
 * What a command saw is compared with what is true now; null where it is the same. To a turn of the
 * piece only the turns are what counts: the run may have gone on to its next stage under the hand.
 */
function movedOn({ run }: Tank, { kind, runId, version }: OnRun): Refusal | null {
  if (run === null || run.record.id !== runId) {
    return refusal('stale', 'This run is not on the tank any more. Look again.');
  }
  const { state } = run;
  const ofTurns = kind === 'turned' || kind === 'turn-every';
  const since = ofTurns ? state.turningVersion : state.version;
  if (version < since || version > state.version) {
    return refusal('stale', 'The run has moved on since this was shown. Look again.');
  }
  return null;
}

function fedTo(tank: Tank, kind: 'disarm' | 'lift' | 'put-back'): Refusal | null {
  return refusedBy(tank.feed({ kind, atMs: tank.clock.nowMs() }));
}

function refusedBy(reason: string | null): Refusal | null {
  return reason === null ? null : refusal('refused', reason);
}
