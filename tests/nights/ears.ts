/**
 * Holds what is said outside against what had to be said: I12, I14 and I16. Judged by the tries that
 * reach the channels and by what is on disk, never by what control keeps of them.
 */

import type { Letter } from '../../daemon/alerts/letter.ts';
import type { ChannelSettings } from '../../daemon/settings/model.ts';
import type { AlertMessage } from '../../daemon/wire/alerts.ts';
import type { Disk } from './disk.ts';
import type { Host } from './host.ts';

export interface EarsParts {
  readonly host: Host;
  readonly disk: Disk;
  readonly channels: readonly ChannelSettings[];
  readonly violated: (invariant: string, what: string) => void;
  readonly note: (kind: string, what: string) => void;
  /** The disk refuses or hangs, or did so within the last moments. */
  readonly diskTroubled: () => boolean;
  /** The log was lost, and with it what there was to be told of; that is told instead. */
  readonly logWasLost: () => boolean;
  /** Since when the present control process has been there undisturbed, ms; null while it is not. */
  readonly undisturbedSinceMs: () => number | null;
}

interface OnChannel {
  tries: number;
  lastTryMs: number;
  /** In a row, and when the last of them was answered. */
  failures: number;
  failedMs: number;
  /** When a new process has to try what the last one left; null once it has. */
  dueMs: number | null;
  /** The channel says that it took it, and control has heard so. */
  taken: boolean;
}

interface Said {
  readonly message: AlertMessage;
  readonly postedMs: number;
  /** In which life of control it was posted. */
  readonly life: number;
  readonly alarmIds: Set<number>;
  readonly on: Map<string, OnChannel>;
  acknowledgedMs: number | null;
}

/** A run that was on, and what of it was to be told. */
interface Ending {
  readonly runId: string;
  readonly beganMs: number;
  readonly endedMs: number;
}

const untried = {
  tries: 0,
  lastTryMs: -Infinity,
  failures: 0,
  failedMs: -Infinity,
  dueMs: null,
  taken: false,
};
const minuteMs = 60_000;
const priorities = ['note', 'act-soon', 'stopped'] as const;
/** The first try on every channel, ms. */
const firstTryMs = 5_000;
/** Ordinary messages go one after the other, and a try takes this at the most, ms. */
const oneTryMs = 11_000;
/** With so many on a channel they are put together, ten minutes later at the latest. */
const mostAlone = 8;
const togetherMs = 12 * minuteMs;
/** After so many failures in a row it is tried again within this, ms. */
const pausesMs = [5_000, 15_000, minuteMs, 5 * minuteMs, 5.5 * minuteMs];
/** What is said again is said at 2, 5 and 10 minutes and then every 15; with a try that is late. */
const mostPauseMs = 15 * minuteMs;
const earlyAgeMs = 9 * minuteMs;
const earlyGapMs = 6.25 * minuteMs;
const lateGapMs = 16.5 * minuteMs;
/** After an acknowledgement, ms: a try that had begun is not called back. */
const hushMs = 300;
/** A message is in the outbox on disk by then, ms. */
const onDiskMs = 3_000;
const endToldMs = minuteMs;

export class Ears {
  /** Messages that were taken by a channel, and tries in all. */
  heard = 0;
  tries = 0;
  readonly #parts: EarsParts;
  #said = new Map<string, Said>();
  #endings: Ending[] = [];
  #life = 0;

  constructor(parts: EarsParts) {
    this.#parts = parts;
  }

  /** Somebody still has to be told of the end of a run. */
  get waits(): boolean {
    return this.#endings.length > 0;
  }

  // What control does ---------------------------------------------------------------------------

  /** Just before control posts it. */
  posting(message: AlertMessage, alarmId: number | null): void {
    const on = new Map<string, OnChannel>();
    const weight = priorities.indexOf(message.priority);
    for (const { name, leastPriority } of this.#parts.channels) {
      if (weight < priorities.indexOf(leastPriority)) continue;
      on.set(name, { ...untried });
    }
    const alarmIds = new Set(alarmId === null ? [] : [alarmId]);
    const postedMs = this.#parts.host.nowMs;
    const said = { message, postedMs, life: this.#life, alarmIds, on, acknowledgedMs: null };
    this.#said.set(message.id, said);
    this.#parts.note('posted', `${message.priority} ${message.id}: ${message.title}`);
  }

  /** The alarm of a message has got its number on disk. */
  stored(messageId: string, alarmId: number | null): void {
    if (alarmId !== null) this.#said.get(messageId)?.alarmIds.add(alarmId);
  }

  acknowledged(alarmId: number): void {
    for (const said of this.#said.values()) {
      if (said.alarmIds.has(alarmId)) said.acknowledgedMs ??= this.#parts.host.nowMs;
    }
  }

  /** A new process knows what is on disk, and nothing else. */
  controlStarted(): void {
    this.#life += 1;
    const { file } = this.#parts.disk;
    for (const [id, said] of this.#said) {
      const kept = file.messages.get(id);
      if (kept === undefined) {
        this.#said.delete(id);
        continue;
      }
      if (kept.alarmId !== null) said.alarmIds.add(kept.alarmId);
      for (const [channel, one] of said.on) {
        const dueWallMs = kept.marks.get(channel)?.dueWallMs ?? null;
        const open = dueWallMs !== null;
        one.taken = !open;
        one.dueMs = open ? this.#dueMs(dueWallMs) : null;
        // An acknowledgement that the disk never had is forgotten with the process.
        if (open) said.acknowledgedMs = null;
      }
      const over = [...said.on.values()].every(({ taken }) => taken);
      if (over) said.acknowledgedMs ??= this.#parts.host.nowMs;
    }
  }

  /** Whatever the wall clock did meanwhile, within a quarter of an hour. */
  #dueMs(dueWallMs: number): number {
    const { nowMs, wallMs } = this.#parts.host;
    return nowMs + Math.min(Math.max(0, dueWallMs - wallMs), mostPauseMs);
  }

  /** A run whose output was on has come to its end, or was found cut short by a new process. */
  runEnded(runId: string, beganMs: number): void {
    this.#endings.push({ runId, beganMs, endedMs: this.#parts.host.nowMs });
  }

  // What the channels see -------------------------------------------------------------------------

  tried(channel: string, letter: Letter): void {
    this.tries += 1;
    this.#parts.note('try', `${channel} ${letter.id}, saying ${letter.saying}`);
    for (const said of this.#meantBy(channel, letter)) this.#judgeTry(channel, said);
  }

  answered(channel: string, letter: Letter, taken: boolean): void {
    if (taken) this.heard += 1;
    for (const { on } of this.#meantBy(channel, letter)) {
      const one = on.get(channel);
      if (one === undefined) continue;
      one.failures = taken ? 0 : one.failures + 1;
      one.failedMs = this.#parts.host.nowMs;
      if (taken) one.taken = true;
    }
  }

  /** A letter is one message, or several of which it names the first ones. */
  #meantBy(channel: string, { id, text }: Letter): readonly Said[] {
    const single = this.#said.get(id);
    if (single !== undefined) return [single];
    const all = [...this.#said.values()].filter(({ on }) => on.has(channel));
    const rest = / more on the page/.test(text);
    return all.filter(({ message, on }) => {
      const waits = message.priority !== 'stopped' && on.get(channel)?.taken === false;
      return text.includes(`(${message.id})`) || (rest && waits);
    });
  }

  #judgeTry(channel: string, said: Said): void {
    const { nowMs } = this.#parts.host;
    const { message, acknowledgedMs, on } = said;
    const one = on.get(channel);
    if (one === undefined) {
      this.#parts.violated('I16', `${channel} was sent ${message.id}, which is not for it.`);
      return;
    }
    if (acknowledgedMs !== null && nowMs - acknowledgedMs > hushMs) {
      this.#parts.violated(
        'I16',
        `${message.id} was said on ${channel} ${((nowMs - acknowledgedMs) / 1000).toFixed(1)} s after it was acknowledged.`,
      );
    }
    if (one.taken && !repeats(message)) {
      this.#parts.violated('I16', `${message.id} was said again on ${channel}, which had it.`);
    }
    one.tries += 1;
    one.lastTryMs = nowMs;
    one.dueMs = null;
  }

  // Several times a second ------------------------------------------------------------------------

  judge(): void {
    const sinceMs = this.#parts.undisturbedSinceMs();
    if (sinceMs === null) return;
    for (const said of this.#said.values()) {
      this.#judgeDisk(said, sinceMs);
      for (const [channel, one] of said.on) this.#judgeWait(said, channel, one, sinceMs);
    }
    this.#judgeEndings(sinceMs);
  }

  /** I12: a message is on disk with its event, so that a kill does not silence it. */
  #judgeDisk({ message, postedMs }: Said, sinceMs: number): void {
    const { host, disk, diskTroubled, violated } = this.#parts;
    const waitedMs = host.nowMs - Math.max(postedMs, sinceMs);
    if (waitedMs < onDiskMs || disk.file.messages.has(message.id) || diskTroubled()) return;
    violated('I12', `${message.id} (${message.title}) is not on disk after 3 s.`);
  }

  /** I16: tried on every channel at once, and then again until it is taken, or acknowledged. */
  #judgeWait(said: Said, channel: string, one: OnChannel, sinceMs: number): void {
    const { host, violated } = this.#parts;
    const { message, postedMs, acknowledgedMs, life } = said;
    if (acknowledgedMs !== null || (one.taken && !repeats(message))) return;
    const ageMs = host.nowMs - postedMs;
    if (one.tries === 0 || one.dueMs !== null) {
      const waitedMs = host.nowMs - Math.max(postedMs, sinceMs, one.dueMs ?? 0);
      if (waitedMs <= this.#firstBoundMs(message, channel)) return;
      violated('I16', `${message.id} was not tried on ${channel} for ${seconds(waitedMs)} s.`);
      return;
    }
    if (one.failures > 0 && host.nowMs - one.lastTryMs > oneTryMs) {
      const pauseMs = pausesMs[Math.min(one.failures, pausesMs.length) - 1] ?? 0;
      const waitedMs = host.nowMs - Math.max(one.failedMs, sinceMs) - pauseMs;
      if (waitedMs <= this.#firstBoundMs(message, channel)) return;
      violated(
        'I16',
        `${message.id} was not tried again on ${channel} for ${seconds(waitedMs)} s.`,
      );
      return;
    }
    const quietMs = host.nowMs - Math.max(one.lastTryMs, sinceMs);
    const alone = message.priority === 'stopped';
    const early = life === this.#life && ageMs <= earlyAgeMs && alone;
    if (quietMs <= (early ? earlyGapMs : lateGapMs)) return;
    violated('I16', `${message.id} was not said on ${channel} for ${seconds(quietMs)} s.`);
  }

  #firstBoundMs(message: AlertMessage, channel: string): number {
    if (message.priority === 'stopped') return firstTryMs;
    const { nowMs } = this.#parts.host;
    const others = [...this.#said.values()].filter(
      ({ message: { priority }, on, postedMs }) =>
        priority !== 'stopped' && on.has(channel) && nowMs - postedMs < 2 * togetherMs,
    );
    const waiting = others.filter(({ on }) => on.get(channel)?.taken === false);
    return others.length < mostAlone ? firstTryMs + waiting.length * oneTryMs : togetherMs;
  }

  /** I14: somebody is told of the end of every run, good or not. */
  #judgeEndings(sinceMs: number): void {
    const { host, violated, diskTroubled, logWasLost } = this.#parts;
    const any = logWasLost();
    this.#endings = this.#endings.filter(({ runId, beganMs, endedMs }) => {
      const told = [...this.#said.values()].some(
        ({ message, postedMs, on }) =>
          postedMs >= beganMs &&
          (any || message.kind === 'run-end' || message.priority === 'stopped') &&
          [...on.values()].some(({ tries }) => tries > 0),
      );
      if (told) return false;
      if (host.nowMs - Math.max(endedMs, sinceMs) < endToldMs || diskTroubled()) return true;
      violated('I14', `run ${runId} is over for 60 s, and nobody outside was told.`);
      return false;
    });
  }
}

function repeats({ kind, priority }: AlertMessage): boolean {
  return kind === 'alarm' && priority === 'stopped';
}

function seconds(durationMs: number): string {
  return (durationMs / 1000).toFixed(0);
}
