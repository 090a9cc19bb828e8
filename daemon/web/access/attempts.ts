/** How often a sign-in may be tried: from one address, from all together, and how many at a time. */

/** A bucket that holds so many tries and regains one in each period. */
interface Bucket {
  left: number;
  atMs: number;
}

export interface AttemptRules {
  readonly perAddress: { readonly burst: number; readonly regainMs: number };
  readonly together: { readonly burst: number; readonly regainMs: number };
  /** Sign-ins that wait for their turn to be computed; more are turned away. */
  readonly mostWaiting: number;
}

/** Six mistakes, then one in half a minute; a hundred thousand a week over the whole network. */
export const attemptRules: AttemptRules = {
  perAddress: { burst: 6, regainMs: 30_000 },
  together: { burst: 30, regainMs: 6_000 },
  mostWaiting: 4,
};

/** Addresses that are remembered; those heard of longest ago are forgotten first. */
const mostAddresses = 2_000;

export class AttemptLimits {
  readonly #rules: AttemptRules;
  readonly #nowMs: () => number;
  readonly #addresses = new Map<string, Bucket>();
  readonly #together: Bucket;

  /** `nowMs` is monotonic. */
  constructor(rules: AttemptRules, nowMs: () => number) {
    this.#rules = rules;
    this.#nowMs = nowMs;
    this.#together = { left: rules.together.burst, atMs: nowMs() };
  }

  /**
   * Takes one try; 0 where it may go on, else how long to wait, ms. A trusted address, one from which
   * somebody is signed in for control, is not held up by what others try.
   */
  take(address: string, trusted: boolean): number {
    const key = neighbourhood(address);
    const mine = this.#addresses.get(key) ?? {
      left: this.#rules.perAddress.burst,
      atMs: this.#nowMs(),
    };
    // Put back at the end, so that the first of the map is the one heard of longest ago.
    this.#addresses.delete(key);
    this.#addresses.set(key, mine);
    this.#forget();
    const waitMs = this.#wait(mine, this.#rules.perAddress);
    const othersMs = trusted ? 0 : this.#wait(this.#together, this.#rules.together);
    if (waitMs > 0 || othersMs > 0) return Math.max(waitMs, othersMs);
    mine.left -= 1;
    if (!trusted) this.#together.left -= 1;
    return 0;
  }

  /**
   * A try that was right does not count. The wrong ones before it do: else whoever knows the passphrase
   * of a lower role could guess at a higher one for as long as they like.
   */
  giveBack(address: string, trusted: boolean): void {
    const { perAddress, together } = this.#rules;
    const mine = this.#addresses.get(neighbourhood(address));
    if (mine !== undefined) mine.left = Math.min(perAddress.burst, mine.left + 1);
    if (!trusted) this.#together.left = Math.min(together.burst, this.#together.left + 1);
  }

  #wait(bucket: Bucket, rule: { readonly burst: number; readonly regainMs: number }): number {
    const now = this.#nowMs();
    bucket.left = Math.min(rule.burst, bucket.left + (now - bucket.atMs) / rule.regainMs);
    bucket.atMs = now;
    return bucket.left >= 1 ? 0 : Math.ceil((1 - bucket.left) * rule.regainMs);
  }

  #forget(): void {
    const oldest = this.#addresses.keys().next();
    if (this.#addresses.size > mostAddresses && oldest.done !== true) {
      this.#addresses.delete(oldest.value);
    }
  }
}

/** What one person can have many of counts as one: an IPv6 address by its first 64 bits. */
export function neighbourhood(address: string): string {
  if (!address.includes(':')) return address;
  const [head = '', tail] = address.split('::');
  const front = head === '' ? [] : head.split(':');
  if (tail === undefined) return front.slice(0, 4).join(':');
  const back = tail === '' ? [] : tail.split(':');
  const zeros = Array.from({ length: Math.max(0, 8 - front.length - back.length) }, () => '0');
  return [...front, ...zeros, ...back].slice(0, 4).join(':');
}

/** Computes one at a time; of those that wait only so many are kept. */
export class Turns {
  readonly #most: number;
  #last: Promise<unknown> = Promise.resolve();
  #waiting = 0;

  constructor(most: number) {
    this.#most = most;
  }

  /** Null where too many wait already. */
  take<Result>(work: () => Promise<Result>): Promise<Result> | null {
    if (this.#waiting >= this.#most) return null;
    this.#waiting += 1;
    const mine = this.#last.then(work).finally(() => (this.#waiting -= 1));
    this.#last = mine.catch(() => undefined);
    return mine;
  }
}
