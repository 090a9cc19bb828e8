/** Notifications of the browser: where they may be shown, and that each thing is told once. */

import type { Ask } from './asks.ts';
import { alarmWords } from '#words/alarm';

export type NoticeState = 'granted' | 'ask' | 'denied' | 'address' | 'browser';

export class Notices {
  readonly #changed: () => void;
  readonly #shown = new Map<string, Notification>();
  /** Some browsers have the name and throw at its use. */
  #broken = false;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  get state(): NoticeState {
    if (!isSecureContext) return 'address';
    if (this.#broken || !('Notification' in globalThis)) return 'browser';
    return Notification.permission === 'default' ? 'ask' : Notification.permission;
  }

  async ask(): Promise<void> {
    await Notification.requestPermission().catch(() => undefined);
    this.#changed();
  }

  /** Shows what is new, and takes away what does not ask any more. */
  show(asks: readonly Ask[]): void {
    for (const [key, notice] of this.#shown) {
      if (asks.some((ask) => ask.key === key)) continue;
      notice.close();
      this.#shown.delete(key);
    }
    if (this.state !== 'granted' || !document.hidden) return;
    for (const ask of asks) {
      if (this.#shown.has(ask.key)) continue;
      const notice = this.#make(ask);
      if (notice !== null) this.#shown.set(ask.key, notice);
    }
  }

  #make({ key, sound, tank, text }: Ask): Notification | null {
    try {
      const title = `${alarmWords.sounds[sound]}: ${tank}`;
      const notice = new Notification(title, {
        body: text,
        tag: key,
        requireInteraction: sound !== 'note',
      });
      notice.addEventListener('click', () => window.focus());
      return notice;
    } catch {
      this.#broken = true;
      this.#changed();
      return null;
    }
  }
}
