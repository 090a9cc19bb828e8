/** A real tank for tests: simulated supply, real driver, real store, hurried clock, a recording guardian. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { AlertDesk } from '../../daemon/alerts/door.ts';
import type { Send } from '../../daemon/alerts/messenger.ts';
import { CheckDesk } from '../../daemon/control/check-desk.ts';
import { CommandDesk } from '../../daemon/control/commands.ts';
import type { Guardian, GuardTaken } from '../../daemon/control/guardian.ts';
import { ProbeBook } from '../../daemon/control/probe-book.ts';
import { BringUpDesk } from '../../daemon/control/bring-up-desk.ts';
import { SettingsDesk } from '../../daemon/control/settings-desk.ts';
import { LogHealth } from '../../daemon/control/log-health.ts';
import { InterruptedRuns } from '../../daemon/control/interrupted.ts';
import { Tank } from '../../daemon/control/tank.ts';
import { loadBaths, loadDialect, packageRoot } from '../../daemon/settings/door.ts';
import type { ChannelSettings, TankSettings } from '../../daemon/settings/model.ts';
import { openStoreReader, openStoreWriter, type StoreWriter } from '../../daemon/store/door.ts';
import {
  type Command,
  type CommandAnswer,
  type ControlMessage,
} from '../../daemon/wire/command.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import type { RunBounds } from '../../daemon/wire/process.ts';
import type { BootClocks } from '../../daemon/wire/run.ts';
import type { AlertReadiness } from '../../daemon/wire/alerts.ts';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import { checkIds } from '../../daemon/run/checks/model.ts';
import type { PlanRequest } from '../../daemon/run/model.ts';
import { createRectifier, parseDialect, withAmmeterFactor } from '../../drivers/registry.ts';
import { createInstrument, type SimulatedInstrument } from '../../drivers/simulated/instrument.ts';
import type { Personality, Truth } from '../../drivers/simulated/model.ts';
import { createPacedClock, type PacedClock } from '../../drivers/simulated/pace.ts';
import { quietAlerts } from '../alerts/quiet-alerts.ts';
import { trialMaterials } from '../run/plan-fixtures.ts';

type StartCommand = Extract<Command, { kind: 'start' }>;

/** Somebody stands beside the bench and has seen all advice. */
export const everythingSeen: Partial<StartCommand> = {
  acknowledged: [...checkIds],
  attended: true,
};

export interface TankOptions {
  readonly dialect?: Personality;
  readonly timeScale?: number;
  /** True current over the current that the supply shows. */
  readonly ammeterFactor?: number;
  /**
   * The pace where no current is wanted. In the daemon that is real time, for people's sake; here
   * nobody waits, and an arming would take a second.
   */
  readonly idleScale?: number;
  readonly file?: string;
  /** The settings that a take-over reads; left out, the shipped ones. */
  readonly settingsFile?: string;
  readonly maxPages?: number;
  readonly refuseGuard?: string;
  /** What the supply does when the mains returns; left out, its output stays off. */
  readonly afterMains?: 'off' | 'on' | 'unknown';
  readonly simulated?: boolean;
  /** The clocks of the computer that nobody sets; left out, it has none. */
  readonly bootClocks?: () => BootClocks;
  /** Ticks are raced against timers as on a real line; the clock still belongs to the simulation. */
  readonly realTime?: boolean;
  /** Channels with somebody who plays them; without, nothing is said outside. */
  readonly channels?: readonly ChannelSettings[];
  readonly send?: Send;
  readonly alertReadiness?: () => AlertReadiness;
  /** Free room on the disk of the log, MB. */
  readonly freeMegabytes?: number;
  /** Puts something between the tank and the real store. */
  readonly between?: (store: StoreWriter) => StoreWriter;
  /** A store that several benches share, and that its owner closes; each of its own costs a thread. */
  readonly store?: StoreWriter;
}

const settings: TankSettings = {
  id: 'one',
  name: 'Tank one',
  bath: 'acid-copper-still',
  volumeLitres: 3,
  anodeAreaDm2: 2,
  maxAmps: 3,
  maxVolts: 6,
  maxHours: 14,
  pollHz: 4,
  timeScale: 2_000,
  rectifier: {
    driver: 'scpi',
    dialect: 'scpi-subsystem',
    link: { kind: 'in-process' },
    expectIdentity: null,
    meterUncertainty: 0.01,
  },
};

const defaultIdleScale = 20;

/** Records what the tank asked of the sentinel. */
class RecordingGuardian implements Guardian {
  readonly calls: string[] = [];
  /** The bounds of each run that was to be guarded, in their order. */
  readonly guarded: RunBounds[] = [];
  /** Why it guards nothing from here on. */
  refuse: string | undefined;

  constructor(refusal: string | undefined) {
    this.refuse = refusal;
  }

  guard(tankId: string, _script: unknown, bounds: RunBounds): Promise<GuardTaken> {
    this.calls.push(`guard ${tankId}`);
    this.guarded.push(bounds);
    if (this.refuse !== undefined) return Promise.reject(new Error(this.refuse));
    return Promise.resolve({ hungOffMs: 1_050 });
  }

  release(tankId: string): void {
    this.calls.push(`release ${tankId}`);
  }

  beat(): void {}
  ready(): void {}
  stopped(): void {}
  cannotStart(): void {}
  onShutDown(): void {}
  onLost(): void {}
}

export class TankBench {
  readonly folder: string;
  readonly file: string;
  readonly guardian: RecordingGuardian;
  readonly instrument: SimulatedInstrument;
  readonly clock: PacedClock;
  readonly messages: ControlMessage[] = [];
  /** What the desk of interrupted runs says aloud. */
  readonly notices: readonly string[];
  readonly tank: Tank;
  readonly store: StoreWriter;
  readonly desk: CommandDesk;
  readonly interrupted: InterruptedRuns;
  readonly alerts: AlertDesk;
  readonly #sharesStore: boolean;
  #key = 0;

  private constructor(parts: {
    sharesStore: boolean;
    folder: string;
    file: string;
    guardian: RecordingGuardian;
    instrument: SimulatedInstrument;
    clock: PacedClock;
    tank: Tank;
    store: StoreWriter;
    desk: CommandDesk;
    interrupted: InterruptedRuns;
    messages: ControlMessage[];
    notices: readonly string[];
    alerts: AlertDesk;
  }) {
    this.#sharesStore = parts.sharesStore;
    this.folder = parts.folder;
    this.file = parts.file;
    this.guardian = parts.guardian;
    this.instrument = parts.instrument;
    this.clock = parts.clock;
    this.tank = parts.tank;
    this.store = parts.store;
    this.desk = parts.desk;
    this.interrupted = parts.interrupted;
    this.messages = parts.messages;
    this.notices = parts.notices;
    this.alerts = parts.alerts;
  }

  static async open(options: TankOptions = {}): Promise<TankBench> {
    const folder = mkdtempSync(join(tmpdir(), 'nightbath-control-'));
    const file = options.file ?? join(folder, 'runs.sqlite');
    const dialectName = options.dialect ?? 'scpi-subsystem';
    const idleScale = options.idleScale ?? defaultIdleScale;
    const clock = createPacedClock({ scale: idleScale, startWallMs: Date.now() });
    const instrument = createInstrument({ personality: dialectName, seed: 7 });
    const opened =
      options.store ??
      (await openStoreWriter({
        file,
        ...(options.maxPages === undefined ? {} : { maxPages: options.maxPages }),
      }));
    const store = options.between?.(opened) ?? opened;
    const shippedFile = join(packageRoot(), 'config/bench.toml');
    const baths = loadBaths(process.env, shippedFile);
    const bath = baths.find((one) => one.id === settings.bath);
    if (bath === undefined) throw new Error('the shipped bath is missing');
    const factor = options.ammeterFactor ?? 1;
    const supply = await createRectifier({
      driver: 'scpi',
      dialect: parseDialect(loadDialect(dialectName, process.env, shippedFile)),
      link: { kind: 'in-process', instrument },
      clock,
      expectIdentity: null,
      hardLimits: { maxAmps: settings.maxAmps / factor, maxVolts: settings.maxVolts },
      simulated: options.simulated ?? true,
    });
    const rectifier = withAmmeterFactor(supply, factor);
    const alerts = quietAlerts(store, options.channels, options.send);
    await alerts.open();
    const guardian = new RecordingGuardian(options.refuseGuard);
    const messages: ControlMessage[] = [];
    const notices: string[] = [];
    const timeScale = options.timeScale ?? settings.timeScale;
    const tank = new Tank({
      settings: {
        ...settings,
        timeScale,
        rectifier: { ...settings.rectifier, afterMains: options.afterMains ?? 'off' },
      },
      bath,
      rectifier,
      store,
      guardian,
      alerts,
      clock: {
        nowMs: () => clock.nowMs(),
        sleep: (durationMs) => clock.sleep(durationMs),
        wallMs: () => Math.round(clock.wallMs()),
        bootClocks: () => options.bootClocks?.() ?? null,
        virtual: options.realTime !== true,
        get scale() {
          return clock.scale;
        },
        hurry: (scale) => clock.setScale(Math.max(scale, idleScale)),
      },
      publish: (message) => messages.push(message),
      hang: (plan) => {
        const piece = { areaDm2: plan.areaDm2.value, paint: plan.request.paint };
        instrument.hang(piece, clock.nowMs());
      },
      judged: () => undefined,
      onStarted: ({ record, startedBy }) => void interrupted.carriedOn(record, startedBy),
      onSettled: () => void interrupted.refresh(),
    });
    const listPorts = () => Promise.resolve([]);
    const interrupted = new InterruptedRuns({
      store,
      tanks: new Map([['one', tank]]),
      baths,
      publish: (message) => messages.push(message),
      onNotice: (sentence) => notices.push(sentence),
    });
    const book = new ProbeBook(store);
    await book.load();
    const alertReadiness = options.alertReadiness ?? (() => alerts.readiness());
    const desk = new CommandDesk({
      bringUp: new BringUpDesk({
        tanks: new Map([['one', tank]]),
        env: process.env,
        settingsFile: '',
      }),
      settings: new SettingsDesk({
        tanks: new Map([['one', tank]]),
        file: options.settingsFile ?? shippedFile,
        env: process.env,
        startAnew: () => notices.push('starts anew'),
      }),
      interrupted,
      tanks: new Map([['one', tank]]),
      baths,
      materials: () => trialMaterials,
      store,
      listPorts,
      alerts,
      publish: (message) => messages.push(message),
      book,
      checks: new CheckDesk({
        health: new LogHealth(store),
        book,
        freeMegabytes: () => Promise.resolve(options.freeMegabytes ?? 1_000),
        alertReadiness,
      }),
    });
    return new TankBench({
      sharesStore: options.store !== undefined,
      folder,
      file,
      guardian,
      instrument,
      clock,
      tank,
      store,
      desk,
      interrupted,
      messages,
      notices,
      alerts,
    });
  }

  async started(): Promise<this> {
    this.tank.start();
    await this.until('the link', () => this.tank.link.connected);
    await this.until('the output to be known', () => this.tank.output === 'confirmedOff');
    return this;
  }

  truth(): Truth {
    return this.instrument.truth(this.clock.nowMs());
  }

  tell(command: Command, key?: string): Promise<CommandAnswer> {
    this.#key += 1;
    return this.desk.answer({ id: this.#key, key: key ?? `key-${this.#key}`, command });
  }

  arm(
    plan: PlanRequest,
    changes: Partial<Extract<Command, { kind: 'arm' }>> = {},
  ): Promise<CommandAnswer> {
    return this.tell({
      kind: 'arm',
      tankId: 'one',
      by: 'a test',
      plan: plan as Extract<Command, { kind: 'arm' }>['plan'],
      checklist: checklistItems.map((item) => item.id),
      continues: null,
      ...changes,
    });
  }

  /** Arms, waits until it is ready, starts. */
  async run(
    plan: PlanRequest,
    changes: Partial<Extract<Command, { kind: 'arm' }>> = {},
  ): Promise<string> {
    const armed = await this.arm(plan, changes);
    if (!armed.ok) throw new Error(`${armed.reason} ${JSON.stringify(armed.problems)}`);
    await this.until('the run to be ready', () => this.tank.snapshot().run?.ready);
    const started = await this.onRun('start');
    if (!started.ok) throw new Error(started.reason);
    await this.until('the output to be on', () => this.tank.output === 'on');
    return armed.runId ?? '';
  }

  onRun(kind: 'start' | 'disarm' | 'lift' | 'put-back', version?: number): Promise<CommandAnswer> {
    if (kind === 'start') return this.start(everythingSeen, version);
    return this.tell({ kind, ...this.#thisRun(version) });
  }

  /** A start with what is said for it, and nothing else. */
  start(said: Partial<StartCommand>, version?: number): Promise<CommandAnswer> {
    return this.tell({ kind: 'start', ...this.#thisRun(version), ...said });
  }

  #thisRun(version?: number) {
    const run = this.tank.run;
    return {
      tankId: 'one',
      by: 'a test',
      runId: run?.record.id ?? 'none',
      version: version ?? run?.state.version ?? 0,
    };
  }

  async until(what: string, done: () => unknown, withinMs = 15_000): Promise<void> {
    const endMs = performance.now() + withinMs;
    while (!done()) {
      if (performance.now() > endMs) {
        const run = this.tank.snapshot().run;
        throw new Error(`Waited in vain for ${what}: ${run?.lifecycle} ${run?.sentence}`);
      }
      await wait(2);
    }
  }

  async over(): Promise<void> {
    // A whole night takes its time on a busy machine.
    const ended = () => {
      const run = this.tank.snapshot().run;
      return run?.outcome != null && this.tank.output === 'confirmedOff';
    };
    await this.until('the end of the run', ended, 110_000);
    await this.tank.journal.settled();
  }

  reader() {
    return openStoreReader(this.file);
  }

  async close(): Promise<boolean> {
    const confirmed = await this.tank.close('The test is over.');
    await this.tank.release();
    if (!this.#sharesStore) await this.store.close().catch(() => undefined);
    rmSync(this.folder, { recursive: true, force: true });
    return confirmed;
  }
}

/** The demo piece on the test tank, with a start of a few minutes and a night of about an hour. */
export function aRequest(changes: Partial<PlanRequest> = {}): PlanRequest {
  return {
    ...demoPlanRequest('one', 'acid-copper-still'),
    start: { strikeShare: 0.3, strikeMinutes: 2, rampMinutes: 3 },
    target: { kind: 'thickness', micrometres: 20 },
    ...changes,
  };
}
