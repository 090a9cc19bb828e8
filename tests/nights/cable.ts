/** The line between computer and supply: bytes take their time on it, come in portions, and can get lost. */

import { RectifierError } from '../../drivers/contract.ts';
import type { Connect, Connection, ConnectionListener } from '../../drivers/link/stream-link.ts';
import type { SimulatedInstrument } from '../../drivers/simulated/instrument.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import type { Host, Process } from './host.ts';

export interface CableOptions {
  readonly seed: number;
  /** Bits a second; null where bytes take no time. */
  readonly baudRate: number | null;
  /** Replies arrive in portions, as an adapter with a buffer of its own hands them over. */
  readonly inPortions: boolean;
}

const bitsPerByte = 10;
/** An adapter hands over what it has at least this often, ms. */
const adapterMs = 14;

/** What the port does with bytes that are written. */
export type WriteFate = 'sound' | 'neverTold' | 'swallowed';

interface Sending {
  readonly bytes: string;
  readonly startMs: number;
  /** How many of them leave; fewer when their writer dies. */
  count: number;
}

interface Opened {
  readonly process: Process | null;
  readonly onBytes: (bytes: Buffer) => void;
  readonly onClosed: () => void;
}

export class Cable {
  attached = true;
  writes: WriteFate = 'sound';
  /** Cuts the next reply after so many bytes; then nothing comes any more until it is null again. */
  cutReplyAfter: number | null = null;
  /** Spoils the next reply that leaves, or lets it get lost; null leaves replies alone. */
  spoil: ((bytes: string) => string) | null = null;
  /** Holds the next reply back for so long, ms; what follows it waits behind it. 0 holds nothing. */
  holdNextMs = 0;
  /** Told of every write that reaches the line, before it arrives. */
  onWrite: (bytes: string) => void = () => undefined;
  readonly #host: Host;
  readonly #instrument: SimulatedInstrument;
  readonly #random: RandomStream;
  readonly #options: CableOptions;
  #opened: Opened | null = null;
  #sending: Sending[] = [];
  #freeMs = 0;
  #rxFreeMs = 0;
  #handedMs = 0;
  #pumpAtMs = Infinity;

  constructor(host: Host, instrument: SimulatedInstrument, options: CableOptions) {
    this.#host = host;
    this.#instrument = instrument;
    this.#options = options;
    this.#random = createRandomStream(options.seed, 'cable');
  }

  /** The way in for control: the real link opens its connections through this. */
  readonly connect: Connect = (listener) => {
    const owner = this.#host.running;
    if (owner === null) return Promise.reject(new Error('Only a process can open a line.'));
    if (!this.attached) {
      return Promise.reject(new RectifierError('cannotOpen', 'The adapter is not plugged in.'));
    }
    return Promise.resolve(this.#openFor(owner, listener));
  };

  /** The way in for the sentinel, which holds a descriptor and no process of ours. */
  openRaw(onBytes: (bytes: Buffer) => void): void {
    this.#opened = { process: null, onBytes, onClosed: () => undefined };
  }

  /** Bytes go on the line; false while there is none. */
  send(bytes: string): boolean {
    if (!this.attached) return false;
    this.onWrite(bytes);
    if (this.writes === 'swallowed') return true;
    const startMs = Math.max(this.#host.nowMs, this.#freeMs);
    const sending = { bytes, startMs, count: bytes.length };
    this.#freeMs = startMs + this.#wireMs(bytes.length);
    this.#sending.push(sending);
    const left = (): void => this.#arrive(sending);
    if (this.#freeMs <= this.#host.nowMs) left();
    else this.#host.after(this.#freeMs - this.#host.nowMs, left);
    return true;
  }

  /** The process that held the line is gone; what it had not sent yet may go with it. */
  abandon(owner: Process, cutShort: boolean): void {
    if (this.#opened?.process !== owner) return;
    this.#opened = null;
    if (!cutShort) return;
    for (const sending of this.#sending) {
      const gone = Math.max(0, this.#host.nowMs - sending.startMs);
      const perByteMs = this.#wireMs(1);
      const count = perByteMs === 0 ? sending.bytes.length : Math.floor(gone / perByteMs);
      sending.count = Math.min(sending.count, count);
    }
    this.#freeMs = this.#host.nowMs;
  }

  unplug(): void {
    if (!this.attached) return;
    this.attached = false;
    for (const sending of this.#sending) sending.count = 0;
    const opened = this.#opened;
    this.#opened = null;
    if (opened?.process != null) this.#host.deliver(opened.process, () => opened.onClosed());
  }

  plug(): void {
    this.attached = true;
  }

  /** To be called whenever a fault may have made something due without a byte from this side. */
  pump(): void {
    const dueMs = this.#instrument.nextDueMs();
    if (dueMs === null || dueMs >= this.#pumpAtMs) return;
    this.#pumpAtMs = dueMs;
    this.#host.after(dueMs - this.#host.nowMs, () => {
      if (this.#pumpAtMs !== dueMs) return;
      this.#pumpAtMs = Infinity;
      this.#takeReply();
      this.pump();
    });
  }

  #openFor(owner: Process, listener: ConnectionListener): Connection {
    const opened: Opened = {
      process: owner,
      onBytes: (bytes) => listener.onBytes(bytes),
      onClosed: () => listener.onClosed(),
    };
    this.#opened = opened;
    const isOpen = (): boolean => this.#opened === opened;
    return {
      isOpen,
      write: (bytes) => {
        if (!isOpen()) return Promise.reject(new Error('Port is not open'));
        this.send(bytes.toString('latin1'));
        return this.writes === 'sound' ? Promise.resolve() : new Promise(() => undefined);
      },
      drain: () => {
        const leftMs = this.#freeMs - this.#host.nowMs;
        if (leftMs <= 0) return Promise.resolve();
        return new Promise((resolve) => {
          this.#host.after(leftMs, () => this.#host.deliver(owner, resolve));
        });
      },
      close: () => {
        if (isOpen()) this.#opened = null;
        return Promise.resolve();
      },
    };
  }

  #arrive(sending: Sending): void {
    this.#sending = this.#sending.filter((one) => one !== sending);
    if (!this.attached || sending.count === 0) return;
    const { nowMs } = this.#host;
    // What was due before these bytes came has left before them.
    this.#takeReply();
    this.#instrument.receive(sending.bytes.slice(0, sending.count), nowMs);
    this.#takeReply();
    this.pump();
  }

  #takeReply(): void {
    const bytes = this.#spoilt(this.#instrument.take(this.#host.nowMs));
    if (bytes === '' || !this.attached) return;
    const startMs = Math.max(this.#host.nowMs + this.holdNextMs, this.#rxFreeMs);
    this.holdNextMs = 0;
    this.#rxFreeMs = startMs + this.#wireMs(bytes.length);
    const cuts = this.#options.inPortions && bytes.length > 1 ? this.#random.whole(3) : 0;
    let from = 0;
    for (let cut = 0; cut <= cuts && from < bytes.length; cut += 1) {
      const last = cut === cuts;
      const to = last ? bytes.length : from + 1 + this.#random.whole(bytes.length - from);
      const heldMs = this.#options.inPortions ? this.#random.uniform() * adapterMs : 0;
      const atMs = startMs + this.#wireMs(to) + (last ? heldMs : 0);
      this.#hand(Buffer.from(bytes.slice(from, to), 'latin1'), atMs);
      from = to;
    }
  }

  #hand(bytes: Buffer, readyMs: number): void {
    // What left first arrives first.
    const atMs = Math.max(readyMs, this.#handedMs);
    this.#handedMs = atMs;
    const arrive = (): void => {
      const opened = this.#opened;
      if (opened === null || !this.attached) return;
      if (opened.process === null) opened.onBytes(bytes);
      else this.#host.deliver(opened.process, () => opened.onBytes(bytes));
    };
    if (atMs <= this.#host.nowMs) arrive();
    else this.#host.after(atMs - this.#host.nowMs, arrive);
  }

  #spoilt(bytes: string): string {
    if (bytes === '') return bytes;
    const { spoil } = this;
    this.spoil = null;
    const sent = spoil === null ? bytes : spoil(bytes);
    if (this.cutReplyAfter === null) return sent;
    const cut = sent.slice(0, this.cutReplyAfter);
    this.cutReplyAfter = 0;
    return cut;
  }

  #wireMs(count: number): number {
    const { baudRate } = this.#options;
    return baudRate === null ? 0 : (count * bitsPerByte * 1000) / baudRate;
  }
}
