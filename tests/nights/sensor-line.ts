/** The line of a thermometer in the bath: a number every second, and what can be wrong with it. */

import type { SensorSettings } from '../../daemon/settings/model.ts';
import { RectifierError } from '../../drivers/contract.ts';
import type { Connect, Connection, ConnectionListener } from '../../drivers/link/stream-link.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import type { SensorTrouble, WantedSensor } from './besides.ts';
import type { Host, Process } from './host.ts';

const everyMs = 1_000;
const usualCelsius = 23;
const limitCelsius = 30;
const warmCelsius = 33;
/** Lines that noise has spoilt, and values that lie alone beyond the limit: neither is a finding. */
const spoiltShare = 0.02;
const aloneShare = 0.005;
const spoilt: readonly string[] = ['', '#?', '23,4.1', '-127.00x9', '99999999'];
const nonsense: readonly string[] = ['-127.00', 'nan', 'ERR 3', '4095.0', '23.1 23.2'];

/** The settings of the thermometer of such a night. */
export function sensorSettings({ staleAfterSeconds, high, missing }: WantedSensor): SensorSettings {
  return {
    id: 'bath',
    name: 'The thermometer',
    kind: 'temperature',
    unit: '°C',
    link: { kind: 'serial', path: '/dev/serial/by-id/bath', baudRate: 9_600 },
    scale: 1,
    offset: 0,
    low: null,
    high: { value: limitCelsius, action: high },
    hysteresis: 0.5,
    staleAfterSeconds,
    missing,
  };
}

interface Opened {
  readonly process: Process;
  readonly listener: ConnectionListener;
}

export class SensorLine {
  readonly #host: Host;
  readonly #random: RandomStream;
  #trouble: SensorTrouble = 'none';
  #opened: Opened | null = null;

  constructor(host: Host, seed: number) {
    this.#host = host;
    this.#random = createRandomStream(seed, 'bath');
  }

  get trouble(): SensorTrouble {
    return this.#trouble;
  }

  set trouble(trouble: SensorTrouble) {
    this.#trouble = trouble;
    const opened = this.#opened;
    if (trouble !== 'gone' || opened === null) return;
    this.#opened = null;
    this.#host.deliver(opened.process, () => opened.listener.onClosed());
  }

  begin(): void {
    this.#host.after(everyMs, () => {
      this.#say();
      this.begin();
    });
  }

  readonly connect: Connect = (listener) => {
    const process = this.#host.running;
    if (process === null) return Promise.reject(new Error('Only a process can open a line.'));
    if (this.#trouble === 'gone') {
      return Promise.reject(new RectifierError('cannotOpen', 'The adapter is not plugged in.'));
    }
    const opened = { process, listener };
    this.#opened = opened;
    const isOpen = (): boolean => this.#opened === opened;
    const connection: Connection = {
      isOpen,
      write: () => Promise.resolve(),
      drain: () => Promise.resolve(),
      close: () => {
        if (isOpen()) this.#opened = null;
        return Promise.resolve();
      },
    };
    return Promise.resolve(connection);
  };

  #say(): void {
    const line = this.#line();
    const opened = this.#opened;
    if (line === null || opened === null || !opened.process.alive) return;
    const bytes = Buffer.from(`${line}\r\n`, 'latin1');
    this.#host.deliver(opened.process, () => {
      if (this.#opened === opened) opened.listener.onBytes(bytes);
    });
  }

  #line(): string | null {
    const random = this.#random;
    const draw = random.uniform();
    const pick = (lines: readonly string[]): string => lines[random.whole(lines.length)] ?? '';
    if (this.#trouble === 'silent' || this.#trouble === 'gone') return null;
    if (this.#trouble === 'nonsense') return pick(nonsense);
    const celsius = this.#trouble === 'warm' ? warmCelsius : usualCelsius;
    if (draw < spoiltShare) return pick(spoilt);
    if (this.#trouble === 'none' && draw < spoiltShare + aloneShare) return '45.00';
    return (celsius + 0.4 * (random.uniform() - 0.5)).toFixed(2);
  }
}
