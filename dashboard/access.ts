/** What this page may do: asked for once at the start, and again whenever the daemon refuses it. */

import type { Standing } from '../daemon/wire/session.ts';
import { type Role } from '../daemon/wire/roles.ts';
import { covers } from '../daemon/wire/roles.ts';
import { accessWords } from '#words/access';

/** How a sign-in ended: null when it is done, else the sentence to show. */
export type SignInAnswer = string | null;

const changing = { 'content-type': 'application/json', 'x-nightbath': '1' } as const;
/** Longest wait; the passphrase is made dear to guess, so an answer takes a moment. */
const timeoutMs = 12_000;

class Access {
  /** Null as long as the daemon has not said. */
  standing: Standing | null = null;
  /** There was a session, or none was needed, and now one is. */
  ended = false;
  readonly #listeners = new Set<() => void>();
  #asking: Promise<void> | null = null;

  onChange(listener: () => void): void {
    this.#listeners.add(listener);
  }

  /** True where somebody has to sign in before there is anything to show. */
  get closed(): boolean {
    return this.standing !== null && this.standing.role === null;
  }

  /** Without a word from the daemon nothing is held back here: it judges every request itself. */
  may(needed: Role): boolean {
    return this.standing === null || this.ended || covers(this.standing.role, needed);
  }

  /** Why something cannot be pressed; empty where it can. */
  whyNot(needed: Role): string {
    return this.may(needed) ? '' : accessWords.needs[needed];
  }

  /** Asks the daemon who this page is. Never rejects: a daemon that is away has not said. */
  ask(): Promise<void> {
    this.#asking ??= this.#ask().finally(() => (this.#asking = null));
    return this.#asking;
  }

  async #ask(): Promise<void> {
    try {
      const response = await fetch('/api/session', { signal: AbortSignal.timeout(timeoutMs) });
      if (!response.ok) return;
      const standing = (await response.json()) as Standing;
      const before = this.standing;
      // What the page may do stays as it was told first: its pages are greyed, not rebuilt.
      this.ended = before !== null && before.role !== null && standing.role === null;
      if (!this.ended) this.standing = standing;
    } catch {
      // The page says itself that it is not live.
    }
    for (const listener of this.#listeners) listener();
  }

  async signIn(passphrase: string, name: string): Promise<SignInAnswer> {
    try {
      const response = await fetch('/api/session', {
        method: 'POST',
        headers: changing,
        body: JSON.stringify({ passphrase, ...(name !== '' && { name }) }),
        signal: AbortSignal.timeout(timeoutMs),
      });
      if (response.ok) return null;
      const { detail } = (await response.json()) as { detail?: string };
      return detail ?? accessWords.noAnswer;
    } catch {
      return accessWords.noAnswer;
    }
  }

  /** Signs this browser out, or everybody; true when it is done. */
  async signOut(everybody: boolean): Promise<boolean> {
    try {
      const path = everybody ? '/api/sessions' : '/api/session';
      const init = { method: 'DELETE', headers: changing };
      return (await fetch(path, { ...init, signal: AbortSignal.timeout(timeoutMs) })).ok;
    } catch {
      return false;
    }
  }
}

export const access = new Access();
