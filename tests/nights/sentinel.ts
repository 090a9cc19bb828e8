/**
 * A model of the sentinel, and of the service manager behind both: it knows the way to OFF, notices
 * a control process that died or hangs, switches off over the same line, and starts a new one.
 */

import type { SentinelNote } from '../../daemon/sentinel/door.ts';
import { budgetsFor } from '../../daemon/sentinel/budgets.ts';
import type { SentinelOffScript, ToSentinel } from '../../daemon/wire/process.ts';
import type { Cable } from './cable.ts';
import type { Host } from './host.ts';

export type SentinelMood = 'well' | 'refuses' | 'mute' | 'dead';

export interface SentinelParts {
  readonly host: Host;
  readonly cable: Cable;
  readonly cycleMs: number;
  readonly tankId: string;
  /** Answers control; the channel may be gone. */
  readonly answer: (message: {
    readonly kind: 'guarding' | 'cannot-guard';
    readonly tankId: string;
    readonly reason?: string;
  }) => void;
  /** Control hangs or does not come up: it is killed. */
  readonly kill: () => void;
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

export class Sentinel {
  mood: SentinelMood = 'well';
  readonly #parts: SentinelParts;
  #script: SentinelOffScript | null = null;
  #heardMs = 0;
  #ready = false;
  /** Raised at each start of control, so that a watch of an older one ends. */
  #watch = 0;

  constructor(parts: SentinelParts) {
    this.#parts = parts;
  }

  get guards(): boolean {
    return this.#script !== null;
  }

  controlStarted(): void {
    const { host } = this.#parts;
    this.#heardMs = host.nowMs;
    this.#ready = false;
    this.#watch += 1;
    this.#lookAgain(this.#watch);
  }

  hear(message: ToSentinel): void {
    if (this.mood === 'dead') return;
    const { host, tankId, answer } = this.#parts;
    this.#heardMs = host.nowMs;
    if (message.kind === 'ready') this.#ready = true;
    if (message.kind === 'release') this.#script = null;
    if (message.kind !== 'guard' || this.mood === 'mute') return;
    const refuses = this.mood === 'refuses';
    if (!refuses) this.#script = message.script;
    host.after(answerMs, () =>
      answer(
        refuses
          ? { kind: 'cannot-guard', tankId, reason: 'The port cannot be opened a second time.' }
          : { kind: 'guarding', tankId },
      ),
    );
  }

  /** Control has ended, killed or by itself. */
  controlDied(cause: SentinelNote['cause'], found: string): void {
    this.#watch += 1;
    if (this.mood === 'dead') return;
    const { host } = this.#parts;
    const script = this.#script;
    const wallMs = Math.round(host.wallMs);
    host.after(noticeMs, () => {
      if (this.mood === 'dead') return;
      if (script === null) this.#restartWith([{ wallMs, cause, found, tanks: [] }]);
      else this.#switchOff(script, { wallMs, cause, found }, host.nowMs);
    });
  }

  #lookAgain(watch: number): void {
    const { host, cycleMs, kill } = this.#parts;
    const budgets = budgetsFor(cycleMs);
    const boundMs = !this.#ready
      ? budgets.startUpMs
      : this.#script === null
        ? budgets.idleSilenceMs
        : budgets.guardedSilenceMs;
    // It slept with the computer; what was silent then proves nothing.
    if (host.asleepUntilMs >= this.#heardMs) this.#heardMs = host.asleepUntilMs + 2 * graceMs;
    const leftMs = this.#heardMs + boundMs - host.nowMs;
    if (leftMs <= 0) {
      if (this.mood !== 'dead') kill();
      return;
    }
    // A guard may come up meanwhile, with its shorter bound.
    host.after(Math.min(leftMs, budgets.guardedSilenceMs), () => {
      if (watch === this.#watch) this.#lookAgain(watch);
    });
  }

  #switchOff(
    script: SentinelOffScript,
    about: Pick<SentinelNote, 'wallMs' | 'cause' | 'found'>,
    startedMs: number,
  ): void {
    const { host, cable, tankId, cycleMs } = this.#parts;
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
      const late = host.nowMs - startedMs >= budgetsFor(cycleMs).handOverMs;
      if (!offConfirmed && !late) {
        host.after(pauseMs, () => this.#switchOff(script, about, startedMs));
        return;
      }
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
