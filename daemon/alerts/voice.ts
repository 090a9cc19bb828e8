/** The voice of the sentinel: says by the owner's channels what must be said when control is dead. */

import { setTimeout as wait } from 'node:timers/promises';
import type { Settings } from '../settings/model.ts';
import { deliver } from './channels/deliver.ts';
import { DeadMan } from './dead-man.ts';
import { newMessageId } from './message-id.ts';
import { Messenger } from './messenger.ts';
import { outletOf, reachesOutside } from './outlets.ts';
import { Spool } from './spool.ts';

export interface VoiceParts {
  readonly settings: Pick<Settings, 'alerts' | 'studio'>;
  readonly env: NodeJS.ProcessEnv;
  /** Where what is to be said is kept over an end of this process. */
  readonly spoolFile: string;
  /** One plain sentence for standard error. */
  readonly say: (sentence: string) => void;
}

/** One thing to say. Grave is what sends somebody to the bench at once. */
export interface Word {
  readonly grave: boolean;
  readonly title: string;
  readonly text: string;
}

const pumpEveryMs = 1_000;
/** At the end the disk is waited for this long at least, ms. */
const leastWriteMs = 1_000;

export class SentinelVoice {
  readonly #messenger: Messenger;
  readonly #spool: Spool;
  readonly #parts: VoiceParts;
  readonly #timer: NodeJS.Timeout;
  #deadMan: DeadMan | null = null;

  /** Goes on at once with what an earlier process left to be said. */
  constructor(parts: VoiceParts) {
    this.#parts = parts;
    const { settings, env, say, spoolFile } = parts;
    const channels = settings.alerts.channels.filter(reachesOutside);
    const spool = new Spool(spoolFile, say);
    this.#spool = spool;
    this.#messenger = new Messenger({
      outlets: channels.map(outletOf),
      send: (channel, letter) =>
        deliver({ channels, studio: settings.studio, env }, channel, letter),
      outbox: {
        mark: (id, channel, mark) => {
          spool.mark(id, channel, mark);
          if (mark.lastError !== null) say(`"${channel}" did not take ${id}: ${mark.lastError}`);
          return Promise.resolve();
        },
      },
      clock: { nowMs: () => performance.now(), wallMs: () => Date.now() },
      chance: Math.random,
    });
    this.#messenger.restore(spool.open);
    this.#timer = setInterval(() => this.#messenger.pump(), pumpEveryMs).unref();
  }

  /** Says it on every channel, now and until each has taken it, for a day. */
  tell({ grave, title, text }: Word): void {
    const wallMs = Date.now();
    const posting = this.#messenger.post(
      {
        id: newMessageId('sentinel'),
        kind: 'sentinel',
        priority: grave ? 'stopped' : 'act-soon',
        tankId: null,
        createdWallMs: wallMs,
        title: title.slice(0, 200),
        text: text.slice(0, 6000),
        code: null,
      },
      null,
    );
    if (posting.channels.length === 0) return;
    this.#spool.add(posting);
    this.#messenger.stored(posting.message.id, null);
  }

  /** From now on the dead man's address, where there is one, is called while this holds. */
  watch(isWatched: () => boolean): void {
    const { settings, env, say } = this.#parts;
    const { deadMan } = settings.alerts;
    if (deadMan !== null) this.#deadMan ??= new DeadMan({ url: deadMan.url, env, isWatched, say });
  }

  /** Waits for tries that are under way; what they do not settle is said by the next process. */
  async close(withinMs: number): Promise<void> {
    clearInterval(this.#timer);
    this.#deadMan?.close();
    const endMs = performance.now() + withinMs;
    await this.#messenger.flushed(withinMs);
    const leftMs = Math.max(leastWriteMs, endMs - performance.now());
    await Promise.race([this.#spool.written(), wait(leftMs, undefined, { ref: false })]);
  }
}
