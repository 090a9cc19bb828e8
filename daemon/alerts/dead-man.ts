/** Calls an address elsewhere once a minute for as long as the bench is watched, and only then. */

import { reasonOf } from './channels/reasons.ts';
import { readText, redact, secretsOf } from './channels/secrets.ts';
import type { TextOrSecret } from '../settings/model.ts';
import { expectSuccess, webAddress } from './channels/webhook.ts';

export interface DeadManParts {
  readonly url: TextOrSecret;
  readonly env: NodeJS.ProcessEnv;
  /** Whether control is alive and its loop turns. */
  readonly isWatched: () => boolean;
  readonly say: (sentence: string) => void;
  /** For tests: less than the usual times. */
  readonly everyMs?: number;
  readonly withinMs?: number;
}

const usuallyEveryMs = 60_000;
const usuallyWithinMs = 10_000;

export class DeadMan {
  readonly #parts: DeadManParts;
  readonly #everyMs: number;
  readonly #timer: NodeJS.Timeout;
  #calledMs = -Infinity;
  #failing = false;

  constructor(parts: DeadManParts) {
    this.#parts = parts;
    this.#everyMs = parts.everyMs ?? usuallyEveryMs;
    this.#timer = setInterval(() => this.#look(), this.#everyMs / 12).unref();
  }

  close(): void {
    clearInterval(this.#timer);
  }

  #look(): void {
    const nowMs = performance.now();
    if (nowMs - this.#calledMs < this.#everyMs || !this.#parts.isWatched()) return;
    this.#calledMs = nowMs;
    void this.#call();
  }

  /** A call that fails is told once, and so is the first that works again. */
  async #call(): Promise<void> {
    const { url, env, say, withinMs = usuallyWithinMs } = this.#parts;
    try {
      const signal = AbortSignal.timeout(withinMs);
      const address = webAddress(readText(url, env));
      await expectSuccess(await fetch(address, { redirect: 'manual', signal }));
      if (this.#failing) say("The dead man's address is reached again.");
      this.#failing = false;
    } catch (error) {
      const hide = (text: string) => redact(text, secretsOf([url], env));
      const reason = hide(reasonOf(error, hide));
      if (!this.#failing) say(`The dead man's address is not reached. ${reason}`);
      this.#failing = true;
    }
  }
}
