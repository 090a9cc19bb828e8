/** Calls for a person from this device: title, icon, notifications, and sound that grows until it is answered. */

import { connection } from '../connection.ts';
import { keep, kept } from '../theme.ts';
import { asksOf, type Ask } from './asks.ts';
import { Notices } from './notices.ts';
import { lengthMsOf, loudnessAt, pauseMsAt, type Sound } from './pattern.ts';
import { Speaker, type SpeakerState } from './speaker.ts';
import { alarmWords } from '#words/alarm';

const wantedKey = 'nightbath.sound';
const testOrder: readonly Sound[] = ['note', 'act-soon', 'stopped'];
const lookEveryMs = 2_000;
const testLoudness = 0.5;
const testGapMs = 700;

class Attention {
  asks: readonly Ask[] = [];
  /** The pattern that a test sounds just now; null when none is under way. */
  testing: Sound | null = null;
  readonly notices = new Notices(() => connection.announce());
  readonly #speaker = new Speaker(() => connection.announce());
  /** When each thing began to ask, on this device's monotonic clock. */
  readonly #since = new Map<string, number>();
  #quietAway = false;
  #timer = 0;
  #sounding: string | null = null;

  start(): void {
    connection.listen({ changed: () => this.#look() });
    // A bench out of reach tells of nothing, this least of all.
    setInterval(() => this.#lookAgain(), lookEveryMs);
    if (kept(wantedKey) === null) return;
    // Armed before: the browser only waits for a press, whatever it is on.
    const again = (): void => {
      removeEventListener('pointerdown', again);
      removeEventListener('keydown', again);
      if (kept(wantedKey) !== null) void this.arm();
    };
    addEventListener('pointerdown', again);
    addEventListener('keydown', again);
  }

  /** `again` is off, but the next press on the page arms it. */
  get sound(): SpeakerState | 'again' {
    const { state } = this.#speaker;
    return state === 'off' && kept(wantedKey) !== null ? 'again' : state;
  }

  async arm(): Promise<boolean> {
    const armed = await this.#speaker.arm();
    if (armed) keep(wantedKey, 'armed');
    this.#sounding = null;
    this.#look();
    return armed;
  }

  disarm(): void {
    forget(wantedKey);
    this.#silence();
    this.#speaker.disarm();
  }

  /** One pattern after the other, the gravest last. */
  async test(): Promise<boolean> {
    if (this.testing !== null) return true;
    if (!(await this.arm())) return false;
    for (const sound of testOrder) {
      this.testing = sound;
      connection.announce();
      this.#speaker.play(sound, testLoudness);
      await new Promise((resolve) => setTimeout(resolve, lengthMsOf(sound) + testGapMs));
    }
    this.testing = null;
    connection.announce();
    return true;
  }

  /** The bench stays out of reach and everybody knows: nothing more is said of that until it is back. */
  quietAway(): void {
    this.#quietAway = true;
    this.#look();
    connection.announce();
  }

  /** The title of the page, with what asks before it. */
  titled(title: string): string {
    const [first] = this.asks;
    return first ? `${alarmWords.asking(first.sound, first.tank)} · ${title}` : title;
  }

  #lookAgain(): void {
    const before = this.asks[0]?.key;
    this.#look();
    if (this.asks[0]?.key !== before) connection.announce();
  }

  #look(): void {
    const { state, silentSinceWallMs, bench } = connection;
    if (state === 'live') this.#quietAway = false;
    const silentMs = state === 'stale' && !this.#quietAway ? Date.now() - silentSinceWallMs : 0;
    this.asks = asksOf(bench?.tanks ?? [], silentMs);
    const now = performance.now();
    for (const key of this.#since.keys()) {
      if (!this.asks.some((ask) => ask.key === key)) this.#since.delete(key);
    }
    for (const { key } of this.asks) if (!this.#since.has(key)) this.#since.set(key, now);
    this.notices.show(this.asks);
    showIcon(this.asks.length > 0);
    this.#sound();
  }

  /** Begins at once with whatever asks first, and goes on by itself. */
  #sound(): void {
    const first = this.asks[0]?.key ?? null;
    if (first === this.#sounding) return;
    this.#silence();
    this.#sounding = first;
    if (first !== null) this.#repeat();
  }

  #repeat(): void {
    const [first] = this.asks;
    if (first === undefined) return;
    const ageMs = performance.now() - (this.#since.get(first.key) ?? performance.now());
    if (this.testing === null) this.#speaker.play(first.sound, loudnessAt(first.sound, ageMs));
    this.#timer = window.setTimeout(() => this.#repeat(), pauseMsAt(first.sound, ageMs));
  }

  #silence(): void {
    clearTimeout(this.#timer);
    this.#sounding = null;
    this.#speaker.hush();
  }
}

function forget(name: string): void {
  try {
    localStorage.removeItem(name);
  } catch {
    // Where nothing can be kept there is nothing to forget.
  }
}

function showIcon(asks: boolean): void {
  const link = document.querySelector<HTMLLinkElement>('link[rel=icon]');
  const href = asks ? '/favicon-alarm.svg' : '/favicon.svg';
  if (link && !link.href.endsWith(href)) link.href = href;
}

export const attention = new Attention();
