/** The sentinel: keeps control and web running, and switches off by itself when control cannot. */

import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import { Aftermath, type Tell } from './aftermath.ts';
import { budgetsFor } from './budgets.ts';
import type { Budgets } from './budgets.ts';
import { Child, longRunFlags } from './child.ts';
import { ControlLife, systemClocks } from './control-life.ts';
import { tryOn } from './last-tries.ts';
import type { ControlEnd } from './control-life.ts';
import type { OffResult } from './guard.ts';
import { Guards } from './guards.ts';
import { systemNameFolders } from './lasting-name.ts';
import type { HardLimits } from './own-limits.ts';
import { RestartAllowance } from './restarts.ts';
import { ServiceManager } from './service-manager.ts';
import type { ClockPair } from './sleep-watch.ts';
import { StayAwake } from './stay-awake.ts';
import { WebKeeper } from './web-keeper.ts';

/** Exit codes of `serve`; the numbers follow sysexits where it has one. */
export const exitCodes = { clean: 0, failed: 1, offNotConfirmed: 70 } as const;

/** What `finished` gives where the bench is to be started anew; no process ends with it. */
export const startAnew = -1;

export interface SentinelOptions {
  readonly controlScript: string;
  readonly webScript: string;
  /** Arguments for each of the two. */
  readonly controlArguments: readonly string[];
  readonly webArguments: readonly string[];
  readonly env: NodeJS.ProcessEnv;
  /** Where word is left for the next control process. */
  readonly noteFile: string;
  /** Where what is held is written down, for a start after both processes died at once. */
  readonly bookFile: string;
  /** What the settings allow on each tank, by its id. */
  readonly hardLimits: ReadonlyMap<string, HardLimits>;
  /** Folders with lasting names of serial devices; left out, the system's own. */
  readonly nameFolders?: readonly string[];
  /** Polling cycle of the slowest tank, ms; the longest silence grows with it. */
  readonly slowestCycleMs: number;
  /** The page serves at this address and control is ready; also after a restart of either. */
  readonly onServing: (url: string) => void;
  /** One plain sentence for standard error, each time something changes. */
  readonly say: (sentence: string) => void;
  /** Says something outside, where the owner has named channels. */
  readonly tell?: Tell;
  /** Whether the settings are other ones than this bench was started on; left out, they never are. */
  readonly settingsChanged?: () => boolean;
  readonly budgets?: Partial<Budgets>;
  /** Left out, the clocks of this computer. */
  readonly clocks?: () => ClockPair;
}

export interface Sentinel {
  /**
   * Resolves with the exit code once both processes are gone and OFF was settled, or with
   * `startAnew` where the bench ended to be started again on changed settings.
   */
  readonly finished: Promise<number>;
  /** First call: shut down in order. Second: kill control and switch off from here. Third: leave. */
  interrupt(): void;
  /** Somebody has asked to leave, be it after everything was finished. */
  readonly isInterrupted: boolean;
  /** Control is ready and its loop turns. */
  isControlWell(): boolean;
  /**
   * For a failing sentinel about to exit: sends OFF over the lines it holds, and returns at once.
   * Control is left alive: it sees its channel close, switches off, verifies and ends.
   */
  abandon(): void;
}

type After = 'restart' | { readonly exitCode: number };

/** A control that nobody has looked after for this long: the sentinel itself is stuck, ms. */
const notLookedAfterMs = 5_000;

class Supervisor implements Sentinel {
  readonly finished: Promise<number>;
  readonly #options: SentinelOptions;
  readonly #budgets: Budgets;
  readonly #guards: Guards;
  readonly #aftermath: Aftermath;
  readonly #awake: StayAwake;
  readonly #tell: Tell;
  readonly #service: ServiceManager;
  readonly #allowance: RestartAllowance;
  readonly #web: WebKeeper;
  readonly #leave = new AbortController();
  readonly #stop = new AbortController();
  #life: ControlLife | null = null;
  #interrupts = 0;
  /** Exit code that was decided outside of control's own end, such as a taken port. */
  #decidedCode: number | null = null;
  #forced = false;
  #startsAnew = false;
  #controlReady = false;
  #url: string | null = null;

  constructor(options: SentinelOptions) {
    this.#options = options;
    this.#budgets = { ...budgetsFor(options.slowestCycleMs), ...options.budgets };
    this.#guards = new Guards({
      hardLimits: options.hardLimits,
      nameFolders: options.nameFolders ?? systemNameFolders,
      onChange: () => this.#onGuards(),
    });
    const { noteFile, bookFile, say, env } = options;
    const leave = this.#leave.signal;
    this.#tell = options.tell ?? (() => {});
    const tell = this.#tell;
    this.#aftermath = new Aftermath({ guards: this.#guards, noteFile, bookFile, say, tell, leave });
    this.#awake = new StayAwake(env);
    this.#service = new ServiceManager({ env, say, isWell: () => this.#isWell() });
    const { maxRestarts, restartWindowMs } = this.#budgets;
    this.#allowance = new RestartAllowance(maxRestarts, restartWindowMs);
    this.#web = new WebKeeper({
      start: () => new Child(options.webScript, options.webArguments, this.#webEnv()),
      budgets: this.#budgets,
      onListening: (url) => {
        this.#url = url;
        this.#announce();
      },
      onCannotStart: (message, exitCode) => {
        options.say(message);
        this.#decidedCode = exitCode;
        this.#shutDown();
      },
      say: options.say,
    });
    this.finished = this.#supervise();
  }

  interrupt(): void {
    this.#interrupts += 1;
    if (this.#interrupts === 1) {
      this.#options.say('Switching off and closing. Once more forces it.');
      this.#shutDown();
    } else if (this.#interrupts === 2) {
      this.#forced = true;
      this.#options.say(
        'Forced: the control process is ended and the output switched off from here.',
      );
      this.#stop.abort();
      this.#life?.kill('The control process was ended by force.');
    } else {
      this.#leave.abort();
    }
  }

  get isInterrupted(): boolean {
    return this.#interrupts > 0;
  }

  isControlWell(): boolean {
    return this.#controlReady && this.#life !== null && this.#life.isHeard;
  }

  abandon(): void {
    this.#guards.shout();
  }

  #onGuards(): void {
    this.#aftermath.writeDown();
    if (this.#guards.holdLines) void this.#awake.hold();
    else this.#awake.release();
  }

  /** While a control lives it is looked after; in between each wait has its own end, however many follow. */
  #isWell(): boolean {
    return this.#life === null || performance.now() - this.#life.lookedMs < notLookedAfterMs;
  }

  #shutDown(): void {
    this.#service.stopping();
    this.#stop.abort();
    this.#life?.shutDown();
  }

  /** Started again, web takes the port it had: an open page comes back only at its own address. */
  #webEnv(): NodeJS.ProcessEnv {
    const { env } = this.#options;
    const port = this.#url === null ? '' : new URL(this.#url).port;
    return port === '' ? env : { ...env, NIGHTBATH_PORT: port };
  }

  #announce(): void {
    if (!this.#controlReady || this.#url === null) return;
    this.#service.ready();
    this.#options.onServing(this.#url);
  }

  async #supervise(): Promise<number> {
    try {
      const settled = await this.#aftermath.settleLeftBehind(this.#budgets.owedMs);
      return await this.#oneLifeAfterAnother(settled);
    } finally {
      this.#guards.letGo();
      this.#awake.release();
      this.#service.close();
      await this.#web.stop();
      await this.#aftermath.written().catch(() => undefined);
    }
  }

  async #oneLifeAfterAnother(settled: boolean): Promise<number> {
    // Told to leave while OFF was still owed: control is not started any more.
    if (this.#stop.signal.aborted) return settled ? exitCodes.clean : this.#notOff();
    for (;;) {
      const end = await this.#oneLife();
      const next = await this.#afterControl(end);
      if (next !== 'restart') return next.exitCode;
    }
  }

  #oneLife(): Promise<ControlEnd> {
    this.#controlReady = false;
    const { controlScript, controlArguments, env, say } = this.#options;
    this.#life = new ControlLife({
      start: () => new Child(controlScript, controlArguments, env, longRunFlags),
      budgets: this.#budgets,
      guards: this.#guards,
      written: () => this.#aftermath.written(),
      stayAwake: () => this.#awake.hold(),
      clocks: this.#options.clocks ?? systemClocks,
      onReady: () => {
        this.#controlReady = true;
        // The page reads the database that control has just opened and brought up to date.
        this.#web.start();
        this.#announce();
      },
      onStartAnew: () => {
        this.#startsAnew = true;
        say('The settings have changed. The bench ends in order and starts anew on them.');
        this.#stop.abort();
        this.#life?.shutDown();
      },
      say,
    });
    return this.#life.end;
  }

  /** Control is gone. OFF comes first, the words after it. */
  async #afterControl(end: ControlEnd): Promise<After> {
    this.#life = null;
    if (end.kind === 'stopped' && end.offConfirmed) {
      this.#guards.clear();
      if (this.#startsAnew && this.#interrupts === 0) return { exitCode: startAnew };
      return { exitCode: this.#decidedCode ?? exitCodes.clean };
    }
    const mayRestart =
      end.kind !== 'stopped' &&
      end.kind !== 'cannot-start' &&
      !this.#stop.signal.aborted &&
      this.#allowance.take(performance.now());
    const off = this.#aftermath.switchOff(
      mayRestart ? this.#budgets.handOverMs : this.#budgets.lastAttemptsMs,
    );
    if (end.kind === 'cannot-start') this.#options.say(end.message);
    else if (end.kind !== 'stopped') this.#options.say(end.what);
    const results = await off;
    this.#leaveNote(end, results);
    // A control of other settings than the sentinel's own would be held against limits that are not its.
    const changed = mayRestart && (this.#options.settingsChanged?.() ?? false);
    const free = this.#interrupts === 0 && results.every(({ confirmed }) => confirmed);
    // An output that nobody could confirm off, and no line here to try it on, is told of first.
    const asked = this.#startsAnew && end.kind !== 'cannot-start' && !isUnheld(end, results);
    if (free && (changed || asked)) {
      return { exitCode: startAnew };
    }
    if (mayRestart) {
      this.#options.say('The control process is started again. The output stays off.');
      await wait(this.#allowance.pauseMs(), undefined, { signal: this.#stop.signal }).catch(
        () => {},
      );
      if (!this.#stop.signal.aborted) return 'restart';
    }
    const latest = await tryOn(results, {
      aftermath: this.#aftermath,
      budgets: this.#budgets,
      tell: this.#tell,
      settled: (known) => this.#leaveNote(end, known),
      stop: this.#stop.signal,
    });
    return { exitCode: this.#exitCodeFor(end, latest) };
  }

  #exitCodeFor(end: ControlEnd, results: readonly OffResult[]): number {
    const open = results.some((result) => !result.confirmed);
    // What is open was told with the note already.
    if (open || isUnheld(end, results)) return this.#notOff(open || leavesNote(end, results));
    if (this.#decidedCode !== null) return this.#decidedCode;
    if (end.kind === 'stopped') return exitCodes.clean;
    if (end.kind === 'cannot-start') {
      this.#tell({ grave: false, title: 'Nightbath could not start', text: end.message });
      return end.exitCode;
    }
    if (this.#forced || this.#stop.signal.aborted) {
      this.#options.say(
        'The output is confirmed off, but the control process did not close in order.',
      );
    } else {
      const sentence =
        'The control process keeps failing. The sentinel gives up; the output is off.';
      this.#options.say(sentence);
      this.#tell({ grave: true, title: 'Nightbath has given up', text: sentence });
    }
    return exitCodes.failed;
  }

  #notOff(told = false): number {
    if (!told) {
      this.#tell({
        grave: true,
        title: 'The output could not be confirmed off',
        text: 'Nightbath has ended. Go to the bench now and switch the supply off by hand, at its mains switch.',
      });
    }
    this.#options.say(
      'THE OUTPUT COULD NOT BE CONFIRMED OFF. Switch the supply off by hand, now, at its mains switch.',
    );
    return exitCodes.offNotConfirmed;
  }

  #leaveNote(end: ControlEnd, results: readonly OffResult[]): void {
    if (!leavesNote(end, results)) return;
    if (end.kind === 'stopped') {
      this.#aftermath.leaveNote('died', 'Control closed without a confirmed OFF.', results);
    } else if (end.kind === 'cannot-start') {
      this.#aftermath.leaveNote('died', end.message, results);
    } else {
      this.#aftermath.leaveNote(end.kind, end.what, results, isUnheld(end, results));
    }
  }
}

/** A control that closed by itself, or never came up, leaves word only of what was switched off here. */
function leavesNote(end: ControlEnd, results: readonly OffResult[]): boolean {
  return results.length > 0 || (end.kind !== 'stopped' && end.kind !== 'cannot-start');
}

/** Control said that it could not confirm OFF, and nothing is held here to try again with. */
function isUnheld(end: ControlEnd, results: readonly OffResult[]): boolean {
  const saidSo =
    end.kind === 'stopped' ? !end.offConfirmed : end.exitCode === exitCodes.offNotConfirmed;
  return saidSo && results.length === 0;
}

/** Starts control and then web, and watches over both until `finished`. */
export function startSentinel(options: SentinelOptions): Sentinel {
  return new Supervisor(options);
}
