/** One tank's way to OFF: held ready while control lives, used when it is dead. */

import { setTimeout as wait } from 'node:timers/promises';
import type { SentinelOffScript } from '../wire/process.ts';
import { connectSocket, connectWithinMs, DescriptorChannel } from './channel.ts';
import type { Channel } from './channel.ts';
import { meet, meetWithinMs } from './identity.ts';
import { findDevice } from './find-device.ts';
import { verifyOff } from './reply.ts';

/** What became of an OFF. */
export interface OffResult {
  readonly tankId: string;
  readonly confirmed: boolean;
  /** OFF was sent to a supply that cannot tell its state: more tries tell nothing more. */
  readonly blind: boolean;
  /** One sentence for a person. */
  readonly message: string;
}

type Address =
  | { readonly kind: 'none' }
  | { readonly kind: 'device'; readonly path: string }
  | { readonly kind: 'socket'; readonly host: string; readonly port: number };

const firstPauseMs = 100;
const longestPauseMs = 1_000;
/** A dialect without an output query gets OFF this often; its word cannot be had. */
const blindRepeats = 3;

function addressOf(path: string | null): Address {
  if (path === null) return { kind: 'none' };
  if (!path.startsWith('tcp:')) return { kind: 'device', path };
  const url = new URL(path);
  const port = Number(url.port);
  if (url.hostname === '' || port === 0) throw new Error(`${path} is no tcp://host:port`);
  return { kind: 'socket', host: url.hostname.replaceAll(/^\[|\]$/g, ''), port };
}

function reasonOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** A tank's way to OFF, and the names under which its device may come back. */
export interface Way {
  readonly tankId: string;
  readonly script: SentinelOffScript;
  readonly names: readonly string[];
}

export class Guard {
  readonly way: Way;
  readonly tankId: string;
  readonly #script: SentinelOffScript;
  readonly #address: Address;
  readonly #pattern: RegExp | null;
  readonly #off: Buffer;
  #channel: Channel | null = null;
  #sent = false;

  /** Opens nothing yet; throws with the reason when this tank cannot be guarded. */
  constructor(way: Way) {
    const { tankId, script } = way;
    this.way = way;
    this.tankId = tankId;
    this.#script = script;
    this.#off = Buffer.from(script.off, 'latin1');
    if (script.path !== null && this.#off.length === 0) throw new Error('the OFF command is empty');
    this.#pattern = script.verifyOffPattern === null ? null : new RegExp(script.verifyOffPattern);
    this.#address = addressOf(script.path);
  }

  /**
   * Opens what can be opened while control holds the line too: a device. Control has just talked to
   * the supply behind it, and the descriptor stays with that device whatever its name becomes.
   */
  hold(): void {
    if (this.#address.kind === 'device') this.#channel = new DescriptorChannel(this.#address.path);
  }

  get hasLine(): boolean {
    return this.#address.kind !== 'none';
  }

  /** What has to be done before OFF can be sent may take so long, ms: nothing where a device is held, null without a line. */
  get reachWithinMs(): number | null {
    if (!this.hasLine) return null;
    if (this.#address.kind === 'device') return 0;
    return connectWithinMs + meetWithinMs(this.#script.identity);
  }

  close(): void {
    this.#channel?.close();
    this.#channel = null;
  }

  /** The last resort of a failing sentinel: OFF over the held descriptor, unverified. */
  shout(): void {
    this.#channel?.write(this.#off).catch(() => {});
  }

  /**
   * Sends OFF and asks for the state, again and again until the supply says off or the signal ends
   * it. `onTrouble` hears each new reason once. The line is closed before this returns, so that a
   * new control process finds it free.
   */
  async switchOff(signal: AbortSignal, onTrouble: (reason: string) => void): Promise<OffResult> {
    if (this.#address.kind === 'none') {
      return this.#result(true, 'The simulated supply ended with the control process.');
    }
    let reason = '';
    let blind = 0;
    for (let pauseMs = firstPauseMs; ; pauseMs = Math.min(2 * pauseMs, longestPauseMs)) {
      const outcome = await this.#attempt();
      if (outcome === null) break;
      if (outcome !== reason) onTrouble(outcome);
      reason = outcome;
      if (this.#pattern === null && this.#channel !== null) blind += 1;
      if (signal.aborted || blind >= blindRepeats) {
        this.close();
        const sent = this.#sent ? 'OFF was sent but is not confirmed' : 'OFF could not be sent';
        return this.#result(false, `${sent}: ${reason}.`);
      }
      await wait(pauseMs, undefined, { signal }).catch(() => {});
    }
    this.close();
    return this.#result(true, 'The supply took OFF and says that its output is off.');
  }

  #result(confirmed: boolean, message: string): OffResult {
    const blind = !confirmed && this.#sent && this.#pattern === null;
    return { tankId: this.tankId, confirmed, blind, message };
  }

  /** Null when confirmed; otherwise why not. The first bytes go out before anything is waited for. */
  async #attempt(): Promise<string | null> {
    try {
      this.#channel ??= await this.#open();
      await this.#channel.write(this.#off);
      this.#sent = true;
      const query = this.#script.verifyQuery;
      if (query === null || this.#pattern === null)
        return 'this supply cannot tell its output state';
      return await verifyOff(this.#channel, query, this.#pattern);
    } catch (error) {
      this.close();
      return reasonOf(error);
    }
  }

  /** Whoever answers as somebody else is sent nothing: OFF could switch off another supply. */
  async #open(): Promise<Channel> {
    if (this.#address.kind === 'none') throw new Error('a simulated supply has no line');
    const { identity, baudRate } = this.#script;
    if (this.#address.kind === 'device') {
      return findDevice([this.#address.path, ...this.way.names], baudRate, identity);
    }
    const channel = await connectSocket(this.#address.host, this.#address.port);
    const met = await meet(channel, identity);
    if (met.kind !== 'other') return channel;
    channel.close();
    throw new Error(`another device answers there, as ${JSON.stringify(met.says)}`);
  }
}
