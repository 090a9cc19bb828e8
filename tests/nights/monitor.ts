/** Watches a night against the truth of the model supply, and says which promise was broken when. */

import { isFinal, isPowered, type RunState } from '../../daemon/run/state.ts';
import { tooCoarseForShort } from '../../daemon/run/watch/short-circuit.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import type { Command, ControlMessage } from '../../daemon/wire/command.ts';
import type { Glance, OutputChange } from '../../drivers/simulated/model.ts';
import type { Act } from './besides.ts';
import type { Control } from './control.ts';
import type { Effect, FaultKind } from './faults/kind.ts';
import { Bath } from './judges/bath.ts';
import { Changed } from './judges/changed.ts';
import { Charge } from './judges/charge.ts';
import { Course } from './judges/course.ts';
import { Evidence, sampleMs, type MonitorParts } from './judges/evidence.ts';
import { judgeHealed } from './judges/healed.ts';
import { OnDisk } from './judges/on-disk.ts';
import { Output } from './judges/output.ts';
import type { Violation } from './judges/record.ts';
import { RunOn } from './judges/run-on.ts';
import { Telling } from './judges/telling.ts';
import { Trips } from './judges/trips.ts';
import type { Fired } from './powered.ts';

/** The one that a night talks to: hands what it is told, and what it sees, to the judges. */
export class Monitor {
  /** Told of each promise that is broken. */
  onViolated: () => void = () => undefined;
  finished = 0;
  /** What happened of what a night contains beside its run and its faults. */
  readonly acts = new Set<Act>();
  offWrittenMs = -Infinity;
  readonly #parts: MonitorParts;
  readonly #evidence: Evidence;
  readonly #course: Course;
  readonly #telling: Telling;
  readonly #trips: Trips;
  readonly #output: Output;
  readonly #runOn: RunOn;
  readonly #charge: Charge;
  readonly #changed: Changed;
  readonly #bath: Bath;
  readonly #disk: OnDisk;
  #watches = 0;
  #lastSampleMs = 0;

  constructor(parts: MonitorParts) {
    this.#parts = parts;
    const evidence = new Evidence(parts, () => this.onViolated());
    const course = new Course(evidence);
    const telling = new Telling(evidence);
    const trips = new Trips(evidence);
    this.#evidence = evidence;
    this.#course = course;
    this.#telling = telling;
    this.#trips = trips;
    this.#output = new Output(evidence, { course, telling, trips });
    this.#runOn = new RunOn(evidence);
    this.#changed = new Changed(evidence);
    this.#bath = new Bath(evidence, telling, (act) => this.acts.add(act));
    this.#charge = new Charge(evidence, this.#changed);
    this.#disk = new OnDisk(evidence);
  }

  /** Looks from now on; begun anew where the end of a sleep is another than it was to be. */
  begin(): void {
    const { host } = this.#parts;
    this.#watches += 1;
    const watch = this.#watches;
    // Nothing is promised while the computer sleeps.
    host.after(Math.max(sampleMs, host.asleepUntilMs - host.nowMs), () => {
      if (watch !== this.#watches) return;
      this.#sample();
      this.begin();
    });
  }

  // The record ---------------------------------------------------------------------------------

  /** A line of the night's record; equal nights have equal records. */
  note(kind: string, what: string): void {
    this.#evidence.record.note(kind, what);
  }

  violated(invariant: string, what: string): void {
    this.#evidence.record.violated(invariant, what);
  }

  get violations(): readonly Violation[] {
    return this.#evidence.record.violations;
  }

  get lines(): readonly string[] {
    return this.#evidence.record.lines;
  }

  get lastLines(): readonly string[] {
    return this.#evidence.record.lastLines;
  }

  get hash(): number {
    return this.#evidence.record.hash;
  }

  get edges(): ReadonlySet<string> {
    return this.#course.edges;
  }

  get alarmCodes(): ReadonlySet<string> {
    return this.#telling.alarmCodes;
  }

  get trips(): number {
    return this.#trips.count;
  }

  get falseTrips(): number {
    return this.#trips.falseOnes;
  }

  get tripCodes(): ReadonlySet<string> {
    return this.#trips.codes;
  }

  get unknownTrips(): readonly string[] {
    return this.#trips.unknown;
  }

  // Faults -------------------------------------------------------------------------------------

  get fired(): readonly Fired[] {
    return this.#evidence.faults.all;
  }

  began(kind: FaultKind): Fired {
    return this.#evidence.faults.began(kind);
  }

  ended(fired: Fired): void {
    this.#evidence.faults.ended(fired);
  }

  everAffected(effect: Effect): boolean {
    return this.#evidence.faults.everAffected(effect);
  }

  /** The disk refuses or hangs, or did a moment ago, or its writer was given up. */
  get diskTroubled(): boolean {
    return this.#disk.troubled;
  }

  // What the supply sees -----------------------------------------------------------------------

  switched(on: boolean): void {
    this.note('supply', on ? 'ON received' : 'OFF received');
    if (on) {
      this.#runOn.onReceived();
      this.#evidence.faults.onReceived();
      this.#output.onReceived();
    }
    if (!on) this.#output.offReceived();
  }

  output({ on, cause }: OutputChange): void {
    this.note('supply', `output ${on ? 'on' : 'off'} by ${cause}`);
    // One that was on for a run and comes back after a restart is still the run's.
    if (on && cause === 'panel') this.#output.switchedOnByRun = false;
    this.#charge.noteHand(on && cause === 'panel');
    if (on && cause === 'command') this.#output.switchedOnByRun = true;
  }

  offWritten(): void {
    this.offWrittenMs = this.#parts.host.nowMs;
  }

  onWritten(): void {
    this.#output.onWritten();
  }

  // What control says --------------------------------------------------------------------------

  published(message: ControlMessage, tank: Tank | null): void {
    if (message.type === 'alarm') {
      const { alarm } = message;
      if (alarm.acknowledgedWallMs !== null) {
        this.#trips.acknowledged(alarm, tank);
        return;
      }
    } else if (message.type === 'event') {
      this.note('event', `${message.event.code}: ${message.event.message}`);
    }
    if (tank !== null) this.#lookAt(tank);
  }

  #lookAt(tank: Tank): void {
    const { run } = tank;
    this.#telling.lookAtBoard(tank);
    if (run === null) return;
    if (this.#course.isAnother(run)) {
      this.#output.runCame();
      this.#runOn.runCame();
      this.#charge.runCame(run);
      this.#changed.runCame(run);
      this.#course.runCame(run);
    }
    this.#output.lookAtBelief(run.state.output);
    const { lifecycle } = run.state;
    if (this.#course.follow(lifecycle) && isFinal(lifecycle)) this.#onEnd(tank);
  }

  #onEnd(tank: Tank): void {
    const state = tank.run?.state;
    if (state === undefined) return;
    if (tank.run?.record.kind === 'probe') this.#onProbeEnd(state);
    else if (state.lifecycle === 'finished') this.finished += 1;
    this.#telling.endIsToBeTold();
    if (state.lifecycle === 'tripped') this.#trips.onTrip(state.outcome?.faultCode ?? 'unknown');
  }

  /** I17: what is well is found to be well. */
  #onProbeEnd({ outcome, probe, plan }: RunState): void {
    const verdict = probe?.finding?.verdict ?? null;
    const ended = { reached: null, stopped: 'probeStopped', tripped: 'probeTripped' } as const;
    const end = outcome?.end ?? 'interrupted';
    if (end === 'reached' || end === 'stopped') this.#telling.endIsSeen();
    const act = end === 'interrupted' ? null : ended[end];
    if (act !== null) this.acts.add(act);
    if (end !== 'reached') return;
    if (plan.probe?.kind === 'continuity') this.acts.add('circuitProbed');
    if (plan.probe?.kind === 'meter') this.acts.add('steadyCurrent');
    if (verdict === 'passed') this.acts.add('drillPassed');
    // A meter whose steps are as large as what it looks for cannot do better, and the checks say so.
    const coarse =
      verdict === 'shorted' && tooCoarseForShort(probe?.finding?.amps ?? 0, this.#parts.stepVolts);
    const well = verdict === 'closed' || verdict === 'passed' || coarse;
    if (well || this.#evidence.faults.grave.length > 0) return;
    this.violated('I17', `A probe that nothing disturbed came to: ${outcome?.reason ?? ''}`);
  }

  // What the person does -------------------------------------------------------------------------

  changePressed(change: Extract<Command, { kind: 'change' }>): void {
    this.#changed.pressed(change);
  }

  changeAnswered(change: Extract<Command, { kind: 'change' }>, isTaken: boolean): void {
    const run = this.#parts.control()?.tank?.run ?? null;
    this.#changed.answered(change, isTaken, run);
  }

  // How processes end --------------------------------------------------------------------------

  controlEnds({ tank }: Control): void {
    this.#evidence.controlEnds();
    const run = tank?.run ?? null;
    if (run !== null && isPowered(run.state.lifecycle)) this.#telling.endIsToBeTold();
    this.#disk.controlEnds(run);
  }

  /** The sentinel ends control: only where something gave it cause. */
  condemned(found: string): void {
    this.#trips.condemned(found);
  }

  /** Both processes are gone: a trip that the disk had refused to keep is known to nobody any more. */
  allGone(): void {
    if (!this.#telling.keptTrip) this.#trips.isForgotten();
  }

  // The truth, several times a second ----------------------------------------------------------

  #sample(): void {
    const { host, control } = this.#parts;
    const truth = this.#evidence.glance();
    const there = control();
    this.#evidence.look(there);
    const passedMs = Math.min(host.nowMs - this.#lastSampleMs, 2 * sampleMs);
    this.#lastSampleMs = host.nowMs;
    this.#runOn.passed(truth, passedMs);
    this.#charge.look(truth);
    const tank = there?.tank ?? null;
    if (tank === null) {
      this.#evidence.standsAnew();
      return;
    }
    this.#disk.noteReading(tank);
    this.#lookAt(tank);
    this.#parts.ears.judge();
    this.#output.judgeBelief(tank, truth);
    this.#bath.judge(tank);
    this.#judgeRun(tank, truth);
  }

  #judgeRun(tank: Tank, truth: Glance): void {
    const { run } = tank;
    if (run !== null && !isFinal(run.state.lifecycle)) this.#changed.judge(run, truth);
    if (run !== null && isPowered(run.state.lifecycle)) {
      this.#runOn.judge(run, truth);
    } else {
      this.#runOn.isOff();
      this.#output.judgeUnwanted(tank, truth);
    }
    if (run !== null) this.#charge.judgeEnd(run, truth);
  }
  /** Since when control has been there and awake, ms; null while it is not. */
  get undisturbedSinceMs(): number | null {
    return this.#evidence.undisturbedSinceMs;
  }

  // The end of the night -----------------------------------------------------------------------

  /** Faults are healed and time has passed: what must be so now. */
  judgeHealed(): void {
    const others = { telling: this.#telling, disk: this.#disk, charge: this.#charge };
    judgeHealed(this.#evidence, others);
  }
}
