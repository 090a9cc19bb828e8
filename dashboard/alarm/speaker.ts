/** Makes the tones. A browser lets a page sound only after a press on it, and may take that back. */

import { tonesOf, type Sound } from './pattern.ts';

/** `held-back`: it was armed, and the browser or the phone has silenced it since. */
export type SpeakerState = 'off' | 'armed' | 'held-back' | 'missing';

/** A tone that begins or ends at once would click, s. */
const edgeSeconds = 0.015;

export class Speaker {
  readonly #changed: () => void;
  #context: AudioContext | null = null;
  #out: GainNode | null = null;

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  get state(): SpeakerState {
    if (!('AudioContext' in globalThis)) return 'missing';
    if (this.#context === null || this.#context.state === 'closed') return 'off';
    return this.#context.state === 'running' ? 'armed' : 'held-back';
  }

  /** Called from a press; false where the browser does not let it sound all the same. */
  async arm(): Promise<boolean> {
    if (this.state === 'missing') return false;
    if (this.#context === null) {
      this.#context = new AudioContext();
      this.#context.addEventListener('statechange', this.#changed);
    }
    // A browser that waits for a press leaves this open instead of refusing it.
    const late = new Promise((resolve) => setTimeout(resolve, 500));
    await Promise.race([this.#context.resume().catch(() => undefined), late]);
    this.#changed();
    return this.state === 'armed';
  }

  disarm(): void {
    this.hush();
    const context = this.#context;
    this.#context = null;
    context?.removeEventListener('statechange', this.#changed);
    void context?.close();
    this.#changed();
  }

  /** Sounds a pattern once; what still sounds goes on beside it. */
  play(sound: Sound, loudness: number): void {
    const context = this.#context;
    if (context?.state !== 'running') return;
    this.#out ??= this.#outlet(context);
    for (const { atMs, lengthMs, hertz } of tonesOf(sound)) {
      const from = context.currentTime + 0.02 + atMs / 1000;
      const to = from + lengthMs / 1000;
      const voice = new OscillatorNode(context, { type: 'triangle', frequency: hertz });
      const swell = new GainNode(context, { gain: 0 });
      swell.gain.setValueAtTime(0, from);
      swell.gain.linearRampToValueAtTime(loudness, from + edgeSeconds);
      swell.gain.setValueAtTime(loudness, to - edgeSeconds);
      swell.gain.linearRampToValueAtTime(0, to);
      voice.connect(swell).connect(this.#out);
      voice.start(from);
      voice.stop(to);
    }
  }

  /** Silence now, in the middle of a tone if need be. */
  hush(): void {
    this.#out?.disconnect();
    this.#out = null;
  }

  #outlet(context: AudioContext): GainNode {
    const out = new GainNode(context, { gain: 0.9 });
    out.connect(context.destination);
    return out;
  }
}
