/** A small outbox in a file, for the process that has no database: what is said when control is dead. */

import { readFileSync } from 'node:fs';
import { mkdir, open, rename } from 'node:fs/promises';
import { dirname } from 'node:path';
import * as z from 'zod/mini';
import type { DeliveryMark, OpenDelivery, Posting } from '../store/door.ts';
import { alertMessageSchema, deliveryStates } from '../wire/alerts.ts';

const wall = z.nullable(z.number());
const entrySchema = z.strictObject({
  message: alertMessageSchema,
  alarmId: z.null(),
  channel: z.string(),
  state: z.enum(deliveryStates),
  tries: z.int(),
  failures: z.int(),
  deliveries: z.int(),
  dueWallMs: wall,
  triedWallMs: wall,
  deliveredWallMs: wall,
  lastError: z.nullable(z.string()),
});
const fileSchema = z.strictObject({ deliveries: z.array(entrySchema) });

/** Oldest ones go first; with a channel that is away for a day these are many deaths of control. */
const mostDeliveries = 60;

export class Spool {
  readonly #file: string;
  readonly #onTrouble: (sentence: string) => void;
  #deliveries: readonly OpenDelivery[];
  /** Writes come one after the other; one that has not begun yet takes what is newest when its turn comes. */
  #last: Promise<void> = Promise.resolve();
  #waits = false;

  /** Reads what an earlier process left. A file that cannot be read is told, and begun anew. */
  constructor(file: string, onTrouble: (sentence: string) => void) {
    this.#file = file;
    this.#onTrouble = onTrouble;
    this.#deliveries = this.#read();
  }

  get open(): readonly OpenDelivery[] {
    return this.#deliveries;
  }

  /** Resolves once all that was handed over is on disk, or the disk has refused it. */
  written(): Promise<void> {
    return this.#last;
  }

  /** Goes to disk by itself: whoever says it has outputs to watch over and cannot wait for a disk. */
  add({ message, channels }: Posting): void {
    const fresh = channels.map(({ name }) => ({
      message,
      alarmId: null,
      channel: name,
      state: 'waiting' as const,
      tries: 0,
      failures: 0,
      deliveries: 0,
      dueWallMs: message.createdWallMs,
      triedWallMs: null,
      deliveredWallMs: null,
      lastError: null,
    }));
    this.#deliveries = [...this.#deliveries, ...fresh].slice(-mostDeliveries);
    this.#write();
  }

  /** What is settled leaves the file. */
  mark(messageId: string, channel: string, mark: DeliveryMark): void {
    this.#deliveries = this.#deliveries
      .map((one) =>
        one.message.id === messageId && one.channel === channel ? { ...one, ...mark } : one,
      )
      .filter(({ dueWallMs }) => dueWallMs !== null);
    this.#write();
  }

  #read(): readonly OpenDelivery[] {
    try {
      return fileSchema.parse(JSON.parse(readFileSync(this.#file, 'utf8'))).deliveries;
    } catch (error) {
      const missing = error instanceof Error && 'code' in error && error.code === 'ENOENT';
      if (!missing) this.#onTrouble(`What was left to be said cannot be read from ${this.#file}.`);
      return [];
    }
  }

  #write(): void {
    if (this.#waits) return;
    this.#waits = true;
    this.#last = this.#last.then(async () => {
      this.#waits = false;
      try {
        await this.#writeNow();
      } catch (error) {
        // It is said all the same; only a restart in between would forget it.
        const why = error instanceof Error ? error.message : String(error);
        this.#onTrouble(`What is to be said could not be written down: ${why}`);
      }
    });
  }

  async #writeNow(): Promise<void> {
    await mkdir(dirname(this.#file), { recursive: true, mode: 0o700 });
    const fresh = `${this.#file}.new`;
    const handle = await open(fresh, 'w', 0o600);
    try {
      await handle.writeFile(JSON.stringify({ deliveries: this.#deliveries }));
      await handle.sync();
    } finally {
      await handle.close();
    }
    await rename(fresh, this.#file);
  }
}
