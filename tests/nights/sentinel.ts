/**
 * A model of the sentinel, and of the service manager behind both: it knows the way to OFF, notices
 * a control process that died or hangs, switches off over the same line, and starts a new one.
 */

import type { SentinelNote } from '../../daemon/sentinel/door.ts';
import { budgetsFor, hungOffMs } from '../../daemon/sentinel/budgets.ts';
import { TankLimits, type HardLimits } from '../../daemon/sentinel/own-limits.ts';
import type { FromSentinel, SentinelOffScript, ToSentinel } from '../../daemon/wire/process.ts';
import type { Cable } from './cable.ts';
import type { Host } from './host.ts';

export type SentinelMood = 'well' | 'refuses' | 'mute' | 'dead';

export interface SentinelParts {
  readonly host: Host;
  readonly cable: Cable;
  readonly cycleMs: number;
  readonly tankId: string;
  /** Answers control; the channel may be gone. */
  readonly answer: (message: FromSentinel) => void;
  readonly limits: HardLimits;
  /** Control hangs, does not come up, or oversteps a limit: it is killed. */
  readonly kill: (found: string) => void;
  /** A new control process is started with what was noted. */
  readonly restart: (notes: readonly SentinelNote[]) => void;
}

const answerMs = 3;
/** From the death of control to OFF on the line: the exit is seen, the descriptor is there. */
const noticeMs = 25;
const replyWithinMs = 700;
const pauseMs = 250;
/** Between the note and the new control process. */
const startMs = 400;
/** After a sleep both sides are given time to come round. */
const graceMs = 200;

function momentOf({ wallMs, bootClocks }: Host): Pick<SentinelNote, 'wallMs' | 'clocks'> {
  return { wallMs: Math.round(wallMs), clocks: bootClocks };
}

export class Sentinel {
  mood: SentinelMood = 'well';
  readonly #parts: SentinelParts;
  readonly #unread: ToSentinel[] = [];
  /** The death of control, where it hung at that time. */
  #unseen: (() => void) | null = null;
  #script: SentinelOffScript | null = null;
  #heardMs = 0;
  #ready = false;
  /** What would have to be switched off; on disk, so it survives the sentinel. */
  #book: SentinelOffScript | null = null;
  readonly #limits: TankLimits;
  /** Raised at each start of control, so that a watch of an older one ends. */
  #watch = 0;

  constructor(parts: SentinelParts) {
    this.#parts = parts;
    this.#limits = new TankLimits(parts.tankId, parts.limits);
  }

  /** It holds the way to OFF, or is not there to hold it. */
  get guards(): boolean {
    return this.#script !== null || this.mood === 'dead';
  }

  get hangs(): boolean {
    return this.mood === 'mute';
  }

  controlStarted(): void {
    const { host } = this.#parts;
    this.#heardMs = host.nowMs;
    this.#ready = false;
    this.#watch += 1;
    this.#lookAgain(this.#watch);
  }

  hear(message: ToSentinel): void {
    // One that hangs reads nothing; what was said meanwhile it hears when it goes on.
    if (this.mood === 'dead') return;
    if (this.mood === 'mute') {
      this.#unread.push(message);
      return;
    }
    const { host } = this.#parts;
    this.#heardMs = host.nowMs;
    switch (message.kind) {
      case 'ready':
        this.#ready = true;
        break;
      case 'release':
        this.#script = null;
        this.#book = null;
        this.#limits.release();
        break;
      case 'beat':
        this.#beat(message);
        break;
      case 'guard':
        this.#guard(message);
        break;
      default:
        break;
    }
  }

  /** It goes on after a hang. */
  goOn(): void {
    if (this.mood !== 'mute') return;
    this.mood = 'well';
    const unseen = this.#unseen;
    this.#unseen = null;
    const unread = this.#unread.splice(0);
    for (const message of unread) this.hear(message);
    unseen?.();
  }

  #beat({ tick, tanks }: Extract<ToSentinel, { kind: 'beat' }>): void {
    const { host, answer, kill } = this.#parts;
    host.after(answerMs, () => answer({ kind: 'heard', tick }));
    for (const report of tanks) {
      const found = this.#limits.judge(report, host.monotonicMs);
      if (found !== null) kill(found);
    }
  }

  #guard({ script, bounds }: Extract<ToSentinel, { kind: 'guard' }>): void {
    const { host, tankId, answer } = this.#parts;
    let reason = this.mood === 'refuses' ? 'The port cannot be opened a second time.' : null;
    try {
      this.#limits.admit(bounds);
    } catch (error) {
      reason ??= error instanceof Error ? error.message : String(error);
    }
    if (reason === null) {
      this.#script = script;
      this.#book = script;
    }
    const budgets = budgetsFor(this.#parts.cycleMs);
    const offMs = hungOffMs(budgets.guardedSilenceMs, budgets);
    const told: FromSentinel =
      reason === null
        ? { kind: 'guarding', tankId, hungOffMs: offMs }
        : { kind: 'cannot-guard', tankId, reason };
    host.after(answerMs, () => answer(told));
  }

  /** Started anew after it died too: what stands in its book is switched off before control starts. */
  comeUp(): void {
    this.mood = 'well';
    this.#unread.length = 0;
    this.#unseen = null;
    const { host, restart } = this.#parts;
    const script = this.#book;
    this.#script = null;
    if (script === null) {
      restart([]);
      return;
    }
    const found = 'Sentinel and control were both gone.';
    const about = { ...momentOf(host), cause: 'died' as const, found };
    this.#switchOff(script, about, host.nowMs, budgetsFor(this.#parts.cycleMs).owedMs);
  }

  /** Control has ended, killed or by itself. */
  controlDied(cause: SentinelNote['cause'], found: string): void {
    this.#watch += 1;
    if (this.mood === 'dead') return;
    if (this.mood === 'mute') {
      this.#unseen = () => this.controlDied(cause, found);
      return;
    }
    const { host } = this.#parts;
    const script = this.#script;
    const moment = momentOf(host);
    host.after(noticeMs, () => {
      if (this.mood === 'dead') return;
      if (script === null) this.#restartWith([{ ...moment, cause, found, tanks: [] }]);
      else {
        const { handOverMs } = budgetsFor(this.#parts.cycleMs);
        this.#switchOff(script, { ...moment, cause, found }, host.nowMs, handOverMs);
      }
    });
  }

  #lookAgain(watch: number): void {
    const { host, kill } = this.#parts;
    const { guardedSilenceMs } = budgetsFor(this.#parts.cycleMs);
    // It slept with the computer; what was silent then proves nothing. Nor does what it missed itself.
    if (host.asleepUntilMs >= this.#heardMs) this.#heardMs = host.asleepUntilMs + 2 * graceMs;
    if (this.mood === 'mute') this.#heardMs = host.nowMs;
    const leftMs = this.#heardMs + this.#boundMs() - host.nowMs;
    if (leftMs <= 0) {
      if (this.mood !== 'dead') kill('The control process gave no sign of life.');
      return;
    }
    // A guard may come up meanwhile, with its shorter bound.
    host.after(Math.min(leftMs, guardedSilenceMs), () => {
      if (watch === this.#watch) this.#lookAgain(watch);
    });
  }

  /** How long control may be silent just now. */
  #boundMs(): number {
    const budgets = budgetsFor(this.#parts.cycleMs);
    if (!this.#ready) return budgets.startUpMs;
    return this.#script === null ? budgets.idleSilenceMs : budgets.guardedSilenceMs;
  }

  #switchOff(
    script: SentinelOffScript,
    about: Omit<SentinelNote, 'tanks'>,
    startedMs: number,
    withinMs: number,
  ): void {
    const { host, cable, tankId } = this.#parts;
    const pattern = script.verifyOffPattern === null ? null : new RegExp(script.verifyOffPattern);
    let heard = '';
    cable.openRaw((bytes) => (heard += bytes.toString('latin1')));
    cable.send(script.off);
    const gapMs = 100;
    host.after(gapMs, () => {
      heard = '';
      if (script.verifyQuery !== null) cable.send(script.verifyQuery);
    });
    host.after(gapMs + replyWithinMs, () => {
      if (this.mood === 'dead') return;
      const offConfirmed = pattern?.test(heard) === true;
      const late = host.nowMs - startedMs >= withinMs;
      if (!offConfirmed && !late) {
        host.after(pauseMs, () => this.#switchOff(script, about, startedMs, withinMs));
        return;
      }
      if (offConfirmed) this.#book = null;
      const message = offConfirmed ? 'OFF was read back.' : 'OFF could not be confirmed.';
      this.#restartWith([{ ...about, tanks: [{ tankId, offConfirmed, message }] }]);
    });
  }

  #restartWith(notes: readonly SentinelNote[]): void {
    const { host, restart } = this.#parts;
    this.#script = null;
    host.after(startMs, () => {
      if (this.mood !== 'dead') restart(notes);
    });
  }
}
