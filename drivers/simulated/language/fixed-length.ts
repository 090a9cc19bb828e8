/**
 * The `fixed-length` language: no terminator either way. A command ends where its pattern is
 * complete or where the line pauses; what then fits no pattern is thrown away. A command that
 * comes too soon after the last one is lost without a word, as is one that is out of range. `OUT0`
 * clears a trip.
 */

import type { Line } from '../line.ts';
import type { Supply } from '../supply.ts';
import type { Speaker } from './speaker.ts';
import { fourFieldIdentity } from './identity.ts';

/** Commands closer together than this are dropped, ms. */
const commandGapMs = 50;
/** A pause that ends a command whose pattern is not complete, ms. */
const idleMs = 30;
const longestCommand = 64;
const readingLength = 5;

/** Complete without a pause, each at the length the manual of such a supply gives. */
const completeShape =
  /^(?:VSET1:\d\d\.\d\d|ISET1:\d\.\d{3}|[VI](?:SET|OUT)1\?|(?:OUT|OCP|OVP)[01]|STATUS\?|\*IDN\?)/u;
/** What a pause makes of an incomplete set. */
const pausedShape = /^[VI]SET1:\d{1,2}(?:\.\d{0,3})?$/u;

export class FixedLengthSpeaker implements Speaker {
  readonly #supply: Supply;
  readonly #line: Line;
  #buffer = '';
  #lastByteMs = 0;
  #lastCommandMs = Number.NEGATIVE_INFINITY;

  constructor(supply: Supply, line: Line) {
    this.#supply = supply;
    this.#line = line;
  }

  receive(bytes: string, nowMs: number): void {
    this.settle(nowMs);
    this.#buffer += bytes;
    this.#lastByteMs = nowMs;
    for (;;) {
      const match = completeShape.exec(this.#buffer);
      if (match === null) break;
      this.#buffer = this.#buffer.slice(match[0].length);
      this.#obey(match[0], nowMs);
    }
    // The buffer of such a supply is short; what does not fit is lost.
    this.#buffer = this.#buffer.slice(0, longestCommand);
  }

  settle(nowMs: number): void {
    const endMs = this.#lastByteMs + idleMs;
    if (this.#buffer === '' || nowMs < endMs) return;
    const text = this.#buffer;
    this.#buffer = '';
    if (pausedShape.test(text)) this.#obey(text, endMs);
  }

  restart(): void {
    this.#buffer = '';
    this.#lastCommandMs = Number.NEGATIVE_INFINITY;
  }

  #obey(text: string, nowMs: number): void {
    if (nowMs - this.#lastCommandMs < commandGapMs) return;
    this.#lastCommandMs = nowMs;
    this.#supply.journal.command(text, nowMs);
    if (text.endsWith('?')) {
      this.#line.reply(this.#ask(text, nowMs), nowMs);
      return;
    }
    const [name = '', number] = text.split(':');
    if (number === undefined) this.#switch(name.slice(0, 3), name.endsWith('1'), nowMs);
    else this.#set(name, Number(number), nowMs);
  }

  #ask(text: string, nowMs: number): string {
    const supply = this.#supply;
    switch (text) {
      case 'VSET1?':
        return volts(supply.setVolts);
      case 'ISET1?':
        return amps(supply.setAmps);
      case 'VOUT1?':
        return volts(supply.measureVolts(nowMs));
      case 'IOUT1?':
        return amps(supply.measureAmps(nowMs));
      case 'STATUS?':
        return String.fromCharCode(this.#status(nowMs));
      default:
        return fourFieldIdentity(supply);
    }
  }

  /** Bit 0 voltage (1) or current (0) regulation, bit 5 OCP on, bit 6 output on, bit 7 OVP on. */
  #status(nowMs: number): number {
    const supply = this.#supply;
    const constantCurrent = supply.regulationShown(nowMs) === 'constantCurrent';
    return (
      (constantCurrent ? 0 : 1) |
      (supply.overCurrentEnabled ? 32 : 0) |
      (supply.outputShown(nowMs) ? 64 : 0) |
      (supply.overVoltageEnabled ? 128 : 0)
    );
  }

  #set(name: string, value: number, nowMs: number): void {
    const supply = this.#supply;
    if (name === 'VSET1' && value <= supply.model.maxVolts) supply.setVoltsTo(value, nowMs);
    if (name === 'ISET1' && value <= supply.model.maxAmps) supply.setAmpsTo(value, nowMs);
  }

  #switch(name: string, on: boolean, nowMs: number): void {
    const supply = this.#supply;
    if (name === 'OCP') supply.enableOverCurrent(on, nowMs);
    else if (name === 'OVP') supply.enableOverVoltage(on, nowMs);
    else {
      if (!on) supply.clearTrips(nowMs);
      supply.switchOutput(on, nowMs);
    }
  }
}

/** `VV.VV`, or as much of a fault's text as fits. */
function volts(value: number | string): string {
  if (typeof value === 'string') return value.slice(0, readingLength).padEnd(readingLength, '-');
  return value.toFixed(2).padStart(readingLength, '0');
}

/** `A.AAA`. */
function amps(value: number | string): string {
  if (typeof value === 'string') return value.slice(0, readingLength).padEnd(readingLength, '-');
  return value.toFixed(3).padStart(readingLength, '0');
}
