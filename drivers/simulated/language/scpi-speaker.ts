/**
 * A SCPI supply on its line: cuts messages, obeys them, and answers within the rules of IEEE
 * 488.2.
 */

import type { Line } from '../line.ts';
import type { Supply } from '../supply.ts';
import { Interpreter } from './interpreter.ts';
import { LineBuffer } from './line-buffer.ts';
import type { Speaker } from './speaker.ts';
import { StatusRegisters } from './status.ts';
import type { Command, LanguageRules, ScpiDevice } from './table.ts';

/** A whole query that has waited this long for its terminator is given up, with error -420, ms. */
const unterminatedMs = 2000;

export class ScpiSpeaker implements Speaker {
  readonly #supply: Supply;
  readonly #line: Line;
  readonly #interpreter: Interpreter;
  readonly #buffer = new LineBuffer();

  constructor(
    supply: Supply,
    line: Line,
    language: {
      readonly rules: LanguageRules;
      readonly commands: readonly Command[];
      readonly refresh: (device: ScpiDevice) => void;
    },
  ) {
    this.#supply = supply;
    this.#line = line;
    this.#interpreter = new Interpreter(supply, new StatusRegisters(), language);
  }

  receive(bytes: string, nowMs: number): void {
    this.#buffer.push(
      bytes,
      nowMs,
      (line) => this.#obey(line, nowMs),
      () => this.#interpreter.device.errors.push({ code: -363 }),
    );
  }

  settle(nowMs: number): void {
    const { partial, sinceMs } = this.#buffer;
    if (partial === '' || nowMs - sinceMs < unterminatedMs) return;
    if (!partial.trimEnd().endsWith('?')) return;
    this.#buffer.clear();
    this.#interpreter.device.errors.push({ code: -420 });
  }

  restart(): void {
    this.#buffer.clear();
    this.#interpreter.restart();
  }

  #obey(line: string, nowMs: number): void {
    const text = line.trim();
    if (text === '') return;
    this.#supply.journal.command(text, nowMs);
    if (this.#interpreter.rules.interrupts && this.#line.replyWaits(nowMs)) {
      this.#line.dropWaiting(nowMs);
      this.#interpreter.device.errors.push({ code: -410 });
    }
    const reply = this.#interpreter.execute(line, nowMs);
    if (reply !== null) this.#line.reply(reply, nowMs);
  }
}
