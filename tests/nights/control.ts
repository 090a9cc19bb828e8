/**
 * The control process of a simulated night: the real writer, tank, desk, recovery, driver, link and
 * side of the sentinel, put together as daemon/control/main.ts does it, on a simulated computer.
 */

import { EventEmitter } from 'node:events';
import type { Bath } from '../../daemon/chemistry/model.ts';
import { AlertDesk } from '../../daemon/alerts/door.ts';
import type { AlertMessage } from '../../daemon/wire/alerts.ts';
import type { Posting } from '../../daemon/store/door.ts';
import { CheckDesk } from '../../daemon/control/check-desk.ts';
import { ClockWatch } from '../../daemon/control/clock-watch.ts';
import { realClock } from '../../daemon/control/clock.ts';
import { CommandDesk } from '../../daemon/control/commands.ts';
import { sentinelGuardian, type SentinelGuardian } from '../../daemon/control/guardian.ts';
import { Heartbeat } from '../../daemon/control/heartbeat.ts';
import { InterruptedRuns } from '../../daemon/control/interrupted.ts';
import { LogHealth } from '../../daemon/control/log-health.ts';
import { ProbeBook } from '../../daemon/control/probe-book.ts';
import { BringUpDesk } from '../../daemon/control/bring-up-desk.ts';
import { SettingsDesk } from '../../daemon/control/settings-desk.ts';
import type { OpenSensor } from '../../daemon/control/sensor-desk.ts';
import { recover, recoverBlind } from '../../daemon/control/recovery.ts';
import { reportOf } from '../../daemon/control/report.ts';
import { Tank } from '../../daemon/control/tank.ts';
import { Vigil } from '../../daemon/control/vigil.ts';
import type { Plan } from '../../daemon/run/model.ts';
import type { SentinelNote } from '../../daemon/sentinel/door.ts';
import type { TankSettings } from '../../daemon/settings/model.ts';
import { StoreError } from '../../daemon/store/errors.ts';
import { ThreadedWriter } from '../../daemon/store/writer-proxy.ts';
import type { ControlMessage } from '../../daemon/wire/command.ts';
import type { FromSentinel, ToSentinel } from '../../daemon/wire/process.ts';
import { createStreamLink } from '../../drivers/link/stream-link.ts';
import type { Dialect } from '../../drivers/scpi/dialect-schema.ts';
import { createScpiRectifier } from '../../drivers/scpi/driver.ts';
import type { Cable } from './cable.ts';
import type { Disk } from './disk.ts';
import type { Ears } from './ears.ts';
import type { Outside } from './outside.ts';
import type { Host, Process } from './host.ts';

/** Control's end of the channel that Node opens between parent and child. */
export class Channel extends EventEmitter {
  connected = true;
  readonly #send: (message: ToSentinel) => void;

  constructor(send: (message: ToSentinel) => void) {
    super();
    this.#send = send;
  }

  send(message: ToSentinel): void {
    this.#send(message);
  }

  hear(message: FromSentinel): void {
    this.emit('message', message);
  }

  cut(): void {
    this.connected = false;
    this.emit('disconnect');
  }
}

export interface ControlParts {
  readonly host: Host;
  readonly cable: Cable;
  readonly disk: Disk;
  readonly outside: Outside;
  /** Hears what is posted and acknowledged. */
  readonly ears: Ears;
  readonly settings: TankSettings;
  readonly baths: readonly Bath[];
  readonly dialect: Dialect;
  readonly baudRate: number | null;
  readonly hang: (plan: Plan) => void;
  readonly openSensor: OpenSensor;
  readonly toSentinel: (message: ToSentinel) => void;
  readonly publish: (message: ControlMessage) => void;
  readonly notice: (sentence: string) => void;
  /** The process ended itself, with its exit code. */
  readonly exited: (code: number) => void;
}

/** A message that is on its way is let finish for this long at the end, ms. */
const tellWithinMs = 1_000;
/** A database that hangs delays the end of the process by no more than this, ms. */
const closeFilesWithinMs = 1_200;
/** From the last word to the exit, ms. */
const leaveAfterMs = 20;

/** The real desk of alerts, with somebody who listens. */
class HeardAlerts extends AlertDesk {
  #ears: Ears | null = null;

  listen(ears: Ears): void {
    this.#ears = ears;
  }

  override post(message: AlertMessage, alarmId: number | null): Posting {
    this.#ears?.posting(message, alarmId);
    return super.post(message, alarmId);
  }

  override stored(messageId: string, alarmId: number | null): void {
    this.#ears?.stored(messageId, alarmId);
    super.stored(messageId, alarmId);
  }

  override acknowledged(alarmId: number): void {
    this.#ears?.acknowledged(alarmId);
    super.acknowledged(alarmId);
  }
}

export class Control {
  readonly process: Process;
  readonly channel: Channel;
  tank: Tank | null = null;
  desk: CommandDesk | null = null;
  /** What went wrong where nothing may go wrong: an error that nobody caught. */
  crash: unknown = null;
  readonly #parts: ControlParts;
  readonly #guardian: SentinelGuardian;
  #writer: ThreadedWriter | null = null;
  #alerts: AlertDesk | null = null;
  #ending = false;

  constructor(parts: ControlParts, name: string) {
    this.#parts = parts;
    this.process = parts.host.spawn(name);
    this.channel = new Channel((message) => parts.toSentinel(message));
    this.#guardian = sentinelGuardian(this.channel as unknown as NodeJS.Process);
  }

  /** Starts up as the real process does, on what the sentinel has noted meanwhile. */
  start(notes: readonly SentinelNote[]): void {
    this.#parts.host.as(this.process, () => {
      this.#guardian.onLost(() => void this.#end('The sentinel was lost.', 1));
      this.#guardian.onShutDown(() => void this.#end('Nightbath was shut down.', 0));
      this.#run(notes).catch((error: unknown) => {
        // A disk that refuses keeps control from starting; the sentinel then tries again.
        if (error instanceof StoreError) this.#parts.notice(`Cannot start: ${error.message}`);
        else this.crash = error;
        this.#parts.exited(1);
      });
    });
  }

  async #run(notes: readonly SentinelNote[]): Promise<void> {
    const { host, disk, baths, publish, notice } = this.#parts;
    const writer = new ThreadedWriter(disk.thread(this.process), {
      file: 'runs.sqlite',
      onNotice: notice,
      stallMs: 30_000,
    });
    this.#writer = writer;
    const tanks = new Map<string, Tank>();
    const interrupted = new InterruptedRuns({
      store: writer,
      tanks,
      baths,
      publish,
      onNotice: notice,
    });
    const alerts = this.#alertDesk(writer);
    const tank = this.#tank(writer, tanks, interrupted, alerts);
    tanks.set(tank.id, tank);
    await alerts.open();
    await recover(tanks, writer, notes, Math.round(host.wallMs), {
      bootClocks: () => host.bootClocks,
    });
    if (this.#parts.disk.foundDamaged()) {
      recoverBlind(tanks, {
        kind: 'damaged',
        found: 'The log was damaged; a fresh one was begun.',
      });
    }
    await interrupted.refresh();
    const book = new ProbeBook(writer);
    await book.load();
    this.desk = new CommandDesk({
      tanks,
      baths,
      materials: () => [],
      store: writer,
      interrupted,
      book,
      checks: new CheckDesk({
        book,
        health: new LogHealth(writer),
        freeMegabytes: () => Promise.resolve(10_000),
        alertReadiness: () => alerts.readiness(),
        clockWatch: new ClockWatch(),
      }),
      alerts,
      listPorts: () => Promise.resolve([]),
      bringUp: new BringUpDesk({ tanks, env: process.env, settingsFile: '' }),
      settings: new SettingsDesk({ tanks, file: '', env: {}, startAnew: () => undefined }),
      publish,
    });
    this.tank = tank;
    publish({ type: 'tank', tank: tank.snapshot() });
    if (this.#ending) return;
    tank.start();
    this.#guardian.ready();
  }

  #alertDesk(store: ThreadedWriter): AlertDesk {
    const { outside, ears } = this.#parts;
    const alerts = new HeardAlerts({
      settings: { channels: outside.channels, deadMan: null },
      outbox: store.outbox,
      send: (channel, letter) => outside.send(this.process, channel, letter),
      beep: () => Promise.reject(new Error('There is no beeper.')),
      say: () => undefined,
    });
    alerts.listen(ears);
    this.#alerts = alerts;
    return alerts;
  }

  #tank(
    store: ThreadedWriter,
    tanks: Map<string, Tank>,
    interrupted: InterruptedRuns,
    alerts: AlertDesk,
  ): Tank {
    const { cable, settings, baths, dialect, baudRate, hang, openSensor, publish, host } =
      this.#parts;
    const bath = baths.find((one) => one.id === settings.bath);
    if (bath === undefined) throw new Error(`There is no bath ${settings.bath}.`);
    const heartbeat = new Heartbeat([settings.id], (tick) =>
      this.#guardian.beat(tick, [...tanks.values()].map(reportOf)),
    );
    const vigil = new Vigil(this.#guardian, tanks);
    const { rx } = dialect;
    const framing =
      rx.mode === 'line'
        ? ({ kind: 'lines', terminator: rx.terminator, maxBytes: rx.maxBytes } as const)
        : ({ kind: 'raw', maxBytes: rx.maxBytes } as const);
    const rectifier = createScpiRectifier({
      dialect,
      link: createStreamLink('/dev/serial/by-id/bench', cable.connect, realClock, framing),
      clock: realClock,
      baudRate,
      path: '/dev/serial/by-id/bench',
      expectIdentity: settings.rectifier.expectIdentity,
      hardLimits: { maxAmps: settings.maxAmps, maxVolts: settings.maxVolts },
      simulated: false,
    });
    const tank = new Tank({
      settings,
      bath,
      rectifier,
      clock: { ...realClock, bootClocks: () => host.bootClocks },
      store,
      guardian: this.#guardian,
      alerts,
      hang,
      openSensor,
      publish,
      onStarted: ({ record, startedBy }) => void interrupted.carriedOn(record, startedBy),
      onSettled: () => void interrupted.refresh(),
      judged: (tankId) => {
        heartbeat.judged(tankId);
        vigil.look();
      },
    });
    this.#guardian.way(tank.id, rectifier.offScript, tank.cycleMs);
    return tank;
  }

  /** As main.ts does: tanks first, the files after them, then the word to the sentinel. */
  async #end(reason: string, code: number): Promise<void> {
    if (this.#ending) return;
    this.#ending = true;
    const { tank } = this;
    const confirmed = (await tank?.close(reason)) ?? false;
    const told = this.#alerts?.close(tellWithinMs);
    await tank?.release();
    await told;
    await Promise.race([
      this.#writer?.close().catch(() => undefined),
      realClock.sleep(closeFilesWithinMs),
    ]);
    if (code === 0) this.#guardian.stopped(confirmed);
    await realClock.sleep(leaveAfterMs);
    this.#parts.exited(code === 0 || confirmed ? code : 70);
  }
}
