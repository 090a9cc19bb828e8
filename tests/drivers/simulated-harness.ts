/** The conformance harness over the simulated supply in this process, in virtual time. */

import type {
  BenchFault,
  ConformanceHarness,
  SimulatedBench,
} from '../../drivers/conformance/kit.ts';
import type { Instrument } from '../../drivers/link/in-process.ts';
import { createRectifier } from '../../drivers/registry.ts';
import type { FaultName } from '../../drivers/simulated/faults.ts';
import { createInstrument, type SimulatedInstrument } from '../../drivers/simulated/instrument.ts';
import type { Personality } from '../../drivers/simulated/model.ts';
import { dialect } from './dialects.ts';
import { VirtualClock } from './virtual-clock.ts';

const GENTLE = { volts: 3, amps: 0.25 };

/** Counts the bytes on their way in, spoils those on their way out, and can pull the plug. */
class Tap implements Instrument {
  attached = true;
  garbled = false;
  bytes = 0;
  readonly #instrument: SimulatedInstrument;

  constructor(instrument: SimulatedInstrument) {
    this.#instrument = instrument;
  }

  receive(bytes: string, nowMs: number): void {
    this.bytes += bytes.length;
    this.#instrument.receive(bytes, nowMs);
  }

  nextDueMs(): number | null {
    return this.#instrument.nextDueMs();
  }

  take(nowMs: number): string {
    const bytes = this.#instrument.take(nowMs);
    return this.garbled ? bytes.replaceAll('0', '\x02') : bytes;
  }
}

function switchFault(
  { faults }: SimulatedInstrument,
  tap: Tap,
  fault: BenchFault,
  on: boolean,
): void {
  const set = (name: FaultName): void => {
    if (on) faults.set(name);
    else faults.clear(name);
  };
  const fate: Record<BenchFault, () => void> = {
    mute: () => set('mute'),
    late: () => set('lateReplies'),
    split: () => set('splitReplies'),
    doubled: () => set('doubleReplies'),
    garbled: () => {
      tap.garbled = on;
    },
    endless: () => set('endlessLine'),
    noReading: () => set('badReading'),
    echo: () => set('echo'),
    pushedError: () => {
      if (on) faults.set('unsolicited', { insideReply: true });
      else faults.clear('unsolicited');
    },
    unplugged: () => {
      tap.attached = !on;
    },
    ignoresOn: () => set('ignoresOn'),
    ignoresOff: () => set('ignoresOff'),
    ignoresSet: () => set('ignoresSet'),
    saysOff: () => set('saysOff'),
    otherSupply: () => set('wrongIdentity'),
  };
  fate[fault]();
}

/** A fresh simulated supply of this shape, and everything the kit wants to know of it. */
export function createSimulatedHarness(personality: Personality): Promise<ConformanceHarness> {
  const clock = new VirtualClock();
  const instrument = createInstrument({ personality, seed: 7 });
  const tap = new Tap(instrument);
  const bench: SimulatedBench = {
    fault: (fault, on) => switchFault(instrument, tap, fault, on),
    restart: () => instrument.faults.set('restart', { keepsOutput: false }),
    truth: () => {
      const { outputOn, setVolts, setAmps, tripVolts, tripAmps } = instrument.truth(clock.nowMs());
      return { outputOn, setVolts, setAmps, tripVolts, tripAmps };
    },
    bytesReceived: () => tap.bytes,
    converse: async (bytes) => {
      instrument.receive(bytes, clock.nowMs());
      await clock.sleep(300);
      return instrument.take(clock.nowMs());
    },
  };
  return Promise.resolve({
    clock,
    bench,
    gentle: GENTLE,
    makeRectifier: (expectIdentity = null) =>
      createRectifier({
        driver: 'scpi',
        dialect: dialect(personality),
        link: { kind: 'in-process', instrument: tap },
        clock,
        expectIdentity,
        hardLimits: { maxVolts: 2 * GENTLE.volts, maxAmps: 2 * GENTLE.amps },
        simulated: true,
      }),
  });
}
