/** One tank: its loop, its supply, its run. Everything that happens is an input to the run machine. */

import { RectifierError, type OffReport, type RectifierReading } from '../../drivers/contract.ts';
import type { Bath } from '../chemistry/model.ts';
import type { OutputBelief, RunEffect, RunInput, TankFacts } from '../run/model.ts';
import { step } from '../run/machine.ts';
import { isFinal, isPowered, plannedRun } from '../run/state.ts';
import type { TankSettings } from '../settings/model.ts';
import type { TankSnapshot } from '../wire/bench.ts';
import type { RunRecord } from '../wire/run.ts';
import { AlarmBoard } from './alarm-board.ts';
import { AlarmClearing } from './alarm-clearing.ts';
import { ActionQueue, performAction } from './actions.ts';
import { SleepWatch, type TankClock } from './clock.ts';
import { tankFacts } from './facts.ts';
import { Journal } from './journal.ts';
import { lastOff } from './last-off.ts';
import { OffDebt, type OwedRun } from './off-debt.ts';
import { OffDesk } from './off-desk.ts';
import { OutputView } from './output-view.ts';
import { Pace } from './pace.ts';
import { changesRow } from './run-row.ts';
import { SensorDesk } from './sensor-desk.ts';
import { guardRun, secure } from './securing.ts';
import { SecondLook } from './second-look.ts';
import { StrayOutput } from './stray-output.ts';
import { SupplyLink } from './supply-link.ts';
import { activeRun, holdsOutput, noteStart, snapshotOf, type ActiveRun } from './snapshot.ts';
import { computerSlept, storeFailed, supplyRestarted } from './tank-faults.ts';
import type { TankNeeds } from './tank-needs.ts';
import { timingFor } from './timing.ts';

/** Pictures of the tank are sent at most this often. */
const publishEveryMs = 100;

export class Tank {
  readonly id: string;
  readonly settings: TankSettings;
  readonly bath: Bath;
  readonly clock: TankClock;
  readonly link: SupplyLink;
  readonly journal: Journal;
  readonly sensors: SensorDesk;
  run: ActiveRun | null = null;
  readonly alarms = new AlarmBoard(() => this.publish());
  /** Called once per run, when it is over and its output has been read back as off. */
  onSettled: (run: ActiveRun) => void = () => undefined;
  lastReading: { reading: RectifierReading; wallMs: number } | null = null;

  /** Hands the sentinel the bounds of a run; rejects with the reason where it cannot guard it. */
  readonly guard: (record: RunRecord) => Promise<unknown>;

  readonly #parts: TankNeeds;
  readonly #actions = new ActionQueue();
  readonly #sleep = new SleepWatch();
  readonly #view: OutputView;
  readonly #pace: Pace;
  readonly #off: OffDesk;
  readonly #debt: OffDebt;
  readonly #stray: StrayOutput;
  readonly #look: SecondLook;
  readonly #clearing: AlarmClearing;
  #closing = false;
  #loop: Promise<void> | null = null;
  #publishedMs = -Infinity;

  constructor(parts: TankNeeds) {
    this.#parts = parts;
    this.guard = (record) => guardRun(record, parts);
    this.settings = parts.settings;
    this.id = parts.settings.id;
    this.bath = parts.bath;
    this.clock = parts.clock;
    this.#pace = new Pace(parts.clock, () => this.cycleMs);
    this.link = new SupplyLink(parts.rectifier, parts.clock, parts.settings);
    this.journal = new Journal(parts, this.alarms);
    this.sensors = new SensorDesk(parts.settings.sensors ?? [], parts.openSensor);
    this.#off = new OffDesk(parts.rectifier, parts.clock, this.#onOff.bind(this));
    this.#debt = new OffDebt(parts.clock, () => this.#switchOff(), this.journal);
    this.#stray = new StrayOutput(parts.clock, this.journal);
    this.#view = new OutputView(parts.clock, parts.rectifier.capabilities.offAmps);
    this.#look = new SecondLook(this.link, this.#view, this.#stray, parts.clock);
    this.#clearing = new AlarmClearing(this, () => parts.store.failing);
    parts.store.onFailure((reason) => storeFailed(this, reason));
  }

  get facts(): TankFacts {
    return tankFacts(this.settings, this.#parts.rectifier);
  }

  get simulated(): boolean {
    return this.#parts.rectifier.simulated;
  }

  /** What is known of the output: the run's word while there is one that is not done, else our own. */
  get output(): OutputBelief {
    if (this.#runHoldsOutput()) return this.run?.state.output ?? 'unknown';
    // After an OFF that failed, only an OFF that is confirmed is believed.
    return this.#debt.owed ? 'unknown' : this.#view.idle;
  }

  get capabilities() {
    return this.#parts.rectifier.capabilities;
  }

  get cycleMs(): number {
    return Math.max(this.#askedCycleMs, this.capabilities.minimumCycleMs);
  }

  get #askedCycleMs(): number {
    return 1000 / this.settings.pollHz;
  }

  start(): void {
    this.#loop ??= this.#turn();
  }

  /** A new run, planned and refused or accepted by the caller; from here the machine has the word. */
  adopt(record: RunRecord, onReady: ActiveRun['onReady']): string | null {
    if (this.#closing) return 'Nightbath is being shut down.';
    const carried = { ...record, ampHours: record.carriedAmpHours };
    const timing = timingFor(this.cycleMs, this.#askedCycleMs);
    const state = plannedRun(record.plan, timing, carried);
    const before = this.run;
    this.run = activeRun(record, state, onReady);
    // A short check looks at what hangs there already.
    if (record.kind === 'run') this.#parts.hang(record.plan);
    const refused = this.feed({ kind: 'arm', atMs: this.clock.nowMs() });
    if (refused !== null) this.run = before;
    return refused;
  }

  /** Gives an input to the run machine and does what it asks. Returns why it was refused, or null. */
  feed(input: RunInput): string | null {
    // What the computer slept through comes before whatever was waiting for it to wake.
    if (input.kind !== 'clock-gap') this.#noticeSleep();
    if (this.run === null) return 'There is no run on this tank.';
    return this.#obey(this.run, input.kind, step(this.run.state, input));
  }

  /** What the machine answered to an input becomes so. */
  #obey(run: ActiveRun, asked: RunInput['kind'], outcome: ReturnType<typeof step>): string | null {
    const before = run.state;
    run.state = outcome.state;
    for (const effect of outcome.effects) this.#perform(effect, asked);
    if (before.lifecycle !== run.state.lifecycle) this.#onLifecycle(run);
    else if (changesRow(before, run.state)) {
      this.journal.update(run);
      this.#settle(run);
    }
    this.#view.show(this.output);
    return outcome.refused;
  }

  /** Once per run: any OFF that is confirmed later says nothing new about it. */
  #settle(run: ActiveRun): void {
    if (run.settled || holdsOutput(run)) return;
    run.settled = true;
    this.onSettled(run);
  }

  /** Off, now, whatever else is going on. Resolves with whether the supply confirmed it. */
  async stop(by: string): Promise<boolean> {
    this.feed({ kind: 'stop', atMs: this.clock.nowMs(), by });
    // Without a run the machine has no say; a request that is in flight already is joined.
    return this.#switchOff();
  }

  /**
   * The end of the process: a run is interrupted, the output goes off and is read back. A tank that
   * we never switched on and cannot reach is not ours to confirm.
   */
  async close(reason: string): Promise<boolean> {
    this.#closing = true;
    const ours =
      this.#runHoldsOutput() || this.output === 'on' || this.#off.inFlight || this.#debt.owed;
    this.feed({ kind: 'interrupt', atMs: this.clock.nowMs(), reason });
    if (!ours || this.output === 'confirmedOff') return true;
    return await lastOff(this, () => this.#switchOff());
  }

  /** After `close`: the loop's last turn, the last writes, the line. Nothing here changes the verdict. */
  async release(): Promise<void> {
    await this.#loop;
    await this.journal.settled();
    await Promise.all([this.#parts.rectifier.close(), this.sensors.close()]);
  }

  /** Sounds the supply's beeper; rejects where it has none or cannot be reached. */
  beep(): Promise<void> {
    if (this.link.connected && !this.#off.inFlight) return this.#parts.rectifier.beep();
    return Promise.reject(new Error(`${this.settings.name}: the supply cannot be asked just now.`));
  }

  /** The last process left this tank without a confirmed OFF: it is owed before anything else. */
  owesOff(runs: readonly OwedRun[]): void {
    this.#debt.owe(runs);
  }

  /** An OFF, of a run that has ended or of none, is not read back yet. */
  get awaitsOff(): boolean {
    return this.#debt.owed || this.#runHoldsOutput();
  }

  snapshot(): TankSnapshot {
    return snapshotOf(this, this.#view.sinceWallMs);
  }

  publish(): void {
    this.#publishedMs = performance.now();
    this.#parts.publish({ type: 'tank', tank: this.snapshot() });
  }

  async #turn(): Promise<void> {
    while (!this.#closing) {
      await this.#tick();
      this.sensors.judge(this);
      this.#clearing.look();
      this.#parts.judged(this.id);
      if (performance.now() - this.#publishedMs >= publishEveryMs) this.publish();
      await this.#pace.rest();
    }
  }

  async #tick(): Promise<void> {
    this.journal.retry();
    this.#noticeSleep();
    if (await this.#pace.done(() => this.#work())) return;
    this.#missing(this.link.waitingFor);
  }

  #noticeSleep(): void {
    const gapMs = this.clock.virtual ? 0 : this.#sleep.sleptMs();
    if (gapMs > 0) computerSlept(this, gapMs);
  }

  /** One piece of work on the supply: connect, an action that the run asked for, or a reading. */
  async #work(): Promise<void> {
    try {
      if (this.#debt.owed) await this.#debt.settle();
      if (!this.link.connected) {
        const report = await this.link.connect();
        this.#believe(report.outputOn, report.amps);
        if (report.restarted) supplyRestarted(this);
        this.publish();
        return;
      }
      const action = this.#actions.next();
      if (action !== null) {
        const outcome = await performAction(action, this.link, this.run, this.clock);
        if (outcome !== null) this.feed(outcome);
        // A reading right after a change would only show it settling; the next tick takes one.
        return;
      }
      this.#onReading(await this.#look.read(this.run?.state ?? null));
    } catch (error) {
      this.link.note(error);
      if (error instanceof RectifierError && error.kind === 'wrongDevice') {
        const found = error.message;
        this.feed({ kind: 'fault', atMs: this.clock.nowMs(), code: 'wrongDevice', found });
      }
      this.#missing(error instanceof Error ? error.message : String(error));
    }
  }

  #onReading(reading: RectifierReading): void {
    this.#noticeSleep();
    this.lastReading = { reading, wallMs: this.clock.wallMs() };
    const live = this.#believe(reading.outputOn, reading.amps);
    const run = this.run;
    if (run === null) {
      if (this.#debt.owed) return;
      this.#stray.judge(live, reading);
      if (live && this.#debt.wasOwed) this.#debt.owe();
      return;
    }
    const { judged, outcome } = this.#look.answer(run.state, reading, live);
    this.#obey(run, 'reading', outcome);
    this.journal.record(run, judged);
    if (run.onReady !== null && run.state.durable && run.state.programmed) {
      const { onReady } = run;
      run.onReady = null;
      onReady();
    }
  }

  #missing(reason: string): void {
    this.#debt.look();
    if (!this.link.connected && !this.#off.inFlight) this.#view.idle = 'unknown';
    this.feed({ kind: 'reading-missing', atMs: this.clock.nowMs(), reason });
    this.#view.show(this.output);
  }

  #believe(outputOn: boolean | null, amps: number): boolean {
    const live = this.#view.believe(outputOn, amps);
    this.#view.show(this.output);
    return live;
  }

  #perform(effect: RunEffect, asked: RunInput['kind']): void {
    const run = this.run;
    switch (effect.kind) {
      case 'switch-off':
        this.#actions.cancel();
        void this.#switchOff();
        break;
      case 'program':
      case 'switch-on':
        this.#actions.push({ ...effect, epoch: this.#actions.epoch });
        break;
      case 'make-durable':
        if (run !== null) void secure(this, run, this.#parts);
        break;
      case 'event':
        this.journal.tell(run, effect.event, asked);
        break;
      case 'alarm':
        this.journal.alarm(run, effect.fault, effect.priority);
        break;
      case 'end':
        break;
    }
  }

  /** OFF goes out in this turn of the event loop; one is in flight, and a second one joins it. */
  #switchOff(): Promise<boolean> {
    return this.#off.request();
  }

  #onOff({ confirmed, reason, ...found }: OffReport, sentAtMs: number): void {
    const atMs = this.clock.nowMs();
    const amps = found.highestAmps === undefined ? found.amps : found.highestAmps;
    this.#debt.saw(amps);
    if (confirmed) {
      this.#view.idle = 'confirmedOff';
      this.link.heard();
      this.#debt.paid();
      this.feed({ kind: 'off-confirmed', atMs, sentAtMs, amps });
      // An OFF from before may be confirmed while a new run is armed: its guard stays.
      if (!this.#runHoldsOutput()) this.#parts.guardian.release(this.id);
    } else {
      this.#view.idle = 'unknown';
      if (!this.#runHoldsOutput()) this.#debt.owe();
      // At the end of the process whoever ends it asks again.
      this.feed({ kind: 'off-unconfirmed', atMs, amps, reason, again: !this.#closing });
    }
    this.#view.show(this.output);
    this.publish();
  }

  #onLifecycle(run: ActiveRun): void {
    const { state } = run;
    const starts = noteStart(run, this.clock.wallMs());
    // Only current that is wanted is hurried: a person's time is never simulated.
    this.clock.hurry(isPowered(state.lifecycle) ? this.settings.timeScale : 1);
    if (isFinal(state.lifecycle)) run.endedWallMs ??= this.clock.wallMs();
    this.journal.update(run);
    if (starts) this.#parts.onStarted(run);
    this.publish();
  }

  #runHoldsOutput(): boolean {
    return this.run !== null && holdsOutput(this.run);
  }
}
