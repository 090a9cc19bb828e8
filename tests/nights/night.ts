/** One simulated night from its seed: builds the world, lets it run, heals it, and reports. */

import type { Bath } from '../../daemon/chemistry/model.ts';
import { areaDm2Now } from '../../daemon/run/forecast.ts';
import type { Plan } from '../../daemon/run/model.ts';
import { isFinal, isPowered } from '../../daemon/run/state.ts';
import type { SentinelNote } from '../../daemon/sentinel/door.ts';
import type { FromSentinel } from '../../daemon/wire/process.ts';
import { openSensor } from '../../daemon/control/sensor-desk.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import type { Dialect } from '../../drivers/scpi/dialect-schema.ts';
import { offScriptOf } from '../../drivers/scpi/off.ts';
import { createInstrument, type SimulatedInstrument } from '../../drivers/simulated/instrument.ts';
import type { OutputChange } from '../../drivers/simulated/model.ts';
import { supplyModels } from '../../drivers/simulated/models.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import type { Act, Besides } from './besides.ts';
import { Cable } from './cable.ts';
import { Control } from './control.ts';
import { Disk } from './disk.ts';
import { Ears } from './ears.ts';
import { Outside } from './outside.ts';
import { Host, inForce } from './host.ts';
import type { Violation } from './judges/record.ts';
import { Monitor } from './monitor.ts';
import { Person } from './person.ts';
import type { Fired } from './powered.ts';
import { scenarioOf, type Episode, type KeptEpisode } from './scenario.ts';
import type { Narrowing, Scenario } from './scenario.ts';
import { SensorLine } from './sensor-line.ts';
import { Sentinel } from './sentinel.ts';
import type { Moment, World } from './world.ts';

/** What is read from disk once for all nights. */
export interface Library {
  readonly baths: readonly Bath[];
  readonly dialects: Readonly<Record<string, Dialect>>;
}

/** Which night, and how it is run. */
export interface Order extends Narrowing {
  readonly seed: number;
  /** The whole record is wanted. */
  readonly whole: boolean;
  /** Ends with the first broken promise. */
  readonly endsWhenBroken?: boolean;
}

export interface NightReport {
  readonly seed: number;
  readonly hash: string;
  readonly simulatedMs: number;
  readonly faults: readonly string[];
  readonly faultless: boolean;
  /** What was to happen, for a file that keeps this night. */
  readonly episodes: readonly KeptEpisode[];
  readonly besides: Besides;
  /** What happened of that, by name. */
  readonly acts: readonly Act[];
  readonly violations: readonly Violation[];
  readonly trips: number;
  readonly falseTrips: number;
  readonly finished: number;
  readonly tripCodes: readonly string[];
  readonly alarmCodes: readonly string[];
  readonly edges: readonly string[];
  /** The last lines of the record, for a night that broke a promise. */
  readonly lines: readonly string[];
}

/** After the last fault is healed everything has to be in order within this, ms. */
const healMs = 30_000;
/** Dead or asleep things come back by themselves within this after the end of a night, ms. */
const returnMs = 180_000;
const lookMs = 1_000;

class Night implements World {
  readonly host: Host;
  readonly instrument: SimulatedInstrument;
  readonly cable: Cable;
  readonly disk: Disk;
  readonly sensorLine: SensorLine;
  readonly ears: Ears;
  readonly outside: Outside;
  readonly sentinel: Sentinel;
  readonly person: Person;
  readonly monitor: Monitor;
  readonly random: RandomStream;
  readonly scenario: Scenario;
  readonly #library: Library;
  readonly #dialect: Dialect;
  readonly #waiting: Episode[];
  readonly #ends: { readonly fired: Fired; readonly end: () => void }[] = [];
  #control: Control | null = null;
  #controls = 0;
  #sensorAwaited = false;
  #down = false;
  #downs = 0;
  #goneUntilMs = -Infinity;
  #controlStartedMs = 0;
  #healedAtMs: number | null = null;
  #lifecycle: string | null = null;

  constructor(scenario: Scenario, library: Library, keepsAll: boolean) {
    const { seed } = scenario;
    this.scenario = scenario;
    this.#library = library;
    const dialect = library.dialects[scenario.dialect];
    if (dialect === undefined) throw new Error(`There is no dialect ${scenario.dialect}.`);
    this.#dialect = dialect;
    this.host = new Host(seed);
    this.random = createRandomStream(seed, 'hazards');
    this.instrument = createInstrument({
      personality: scenario.dialect,
      seed,
      cell: scenario.cell,
      latencyMs: scenario.latencyMs,
      settlingMs: scenario.settlingMs,
      witness: {
        switched: (on) => this.#switched(on),
        output: (change: OutputChange) => this.monitor.output(change),
        told: (text) => this.monitor.note('told', text),
      },
    });
    const { baudRate, inPortions } = scenario;
    this.cable = new Cable(this.host, this.instrument, { seed, baudRate, inPortions });
    this.disk = new Disk(this.host, seed);
    this.sensorLine = new SensorLine(this.host, seed);
    this.outside = new Outside(this.host, seed, {
      tried: (channel, letter) => this.ears.tried(channel, letter),
      answered: (channel, letter, taken) => this.ears.answered(channel, letter, taken),
    });
    this.ears = new Ears({
      host: this.host,
      disk: this.disk,
      channels: this.outside.channels,
      violated: (invariant, what) => this.monitor.violated(invariant, what),
      note: (kind, what) => this.monitor.note(kind, what),
      logWasLost: () => this.monitor.everAffected('forgets'),
      diskTroubled: () => this.monitor.diskTroubled,
      undisturbedSinceMs: () => this.monitor.undisturbedSinceMs,
    });
    const model = supplyModels[scenario.dialect];
    const control = (): Control | null => (this.#control?.process.alive ? this.#control : null);
    const guard = (): Sentinel => this.sentinel;
    this.monitor = new Monitor({
      host: this.host,
      instrument: this.instrument,
      disk: this.disk,
      ears: this.ears,
      control,
      limits: scenario.settings,
      offAmps: dialect.limits.offAmps,
      stepAmps: model.stepAmps,
      stepVolts: model.stepVolts,
      cycleMs: this.#cycleMs,
      tellsRestarts: dialect.session.powerOn !== undefined,
      sentinel: {
        get hangs() {
          return guard().hangs;
        },
        get guards() {
          return guard().guards;
        },
      },
      sensor:
        scenario.besides.sensor === null
          ? null
          : { line: this.sensorLine, wanted: scenario.besides.sensor },
      ceilingAmps: 1.2 * model.maxAmps,
      tight: scenario.tight,
      keepsAll,
    });
    this.person = new Person({
      host: this.host,
      scenario,
      control,
      violated: (what) =>
        this.monitor.violated(/^I\d+: /.exec(what)?.[0].slice(0, -2) ?? 'desk', what),
      note: (kind, what) => this.monitor.note(kind, what),
      did: (act) => this.monitor.acts.add(act),
      changePressed: (change) => this.monitor.changePressed(change),
      changeAnswered: (change, isTaken) => this.monitor.changeAnswered(change, isTaken),
      hangPiece: () => this.#hangPiece(),
    });
    this.sentinel = new Sentinel({
      host: this.host,
      cable: this.cable,
      cycleMs: this.#cycleMs,
      tankId: scenario.settings.id,
      answer: (message) => this.#toControl(message),
      limits: scenario.settings,
      kill: (found) => this.#condemn(found),
      restart: (notes) => {
        this.#down = false;
        this.#startControl(notes);
      },
    });
    this.#waiting = [...scenario.episodes];
    const off = offScriptOf(dialect, null, null).off.trim();
    const on = dialect.ops.on.send;
    this.cable.onWrite = (bytes) => {
      if (bytes.includes(off)) this.monitor.offWritten();
      if (bytes.split(/[;\r\n]+/).includes(on)) this.monitor.onWritten();
    };
  }

  get tank(): Tank | null {
    return this.#control?.process.alive ? this.#control.tank : null;
  }

  get isOff(): boolean {
    return this.host.nowMs < this.#goneUntilMs;
  }

  get #cycleMs(): number {
    const { settings } = this.scenario;
    return Math.max(1000 / settings.pollHz, this.#dialect.session.minimumCycleMs);
  }

  async run(): Promise<void> {
    inForce(this.host);
    this.#startControl([]);
    this.#reached('boot');
    if (this.scenario.besides.sensor !== null) this.sensorLine.begin();
    this.monitor.begin();
    this.person.begin();
    this.host.after(lookMs, () => this.#look());
    await this.host.run();
  }

  killControl(cause: SentinelNote['cause'], found: string): void {
    const control = this.#control;
    if (control === null || !control.process.alive) return;
    this.#endControl(control, 'killed');
    this.sentinel.controlDied(cause, found);
  }

  /** What the sentinel finds by its own limits must be so. */
  #condemn(found: string): void {
    this.monitor.condemned(found);
    this.killControl('hung', found);
  }

  reboot(downMs: number): void {
    const control = this.#control;
    this.#down = true;
    if (control?.process.alive) this.#endControl(control, 'gone with the computer');
    this.monitor.allGone();
    this.sentinel.mood = 'dead';
    this.monitor.note('host', 'down');
    this.host.wake();
    this.monitor.begin();
    // Without power nothing is started anew.
    this.#goneUntilMs = Math.max(this.#goneUntilMs, this.host.nowMs + downMs);
    this.#backAfter(this.#goneUntilMs - this.host.nowMs, () => {
      this.monitor.note('host', 'up');
      this.host.reboot();
      this.#comeUp();
    });
  }

  loseSentinel(downMs: number, controlToo: boolean): void {
    if (this.#down) return;
    this.#down = true;
    const wasDead = this.sentinel.mood === 'dead';
    this.sentinel.mood = 'dead';
    const control = this.#control;
    if (control?.process.alive) {
      if (controlToo) {
        this.#endControl(control, 'killed with the sentinel');
      } else this.host.deliver(control.process, () => control.channel.cut());
    } else this.monitor.allGone();
    if (wasDead) this.monitor.note('sentinel', 'was dead already');
    this.#backAfter(downMs, () => this.#comeUp());
  }

  /** What goes down again meanwhile comes back later: the way up that was begun before is void. */
  #backAfter(downMs: number, back: () => void): void {
    this.#downs += 1;
    const down = this.#downs;
    this.host.after(downMs, () => {
      if (down === this.#downs) back();
    });
  }

  /** The service manager starts the sentinel, and it starts control. */
  #comeUp(): void {
    const control = this.#control;
    if (control?.process.alive) {
      // It is still switching off; the new one cannot have the line before it is gone.
      this.#backAfter(500, () => this.#comeUp());
      return;
    }
    this.sentinel.comeUp();
  }

  #startControl(notes: readonly SentinelNote[]): void {
    if (this.#control?.process.alive || this.#down) return;
    this.#controls += 1;
    this.#controlStartedMs = this.host.nowMs;
    const { scenario, host, cable, disk } = this;
    const control: Control = new Control(
      {
        host,
        cable,
        disk,
        outside: this.outside,
        ears: this.ears,
        settings: scenario.settings,
        baths: this.#library.baths,
        dialect: this.#dialect,
        baudRate: scenario.baudRate,
        hang: (plan) => this.#hang(plan),
        openSensor: (settings) => openSensor(settings, this.sensorLine.connect),
        toSentinel: (message) => {
          if (control.process.alive) this.sentinel.hear(message);
        },
        publish: (message) => {
          if (!control.process.alive) return;
          this.monitor.published(message, control.tank);
          this.#follow(control.tank);
        },
        notice: (sentence) => this.monitor.note('notice', sentence),
        exited: (code) => {
          if (control.crash !== null) {
            this.monitor.violated('crash', wordsOf(control.crash));
          }
          this.#endControl(control, `exited with code ${code}`);
          if (this.sentinel.mood !== 'dead') this.sentinel.controlDied('died', 'Control ended.');
        },
      },
      `control-${this.#controls}`,
    );
    this.#control = control;
    this.monitor.note('host', `${control.process.name} starts`);
    this.sentinel.controlStarted();
    this.ears.controlStarted();
    control.start(notes);
  }

  #endControl(control: Control, how: string): void {
    this.monitor.controlEnds(control);
    control.process.alive = false;
    this.monitor.note('host', `${control.process.name} ${how}`);
    if (this.sentinel.mood === 'dead') this.monitor.allGone();
    this.cable.abandon(control.process, this.random.uniform() < 0.5);
    // What was stopped or stalled is gone with its process.
    this.host.goOn();
  }

  #toControl(message: FromSentinel): void {
    const control = this.#control;
    if (control === null) return;
    this.host.deliver(control.process, () => control.channel.hear(message));
  }

  #hang(plan: Plan): void {
    const { targetChargeAmpHours } = plan;
    const grown = areaDm2Now(plan, targetChargeAmpHours) - plan.areaDm2.value;
    if (this.instrument.glance(this.host.nowMs).outputOn) return;
    this.instrument.hang(
      {
        areaDm2: plan.areaDm2.value,
        paint: plan.request.paint,
        growthDm2PerAmpHour: Math.max(0, grown / targetChargeAmpHours),
      },
      this.host.nowMs,
    );
  }

  /** Before anything is planned it hangs as it is, without what will grow. */
  #hangPiece(): void {
    if (this.instrument.glance(this.host.nowMs).outputOn) return;
    const { piece, paint } = this.scenario.request;
    const areaMm2 = piece.parts.reduce((sum, { sizes }) => sum + (sizes['areaMm2'] ?? 0), 0);
    this.instrument.hang({ areaDm2: areaMm2 / 10_000, paint }, this.host.nowMs);
  }

  // Faults -------------------------------------------------------------------------------------

  #switched(on: boolean): void {
    this.monitor.switched(on);
    if (on) this.#awaitSensorTrouble();
    this.#reached(on ? 'onReceived' : 'offReceived');
  }

  /** After the first ON, and once. */
  #awaitSensorTrouble(): void {
    const { sensor } = this.scenario.besides;
    if (sensor === null || this.#sensorAwaited || sensor.trouble === 'none') return;
    this.#sensorAwaited = true;
    this.host.after(sensor.afterMs, () => {
      if (this.#healedAtMs !== null) return;
      this.monitor.note('sensor', sensor.trouble);
      this.sensorLine.trouble = sensor.trouble;
      this.host.after(sensor.lastsMs, () => this.#sensorGoesOn());
    });
  }

  #sensorGoesOn(): void {
    if (this.sensorLine.trouble === 'none') return;
    this.monitor.note('sensor', 'well again');
    this.sensorLine.trouble = 'none';
  }

  #follow(tank: Tank | null): void {
    const state = tank?.run?.state;
    if (state === undefined) return;
    if (state.lifecycle === 'armed' && state.durable && state.programmed) this.#reached('armed');
    if (state.output === 'on') this.#reached('on');
    // Its set-points are there and ON is the next thing that it will send.
    const wanted = isPowered(state.lifecycle) && state.output === 'unknown';
    if (wanted && state.awaitingSetPointsSinceMs === null) this.#reached('onWanted');
    if (state.lifecycle === this.#lifecycle) return;
    this.#lifecycle = state.lifecycle;
    if (state.lifecycle === 'armed') this.#reached('arming');
    if (isFinal(state.lifecycle)) this.#reached('ended');
    const moments: Readonly<Record<string, Moment>> = {
      striking: 'striking',
      ramping: 'ramping',
      holding: 'holding',
      trickling: 'trickling',
      lifted: 'lifted',
    };
    const moment = moments[state.lifecycle];
    if (moment !== undefined) this.#reached(moment);
    if (state.startedAtMs !== null && state.output !== 'on') this.#reached('starting');
  }

  #reached(moment: Moment): void {
    if (this.#waiting.length === 0 || this.#healedAtMs !== null) return;
    for (let at = this.#waiting.length - 1; at >= 0; at -= 1) {
      const episode = this.#waiting[at];
      if (episode?.at !== moment) continue;
      this.#waiting.splice(at, 1);
      this.host.after(episode.delayMs, () => this.#begin(episode));
    }
  }

  #begin({ kind, lastsMs }: Episode): void {
    if (this.#healedAtMs !== null || !kind.fits(this)) return;
    const fired = this.monitor.began(kind);
    const end = kind.begin(this);
    if (end === null) {
      this.monitor.ended(fired);
      return;
    }
    this.#ends.push({ fired, end });
    this.host.after(lastsMs, () => this.#end(fired, end));
  }

  #end(fired: Fired, end: () => void): void {
    if (fired.endedMs !== null) return;
    end();
    this.monitor.ended(fired);
  }

  // The end ------------------------------------------------------------------------------------

  #look(): void {
    const { nowMs } = this.host;
    if (this.#healedAtMs === null && (this.person.done || nowMs > this.scenario.longestMs)) {
      this.#heal();
    }
    if (this.#healedAtMs !== null && this.#settled(nowMs - this.#healedAtMs)) {
      this.monitor.judgeHealed();
      this.host.stop();
      return;
    }
    this.host.after(lookMs, () => this.#look());
  }

  #heal(): void {
    this.#healedAtMs = this.host.nowMs;
    this.monitor.note('night', 'everything is healed');
    for (const { fired, end } of this.#ends) this.#end(fired, end);
    this.instrument.faults.clearAll(this.host.nowMs);
    this.cable.plug();
    this.cable.pump();
    this.#sensorGoesOn();
  }

  /** Time for the promise of I15; more of it while the computer is still coming back. */
  #settled(sinceMs: number): boolean {
    const control = this.#control;
    const since = Math.max(this.host.disturbedUntilMs, this.#controlStartedMs);
    if (this.host.asleepUntilMs > this.host.nowMs) return false;
    const away = control === null || !control.process.alive || this.host.nowMs - since < healMs;
    const healedMs = Math.max(this.#healedAtMs ?? 0, this.host.disturbedUntilMs);
    if (this.ears.waits && this.host.nowMs - healedMs <= returnMs) return false;
    return sinceMs > healMs && (!away || this.host.nowMs - healedMs > returnMs);
  }

  report(): NightReport {
    const { monitor, scenario } = this;
    const kinds = new Set(monitor.fired.map(({ kind }) => kind.name));
    return {
      seed: scenario.seed,
      hash: monitor.hash.toString(16).padStart(8, '0'),
      simulatedMs: Math.round(this.host.nowMs),
      faults: [...kinds],
      faultless: scenario.faultless,
      episodes: scenario.episodes.map(({ kind, ...episode }) => ({ fault: kind.name, ...episode })),
      besides: scenario.besides,
      acts: [...monitor.acts],
      violations: monitor.violations,
      trips: monitor.trips,
      falseTrips: monitor.falseTrips,
      finished: monitor.finished,
      tripCodes: [...monitor.tripCodes],
      alarmCodes: [...monitor.alarmCodes],
      edges: [...monitor.edges],
      lines: monitor.violations.length > 0 ? monitor.lastLines : [],
    };
  }
}

function wordsOf(error: unknown): string {
  return error instanceof Error ? (error.stack ?? error.message) : JSON.stringify(error);
}

/** Runs the night of a seed. */
export async function runNight(
  order: Order,
  library: Library,
): Promise<NightReport & { readonly record: readonly string[] }> {
  const night = new Night(scenarioOf(order.seed, order), library, order.whole);
  if (order.endsWhenBroken === true) night.monitor.onViolated = () => night.host.stop();
  const caught = (error: unknown): void => {
    night.monitor.violated('crash', wordsOf(error));
  };
  process.on('unhandledRejection', caught);
  process.on('uncaughtException', caught);
  try {
    await night.run();
  } catch (error) {
    caught(error);
  } finally {
    process.off('unhandledRejection', caught);
    process.off('uncaughtException', caught);
  }
  const { monitor, scenario } = night;
  const finishes = scenario.faultless && !scenario.tight && monitor.violations.length === 0;
  if (finishes && monitor.finished === 0) {
    monitor.violated('I17', 'A night without a fault did not reach its target.');
  }
  return { ...night.report(), record: monitor.lines };
}
