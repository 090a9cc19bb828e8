/**
 * The `vset-iset` language: a word, a space, a number; CR LF both ways; errors only as a code that
 * `ERR?` reads and clears. No SCPI in it. Over-current protection is fixed in the hardware, and
 * `OUT 0` clears a trip.
 */

import type { Line } from '../line.ts';
import type { Supply } from '../supply.ts';
import { fixedDecimals, oneWordIdentity } from './identity.ts';
import { LineBuffer } from './line-buffer.ts';
import type { Speaker } from './speaker.ts';

/** The codes of `ERR?`. */
const unknownCommand = 1;
const badParameter = 2;
const outOfRange = 3;
const protectionTripped = 4;
const lineTooLong = 5;

const commandShape = /^([A-Z]+)(\?)?(?: +(\S+))?$/u;
const numberShape = /^[+-]?(?:\d+\.?\d*|\.\d+)$/u;

export class VsetIsetSpeaker implements Speaker {
  readonly #supply: Supply;
  readonly #line: Line;
  readonly #buffer = new LineBuffer();
  #error = 0;

  constructor(supply: Supply, line: Line) {
    this.#supply = supply;
    this.#line = line;
  }

  receive(bytes: string, nowMs: number): void {
    this.#buffer.push(
      bytes,
      nowMs,
      (line) => this.#obey(line, nowMs),
      () => {
        this.#error = lineTooLong;
      },
    );
  }

  settle(): void {
    // A pause means nothing in this language.
  }

  restart(): void {
    this.#buffer.clear();
    this.#error = 0;
  }

  #obey(line: string, nowMs: number): void {
    const text = line.trim();
    if (text === '') return;
    this.#supply.journal.command(text, nowMs);
    const match = commandShape.exec(text.toUpperCase());
    const word = match?.[1] ?? '';
    if (match !== null && match[2] === '?' && match[3] === undefined) {
      const reply = this.#ask(word, nowMs);
      if (reply === null) this.#error = unknownCommand;
      else this.#line.reply(reply, nowMs);
      return;
    }
    const error = match === null || match[2] === '?' ? unknownCommand : this.#set(match, nowMs);
    if (error !== 0) this.#error = error;
  }

  #ask(word: string, nowMs: number): string | null {
    const supply = this.#supply;
    const { voltsDigits, ampsDigits } = supply.model;
    switch (word) {
      case 'VSET':
        return supply.setVolts.toFixed(voltsDigits);
      case 'ISET':
        return supply.setAmps.toFixed(ampsDigits);
      case 'VOUT':
        return fixedDecimals(supply.measureVolts(nowMs), voltsDigits);
      case 'IOUT':
        return fixedDecimals(supply.measureAmps(nowMs), ampsDigits);
      case 'OUT':
        return supply.outputShown(nowMs) ? '1' : '0';
      case 'OVSET':
        return supply.overVoltageVolts.toFixed(voltsDigits);
      case 'STS':
        return String(this.#status(nowMs));
      case 'ID':
        return oneWordIdentity(supply);
      case 'ERR': {
        const code = this.#error;
        this.#error = 0;
        return String(code);
      }
      default:
        return null;
    }
  }

  /** Bit 0 voltage regulation, bit 1 current regulation, bit 2 and 3 tripped. */
  #status(nowMs: number): number {
    const supply = this.#supply;
    const regulation = supply.regulationShown(nowMs);
    let bits = 0;
    if (regulation === 'constantVoltage') bits |= 1;
    if (regulation === 'constantCurrent') bits |= 2;
    if (supply.tripped('overVoltage', nowMs)) bits |= 4;
    if (supply.tripped('overCurrent', nowMs)) bits |= 8;
    return bits;
  }

  #set(match: RegExpExecArray, nowMs: number): number {
    const supply = this.#supply;
    const { maxVolts, maxAmps } = supply.model;
    const [, word = '', , argument = ''] = match;
    if (!['VSET', 'ISET', 'OVSET', 'OUT'].includes(word)) return unknownCommand;
    if (!numberShape.test(argument)) return badParameter;
    const value = Number(argument);
    if (word === 'OUT') return this.#switch(value, nowMs);
    const max = { VSET: maxVolts, ISET: maxAmps, OVSET: supply.maxOverVoltageVolts }[word] ?? 0;
    if (value < 0 || value > max) return outOfRange;
    if (word === 'VSET') supply.setVoltsTo(value, nowMs);
    else if (word === 'ISET') supply.setAmpsTo(value, nowMs);
    else supply.setOverVoltageTo(value, nowMs);
    return 0;
  }

  #switch(value: number, nowMs: number): number {
    if (value !== 0 && value !== 1) return outOfRange;
    if (value === 0) this.#supply.clearTrips(nowMs);
    return this.#supply.switchOutput(value === 1, nowMs) ? 0 : protectionTripped;
  }
}
