/** What the rows of the catalogue are made of: moments, lengths of time, and ways to begin. */

import type { FaultInput, FaultName } from '../../../drivers/simulated/faults.ts';
import type { RandomStream } from '../../../drivers/simulated/random.ts';
import type { ChannelMood } from '../outside.ts';
import type { Moment, World } from '../world.ts';
import type { Effect, FaultKind } from './kind.ts';

/** How a fault begins. */
export type Begin = FaultKind['begin'];
type Lasts = FaultKind['lastsMs'];

/** A run is on. */
export const running: readonly Moment[] = ['on', 'striking', 'ramping', 'holding'];
/** Every moment but the one just before ON. */
export const anytime: readonly Moment[] = [
  'boot',
  'arming',
  'armed',
  'starting',
  'onReceived',
  ...running,
  'trickling',
  'lifted',
  'offReceived',
  'ended',
];
/** Current flows. */
export const current: readonly Moment[] = [...running, 'onReceived', 'trickling'];

/** A length of time, short ones as likely as long ones, ms. */
export const logBetween =
  (low: number, high: number): Lasts =>
  (random) =>
    low * (high / low) ** random.uniform();
/** Over at once: it has no end of its own. */
export const once: Lasts = () => 0;
/** Until long after any run has noticed. */
export const forLong = logBetween(2_000, 400_000);

/** Evenly drawn. */
export function between(random: RandomStream, low: number, high: number): number {
  return low + (high - low) * random.uniform();
}

/** A fault of the model supply, for as long as the episode lasts. */
export function switched<Name extends FaultName>(
  name: Name,
  input: (world: World) => FaultInput<Name>,
): Begin {
  return (world) => {
    // Two faults that are one switch of the model: the first one stays.
    if (world.instrument.faults.has(name)) return null;
    world.instrument.faults.set(name, input(world), world.host.nowMs);
    world.cable.pump();
    return () => {
      world.instrument.faults.clear(name, world.host.nowMs);
      world.cable.pump();
    };
  };
}

/** The next reply is changed on its way. */
export function spoilNext(change: (bytes: string, random: RandomStream) => string): Begin {
  return ({ cable, random }) => {
    cable.spoil = (bytes) => change(bytes, random);
    return null;
  };
}

/** A fault of the disk, for as long as the episode lasts. */
export function diskFault(fault: 'diskFull' | 'busy' | 'io' | 'stall' | 'slow'): Begin {
  return ({ disk }) => {
    disk.faults.push(fault);
    return () => {
      disk.faults.splice(disk.faults.indexOf(fault), 1);
    };
  };
}

/** One channel or all of them. */
export function channelFault(mood: ChannelMood, all = false): Begin {
  return ({ outside }) => outside.spoil(mood, all);
}

/** A fault of a group, before it is known which group that is. */
export type Row = readonly [
  name: string,
  bearing: 'benign' | 'grave',
  moments: readonly Moment[],
  effects: readonly Effect[],
  lasts: Lasts,
  begin: Begin,
  /** Left out where it can happen at each of its moments. */
  fits?: FaultKind['fits'],
];
