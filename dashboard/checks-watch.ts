/** Keeps the checks of one tank fresh while a page shows them. */

import type { TankChecks } from '../daemon/wire/checks.ts';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { ApiError, read } from './api.ts';
import { words } from '#words/common';

/** What nothing on the live socket tells of, such as a full disk, is asked for this often, ms. */
const everyMs = 2_000;

export class ChecksWatch {
  /** Null until the daemon has answered for this tank. */
  answer: TankChecks | null = null;
  error = '';
  readonly #changed: () => void;
  #tankId: string | null = null;
  #timer = 0;
  #seen = '';
  #asking = false;
  #again = false;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** Asks for a tank's checks, and anew at once where the tank has changed; null stops it. */
  follow(tank: TankSnapshot | null): void {
    if (tank === null) {
      this.stop();
      return;
    }
    if (tank.id !== this.#tankId) {
      this.stop();
      this.#tankId = tank.id;
      this.#timer = window.setInterval(() => void this.#ask(), everyMs);
    }
    const { link, output, run } = tank;
    const now = [link.state, output, run?.id, run?.version, run?.ready].join(' ');
    if (now === this.#seen) return;
    this.#seen = now;
    void this.#ask();
  }

  stop(): void {
    clearInterval(this.#timer);
    this.#tankId = null;
    this.#seen = '';
    this.answer = null;
    this.error = '';
  }

  async #ask(): Promise<void> {
    const tankId = this.#tankId;
    if (tankId === null) return;
    if (this.#asking) {
      this.#again = true;
      return;
    }
    this.#asking = true;
    try {
      const path = `/api/tanks/${encodeURIComponent(tankId)}/checks`;
      const answer = await read<TankChecks>(path);
      if (tankId === this.#tankId) [this.answer, this.error] = [answer, ''];
    } catch (error) {
      // What was well a moment ago may not be any more.
      this.answer = null;
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.#asking = false;
    this.#changed();
    if (!this.#again) return;
    this.#again = false;
    void this.#ask();
  }
}
