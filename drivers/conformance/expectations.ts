/** Checks that several conformance cases share. */

import assert from 'node:assert/strict';
import {
  RectifierError,
  type Rectifier,
  type RectifierErrorKind,
  type RectifierReading,
} from '../contract.ts';
import type { ConformanceHarness, SimulatedBench } from './kit.ts';

/** No call may take longer than this, whatever the line does, ms of the harness's clock. */
const LONGEST_CALL_MS = 8000;

/** The bench of a case that needs one. */
export function benchOf({ bench }: ConformanceHarness): SimulatedBench {
  assert.ok(bench !== null, 'this case needs a simulated bench');
  return bench;
}

/** Runs a call and checks that it comes to an end in time. */
export async function timed<T>({ clock }: ConformanceHarness, call: () => Promise<T>): Promise<T> {
  const startMs = clock.nowMs();
  try {
    return await call();
  } finally {
    const tookMs = clock.nowMs() - startMs;
    assert.ok(tookMs <= LONGEST_CALL_MS, `a call took ${tookMs} ms`);
  }
}

/** Runs a call that must fail with one of these kinds. */
export async function failsWith(
  harness: ConformanceHarness,
  kinds: readonly RectifierErrorKind[],
  call: () => Promise<unknown>,
): Promise<void> {
  try {
    await timed(harness, call);
  } catch (error) {
    assert.ok(error instanceof RectifierError, `not a RectifierError: ${String(error)}`);
    assert.ok(
      kinds.includes(error.kind),
      `${error.kind} (${error.message}) is not ${kinds.join(' or ')}`,
    );
    return;
  }
  assert.fail(`the call succeeded; ${kinds.join(' or ')} was expected`);
}

/** A connected rectifier with gentle set-points. */
export async function readyRectifier(harness: ConformanceHarness): Promise<Rectifier> {
  const rectifier = await harness.makeRectifier();
  await rectifier.connect();
  await rectifier.program(harness.gentle);
  return rectifier;
}

/** A connected rectifier with its output on and settled. */
export async function runningRectifier(harness: ConformanceHarness): Promise<Rectifier> {
  const rectifier = await readyRectifier(harness);
  await rectifier.on();
  await harness.clock.sleep(1000);
  return rectifier;
}

/** A reading that cannot be a mixture: its current is the set one and its voltage is below. */
export function assertSound(
  { gentle }: ConformanceHarness,
  { volts, amps, outputOn }: RectifierReading,
): void {
  assert.ok(Math.abs(amps - gentle.amps) <= 0.02 * gentle.amps + 0.005, `${amps} A was read`);
  assert.ok(volts >= 0 && volts <= gentle.volts * 1.02 + 0.02, `${volts} V was read`);
  assert.ok(outputOn !== false, 'the output was read as off');
}

/** Reads while a fault is on: each reading is sound or a typed error, and none hangs. */
export async function readsUnderFault(
  harness: ConformanceHarness,
  rectifier: Rectifier,
  kinds: readonly RectifierErrorKind[],
): Promise<void> {
  for (let count = 0; count < 4; count += 1) {
    try {
      assertSound(harness, await timed(harness, () => rectifier.read()));
    } catch (error) {
      if (!(error instanceof RectifierError)) throw error;
      assert.ok(kinds.includes(error.kind), `${error.kind}: ${error.message}`);
    }
    await harness.clock.sleep(250);
  }
}

/** After a fault is gone the driver reads again, over a new connection if it gave the old one up. */
export async function recovers(harness: ConformanceHarness, rectifier: Rectifier): Promise<void> {
  let last: unknown = null;
  for (let count = 0; count < 6; count += 1) {
    try {
      if (!rectifier.isConnected) await timed(harness, () => rectifier.connect());
      assertSound(harness, await timed(harness, () => rectifier.read()));
      return;
    } catch (error) {
      if (!(error instanceof RectifierError)) throw error;
      last = error;
    }
    await harness.clock.sleep(250);
  }
  throw last;
}
