/** All that control has to do with alerts: what is posted, what was left, tests and their confirmation, readiness. */

import { randomInt } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import type { AlertSettings } from '../settings/model.ts';
import type { ChannelHistory, OutboxStore, Posting } from '../store/door.ts';
import type { AlertChannel, AlertMessage, AlertReadiness } from '../wire/alerts.ts';
import type { Letter } from './letter.ts';
import { newMessageId } from './message-id.ts';
import { Messenger, type Send } from './messenger.ts';
import { outletOf, reachesOutside, targetOf } from './outlets.ts';
import { readinessOf } from './readiness.ts';
import { testMessage } from './wording.ts';

export interface AlertDeskParts {
  readonly settings: AlertSettings;
  readonly outbox: OutboxStore;
  /** Sends by mail, web or program. */
  readonly send: Send;
  /** Sounds the beepers of the supplies; rejects where none can be sounded. */
  readonly beep: () => Promise<void>;
  /** One sentence for the log of the process. */
  readonly say: (sentence: string) => void;
}

/** What became of a test, or of the typing of its code. */
export type TestAnswer =
  | { readonly kind: 'sent' | 'under-way' | 'confirmed'; readonly sentence: string }
  | { readonly kind: 'unknown' | 'failed'; readonly sentence: string };

/** How often what is due is looked for, ms; what is posted goes out at once. */
const pumpEveryMs = 250;
/** A command that asks for a test is answered by then, ms. */
const testAnswerWithinMs = 6_000;
/** A test may be confirmed for this long. */
const testConfirmableMs = 24 * 3_600_000;

export class AlertDesk {
  readonly #parts: AlertDeskParts;
  readonly #messenger: Messenger;
  readonly #history = new Map<string, ChannelHistory>();
  #timer: NodeJS.Timeout | undefined;

  constructor(parts: AlertDeskParts) {
    this.#parts = parts;
    this.#messenger = new Messenger({
      outlets: parts.settings.channels.map(outletOf),
      send: (channel, letter) => this.#send(channel, letter),
      outbox: parts.outbox,
      clock: { nowMs: () => performance.now(), wallMs: () => Date.now() },
      chance: Math.random,
    });
  }

  /** Takes up what the last process left, and from then on sends by itself. */
  async open(): Promise<void> {
    this.#timer ??= setInterval(() => this.#messenger.pump(), pumpEveryMs).unref();
    try {
      for (const one of await this.#parts.outbox.channels()) this.#history.set(one.channel, one);
      this.#messenger.restore(await this.#parts.outbox.open());
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.#parts.say(`What the last process left to be said cannot be read: ${why}`);
    }
  }

  /** Says it now; the answer is what belongs on disk with its event. */
  post(message: AlertMessage, alarmId: number | null): Posting {
    return this.#messenger.post(message, alarmId);
  }

  /** The message is on disk, under this alarm. */
  stored(messageId: string, alarmId: number | null): void {
    this.#messenger.stored(messageId, alarmId);
  }

  acknowledged(alarmId: number): void {
    this.#messenger.acknowledged(alarmId);
  }

  noTurnDue(tankId: string): void {
    this.#messenger.noTurnDue(tankId);
  }

  channels(): readonly AlertChannel[] {
    return this.#parts.settings.channels.map((channel) => {
      const { name, kind, leastPriority } = channel;
      const history = this.#history.get(name);
      return {
        name,
        kind,
        target: targetOf(channel),
        outside: reachesOutside(channel),
        leastPriority,
        waiting: this.#messenger.waitingOn(name),
        triedWallMs: history?.triedWallMs ?? null,
        deliveredWallMs: history?.deliveredWallMs ?? null,
        lastError: history?.lastError ?? null,
        confirmedWallMs: this.#confirmedWallMs(name),
      };
    });
  }

  readiness(): AlertReadiness {
    const outside = this.#parts.settings.channels.filter(reachesOutside);
    return readinessOf(
      outside.map(({ name }) => ({ name, confirmedWallMs: this.#confirmedWallMs(name) })),
      Date.now(),
    );
  }

  /** Sends a test on one channel and waits a while for what becomes of it. */
  async test(channelName: string): Promise<TestAnswer> {
    const channel = this.#parts.settings.channels.find(({ name }) => name === channelName);
    if (channel === undefined) {
      const known = this.#parts.settings.channels.map(({ name }) => `"${name}"`).join(', ');
      const sentence = `There is no channel "${channelName}". ${known === '' ? 'The settings name none.' : `Known: ${known}.`}`;
      return { kind: 'unknown', sentence };
    }
    const code = String(randomInt(1000, 10_000));
    const message = testMessage(newMessageId('test'), channelName, code, Date.now());
    const tried = new Promise<string | null>((resolve) => {
      const trial = { channel: channelName, onTried: resolve };
      void this.#keep(this.#messenger.post(message, null, trial));
    });
    const late = Symbol('late');
    const reason = await Promise.race([tried, wait(testAnswerWithinMs, late, { ref: false })]);
    if (reason === null) {
      const sentence = `Sent on "${channelName}". When it has arrived, type the code that stands in it.`;
      return { kind: 'sent', sentence };
    }
    if (typeof reason === 'string')
      return { kind: 'failed', sentence: `"${channelName}": ${reason}` };
    const sentence = `"${channelName}" has not answered yet. If the test arrives, type the code that stands in it.`;
    return { kind: 'under-way', sentence };
  }

  /** A person typed the code of a test that arrived. */
  async confirm(code: string): Promise<TestAnswer> {
    const nowWallMs = Date.now();
    const found = await this.#parts.outbox.confirm(code, nowWallMs, nowWallMs - testConfirmableMs);
    if (found === null) {
      const sentence = `No test of the last day has the code ${code}. Look at the message again, or send another test.`;
      return { kind: 'unknown', sentence };
    }
    const { channel, print } = found;
    const known = this.#history.get(channel) ?? unknownHistory(channel);
    this.#history.set(channel, { ...known, confirmedWallMs: nowWallMs, confirmedPrint: print });
    return { kind: 'confirmed', sentence: `"${channel}" works: the test arrived.` };
  }

  /** Lets a try that is under way end, for a bounded time. */
  async close(withinMs: number): Promise<void> {
    clearInterval(this.#timer);
    await this.#messenger.flushed(withinMs);
  }

  async #send(channelName: string, letter: Letter): Promise<string | null> {
    const channel = this.#parts.settings.channels.find(({ name }) => name === channelName);
    const reason =
      channel?.kind === 'beeper'
        ? await this.#parts.beep().then(
            () => null,
            (error: unknown) => (error instanceof Error ? error.message : String(error)),
          )
        : await this.#parts.send(channelName, letter);
    const nowWallMs = Date.now();
    const known = this.#history.get(channelName) ?? unknownHistory(channelName);
    this.#history.set(channelName, {
      ...known,
      triedWallMs: nowWallMs,
      lastError: reason,
      deliveredWallMs: reason === null ? nowWallMs : known.deliveredWallMs,
    });
    if (reason !== null) this.#parts.say(`"${channelName}" did not take ${letter.id}: ${reason}`);
    return reason;
  }

  /** Only a test that went where the channel leads now. */
  #confirmedWallMs(channelName: string): number | null {
    const channel = this.#parts.settings.channels.find(({ name }) => name === channelName);
    const history = this.#history.get(channelName);
    if (channel === undefined || history === undefined) return null;
    return history.confirmedPrint === outletOf(channel).print ? history.confirmedWallMs : null;
  }

  /** A test that the disk does not take is sent all the same, and cannot be confirmed. */
  async #keep(posting: Posting): Promise<void> {
    try {
      await this.#parts.outbox.post(posting);
      this.#messenger.stored(posting.message.id, null);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      this.#parts.say(`A test could not be written down: ${why}`);
    }
  }
}

function unknownHistory(channel: string): ChannelHistory {
  return {
    channel,
    triedWallMs: null,
    deliveredWallMs: null,
    lastError: null,
    confirmedWallMs: null,
    confirmedPrint: null,
  };
}
