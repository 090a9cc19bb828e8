/** The faults that have begun in a night, and what they excuse. */

import type { SimulatedInstrument } from '../../../drivers/simulated/instrument.ts';
import type { Effect, FaultKind } from '../faults/kind.ts';
import type { Host } from '../host.ts';
import type { Fired } from '../powered.ts';
import type { NightRecord } from './record.ts';

/** A part of a night, ms. */
export interface Stretch {
  readonly fromMs: number;
  readonly toMs: number;
}

/** What ended so shortly before a stretch may still show in it, ms. */
const graceBeforeMs = 5_000;

/** All faults of one night, in the order in which they began. */
export class FiredFaults {
  readonly all: Fired[] = [];
  /** The set-point at which the meter came to stand still, A; null while it does not. */
  stuckAtAmps: number | null = null;
  #standsStill = false;
  readonly #host: Host;
  readonly #instrument: SimulatedInstrument;
  readonly #record: NightRecord;

  constructor(host: Host, instrument: SimulatedInstrument, record: NightRecord) {
    this.#host = host;
    this.#instrument = instrument;
    this.#record = record;
  }

  began(kind: FaultKind): Fired {
    const fired: Fired = { kind, beganMs: this.#host.nowMs, endedMs: null };
    this.all.push(fired);
    if (kind.name === 'stuckMeter') {
      this.stuckAtAmps = this.#setAmps;
      this.#standsStill = false;
    }
    this.#record.note('fault', `${kind.name} begins`);
    return fired;
  }

  ended(fired: Fired): void {
    if (fired.endedMs !== null) return;
    fired.endedMs = this.#host.nowMs;
    if (fired.kind.name === 'stuckMeter') this.stuckAtAmps = null;
    this.#record.note('fault', `${fired.kind.name} ends`);
  }

  onReceived(): void {
    // An earlier run's set-point is nothing that this one's readings can be held against.
    if (this.stuckAtAmps !== null) this.stuckAtAmps = this.#setAmps;
  }

  /** A set-point that is being moved at that time can stand before the first reading that repeats itself. */
  settled(programming: boolean): void {
    if (this.stuckAtAmps === null || this.#standsStill) return;
    this.stuckAtAmps = this.#setAmps;
    this.#standsStill = !programming;
  }

  get #setAmps(): number {
    return this.#instrument.glance(this.#host.nowMs).setAmps;
  }

  /** Those that a run does not have to bear. */
  get grave(): readonly Fired[] {
    return this.all.filter(({ kind }) => !kind.benign);
  }

  /** Whether a fault with this effect is on, or was within the last moments. */
  affected(effect: Effect, graceMs = 5_000): boolean {
    const { nowMs } = this.#host;
    return this.all.some(
      ({ kind, endedMs }) =>
        kind.effects.includes(effect) && (endedMs === null || nowMs - endedMs < graceMs),
    );
  }

  everAffected(effect: Effect): boolean {
    return this.all.some(({ kind }) => kind.effects.includes(effect));
  }

  /** Those with this effect that were on within a stretch of time, or ended just before it. */
  #within(effect: Effect, { fromMs, toMs }: Stretch): readonly Fired[] {
    return this.all.filter(
      ({ kind, beganMs, endedMs }) =>
        kind.effects.includes(effect) &&
        beganMs <= toMs &&
        (endedMs ?? Infinity) >= fromMs - graceBeforeMs,
    );
  }

  affectedWithin(effect: Effect, stretch: Stretch): boolean {
    return this.#within(effect, stretch).length > 0;
  }

  /** A clock was set, or went another way, within a stretch of time. */
  clockMovedWithin({ fromMs, toMs }: Stretch): boolean {
    return this.all.some(
      ({ kind, beganMs, endedMs }) =>
        kind.group === 'clock' && beganMs <= toMs && (endedMs ?? Infinity) >= fromMs,
    );
  }

  /** The same, of what lets current run up by itself; a restart is over once set-points are given anew. */
  ranUpWithin(stretch: Stretch): boolean {
    return this.#within('wild', stretch).some(({ kind }) => kind.name !== 'restart');
  }

  /**
   * A supply did not keep to its set-point while its line told nothing or the computer slept: no bound
   * covers what flowed.
   */
  wildUnseenWithin(stretch: Stretch): boolean {
    const blind = [...this.#within('line', stretch), ...this.#sleepsWithin(stretch)];
    return this.#within('wild', stretch).some((wild) =>
      blind.some(
        ({ beganMs, endedMs }) =>
          (endedMs ?? Infinity) >= wild.beganMs && (wild.endedMs ?? Infinity) >= beganMs,
      ),
    );
  }

  /** A sleep is asked for in a moment, and lasts until the computer wakes. */
  #sleepsWithin({ fromMs, toMs }: Stretch): readonly Pick<Fired, 'beganMs' | 'endedMs'>[] {
    return this.all
      .filter(({ kind, beganMs }) => kind.name === 'suspended' && beganMs >= fromMs)
      .filter(({ beganMs }) => beganMs <= toMs)
      .map(({ beganMs }) => ({ beganMs, endedMs: this.#host.asleepUntilMs }));
  }

  /** The supply could not be reached, or not be told from another one, until a moment ago. */
  get lineCut(): boolean {
    const { nowMs } = this.#host;
    return this.all.some(
      ({ kind, endedMs }) =>
        ['unplugged', 'otherDevice'].includes(kind.name) &&
        (endedMs === null || nowMs - endedMs < 5_000),
    );
  }
}
