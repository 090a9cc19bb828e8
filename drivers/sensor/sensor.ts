/** A second line beside the supply's that sends one number a line: it is only listened to. */

import type { DriverClock } from '../contract.ts';
import type { Framing, Link } from '../link/link.ts';
import { createSerialLink } from '../link/serial.ts';
import { createStreamLink, type Connect } from '../link/stream-link.ts';
import { createTcpLink } from '../link/tcp.ts';
import { sensorNumber } from './value.ts';

/** How a sensor is reached. */
export type SensorLinkSpec =
  | { readonly kind: 'serial'; readonly path: string; readonly baudRate: number }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number };

export interface SensorSpec {
  readonly link: SensorLinkSpec;
  /** Value = number on the line x scale + offset. */
  readonly scale: number;
  readonly offset: number;
  /** Values outside are no reading: the codes that sensors send when they are torn off. */
  readonly least: number;
  readonly most: number;
  /** A line that says nothing for so long is opened anew, ms. */
  readonly silenceMs: number;
}

export interface SensorSample {
  readonly value: number;
  /** On the clock of the sensor, ms. */
  readonly atMs: number;
}

const FRAMING: Framing = { kind: 'lines', terminator: '\n', maxBytes: 80 };
/** Between two attempts to open a line, ms. */
const RETRY_MS = 2_000;

function linkOf(spec: SensorLinkSpec, clock: DriverClock): Link {
  if (spec.kind === 'tcp') return createTcpLink(spec, clock, FRAMING);
  const { path, baudRate } = spec;
  const line = { dataBits: 8, parity: 'none', stopBits: 1, flow: 'none' } as const;
  return createSerialLink({ path, baudRate, ...line }, clock, FRAMING);
}

/** Listens until it is closed; whatever happens on its line ends in a sentence and another attempt. */
export class Sensor {
  /** The last number that was one; null before the first. */
  latest: SensorSample | null = null;
  /** Why there is nothing to hear, as a sentence; empty while the line is well. */
  trouble = 'Opening the line.';
  /** Lines that were no reading, since it was made. */
  garbled = 0;
  readonly #spec: SensorSpec;
  readonly #clock: DriverClock;
  readonly #link: Link;
  #closing = false;
  #listening: Promise<void> | null = null;
  #wake: () => void = () => undefined;

  /** `connect` opens another line than the one in `spec`, such as a simulated one. */
  constructor(spec: SensorSpec, clock: DriverClock, connect: Connect | null = null) {
    this.#spec = spec;
    this.#clock = clock;
    this.#link =
      connect === null
        ? linkOf(spec.link, clock)
        : createStreamLink('sensor', connect, clock, FRAMING);
  }

  start(): void {
    this.#listening ??= this.#listen();
  }

  /** Ends the listening; never waits for longer than closing a line takes. */
  async close(): Promise<void> {
    this.#closing = true;
    this.#wake();
    await this.#link.close();
    await this.#listening;
  }

  async #listen(): Promise<void> {
    while (!this.#closing) {
      try {
        await this.#link.open();
        await this.#hear();
      } catch (error) {
        this.trouble = error instanceof Error ? error.message : String(error);
      }
      await this.#link.close();
      if (!this.#closing) await this.#pause();
    }
  }

  async #hear(): Promise<void> {
    // The first line after opening may be the tail of one, and a tail reads like a number.
    await this.#link.next(this.#clock.nowMs() + this.#spec.silenceMs);
    while (!this.#closing) {
      const line = await this.#link.next(this.#clock.nowMs() + this.#spec.silenceMs);
      this.#take(line);
    }
  }

  #take(line: string): void {
    const { scale, offset, least, most } = this.#spec;
    const number = sensorNumber(line);
    const value = number === null ? Number.NaN : Number((number * scale + offset).toFixed(6));
    if (value >= least && value <= most) {
      this.latest = { value, atMs: this.#clock.nowMs() };
      this.trouble = '';
      return;
    }
    this.garbled += 1;
    this.trouble = `The last line, ${shown(line)}, is no reading from ${least} to ${most}.`;
  }

  /** Waits before the next attempt, unless it is closed meanwhile. */
  #pause(): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, RETRY_MS);
      this.#wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  }
}

function shown(line: string): string {
  return JSON.stringify(line.slice(0, 24)).replaceAll(/[\x7f-\xff]/g, '?');
}
