/** One command or query at a time over a link: pauses, echoes, pushed lines, and a dirty mark. */

import { RectifierError, type DriverClock } from '../contract.ts';
import type { Link } from '../link/link.ts';
import { patternOf } from './dialect.ts';
import type { Dialect, ReplyShape } from './dialect-schema.ts';
import type { Ticket } from './lane.ts';
import { showReply } from './number.ts';

const BITS_PER_BYTE_ON_THE_WIRE = 10;
/** A reply to one query is rarely longer than this; used to allow for the time on the wire. */
const USUAL_REPLY_BYTES = 16;
const REMEMBERED_LINES = 8;
const KEPT_PUSHED_ERRORS = 32;

export interface Health {
  timeouts: number;
  garbled: number;
  resyncs: number;
}

interface ExchangeParts {
  readonly link: Link;
  readonly dialect: Dialect;
  readonly clock: DriverClock;
  readonly health: Health;
  /** Bits a second of a serial line; null where bytes take no time. */
  readonly baudRate: number | null;
}

export class Exchange {
  readonly link: Link;
  readonly dialect: Dialect;
  readonly clock: DriverClock;
  readonly health: Health;
  readonly #baudRate: number | null;
  /** After a time-out or a bad reply no value is to be believed until a resync has succeeded. */
  dirty = false;
  #lastEndMs = Number.NEGATIVE_INFINITY;
  #gapMs = 0;
  #strayBytes = 0;
  #sentLines: string[] = [];
  #pushedErrors: string[] = [];

  constructor(parts: ExchangeParts) {
    this.link = parts.link;
    this.dialect = parts.dialect;
    this.clock = parts.clock;
    this.health = parts.health;
    this.#baudRate = parts.baudRate;
  }

  /** How long the pause after the last exchange still lasts, ms. */
  get gapLeftMs(): number {
    return Math.max(0, this.#lastEndMs + this.#gapMs - this.clock.nowMs());
  }

  /** Error lines that the supply pushed by itself since this was last asked. */
  takePushedErrors(): string[] {
    const errors = this.#pushedErrors;
    this.#pushedErrors = [];
    return errors;
  }

  /** Sends a command that has no reply but perhaps an acknowledgement. */
  async command(ticket: Ticket, line: string): Promise<void> {
    await this.#guard(ticket, async () => {
      await this.#send(ticket, line);
      if (this.dialect.rx.ack === undefined) await this.link.drain();
      else await this.#expectAck(this.deadlineMs(ticket, line, 1));
      ticket.check();
    });
    const { gapMs, gapAfterSetMs } = this.dialect.tx;
    this.#ended(gapMs + gapAfterSetMs);
  }

  /** Sends a query of `fields` values and gives its reply, judged by `check` on the way. */
  async query(
    ticket: Ticket,
    line: string,
    shape: ReplyShape,
    check: (reply: string) => void,
    fields = 1,
  ): Promise<string> {
    const reply = await this.#guard(ticket, async () => {
      await this.#send(ticket, line);
      const deadlineMs = this.deadlineMs(ticket, line, fields);
      const text =
        this.dialect.rx.mode === 'line'
          ? await this.#replyLine(deadlineMs)
          : await this.#replyBytes(line, shape, deadlineMs);
      ticket.check();
      check(text);
      return text;
    });
    this.#ended(this.dialect.tx.gapMs);
    return reply;
  }

  /** Bytes of OFF, past every pause and every check; handed over before this returns. */
  sendAtOnce(bytes: string): Promise<void> {
    this.#ended(this.dialect.tx.gapMs + this.dialect.tx.gapAfterSetMs);
    return this.link.write(bytes);
  }

  /** Bare bytes such as a lone terminator, after the pause that is due. */
  async sendBare(ticket: Ticket, bytes: string): Promise<void> {
    await this.waitGap(ticket);
    await this.link.write(bytes);
    ticket.check();
    this.#ended(this.dialect.tx.gapMs);
  }

  async waitGap(ticket: Ticket): Promise<void> {
    const gapMs = this.gapLeftMs;
    if (gapMs > 0) await this.clock.sleep(gapMs);
    ticket.check();
  }

  /** Waits for the pause that is due, and refuses a line on which something came that nobody asked for. */
  async settle(ticket: Ticket): Promise<void> {
    await this.#guard(ticket, async () => {
      await this.waitGap(ticket);
      this.#refuseStale();
    });
  }

  /** Drops what stands on the line and what still comes, as `Link.discard`. */
  async discard(ticket: Ticket, quietMs: number, capMs: number): Promise<void> {
    await this.link.discard(quietMs, capMs);
    ticket.check();
    this.#strayBytes = 0;
  }

  /** A reply line, waiting until a moment of the clock; pushed lines and echoes are dropped. */
  async nextLine(deadlineMs: number): Promise<string> {
    for (;;) {
      const line = this.#strip(await this.link.next(deadlineMs));
      if (!this.#isNoise(line)) return line;
    }
  }

  #strip(frame: string): string {
    const { strip } = this.dialect.rx;
    let from = 0;
    let to = frame.length;
    while (from < to && strip.includes(frame.charAt(from))) from += 1;
    while (to > from && strip.includes(frame.charAt(to - 1))) to -= 1;
    return frame.slice(from, to);
  }

  /** Whether a line is no reply: empty, an echo, or pushed by the supply. Errors are kept. */
  #isNoise(line: string): boolean {
    const { ignoreLine, errorLine } = this.dialect.rx;
    if (line === '') return true;
    const echo = this.#sentLines.indexOf(line);
    if (echo !== -1) {
      this.#sentLines.splice(echo, 1);
      return true;
    }
    if (ignoreLine !== undefined && patternOf(ignoreLine).test(line)) return true;
    if (errorLine === undefined || !patternOf(errorLine).test(line)) return false;
    if (this.#pushedErrors.length < KEPT_PUSHED_ERRORS) this.#pushedErrors.push(line);
    return true;
  }

  async #send(ticket: Ticket, line: string): Promise<void> {
    await this.waitGap(ticket);
    this.#refuseStale();
    this.#sentLines.push(line);
    if (this.#sentLines.length > REMEMBERED_LINES) this.#sentLines.shift();
    await this.link.write(line + this.dialect.tx.terminator);
    ticket.check();
  }

  /** A frame that waits before anything was asked answers an older question. */
  #refuseStale(): void {
    for (;;) {
      const frame = this.link.take();
      if (frame === undefined) return;
      if (this.dialect.rx.mode === 'fixed') {
        this.#strayBytes -= frame.length;
        if (this.#strayBytes >= 0) continue;
      } else if (this.#isNoise(this.#strip(frame))) {
        continue;
      }
      const message = `${this.link.name} sent ${showReply(frame)} without being asked.`;
      throw new RectifierError('garbled', message);
    }
  }

  async #replyLine(deadlineMs: number): Promise<string> {
    const pushed = this.#pushedErrors.length;
    for (;;) {
      const line = this.#strip(await this.link.next(deadlineMs));
      const noise = this.#isNoise(line);
      const error = this.#pushedErrors[pushed];
      if (error !== undefined) {
        // The pushed line may stand in place of this reply or of part of it.
        throw new RectifierError('refused', `The supply pushed an error: ${showReply(error)}.`);
      }
      if (noise) continue;
      if (this.dialect.rx.ack !== undefined) await this.#expectAck(deadlineMs);
      return line;
    }
  }

  async #expectAck(deadlineMs: number): Promise<void> {
    const { ack } = this.dialect.rx;
    const line = await this.nextLine(deadlineMs);
    if (ack !== undefined && !patternOf(ack).test(line)) {
      const message = `${showReply(line)} came in place of the acknowledgement.`;
      throw new RectifierError('garbled', message);
    }
  }

  async #replyBytes(line: string, shape: ReplyShape, deadlineMs: number): Promise<string> {
    if (shape.length === undefined) return this.#bytesUntilIdle(line, deadlineMs);
    let bytes = await this.link.next(deadlineMs);
    while (bytes.length < shape.length) bytes += await this.link.next(deadlineMs);
    this.#strayBytes = shape.length + shape.strayBytes - bytes.length;
    if (this.#strayBytes < 0) {
      const message = `${showReply(bytes)} is longer than the ${shape.length} bytes expected.`;
      throw new RectifierError('garbled', message);
    }
    return bytes.slice(0, shape.length);
  }

  /** A reply that silence ends. The command itself in front of it is its echo, and no part of it. */
  async #bytesUntilIdle(line: string, deadlineMs: number): Promise<string> {
    let bytes = '';
    for (;;) {
      const begun = bytes.length > 0 && !line.startsWith(bytes);
      const more = begun ? await this.#moreBytes() : await this.link.next(deadlineMs);
      if (more === null) break;
      bytes += more;
      if (bytes.length > this.dialect.rx.maxBytes) {
        throw new RectifierError('overflow', `${this.link.name} sent a reply without end.`);
      }
    }
    return this.#strip(bytes.startsWith(line) ? bytes.slice(line.length) : bytes);
  }

  /** More of a reply; null after the silence that ends it. */
  async #moreBytes(): Promise<string | null> {
    try {
      return await this.link.next(this.clock.nowMs() + this.dialect.rx.idleMs);
    } catch (error) {
      if (error instanceof RectifierError && error.kind === 'timeout') return null;
      throw error;
    }
  }

  #ended(gapMs: number): void {
    this.#lastEndMs = this.clock.nowMs();
    this.#gapMs = gapMs;
  }

  /** When a reply of `fields` values to `line` is overdue, on the clock. */
  deadlineMs(ticket: Ticket, line: string, fields: number): number {
    const exchangeMs = this.dialect.rx.timeoutMs + this.wireMs(line, fields);
    return Math.min(ticket.limitMs, this.clock.nowMs() + exchangeMs);
  }

  /** Time that a query and its reply spend on a serial line, ms; 0 on any other. */
  wireMs(line: string, fields: number): number {
    if (this.#baudRate === null) return 0;
    const bytes = line.length + USUAL_REPLY_BYTES * fields;
    return (bytes * BITS_PER_BYTE_ON_THE_WIRE * 1000) / this.#baudRate;
  }

  /** Counts a failure and marks the line dirty; an overtaken step touches nothing any more. */
  async #guard<T>(ticket: Ticket, step: () => Promise<T>): Promise<T> {
    try {
      return await step();
    } catch (error) {
      ticket.check();
      this.dirty = true;
      this.#ended(this.dialect.tx.gapMs);
      if (error instanceof RectifierError) {
        if (error.kind === 'timeout') this.health.timeouts += 1;
        if (error.kind === 'garbled' || error.kind === 'overflow') this.health.garbled += 1;
      }
      throw error;
    }
  }
}
