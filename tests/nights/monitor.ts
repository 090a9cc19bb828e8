/** Watches a night against the truth of the model supply, and says which promise was broken when. */

import { faultCodes, type Lifecycle, type OutputBelief } from '../../daemon/run/model.ts';
import { isFinal, isPowered } from '../../daemon/run/state.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import type { Alarm } from '../../daemon/wire/run.ts';
import type { ControlMessage } from '../../daemon/wire/command.ts';
import type { Glance, OutputChange } from '../../drivers/simulated/model.ts';
import type { SimulatedInstrument } from '../../drivers/simulated/instrument.ts';
import { holdsBack } from './board.ts';
import type { Control } from './control.ts';
import type { Disk } from './disk.ts';
import type { Ears } from './ears.ts';
import type { Effect, FaultKind } from './faults/kind.ts';
import type { Host } from './host.ts';
import { poweredConditions, type Fired } from './powered.ts';
import { judgeCharge, type ChargeAccount } from './charge-account.ts';

export interface Violation {
  readonly invariant: string;
  readonly atMs: number;
  readonly what: string;
}

export interface MonitorParts {
  readonly host: Host;
  readonly instrument: SimulatedInstrument;
  readonly disk: Disk;
  readonly ears: Ears;
  readonly control: () => Control | null;
  readonly limits: { readonly maxAmps: number; readonly maxVolts: number };
  readonly offAmps: number;
  readonly stepAmps: number;
  readonly stepVolts: number;
  readonly cycleMs: number;
  readonly tellsRestarts: boolean;
  readonly sentinel: { readonly hangs: boolean; readonly guards: boolean };
  /** What the supply can give when its regulation fails. */
  readonly ceilingAmps: number;
  /** The whole record is wanted, not its end alone. */
  readonly keepsAll: boolean;
  /** The tank allows hardly more time than the plan takes. */
  readonly tight: boolean;
}

interface Standing {
  sinceMs: number | null;
}

const sampleMs = 250;
const keptLines = 60;
const keptReadings = 20;
/** A second of readings, and what the looks of this monitor add to it, ms. */
const mostLostMs = 1_000 + 2 * sampleMs;

/** Faults that a run reports because of another that is long over. */
const slowFindings: ReadonlySet<string> = new Set([
  'tooLong',
  'tooMuchCharge',
  'paintNotCovering',
  'noCharge',
  'programRefused',
]);
/** Any other trip later than this after the last grave fault has no cause, ms. */
const aftermathMs = 120_000;

export class Monitor {
  readonly violations: Violation[] = [];
  /** Told of each promise that is broken. */
  onViolated: () => void = () => undefined;
  readonly fired: Fired[] = [];
  readonly edges = new Set<string>();
  readonly tripCodes = new Set<string>();
  readonly alarmCodes = new Set<string>();
  readonly lines: string[] = [];
  trips = 0;
  falseTrips = 0;
  finished = 0;
  hash = 2166136261;
  readonly #parts: MonitorParts;
  /** By invariant and what stands. */
  readonly #standing = new Map<string, Map<string, Standing>>();
  #powered = false;
  readonly #alarmsSeen = new Set<string>();
  #board: readonly Alarm[] = [];
  #lifecycle: Lifecycle | null = null;
  #output: OutputBelief | null = null;
  #runId: string | null = null;
  #account: ChargeAccount | null = null;
  /** Every run that was seen, in order. */
  readonly #begun: ChargeAccount[] = [];
  #accountsJudged = new Set<string>();
  offWrittenMs = -Infinity;
  /** The output was last switched on by a command, and not at the panel. */
  #switchedOnByRun = false;
  #lastOffReceivedMs = -Infinity;
  #poweredMs = 0;
  #onReceivedMs = Infinity;
  #sentinelHeardMs = 0;
  #stuckAtAmps: number | null = null;
  #lastSampleMs = 0;
  #lastControl: Control | null = null;
  controlSinceMs = 0;
  #tankSinceMs: number | null = null;
  readonly #readings: { readonly wallMs: number; readonly seenMs: number }[] = [];
  /** The run whose output was on, until its end is known. */
  #toBeTold: { readonly runId: string; readonly beganMs: number } | null = null;
  #stoppedAlarms: { readonly atMs: number; readonly code: string }[] = [];
  #tripStandsSinceMs: number | null = null;
  #beliefSinceMs = 0;

  constructor(parts: MonitorParts) {
    this.#parts = parts;
  }

  begin(): void {
    const { host } = this.#parts;
    // Nothing is promised while the computer sleeps.
    host.after(Math.max(sampleMs, host.asleepUntilMs - host.nowMs), () => {
      this.#sample();
      this.begin();
    });
  }

  /** A line of the night's record; equal nights have equal records. */
  note(kind: string, what: string): void {
    const line = `${(this.#parts.host.nowMs / 1000).toFixed(3)} s ${kind}: ${what}`;
    this.lines.push(line);
    const most = this.#parts.keepsAll ? Infinity : 4 * keptLines;
    if (this.lines.length > most) this.lines.splice(0, 3 * keptLines);
    let { hash } = this;
    for (let at = 0; at < line.length; at += 1) {
      hash = Math.imul(hash ^ line.charCodeAt(at), 16777619);
    }
    this.hash = hash >>> 0;
  }

  get lastLines(): readonly string[] {
    return this.lines.slice(-keptLines);
  }

  violated(invariant: string, what: string): void {
    if (this.violations.some((one) => one.invariant === invariant)) return;
    this.violations.push({ invariant, atMs: this.#parts.host.nowMs, what });
    this.note('VIOLATED', `${invariant} ${what}`);
    this.onViolated();
  }

  began(kind: FaultKind): Fired {
    const fired: Fired = { kind, beganMs: this.#parts.host.nowMs, endedMs: null };
    this.fired.push(fired);
    if (kind.name === 'stuckMeter') this.#stuckAtAmps = this.#glance().setAmps;
    this.note('fault', `${kind.name} begins`);
    return fired;
  }

  /** The most that can have flowed between two readings where nothing holds the current back, A. */
  #peakAmps(account: ChargeAccount): number {
    const wild = this.fired.some(({ kind }) => kind.effects.includes('wild'));
    return wild ? Math.max(account.peakAmps, this.#parts.ceilingAmps) : account.peakAmps;
  }

  /** The sentinel ends control: only where something gave it cause. */
  condemned(found: string): void {
    this.note('sentinel', found);
    if (this.fired.some(({ kind }) => !kind.benign)) return;
    this.falseTrips += 1;
    this.violated('I17', `The sentinel ended control without a cause: ${found}`);
  }

  ended(fired: Fired): void {
    if (fired.endedMs !== null) return;
    fired.endedMs = this.#parts.host.nowMs;
    if (fired.kind.name === 'stuckMeter') this.#stuckAtAmps = null;
    this.note('fault', `${fired.kind.name} ends`);
  }

  /** Whether a fault with this effect is on, or was within the last moments. */
  affected(effect: Effect, graceMs = 5_000): boolean {
    const { nowMs } = this.#parts.host;
    return this.fired.some(
      ({ kind, endedMs }) =>
        kind.effects.includes(effect) && (endedMs === null || nowMs - endedMs < graceMs),
    );
  }

  everAffected(effect: Effect): boolean {
    return this.fired.some(({ kind }) => kind.effects.includes(effect));
  }

  // What the supply sees -----------------------------------------------------------------------

  switched(on: boolean): void {
    this.note('supply', on ? 'ON received' : 'OFF received');
    if (on) {
      this.#onReceivedMs = this.#parts.host.nowMs;
      // An earlier run's set-point is nothing that this one's readings can be held against.
      if (this.#stuckAtAmps !== null) this.#stuckAtAmps = this.#glance().setAmps;
      this.#onReceived();
    }
    if (!on) this.#lastOffReceivedMs = this.#parts.host.nowMs;
  }

  output({ on, cause }: OutputChange): void {
    this.note('supply', `output ${on ? 'on' : 'off'} by ${cause}`);
    // One that was on for a run and comes back after a restart is still the run's.
    if (on && cause === 'panel') this.#switchedOnByRun = false;
    this.#noteHand(on && cause === 'panel');
    if (on && cause === 'command') this.#switchedOnByRun = true;
  }

  #byHandCoulombs = 0;
  #handSinceCoulombs: number | null = null;

  #noteHand(onByHand: boolean): void {
    this.#byHandCoulombs = this.#handCoulombs;
    this.#handSinceCoulombs = onByHand ? this.#glance().chargeCoulombs : null;
  }

  /** What has passed since somebody switched on at the panel, over all times, C: no run's own charge. */
  get #handCoulombs(): number {
    if (this.#handSinceCoulombs === null) return this.#byHandCoulombs;
    return this.#byHandCoulombs + this.#glance().chargeCoulombs - this.#handSinceCoulombs;
  }

  offWritten(): void {
    this.offWrittenMs = this.#parts.host.nowMs;
  }

  /** I5: at the moment at which ON leaves control there is a run that wants it. */
  onWritten(): void {
    const run = this.#parts.control()?.tank?.run ?? null;
    if (run === null || isPowered(run.state.lifecycle)) return;
    this.violated('I5', `ON was written while the run is ${run.state.lifecycle}.`);
  }

  #onReceived(): void {
    const { disk, control, host } = this.#parts;
    const run = control()?.tank?.run ?? null;
    if (run !== null) this.#toBeTold ??= { runId: run.record.id, beganMs: host.nowMs };
    if (run === null) {
      this.violated('I1', 'ON reached the supply, and control has no run.');
      return;
    }
    const stored = disk.file.runs.get(run.record.id);
    const gone = this.everAffected('disk');
    if (stored === undefined && !gone) {
      this.violated('I1', `ON reached the supply before run ${run.record.id} was on disk.`);
    } else if (stored !== undefined && isFinal(stored.lifecycle)) {
      this.violated(
        'I1',
        `ON reached the supply for a run that is on disk as ${stored.lifecycle}.`,
      );
    }
    if (!this.#parts.sentinel.guards) {
      this.violated('I1', 'ON reached the supply, and nobody holds the way to OFF.');
    }
    // ON may be on its way on a slow line while the run is being ended.
    if (!isPowered(run.state.lifecycle) && this.#sinceLifecycleMs() > 500) {
      this.violated('I5', `ON reached the supply while the run is ${run.state.lifecycle}.`);
    }
    if (this.#tripStandsSinceMs !== null && this.#sinceLifecycleMs() > 500) {
      this.violated('I5', 'ON reached the supply after a trip that nobody acknowledged.');
    }
  }

  #lifecycleAtMs = 0;
  #sinceLifecycleMs(): number {
    return this.#parts.host.nowMs - this.#lifecycleAtMs;
  }

  // What control says --------------------------------------------------------------------------

  published(message: ControlMessage, tank: Tank | null): void {
    if (message.type === 'alarm') {
      const { alarm } = message;
      if (alarm.acknowledgedWallMs !== null) {
        if (holdsBack(alarm) && tank?.alarms.standing.every((one) => !holdsBack(one)) === true) {
          this.#tripStandsSinceMs = null;
        }
        return;
      }
    } else if (message.type === 'event') {
      this.note('event', `${message.event.code}: ${message.event.message}`);
    }
    if (tank !== null) this.#lookAt(tank);
  }

  /** Both processes are gone: a trip that the disk had refused to keep is known to nobody any more. */
  allGone(): void {
    const kept = this.#board.some(({ id, priority }) => priority === 'stopped' && id > 0);
    if (!kept) this.#tripStandsSinceMs = null;
  }

  /** The board is what pages show, whether the disk has an alarm or not. */
  #lookAtBoard(tank: Tank): void {
    this.#board = tank.alarms.standing;
    for (const { code, priority, wallMs, found } of tank.alarms.standing) {
      const key = `${code} ${wallMs} ${found}`;
      if (this.#alarmsSeen.has(key)) continue;
      this.#alarmsSeen.add(key);
      this.#alarmed(code, priority);
    }
  }

  #alarmed(code: string, priority: string): void {
    this.note('alarm', `${priority} ${code}`);
    this.alarmCodes.add(code);
    this.#stoppedAlarms.push({ atMs: this.#parts.host.nowMs, code });
  }

  #lookAt(tank: Tank): void {
    const { run } = tank;
    if (tank.alarms.standing !== this.#board) this.#lookAtBoard(tank);
    if (run === null) return;
    const { lifecycle } = run.state;
    if (run.record.id !== this.#runId) {
      this.#runId = run.record.id;
      this.#lifecycle = 'planned';
      this.#output = null;
      this.#poweredMs = 0;
      this.#account = {
        runId: run.record.id,
        fromCoulombs: this.#glance().chargeCoulombs,
        endCoulombs: null,
        handFromCoulombs: this.#handCoulombs,
        handEndCoulombs: null,
        peakAmps: 0,
      };
      this.#begun.push(this.#account);
      this.#lifecycleAtMs = this.#parts.host.nowMs;
    }
    this.#lookAtOutput(run.state.output);
    if (lifecycle === this.#lifecycle) return;
    this.edges.add(`${this.#lifecycle ?? 'none'} > ${lifecycle}`);
    this.note('run', `${this.#lifecycle ?? 'none'} > ${lifecycle}`);
    this.#lifecycle = lifecycle;
    this.#lifecycleAtMs = this.#parts.host.nowMs;
    if (isFinal(lifecycle)) this.#onEnd(tank);
  }

  /** I4: the moment at which control comes to believe in OFF. */
  #lookAtOutput(output: OutputBelief): void {
    if (output === this.#output) return;
    this.#output = output;
    if (output !== 'confirmedOff') return;
    const truth = this.#glance();
    const lied = this.affected('hidden') || this.affected('meter') || this.affected('charge');
    // A key that was pressed since the last reading is found with the next one.
    const pressed = this.fired.some(
      ({ kind, beganMs }) =>
        (kind.name === 'usedByHand' || kind.name === 'outputKey') &&
        this.#parts.host.nowMs - beganMs < 1_000 * this.#scale,
    );
    if (truth.outputOn && truth.amps > 2 * this.#parts.offAmps && !lied && !pressed) {
      this.violated('I4', `OFF was taken as confirmed while ${truth.amps.toFixed(3)} A flow.`);
    }
  }

  #onEnd(tank: Tank): void {
    const state = tank.run?.state;
    if (state === undefined) return;
    this.#endIsToBeTold();
    if (state.lifecycle === 'finished') this.finished += 1;
    if (state.lifecycle === 'tripped') this.#onTrip(state.outcome?.faultCode ?? 'unknown');
  }

  #endIsToBeTold(): void {
    if (this.#toBeTold === null) return;
    const { runId, beganMs } = this.#toBeTold;
    this.#toBeTold = null;
    this.#parts.ears.runEnded(runId, beganMs);
  }

  /** I12: what a process leaves on disk of a run that is on. */
  controlEnds({ tank }: Control): void {
    this.#tankSinceMs = null;
    const run = tank?.run ?? null;
    const readings = this.#readings.splice(0);
    if (run === null || !isPowered(run.state.lifecycle)) return;
    this.#endIsToBeTold();
    const stored = this.#parts.disk.file.readings.get(run.record.id)?.last;
    // Where a clock was set, or a disk is late, the times do not tell which reading is missing.
    const excused = this.fired.some(
      ({ kind }) => kind.group === 'clock' || kind.group === 'database',
    );
    if (stored == null || excused) return;
    const missing = readings.filter(({ wallMs }) => wallMs > stored.wallMs);
    const lostMs = (missing.at(-1)?.seenMs ?? 0) - (missing[0]?.seenMs ?? 0);
    if (lostMs <= mostLostMs) return;
    this.violated('I12', `${lostMs} ms of readings were not on disk when control ended.`);
  }

  /** The readings of the last seconds, as the page shows them. */
  #noteReading({ lastReading }: Tank): void {
    const wallMs = lastReading?.wallMs ?? null;
    if (wallMs === null || this.#readings.at(-1)?.wallMs === wallMs) return;
    this.#readings.push({ wallMs, seenMs: this.#parts.host.nowMs });
    if (this.#readings.length > keptReadings) this.#readings.shift();
  }

  #onTrip(code: string): void {
    const { host } = this.#parts;
    this.trips += 1;
    this.tripCodes.add(code);
    this.note('trip', code);
    this.#tripStandsSinceMs = host.nowMs;
    const grave = this.fired.filter(({ kind }) => !kind.benign);
    const recent = grave.some(
      ({ endedMs, kind }) =>
        endedMs === null ||
        host.nowMs - Math.max(endedMs, host.asleepUntilMs) < aftermathMs ||
        (kind.effects.includes('disk') && code === 'databaseLost'),
    );
    if (recent || (grave.length > 0 && slowFindings.has(code))) return;
    // A tank that allows hardly more time than the plan takes leaves none for a paint that covers late.
    if (code === 'tooLong' && this.#parts.tight) return;
    this.falseTrips += 1;
    const found = this.#parts.control()?.tank?.run?.state.outcome?.reason ?? '';
    this.violated('I17', `A trip for ${code} without a cause: ${found}`);
  }

  // The truth, several times a second ----------------------------------------------------------

  #glance(): Glance {
    return this.#parts.instrument.glance(this.#parts.host.nowMs);
  }

  #sample(): void {
    const { host, control } = this.#parts;
    const truth = this.#glance();
    const there = control();
    if (there !== this.#lastControl) {
      this.#lastControl = there;
      this.controlSinceMs = host.nowMs;
    }
    const passedMs = Math.min(host.nowMs - this.#lastSampleMs, 2 * sampleMs);
    this.#lastSampleMs = host.nowMs;
    if (truth.outputOn) this.#poweredMs += passedMs;
    const account = this.#account;
    if (account !== null) account.peakAmps = Math.max(account.peakAmps, truth.amps);
    const tank = there?.tank ?? null;
    this.#tankSinceMs = tank === null ? null : (this.#tankSinceMs ?? host.nowMs);
    if (tank === null) {
      this.#standing.clear();
      return;
    }
    this.#noteReading(tank);
    this.#lookAt(tank);
    this.#parts.ears.judge();
    this.#judgeBelief(tank, truth);
    this.#judgeRun(tank, truth);
    this.#judgeEnd(tank, truth);
  }

  /** Since when control has been there and awake, ms; null while it is not. */
  get undisturbedSinceMs(): number | null {
    const { host } = this.#parts;
    if (this.#tankSinceMs === null || host.disturbedUntilMs > host.nowMs) return null;
    return Math.max(this.#tankSinceMs, host.disturbedUntilMs);
  }

  /** How much later things may be noticed on a slow supply. */
  get #scale(): number {
    return Math.max(1, this.#parts.cycleMs / 250);
  }

  /** Control is there, awake, and has been for a while. */
  #undisturbed(forMs: number): boolean {
    const { host } = this.#parts;
    return (
      host.nowMs - Math.max(host.disturbedUntilMs, this.controlSinceMs) > forMs &&
      this.#lastControl?.process.alive === true
    );
  }

  #standingOf(invariant: string, what: string): Standing {
    let ofInvariant = this.#standing.get(invariant);
    if (ofInvariant === undefined) this.#standing.set(invariant, (ofInvariant = new Map()));
    let standing = ofInvariant.get(what);
    if (standing === undefined) ofInvariant.set(what, (standing = { sinceMs: null }));
    return standing;
  }

  /** Reports a condition of the truth that has stood for longer than it may. */
  #stands(invariant: string, what: string, holds: boolean, forMs: number): void {
    const { nowMs } = this.#parts.host;
    const standing = this.#standingOf(invariant, what);
    if (!holds) {
      standing.sinceMs = null;
      return;
    }
    standing.sinceMs ??= nowMs;
    const stoodMs = nowMs - standing.sinceMs;
    if (stoodMs > forMs && this.#undisturbed(forMs)) {
      this.violated(invariant, `${what} for ${(stoodMs / 1000).toFixed(1)} s.`);
    }
  }

  /** I4: what control believes of the output. */
  #judgeBelief(tank: Tank, truth: Glance): void {
    const { offAmps, stepAmps } = this.#parts;
    const flowing = truth.outputOn && truth.amps > offAmps + 2 * stepAmps;
    const believed = tank.output === 'confirmedOff';
    const hidden = this.affected('hidden') || this.affected('meter');
    // The supply may have been switched on at its panel: then the next readings tell.
    const lineDead = this.affected('line', 20_000);
    this.#stands(
      'I4',
      'the output is believed off while current flows',
      flowing && believed && !hidden && !lineDead,
      2_500 * this.#scale,
    );
    // What a former process switched on is owed its OFF by the present one.
    const over = tank.run === null ? this.#switchedOnByRun : isFinal(tank.run.state.lifecycle);
    const owed = over && truth.outputOn;
    const { host } = this.#parts;
    this.#stands(
      'I4',
      'an output that is still on is sent no OFF',
      owed &&
        !hidden &&
        !lineDead &&
        host.nowMs - Math.max(this.#lastOffReceivedMs, this.#lifecycleAtMs) > 2_000 * this.#scale,
      6_000 * this.#scale,
    );
    const run = tank.run;
    const waiting =
      run !== null &&
      run.state.output !== 'confirmedOff' &&
      (isFinal(run.state.lifecycle) || run.state.lifecycle === 'lifted');
    if (!waiting) this.#beliefSinceMs = host.nowMs;
    // What the computer sleeps through is no time in which it could have called anybody.
    const waitedMs = host.nowMs - Math.max(this.#beliefSinceMs, host.asleepUntilMs);
    const told = this.#stoppedAlarms.some(
      ({ code, atMs }) => code === 'offUnconfirmed' && atMs >= this.#beliefSinceMs - 100,
    );
    this.#stands(
      'I3',
      'OFF is not confirmed and nobody was called',
      waiting && waitedMs > 4_000 + 500 * this.#scale && !told,
      1_500 * this.#scale,
    );
  }

  /** I3, I6, I7, I13: what a powered run may not bear. */
  #judgeRun(tank: Tank, truth: Glance): void {
    const run = tank.run;
    if (run === null || !isPowered(run.state.lifecycle)) {
      this.#powered = false;
      this.#judgeUnwanted(tank, truth);
      return;
    }
    // What stood in a run that is over, or before a lift, says nothing about what is on now.
    if (!this.#powered) this.#standing.clear();
    this.#powered = true;
    const { host, sentinel, stepAmps, stepVolts, tellsRestarts } = this.#parts;
    if (!sentinel.hangs) this.#sentinelHeardMs = host.nowMs;
    const conditions = poweredConditions({
      nowMs: host.nowMs,
      run,
      truth,
      fired: this.fired,
      affected: (effect, graceMs) => this.affected(effect, graceMs),
      scale: this.#scale,
      stepAmps,
      stepVolts,
      tellsRestarts,
      sentinelSilentMs: host.nowMs - this.#sentinelHeardMs,
      asleepUntilMs: host.asleepUntilMs,
      lastSleepMs: host.lastSleepMs,
      controlSinceMs: this.controlSinceMs,
      onSinceMs: this.#onReceivedMs,
      stuckAtAmps: this.#stuckAtAmps,
      poweredMs: this.#poweredMs,
    });
    for (const { invariant, what, holds, forMs } of conditions) {
      this.#stands(invariant, what, holds, forMs);
    }
    const bound = run.record.plan.limits;
    const { limits } = run.state.plan;
    if (limits.maxAmps > bound.maxAmps || limits.maxVolts > bound.maxVolts) {
      this.violated('I7', 'A limit was widened while the run was on.');
    }
  }

  #judgeUnwanted(tank: Tank, truth: Glance): void {
    const run = tank.run;
    const free = this.affected('off') || this.affected('line', 20_000) || this.affected('meter');
    const wanted = run !== null && isPowered(run.state.lifecycle);
    // Whoever has acknowledged it has been told; a fresh log has forgotten the run itself.
    const told =
      tank.alarms.standing.length > 0 ||
      this.#stoppedAlarms.some(
        ({ code, atMs }) => code === 'outputFoundOn' && atMs >= this.controlSinceMs,
      );
    this.#stands(
      'I6',
      'current flows that no run wants, and nobody was told',
      truth.outputOn && truth.amps > this.#parts.offAmps * 2 && !wanted && !free && !told,
      6_000 * this.#scale,
    );
  }

  /** I14: a run that was started comes to an end. */
  #judgeEnd(tank: Tank, truth: Glance): void {
    const run = tank.run;
    if (run === null) return;
    const { state } = run;
    if (this.#account?.runId === run.record.id && isFinal(state.lifecycle)) {
      if (state.output === 'confirmedOff' && this.#account.endCoulombs === null) {
        this.#account.endCoulombs = truth.chargeCoulombs;
        this.#account.handEndCoulombs = this.#handCoulombs;
        this.#judgeAccount(tank);
      }
    }
  }

  #judgeAccount(tank: Tank): void {
    const run = tank.run;
    const account = this.#account;
    if (run === null || account === null || this.#accountsJudged.has(account.runId)) return;
    this.#accountsJudged.add(account.runId);
    if (this.everAffected('charge') || this.everAffected('hidden')) return;
    // A supply that denied its ON had current all the same, which nobody counted.
    if (run.state.outcome?.faultCode === 'outputRefused' && this.everAffected('off')) return;
    for (const [invariant, what] of judgeCharge(
      run,
      { ...account, peakAmps: this.#peakAmps(account) },
      this.#parts,
    )) {
      // No OFF gets through where nothing is plugged in, or somebody else is: current flows on past the target.
      if (invariant === 'I9' && this.#lineCut()) continue;
      if (invariant === 'I8' && this.#wildUnseen()) continue;
      this.violated(invariant, what);
    }
  }

  /** A supply did not keep to its set-point while its line told nothing: no bound covers what flowed. */
  #wildUnseen(): boolean {
    const having = (effect: Effect): Fired[] =>
      this.fired.filter(({ kind }) => kind.effects.includes(effect));
    return having('wild').some((wild) =>
      having('line').some(
        (line) =>
          (line.endedMs ?? Infinity) >= wild.beganMs && (wild.endedMs ?? Infinity) >= line.beganMs,
      ),
    );
  }

  /** The supply could not be reached, or not be told from another one, until a moment ago. */
  #lineCut(): boolean {
    const { nowMs } = this.#parts.host;
    return this.fired.some(
      ({ kind, endedMs }) =>
        ['unplugged', 'otherDevice'].includes(kind.name) &&
        (endedMs === null || nowMs - endedMs < 5_000),
    );
  }

  // The end of the night -----------------------------------------------------------------------

  /** Faults are healed and time has passed: what must be so now. */
  judgeHealed(): void {
    const { control, instrument, host, limits, disk } = this.#parts;
    const truth = instrument.truth(host.nowMs);
    const tank = control()?.tank ?? null;
    if (tank === null) {
      this.violated('I15', 'Control is not there although every fault is healed.');
      return;
    }
    const run = tank.run;
    const off = tank.output === 'confirmedOff' && !truth.outputOn;
    const lifecycle = run?.state.lifecycle ?? null;
    const over = lifecycle === null || isFinal(lifecycle) || lifecycle === 'armed';
    // Without a run nothing is switched: a key pressed at the panel is the maker's own business.
    const stray = run === null && truth.outputOn && this.alarmCodes.has('outputFoundOn');
    const pressed = stray && this.fired.some(({ kind }) => kind.name === 'outputKey');
    const wanted = run !== null && isPowered(run.state.lifecycle) && truth.outputOn;
    const healthy = wanted || pressed;
    if (!(off && (over || lifecycle === 'lifted')) && !healthy) {
      this.violated(
        'I15',
        `healed, yet the run is ${lifecycle ?? 'none'}, control says ${tank.output}, the supply is ${truth.outputOn ? 'on' : 'off'}.`,
      );
    }
    if (truth.highestSetAmps > limits.maxAmps + 1e-9) {
      this.violated('I2', `A set-point of ${truth.highestSetAmps} A reached the supply.`);
    }
    if (truth.highestSetVolts > limits.maxVolts + 1e-9) {
      this.violated('I2', `A set-point of ${truth.highestSetVolts} V reached the supply.`);
    }
    this.#judgeDisk(disk);
    this.#judgeInterrupted(disk);
  }

  /** The disk refuses or hangs, or did a moment ago, or its writer was given up. */
  get diskTroubled(): boolean {
    const { host } = this.#parts;
    // A fault that ended while the computer slept ended, for what is tried again, when it woke.
    const justAwake = host.nowMs - host.asleepUntilMs < 15_000;
    return (
      this.affected('disk', 15_000) ||
      (justAwake && this.everAffected('disk')) ||
      this.#writerLost()
    );
  }

  #writerLost(): boolean {
    return this.fired.some(
      ({ kind, endedMs }) =>
        kind.name === 'diskGone' && (endedMs ?? Infinity) > this.controlSinceMs,
    );
  }

  /** Runs that a restart closed: what really flowed lies within what is on record. */
  #judgeInterrupted({ file }: Disk): void {
    if (['charge', 'hidden', 'forgets', 'disk'].some((one) => this.everAffected(one as Effect)))
      return;
    this.#begun.forEach((account, index) => {
      const run = file.runs.get(account.runId);
      if (run?.outcome?.end !== 'interrupted' || !run.offConfirmed) return;
      const carried = run.continues === null ? undefined : file.runs.get(run.continues);
      const untilCoulombs = this.#begun[index + 1]?.fromCoulombs ?? this.#glance().chargeCoulombs;
      const trueAmpHours = (untilCoulombs - account.fromCoulombs) / 3600;
      const handUntil = this.#begun[index + 1]?.handFromCoulombs ?? this.#handCoulombs;
      const handAmpHours = (handUntil - account.handFromCoulombs) / 3600;
      const low = run.lowAmpHours - (carried?.lowAmpHours ?? 0);
      const high = run.highAmpHours - (carried?.highAmpHours ?? 0);
      const slack = 0.005 * trueAmpHours + (this.#peakAmps(account) * 1.5) / 3600;
      // Let flow at the panel, it may be seen and counted, or not.
      if (trueAmpHours >= low - slack && trueAmpHours - handAmpHours <= high + slack) return;
      this.violated(
        'I8',
        `interrupted run ${run.id} has ${low.toFixed(6)} to ${high.toFixed(6)} A·h on record, and ${trueAmpHours.toFixed(6)} A·h flowed.`,
      );
    });
  }

  #judgeDisk({ file }: Disk): void {
    const active = this.#parts.control()?.tank?.run ?? null;
    for (const run of file.runs.values()) {
      const readings = file.readings.get(run.id);
      const numbers = [run.ampHours, run.lowAmpHours, run.highAmpHours];
      if (!numbers.every(Number.isFinite)) {
        this.violated('I8', `run ${run.id} holds a charge that is no number.`);
      }
      if (readings !== undefined && readings.fault !== null) {
        this.violated('I8', `run ${run.id}: ${readings.fault}.`);
      }
      const lastAmpHours = readings?.last?.ampHours ?? run.carriedAmpHours;
      if (isFinal(run.lifecycle) && run.ampHours < lastAmpHours - 1e-12) {
        this.violated('I10', `run ${run.id} has less charge than its last reading.`);
      }
      // A writer that was given up stores nothing more until the next start.
      const current = run.id === active?.record.id || this.#writerLost();
      if (!current && !isFinal(run.lifecycle)) {
        this.violated('I11', `run ${run.id} is on disk as ${run.lifecycle}, and nobody runs it.`);
      }
    }
  }

  get unknownTrips(): readonly string[] {
    return [...this.tripCodes].filter((code) => !faultCodes.some((known) => known === code));
  }
}
