/** Tells systemd that Nightbath is up, alive, or leaving; does nothing where nobody asked for it. */

import { execFile } from 'node:child_process';

/** What is said with systemd's own small program takes milliseconds; it is ended after this time. */
const tellWithinMs = 5_000;
/** The dog is fed this often within its patience. */
const feedsPerPatience = 3;

export interface ServiceManagerParts {
  readonly env: NodeJS.ProcessEnv;
  /** Whether the sentinel does its work; a dog is fed for nothing else. */
  readonly isWell: () => boolean;
  readonly say: (sentence: string) => void;
}

/** How often the watchdog wants to be fed, ms; null where there is none, or where it is not ours. */
export function feedEveryMs(env: NodeJS.ProcessEnv, pid: number): number | null {
  const patienceMs = Number(env['WATCHDOG_USEC'] ?? '') / 1000;
  if (!(patienceMs > 0) || !Number.isFinite(patienceMs)) return null;
  const forPid = env['WATCHDOG_PID'] ?? '';
  if (forPid !== '' && forPid !== String(pid)) return null;
  return patienceMs / feedsPerPatience;
}

export class ServiceManager {
  readonly #parts: ServiceManagerParts;
  readonly #isAsked: boolean;
  #feeding: NodeJS.Timeout | null = null;
  /** What waits to be said; one thing at a time, in its order. */
  #queue: string[] = [];
  #telling = false;
  #hasComplained = false;

  constructor(parts: ServiceManagerParts) {
    this.#parts = parts;
    this.#isAsked = (parts.env['NOTIFY_SOCKET'] ?? '') !== '';
    const everyMs = this.#isAsked ? feedEveryMs(parts.env, process.pid) : null;
    if (everyMs === null) return;
    this.#feed();
    this.#feeding = setInterval(() => this.#feed(), everyMs);
  }

  ready(): void {
    this.#tell('READY=1');
  }

  stopping(): void {
    this.#tell('STOPPING=1');
  }

  /** The last: nobody feeds the dog any more. */
  close(): void {
    if (this.#feeding !== null) clearInterval(this.#feeding);
    this.#feeding = null;
  }

  #feed(): void {
    if (this.#parts.isWell() && !this.#queue.includes('WATCHDOG=1')) this.#tell('WATCHDOG=1');
  }

  #tell(word: string): void {
    if (!this.#isAsked) return;
    this.#queue.push(word);
    if (!this.#telling) this.#next();
  }

  #next(): void {
    const word = this.#queue.shift();
    this.#telling = word !== undefined;
    if (word === undefined) return;
    const options = { env: this.#parts.env, timeout: tellWithinMs };
    execFile('systemd-notify', [word], options, (error) => {
      if (error !== null && !this.#hasComplained) {
        this.#hasComplained = true;
        const why = error.message.split('\n')[0] ?? '';
        this.#parts.say(`The service manager could not be told ${word}: ${why}`);
      }
      this.#next();
    });
  }
}
