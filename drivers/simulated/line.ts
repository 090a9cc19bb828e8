/** The way back from the supply to the host: replies with latency, and a line that can go wrong. */

import type { FaultSwitches } from './faults.ts';
import type { RandomStream } from './random.ts';

interface Pending {
  readonly dueMs: number;
  readonly bytes: string;
  /**
   * When the reply begins to leave; until then the next command can interrupt it. Null is no
   * reply.
   */
  readonly startsMs: number | null;
}

/** More than this of an endless line is never made at once. */
const endlessChunkBytes = 65_536;
const endlessCharacters = '0123456789.';

export class Line {
  readonly #faults: FaultSwitches;
  readonly #random: RandomStream;
  readonly #latencyMs: number;
  readonly #terminator: string;
  #queue: Pending[] = [];
  #lastDueMs = Number.NEGATIVE_INFINITY;
  /** The reply that waits for the next query while replies come late by one. */
  #heldReply: string | null = null;
  #endlessFromMs = 0;
  #endlessSent = 0;
  #nextStrayMs: number | null = null;
  #strayInside: string | null = null;

  constructor(
    faults: FaultSwitches,
    random: RandomStream,
    options: { readonly latencyMs: number; readonly terminator: string },
  ) {
    this.#faults = faults;
    this.#random = random;
    this.#latencyMs = options.latencyMs;
    this.#terminator = options.terminator;
    faults.listen((name, on, nowMs) => {
      if (name === 'endlessLine') {
        this.#endlessFromMs = nowMs;
        this.#endlessSent = 0;
      } else if (name === 'lateReplies') {
        this.#heldReply = null;
      } else if (name === 'slow' && !on) {
        this.#catchUp(nowMs);
      } else if (name === 'unsolicited') {
        const stray = on ? faults.get('unsolicited') : undefined;
        this.#nextStrayMs = stray?.insideReply === false ? nowMs : null;
        this.#strayInside = stray?.insideReply === true ? stray.text : null;
      }
    });
  }

  /** Sends bytes back at once, as a supply that echoes does. */
  echo(bytes: string, nowMs: number): void {
    if (this.#quiet()) return;
    this.#queue.push({ dueMs: Math.max(nowMs, this.#lastDueMs), bytes, startsMs: null });
  }

  /** Queues a reply without its terminator; returns when it is due, ms. */
  reply(text: string, nowMs: number): number {
    const extraMs = this.#faults.get('slow')?.extraMs ?? 0;
    const dueMs = Math.max(nowMs, this.#lastDueMs) + this.#latencyMs + extraMs;
    this.#lastDueMs = dueMs;
    let bytes = `${text}${this.#terminator}`;
    if (this.#faults.has('lateReplies')) {
      const held = this.#heldReply;
      this.#heldReply = bytes;
      if (held === null) return dueMs;
      bytes = held;
    }
    if (this.#quiet()) return dueMs;
    const drop = this.#faults.get('dropReplies');
    if (drop !== undefined && this.#random.uniform() < drop.probability) return dueMs;
    this.#send(this.#spoilt(bytes), dueMs);
    return dueMs;
  }

  /** True while a reply has not begun to leave. */
  replyWaits(nowMs: number): boolean {
    return this.#queue.some((entry) => entry.startsMs !== null && entry.startsMs > nowMs);
  }

  /** Drops replies that have not begun to leave. */
  dropWaiting(nowMs: number): void {
    this.#queue = this.#queue.filter((entry) => entry.startsMs === null || entry.startsMs <= nowMs);
    this.#lastDueMs = this.#queue.reduce((last, entry) => Math.max(last, entry.dueMs), nowMs);
  }

  /** Forgets everything, as a restart does. */
  clear(): void {
    this.#queue = [];
    this.#heldReply = null;
    this.#lastDueMs = Number.NEGATIVE_INFINITY;
  }

  /** A supply that is quick again answers what still waits at its own pace. */
  #catchUp(nowMs: number): void {
    let dueMs = nowMs;
    this.#queue = this.#queue.map((entry) => {
      if (entry.dueMs <= nowMs) return entry;
      dueMs += this.#latencyMs;
      return { ...entry, dueMs, startsMs: entry.startsMs === null ? null : dueMs };
    });
    this.#lastDueMs = dueMs;
  }

  nextDueMs(): number | null {
    let next = this.#nextStrayMs ?? Number.POSITIVE_INFINITY;
    for (const entry of this.#queue) next = Math.min(next, entry.dueMs);
    const endless = this.#faults.get('endlessLine');
    if (endless !== undefined) {
      // A few characters at a time are enough, and spare the host a timer for each.
      const soon = this.#endlessSent + Math.max(1, Math.ceil(endless.bytesPerSecond / 50));
      next = Math.min(next, this.#endlessFromMs + (soon / endless.bytesPerSecond) * 1000);
    }
    return Number.isFinite(next) ? next : null;
  }

  take(nowMs: number): string {
    this.#strayLines(nowMs);
    let bytes = this.#endless(nowMs);
    if (this.#queue.length === 0) return bytes;
    const later: Pending[] = [];
    for (const entry of this.#queue) {
      if (entry.dueMs <= nowMs) bytes += entry.bytes;
      else later.push(entry);
    }
    this.#queue = later;
    return bytes;
  }

  #quiet(): boolean {
    return this.#faults.has('mute') || this.#faults.has('endlessLine');
  }

  #spoilt(bytes: string): string {
    let sent = bytes;
    if (this.#strayInside !== null) {
      const middle = Math.floor(sent.length / 2);
      sent = sent.slice(0, middle) + this.#strayInside + this.#terminator + sent.slice(middle);
      this.#strayInside = null;
    }
    const garble = this.#faults.get('garble');
    if (garble !== undefined && this.#random.uniform() < garble.probability) {
      sent = this.#garbled(sent);
    }
    return this.#faults.has('doubleReplies') ? sent + sent : sent;
  }

  /** Flips, drops or adds a byte or two; the terminator can be among them. */
  #garbled(bytes: string): string {
    const characters = bytes.split('');
    for (let hit = this.#random.whole(2); hit >= 0; hit -= 1) {
      const at = this.#random.whole(characters.length);
      const before = characters[at]?.charCodeAt(0) ?? 0;
      const other = String.fromCharCode((before + 1 + this.#random.whole(255)) & 0xff);
      const kind = this.#random.whole(3);
      if (kind === 0) characters.splice(at, 1, other);
      else if (kind === 1 && characters.length > 1) characters.splice(at, 1);
      else characters.splice(at, 0, other);
    }
    return characters.join('');
  }

  #send(bytes: string, dueMs: number): void {
    const split = this.#faults.get('splitReplies');
    if (split === undefined || bytes.length < 2) {
      this.#queue.push({ dueMs, bytes, startsMs: dueMs });
      return;
    }
    const cut = 1 + this.#random.whole(bytes.length - 1);
    const tailMs = dueMs + split.gapMs;
    this.#queue.push({ dueMs, bytes: bytes.slice(0, cut), startsMs: dueMs });
    // A reply that has begun to leave is finished, whatever the host asks meanwhile.
    this.#queue.push({ dueMs: tailMs, bytes: bytes.slice(cut), startsMs: dueMs });
    this.#lastDueMs = tailMs;
  }

  #strayLines(nowMs: number): void {
    const stray = this.#faults.get('unsolicited');
    if (stray === undefined) return;
    while (this.#nextStrayMs !== null && this.#nextStrayMs <= nowMs) {
      const dueMs = this.#nextStrayMs;
      this.#nextStrayMs = stray.everyMs > 0 ? dueMs + Math.max(1, stray.everyMs) : null;
      if (this.#quiet()) continue;
      this.#queue.push({ dueMs, bytes: `${stray.text}${this.#terminator}`, startsMs: null });
    }
  }

  #endless(nowMs: number): string {
    const endless = this.#faults.get('endlessLine');
    if (endless === undefined) return '';
    const wanted = Math.floor(((nowMs - this.#endlessFromMs) / 1000) * endless.bytesPerSecond);
    const count = Math.max(0, Math.min(endlessChunkBytes, wanted - this.#endlessSent));
    this.#endlessSent += count;
    // What a host did not fetch in time is gone: the line goes on from now.
    if (wanted > this.#endlessSent) this.#endlessSent = wanted;
    return endlessCharacters.repeat(Math.ceil(count / endlessCharacters.length)).slice(0, count);
  }
}
