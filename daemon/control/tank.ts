/** One tank: its loop, its supply, its run. Everything that happens is an input to the run machine. */

import { RectifierError, type Rectifier, type RectifierReading } from '../../drivers/contract.ts';
import type { Bath } from '../chemistry/model.ts';
import type {
  FaultCode,
  OutputBelief,
  RunEffect,
  RunEvent,
  RunInput,
  RunReading,
  TankFacts,
} from '../run/model.ts';
import { faultOf } from '../run/faults.ts';
import { step } from '../run/machine.ts';
import { isFinal, isPowered, plannedRun, type RunTiming } from '../run/state.ts';
import { thicknessNow } from '../run/forecast.ts';
import type { TankSettings } from '../settings/model.ts';
import type { StoreWriter } from '../store/door.ts';
import type { ControlMessage } from '../wire/command.ts';
import type { TankSnapshot } from '../wire/bench.ts';
import type { Alarm, RunRecord } from '../wire/run.ts';
import { ActionQueue, type Action } from './actions.ts';
import type { TankClock } from './clock.ts';
import { SleepWatch } from './clock.ts';
import { tankFacts } from './facts.ts';
import type { Guardian } from './guardian.ts';
import { Journal } from './journal.ts';
import { SupplyLink } from './supply-link.ts';
import { snapshotOf, type ActiveRun } from './snapshot.ts';

export interface TankParts {
  readonly settings: TankSettings;
  readonly bath: Bath;
  readonly rectifier: Rectifier;
  readonly clock: TankClock;
  readonly store: StoreWriter;
  readonly guardian: Guardian;
  readonly publish: (message: ControlMessage) => void;
  /** Called after each completed tick. */
  readonly judged: (tankId: string) => void;
}

/** A tick waits this long at the most for the supply; then it judges that there is no reading yet. */
const tickPatienceMs = 400;
/** Between two attempts at an OFF that the supply does not confirm. */
const offPauseMs = 300;
/** At the end of the process OFF is tried this often before it is reported as unconfirmed. */
const closeAttempts = 5;
/** Pictures of the tank are sent at most this often. */
const publishEveryMs = 100;
/** A sleep of the computer shorter than this is measuring noise. */
const sleepFloorMs = 2_000;

export class Tank {
  readonly id: string;
  readonly settings: TankSettings;
  readonly bath: Bath;
  readonly clock: TankClock;
  readonly link: SupplyLink;
  readonly journal: Journal;
  run: ActiveRun | null = null;
  alarms: readonly Alarm[] = [];
  lastReading: { reading: RectifierReading; wallMs: number } | null = null;

  readonly #parts: TankParts;
  readonly #actions = new ActionQueue();
  readonly #sleep = new SleepWatch();
  #idleOutput: OutputBelief = 'unknown';
  #outputSinceWallMs: number;
  #shownOutput: OutputBelief = 'unknown';
  #task: Promise<void> | null = null;
  #off: Promise<boolean> | null = null;
  #offFailures = 0;
  #owedSinceMs: number | null = null;
  #debtAlarm = false;
  #closing = false;
  #loop: Promise<void> | null = null;
  #publishedMs = -Infinity;

  constructor(parts: TankParts) {
    this.#parts = parts;
    this.settings = parts.settings;
    this.id = parts.settings.id;
    this.bath = parts.bath;
    this.clock = parts.clock;
    this.link = new SupplyLink(parts.rectifier, parts.clock);
    this.journal = new Journal(parts, (alarm) => this.#onAlarm(alarm));
    this.#outputSinceWallMs = parts.clock.wallMs();
    parts.store.onFailure((reason) => {
      this.feed({ kind: 'fault', atMs: this.clock.nowMs(), code: 'databaseLost', found: reason });
    });
  }

  get facts(): TankFacts {
    return tankFacts(this.settings, this.#parts.rectifier);
  }

  get simulated(): boolean {
    return this.#parts.rectifier.simulated;
  }

  /** What is known of the output: the run's word while there is one that is not done, else our own. */
  get output(): OutputBelief {
    return this.#runHoldsOutput() ? (this.run?.state.output ?? 'unknown') : this.#idleOutput;
  }

  get cycleMs(): number {
    const wanted = 1000 / this.settings.pollHz;
    return Math.max(wanted, this.#parts.rectifier.capabilities.minimumCycleMs);
  }

  /** Budgets grow with a slow dialect's cycle; they are part of the plan that is shown at arming. */
  get timing(): RunTiming {
    return {
      cycleMs: this.cycleMs,
      followEveryMs: Math.max(1_000, 4 * this.cycleMs),
      gapBoundMs: Math.max(1_500, 6 * this.cycleMs),
      armedForMs: 15 * 60_000,
      liftReminderMs: 30 * 60_000,
      liftedForMs: 12 * 3_600_000,
      onWithinMs: Math.max(4_000, 8 * this.cycleMs),
      offAlarmMs: 3_000,
    };
  }

  get maxSilenceMs(): number {
    return Math.max(2_000, 5 * this.cycleMs);
  }

  start(): void {
    this.#loop ??= this.#turn();
  }

  /** A new run, planned and refused or accepted by the caller; from here the machine has the word. */
  adopt(record: RunRecord, autoStart: boolean): string | null {
    const state = plannedRun(record.plan, this.timing, record.carriedAmpHours);
    const before = this.run;
    this.run = {
      record,
      state,
      startedAtMs: null,
      startedWallMs: null,
      thicknessMicrometres: record.thicknessMicrometres,
      autoStart,
    };
    const refused = this.feed({ kind: 'arm', atMs: this.clock.nowMs() });
    if (refused !== null) this.run = before;
    return refused;
  }

  /** Gives an input to the run machine and does what it asks. Returns why it was refused, or null. */
  feed(input: RunInput): string | null {
    const run = this.run;
    if (run === null) return 'There is no run on this tank.';
    const before = run.state;
    const outcome = step(before, input);
    run.state = outcome.state;
    for (const effect of outcome.effects) this.#perform(effect);
    if (before.lifecycle !== run.state.lifecycle) this.#onLifecycle(run);
    this.#showOutput();
    return outcome.refused;
  }

  /** Off, now, whatever else is going on. Resolves with whether the supply confirmed it. */
  async stop(by: string): Promise<boolean> {
    const refused = this.feed({ kind: 'stop', atMs: this.clock.nowMs(), by });
    if (refused !== null || this.#off === null) this.#switchOff();
    return (await this.#off) ?? false;
  }

  /**
   * The end of the process: a run is interrupted, the output goes off and is read back. A tank that
   * we never switched on and cannot reach is not ours to confirm.
   */
  async close(reason: string): Promise<boolean> {
    this.#closing = true;
    const ours = this.#runHoldsOutput() || this.output === 'on' || this.#off !== null;
    this.feed({ kind: 'interrupt', atMs: this.clock.nowMs(), reason });
    let confirmed = this.output === 'confirmedOff';
    for (let attempt = 0; ours && !confirmed && attempt < closeAttempts; attempt += 1) {
      confirmed = await this.#switchOff();
    }
    await this.#loop;
    await this.journal.settled();
    await this.#parts.rectifier.close();
    return confirmed || !ours;
  }

  /** The last process left a run open on this tank: OFF is owed before anything else. */
  owesOff(): void {
    this.#owedSinceMs = this.clock.nowMs();
  }

  snapshot(): TankSnapshot {
    return snapshotOf(this, this.#outputSinceWallMs);
  }

  publish(): void {
    this.#publishedMs = performance.now();
    this.#parts.publish({ type: 'tank', tank: this.snapshot() });
  }

  async #turn(): Promise<void> {
    while (!this.#closing) {
      const startedMs = this.clock.nowMs();
      await this.#tick();
      this.#parts.judged(this.id);
      if (performance.now() - this.#publishedMs >= publishEveryMs) this.publish();
      const left = this.cycleMs - (this.clock.nowMs() - startedMs);
      await this.clock.sleep(Math.max(1, left));
    }
  }

  async #tick(): Promise<void> {
    const sleptMs = this.clock.virtual ? 0 : this.#sleep.sleptMs();
    if (sleptMs > sleepFloorMs) {
      this.feed({ kind: 'clock-gap', atMs: this.clock.nowMs(), gapMs: sleptMs });
    }
    this.#task ??= this.#work().finally(() => (this.#task = null));
    if (this.clock.virtual) return this.#task;
    const late = Symbol('late');
    const first = await Promise.race([
      this.#task,
      this.clock.sleep(Math.max(tickPatienceMs, 2 * this.cycleMs)).then(() => late),
    ]);
    if (first === late) this.#missing(this.link.waitingFor);
  }

  /** One piece of work on the supply: connect, an action that the run asked for, or a reading. */
  async #work(): Promise<void> {
    try {
      if (this.#owedSinceMs !== null) await this.#settleDebt(this.#owedSinceMs);
      if (!this.link.connected) {
        const report = await this.link.connect();
        this.#onConnected(report.outputOn, report.amps);
        return;
      }
      const action = this.#actions.next();
      if (action !== null) await this.#act(action);
      const reading = await this.link.read();
      this.#onReading(reading);
    } catch (error) {
      this.link.note(error);
      if (error instanceof RectifierError && error.kind === 'wrongDevice') {
        const found = error.message;
        this.feed({ kind: 'fault', atMs: this.clock.nowMs(), code: 'wrongDevice', found });
      }
      this.#missing(error instanceof Error ? error.message : String(error));
    }
  }

  async #settleDebt(sinceMs: number): Promise<void> {
    if (await this.#switchOff()) {
      this.#owedSinceMs = null;
      this.#debtAlarm = false;
      const message = 'Output off after the restart, read back from the supply.';
      this.#event({ atMs: this.clock.nowMs(), code: 'offConfirmed', message });
      return;
    }
    const nowMs = this.clock.nowMs();
    if (this.#debtAlarm || nowMs - sinceMs < this.timing.offAlarmMs) return;
    this.#debtAlarm = true;
    const fault = faultOf(
      'offUnconfirmed',
      nowMs,
      'After the restart the supply does not confirm OFF.',
    );
    this.journal.alarm(null, fault, 'stopped');
  }

  #onConnected(outputOn: boolean | null, amps: number): void {
    this.#believe(outputOn, amps);
    this.publish();
  }

  #onReading(reading: RectifierReading): void {
    const atMs = this.clock.nowMs();
    this.lastReading = { reading, wallMs: this.clock.wallMs() };
    this.#believe(reading.outputOn, reading.amps);
    const run = this.run;
    if (run === null) return;
    const judged: RunReading = { ...reading, atMs };
    this.feed({ kind: 'reading', atMs, reading: judged });
    this.#record(run, judged);
    if (run.autoStart && run.state.durable && run.state.programmed) {
      run.autoStart = false;
      this.feed({ kind: 'start', atMs });
    }
  }

  #missing(reason: string): void {
    if (!this.link.connected && this.#off === null) this.#idleOutput = 'unknown';
    this.feed({ kind: 'reading-missing', atMs: this.clock.nowMs(), reason });
    this.#showOutput();
  }

  /** Without a run, the supply's own word is all there is. */
  #believe(outputOn: boolean | null, amps: number): void {
    const quiet = Math.abs(amps) <= 10 * this.#parts.rectifier.range.stepAmps + 0.005;
    if (outputOn === null) this.#idleOutput = quiet ? 'confirmedOff' : 'on';
    else this.#idleOutput = outputOn ? 'on' : 'confirmedOff';
    this.#showOutput();
  }

  #record(run: ActiveRun, reading: RunReading): void {
    const { state, record, startedAtMs } = run;
    if (startedAtMs === null || (isFinal(state.lifecycle) && state.output === 'confirmedOff'))
      return;
    const { ampHours, lowAmpHours, highAmpHours } = state.charge;
    const thickness = thicknessNow(state.plan, ampHours, lowAmpHours, highAmpHours).value;
    run.thicknessMicrometres = thickness;
    this.journal.reading(record.id, {
      atMs: reading.atMs - startedAtMs,
      wallMs: this.clock.wallMs(),
      volts: reading.volts,
      amps: reading.amps,
      setAmps: state.confirmedAmps,
      ampHours,
      thicknessMicrometres: thickness,
      lifecycle: state.lifecycle,
    });
    this.journal.progress(run);
  }

  #perform(effect: RunEffect): void {
    const run = this.run;
    switch (effect.kind) {
      case 'switch-off':
        this.#actions.cancel();
        void this.#switchOff();
        break;
      case 'program':
        this.#actions.push({ ...effect, epoch: this.#actions.epoch });
        break;
      case 'switch-on':
        this.#actions.push({ kind: 'switch-on', epoch: this.#actions.epoch });
        break;
      case 'make-durable':
        if (run !== null) void this.#makeDurable(run);
        break;
      case 'event':
        this.#event(effect.event);
        break;
      case 'alarm':
        this.journal.alarm(run, effect.fault, effect.priority);
        break;
      case 'end':
        break;
    }
  }

  #event(event: RunEvent): void {
    this.journal.event(this.run, event);
  }

  /** The run's row is on disk and the sentinel holds the way to OFF before anything can be started. */
  async #makeDurable(run: ActiveRun): Promise<void> {
    try {
      await this.#parts.store.createRun(run.record);
    } catch (error) {
      this.#fault(run, 'databaseLost', error);
      return;
    }
    try {
      await this.#parts.guardian.guard(this.id, this.#parts.rectifier.offScript);
    } catch (error) {
      this.#fault(run, 'sentinelLost', error);
      return;
    }
    if (this.run === run) this.feed({ kind: 'made-durable', atMs: this.clock.nowMs() });
  }

  #fault(run: ActiveRun, code: FaultCode, error: unknown): void {
    const found = error instanceof Error ? error.message : String(error);
    if (this.run === run) this.feed({ kind: 'fault', atMs: this.clock.nowMs(), code, found });
  }

  async #act(action: Action): Promise<void> {
    if (action.kind === 'switch-on') {
      await this.#switchOn();
      return;
    }
    const { amps, volts, withProtection } = action;
    const limits = this.run?.state.plan.limits;
    try {
      const set = await this.link.program({
        amps,
        volts,
        ...(withProtection && limits?.overVoltageVolts != null
          ? { overVoltageVolts: limits.overVoltageVolts }
          : {}),
        ...(withProtection && limits?.overCurrentAmps != null
          ? { overCurrentAmps: limits.overCurrentAmps }
          : {}),
      });
      const atMs = this.clock.nowMs();
      this.feed({ kind: 'programmed', atMs, amps: set.amps ?? amps, volts: set.volts ?? volts });
    } catch (error) {
      this.#failed(error, 'program-failed');
    }
  }

  async #switchOn(): Promise<void> {
    try {
      await this.link.on();
      this.feed({ kind: 'on-confirmed', atMs: this.clock.nowMs() });
    } catch (error) {
      this.#failed(error, 'on-failed');
    }
  }

  /** An OFF that overtook the action is no failure of the action: it has been answered already. */
  #failed(error: unknown, kind: 'program-failed' | 'on-failed'): void {
    this.link.note(error);
    if (error instanceof RectifierError && error.kind === 'preempted') return;
    const reason = error instanceof Error ? error.message : String(error);
    this.feed({ kind, atMs: this.clock.nowMs(), reason });
  }

  /** OFF goes out in this turn of the event loop; only one is in flight, and a second one joins it. */
  #switchOff(): Promise<boolean> {
    this.#off ??= this.#runOff();
    return this.#off;
  }

  async #runOff(): Promise<boolean> {
    const pauseMs = this.#offFailures > 0 ? offPauseMs : 0;
    if (pauseMs > 0) await this.clock.sleep(pauseMs);
    const report = await this.#parts.rectifier.off();
    this.#off = null;
    const atMs = this.clock.nowMs();
    if (report.confirmed) {
      this.#offFailures = 0;
      this.#idleOutput = 'confirmedOff';
      this.link.heard();
      this.feed({ kind: 'off-confirmed', atMs });
      this.#parts.guardian.release(this.id);
    } else {
      this.#offFailures += 1;
      this.#idleOutput = 'unknown';
      if (!this.#closing) this.feed({ kind: 'off-unconfirmed', atMs, reason: report.reason });
    }
    this.#showOutput();
    this.publish();
    return report.confirmed;
  }

  #onLifecycle(run: ActiveRun): void {
    const { state } = run;
    if (state.startedAtMs !== null && run.startedAtMs === null) {
      run.startedAtMs = state.startedAtMs;
      run.startedWallMs = this.clock.wallMs();
    }
    // Only current that is wanted is hurried: a person's time is never simulated.
    this.clock.hurry(isPowered(state.lifecycle) ? this.settings.timeScale : 1);
    this.journal.lifecycle(run);
    this.publish();
  }

  #onAlarm(alarm: Alarm): void {
    this.alarms = [...this.alarms.filter((one) => one.id !== alarm.id), alarm].filter(
      (one) => one.acknowledgedWallMs === null,
    );
    this.publish();
  }

  acknowledged(alarm: Alarm): void {
    this.#onAlarm(alarm);
    this.#parts.publish({ type: 'alarm', alarm });
  }

  #runHoldsOutput(): boolean {
    const state = this.run?.state;
    if (state === undefined || state.lifecycle === 'planned') return false;
    return !(isFinal(state.lifecycle) && state.output === 'confirmedOff');
  }

  #showOutput(): void {
    const output = this.output;
    if (output === this.#shownOutput) return;
    this.#shownOutput = output;
    this.#outputSinceWallMs = this.clock.wallMs();
  }
}
