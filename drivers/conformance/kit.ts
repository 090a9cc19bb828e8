/** The kit that every driver must pass: what a case is, what it may use, and how deviations count. */

import type { DriverClock, Rectifier } from '../contract.ts';

/** What a simulated bench can do to the line and to the supply. */
export type BenchFault =
  /** No reply to anything. */
  | 'mute'
  /** Each reply comes when the next question has been asked. */
  | 'late'
  /** Replies arrive in parts. */
  | 'split'
  | 'doubled'
  /** Bytes of each reply change, in a way that can be noticed: there is no checksum on the wire. */
  | 'garbled'
  /** Characters without end. */
  | 'endless'
  /** 9.9E37 in place of a measured value. */
  | 'noReading'
  | 'echo'
  /** An error line that nobody asked for, inside a reply. */
  | 'pushedError'
  | 'unplugged'
  | 'ignoresOn'
  | 'ignoresOff'
  | 'ignoresSet'
  /** Says that the output is off while current flows. */
  | 'saysOff'
  /** Another supply answers. */
  | 'otherSupply';

/** What is really so on a simulated bench. */
interface BenchTruth {
  readonly outputOn: boolean;
  readonly setVolts: number;
  readonly setAmps: number;
  /** What the supply itself switches off at; null while it would not. */
  readonly tripVolts: number | null;
  readonly tripAmps: number | null;
}

/** The other side of the line, where it is simulated. */
export interface SimulatedBench {
  fault(fault: BenchFault, on: boolean): void;
  /** The supply restarts at once, with the output off. */
  restart(): void;
  truth(): BenchTruth;
  /** Bytes that reached the supply so far. */
  bytesReceived(): number;
  /** Talks to the supply as another process would, and gives what it answers within 300 ms. */
  converse(bytes: string): Promise<string>;
}

/** One device under test, fresh for each case. */
export interface ConformanceHarness {
  readonly clock: DriverClock;
  /** Null for a real device. */
  readonly bench: SimulatedBench | null;
  /** Set-points that do no harm to what is connected. */
  readonly gentle: { readonly volts: number; readonly amps: number };
  /** A rectifier on the device, not connected yet. Hard limits default to the gentle ones doubled. */
  makeRectifier(expectIdentity?: string | null): Promise<Rectifier>;
}

/** A case, told by its id in deviations. It throws when the driver does not hold to the contract. */
export interface ConformanceCase {
  readonly id: string;
  readonly name: string;
  /** `bench`: the case needs the faults and the truth of a simulated bench. */
  readonly needs: 'device' | 'bench';
  run(harness: ConformanceHarness): Promise<void>;
}

/** A case that a driver or a dialect cannot pass, and why. */
export interface Deviation {
  readonly id: string;
  readonly reason: string;
}

/** A case as a test runner takes it. */
export interface PlannedCase {
  readonly name: string;
  /** Why it is not run; null when it is. */
  readonly notApplicable: string | null;
  readonly run: () => Promise<void>;
}

async function mustDeviate(run: () => Promise<void>, { id, reason }: Deviation): Promise<void> {
  try {
    await run();
  } catch {
    return;
  }
  throw new Error(`The deviation "${id}" is declared (${reason}), but the case passes: remove it.`);
}

/** Runs a case and leaves the output off, also when the case fails half-way. */
async function runAndSwitchOff(one: ConformanceCase, harness: ConformanceHarness): Promise<void> {
  const made: Rectifier[] = [];
  const makeRectifier: ConformanceHarness['makeRectifier'] = async (expectIdentity) => {
    const rectifier = await harness.makeRectifier(expectIdentity);
    made.push(rectifier);
    return rectifier;
  };
  try {
    await one.run({ ...harness, makeRectifier });
  } finally {
    for (const rectifier of made) {
      await rectifier.off();
      await rectifier.close();
    }
  }
}

/**
 * The cases for one device: a case with a deviation must fail, one that a real device cannot show
 * is named as not applicable. Throws for a deviation from a case that does not exist.
 */
export function planCases(
  cases: readonly ConformanceCase[],
  device: {
    readonly simulated: boolean;
    readonly deviations: readonly Deviation[];
    createHarness(): Promise<ConformanceHarness>;
  },
): PlannedCase[] {
  const unknown = device.deviations.find(({ id }) => !cases.some((one) => one.id === id));
  if (unknown !== undefined) throw new Error(`There is no case "${unknown.id}" to deviate from.`);
  return cases.map((one) => {
    const deviation = device.deviations.find(({ id }) => id === one.id);
    const run = async (): Promise<void> => runAndSwitchOff(one, await device.createHarness());
    return {
      name: deviation === undefined ? one.name : `deviates: ${one.name} (${deviation.reason})`,
      notApplicable:
        one.needs === 'bench' && !device.simulated
          ? 'a real device cannot be made to do this at will'
          : null,
      run: deviation === undefined ? run : () => mustDeviate(run, deviation),
    };
  });
}
