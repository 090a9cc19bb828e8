/** The world beyond the bench that alerts go out to: channels that take messages, fail, or lose what they took. */

import type { Letter } from '../../daemon/alerts/letter.ts';
import type { ChannelSettings } from '../../daemon/settings/model.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import { aChannel } from '../alerts/quiet-alerts.ts';
import type { Host, Process } from './host.ts';

/**
 * How a channel does. `losesAnswers`: it takes what it is sent, and its answer never comes back.
 * `losesLetters`: it says that it has taken what nobody will ever see.
 */
export type ChannelMood =
  'well' | 'timesOut' | 'refuses' | 'serverError' | 'noNetwork' | 'losesAnswers' | 'losesLetters';

/** Told of every try: `taken` is what the channel answers to control. */
export interface OutsideWitness {
  tried(channel: string, letter: Letter): void;
  answered(channel: string, letter: Letter, taken: boolean): void;
}

/** A try is given up after this, ms, as the real ones are. */
const tryWithinMs = 10_000;

const reasons: Readonly<Record<Exclude<ChannelMood, 'well' | 'losesLetters'>, string>> = {
  timesOut: 'No answer within 10 s.',
  losesAnswers: 'No answer within 10 s.',
  refuses: 'The connection was refused.',
  serverError: 'The server answered 503.',
  noNetwork: 'The name of the server cannot be found.',
};

export class Outside {
  readonly channels: readonly ChannelSettings[];
  /** Once, when the next letter is about to leave. */
  onNextSending: (() => void) | null = null;
  readonly #host: Host;
  readonly #random: RandomStream;
  readonly #witness: OutsideWitness;
  readonly #moods = new Map<string, ChannelMood>();

  constructor(host: Host, seed: number, witness: OutsideWitness) {
    this.#host = host;
    this.#witness = witness;
    this.#random = createRandomStream(seed, 'channels');
    const least = this.#random.uniform() < 0.5 ? 'stopped' : 'act-soon';
    const second = [aChannel('mail', { leastPriority: least })];
    this.channels = [aChannel('phone'), ...(this.#random.uniform() < 0.6 ? second : [])];
  }

  /** One channel, or all of them, until the answer is called. */
  spoil(mood: ChannelMood, all: boolean): () => void {
    const names = this.channels.map(({ name }) => name);
    const chosen = all ? names : [names[this.#random.whole(names.length)] ?? 'phone'];
    for (const name of chosen) this.#moods.set(name, mood);
    return () => {
      for (const name of chosen) if (this.#moods.get(name) === mood) this.#moods.delete(name);
    };
  }

  /** One try by a thread of control, which dies with it: null where the channel says that it took it. */
  send(owner: Process, channel: string, letter: Letter): Promise<string | null> {
    this.#witness.tried(channel, letter);
    const before = this.onNextSending;
    this.onNextSending = null;
    before?.();
    const mood = this.#moods.get(channel) ?? 'well';
    const reason = mood === 'well' || mood === 'losesLetters' ? null : reasons[mood];
    return new Promise((resolve) => {
      this.#host.after(this.#answerMs(mood), () => {
        // The thread takes the answer although the loop is busy; a dead process takes none.
        this.#host.deliver(owner, () => {
          this.#witness.answered(channel, letter, reason === null);
          resolve(reason);
        });
      });
    });
  }

  #answerMs(mood: ChannelMood): number {
    const draw = this.#random.uniform();
    if (mood === 'timesOut' || mood === 'losesAnswers') return tryWithinMs;
    if (mood === 'refuses') return 2 + 50 * draw;
    if (mood === 'noNetwork') return 5 + 5_000 * draw ** 2;
    return 40 + 800 * draw ** 2;
  }
}
