/** Control's side of the thread that sends: hands over tries, and replaces the thread when it dies or hangs. */

import { existsSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import type { Workplace } from './channels/deliver.ts';
import { tryWithinMs } from './channels/deliver.ts';
import type { DeliveryDone, DeliveryJob } from './delivery-thread.ts';
import type { Letter } from './letter.ts';

/** A program may take a minute, anything else less; a thread that is silent for longer hangs. */
const threadPatienceMs = tryWithinMs + 5_000;
const threadHeapMb = 96;

interface Waiting {
  readonly resolve: (reason: string | null) => void;
  readonly timer: NodeJS.Timeout;
}

export class DeliveryCrew {
  readonly #place: Omit<Workplace, 'env'>;
  readonly #waiting = new Map<number, Waiting>();
  #worker: Worker | null = null;
  #nextId = 1;

  constructor(place: Omit<Workplace, 'env'>) {
    this.#place = place;
  }

  /** Null where the channel took it, else why not. Never rejects. */
  send(channel: string, letter: Letter): Promise<string | null> {
    return new Promise((resolve) => {
      const id = this.#nextId;
      this.#nextId += 1;
      const timer = setTimeout(() => this.#replace('does not answer'), this.#patienceMs(channel));
      timer.unref();
      this.#waiting.set(id, { resolve, timer });
      const job: DeliveryJob = { id, channel, letter };
      try {
        this.#worker ??= this.#start();
        this.#worker.postMessage(job, []);
      } catch (error) {
        this.#replace(error instanceof Error ? error.message : String(error));
      }
    });
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    this.#failAll('The process is closing.');
    await worker?.terminate();
  }

  #patienceMs(name: string): number {
    const channel = this.#place.channels.find((one) => one.name === name);
    const ownMs = channel?.kind === 'command' ? channel.timeoutSeconds * 1000 : 0;
    return Math.max(threadPatienceMs, ownMs + 5_000);
  }

  #start(): Worker {
    const worker = new Worker(threadFile(), {
      workerData: this.#place,
      name: 'alerts',
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: threadHeapMb },
    });
    worker.unref();
    worker.on('message', (done: DeliveryDone) => this.#take(done));
    const gone = (what: string) => {
      if (this.#worker === worker) this.#replace(what);
    };
    worker.on('error', (error) => gone(`stopped with an error: ${error.message}`));
    worker.on('exit', (code) => gone(`ended with code ${code}`));
    return worker;
  }

  #take({ id, reason }: DeliveryDone): void {
    const waiting = this.#waiting.get(id);
    if (waiting === undefined) return;
    this.#waiting.delete(id);
    clearTimeout(waiting.timer);
    waiting.resolve(reason);
  }

  /** The next try starts another thread. */
  #replace(what: string): void {
    const worker = this.#worker;
    this.#worker = null;
    this.#failAll(`The thread that sends ${what}.`);
    void worker?.terminate();
  }

  #failAll(reason: string): void {
    const all = [...this.#waiting.values()];
    this.#waiting.clear();
    for (const { resolve, timer } of all) {
      clearTimeout(timer);
      resolve(reason);
    }
  }
}

/** The compiled thread, beside this file once built; from source it is the one in `dist/`. */
function threadFile(): URL {
  const places = ['./delivery-thread.js', '../../dist/daemon/alerts/delivery-thread.js'];
  for (const place of places) {
    const url = new URL(place, import.meta.url);
    if (existsSync(url)) return url;
  }
  throw new Error('is not compiled: run `npm run build:daemon` first');
}
