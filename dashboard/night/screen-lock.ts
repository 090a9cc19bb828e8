/** Keeps the screen of this device on, where its browser lets a page do so. */

/** `address`: browsers offer it over https and on the machine itself only. */
export type ScreenState = 'asking' | 'held' | 'address' | 'browser' | 'refused';

/** What can be told before anything is asked for; null where asking is worth it. */
export function screenObstacle(secure: boolean, offered: boolean): 'address' | 'browser' | null {
  if (offered) return null;
  return secure ? 'browser' : 'address';
}

export class ScreenLock {
  state: ScreenState = 'asking';
  readonly #changed: () => void;
  #lock: WakeLockSentinel | null = null;
  #wanted = false;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  readonly #onSight = (): void => {
    // A lock goes whenever the page is hidden; back in sight it is asked for anew.
    if (!document.hidden) void this.ask();
  };

  start(): void {
    this.#wanted = true;
    document.addEventListener('visibilitychange', this.#onSight);
    void this.ask();
  }

  stop(): void {
    this.#wanted = false;
    document.removeEventListener('visibilitychange', this.#onSight);
    void this.#lock?.release();
    this.#lock = null;
  }

  async ask(): Promise<void> {
    const obstacle = screenObstacle(isSecureContext, 'wakeLock' in navigator);
    if (obstacle !== null) return this.#become(obstacle);
    if (this.#lock !== null && !this.#lock.released) return;
    try {
      const lock = await navigator.wakeLock.request('screen');
      if (!this.#wanted) return void lock.release();
      this.#lock = lock;
      lock.addEventListener('release', () => {
        if (this.#wanted && this.#lock === lock) this.#become('refused');
      });
      this.#become('held');
    } catch {
      this.#become('refused');
    }
  }

  #become(state: ScreenState): void {
    this.state = state;
    this.#changed();
  }
}
