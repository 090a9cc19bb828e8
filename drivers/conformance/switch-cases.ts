/** Conformance of switching: OFF goes first and works from any state, and neither is just believed. */

import assert from 'node:assert/strict';
import { RectifierError } from '../contract.ts';
import type { BenchFault, ConformanceCase, ConformanceHarness } from './kit.ts';
import { benchOf, failsWith, readyRectifier, runningRectifier, timed } from './expectations.ts';

async function unconfirmedUnder(harness: ConformanceHarness, fault: BenchFault): Promise<void> {
  const bench = benchOf(harness);
  const rectifier = await runningRectifier(harness);
  bench.fault(fault, true);
  const report = await timed(harness, () => rectifier.off());
  assert.equal(report.confirmed, false);
  assert.ok(report.reason.length > 0);
  bench.fault(fault, false);
  const again = await timed(harness, () => rectifier.off());
  assert.ok(again.confirmed, again.reason);
  assert.equal(bench.truth().outputOn, false);
  await rectifier.close();
}

export const switchCases: readonly ConformanceCase[] = [
  {
    id: 'off-after-error',
    name: 'OFF works after a refused command',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      await failsWith(harness, ['outOfRange'], () => rectifier.program({ volts: 1e6, amps: 1 }));
      const report = await timed(harness, () => rectifier.off());
      assert.ok(report.confirmed, report.reason);
      await rectifier.close();
    },
  },
  {
    id: 'off-preempts',
    name: 'OFF overtakes a reading in flight and requests that wait',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      const outcome = (call: Promise<unknown>): Promise<string> =>
        call.then(
          () => 'answered',
          (error: unknown) => (error instanceof RectifierError ? error.kind : String(error)),
        );
      const inFlight = outcome(rectifier.read());
      const waiting = outcome(rectifier.on());
      await harness.clock.sleep(1);
      const off = rectifier.off();
      const after = rectifier.read();
      // A real supply may be quick enough to have answered already.
      const allowed = harness.bench === null ? ['preempted', 'answered'] : ['preempted'];
      assert.ok(allowed.includes(await inFlight), await inFlight);
      assert.ok(allowed.includes(await waiting), await waiting);
      const report = await off;
      assert.ok(report.confirmed, report.reason);
      assert.notEqual((await after).outputOn, true);
      await rectifier.close();
    },
  },
  {
    id: 'off-unconnected',
    name: 'OFF works from a rectifier that was never connected',
    needs: 'device',
    run: async (harness) => {
      const first = await runningRectifier(harness);
      await first.close();
      const second = await harness.makeRectifier();
      const report = await timed(harness, () => second.off());
      assert.ok(report.confirmed, report.reason);
      if (harness.bench !== null) assert.equal(harness.bench.truth().outputOn, false);
      await second.close();
    },
  },
  {
    id: 'off-while-connecting',
    name: 'OFF overtakes a connection that is being made',
    needs: 'device',
    run: async (harness) => {
      const first = await runningRectifier(harness);
      await first.close();
      const second = await harness.makeRectifier();
      const connecting = failsWith(harness, ['preempted'], () => second.connect());
      await Promise.resolve();
      const report = await timed(harness, () => second.off());
      await connecting;
      assert.ok(report.confirmed, report.reason);
      await second.connect();
      await second.close();
    },
  },
  {
    id: 'off-script',
    name: 'the bytes for another process switch off, even after a command that was cut short',
    needs: 'bench',
    run: async (harness) => {
      const bench = benchOf(harness);
      const rectifier = await runningRectifier(harness);
      const { off, verifyQuery, verifyOffPattern } = rectifier.offScript;
      assert.ok(verifyQuery !== null && verifyOffPattern !== null);
      const before = await bench.converse(verifyQuery);
      assert.doesNotMatch(before, new RegExp(verifyOffPattern));
      await bench.converse('VOLT 2.');
      await bench.converse(off);
      const after = await bench.converse(verifyQuery);
      assert.match(after, new RegExp(verifyOffPattern));
      assert.equal(bench.truth().outputOn, false);
      await rectifier.close();
    },
  },
  {
    id: 'off-ignored',
    name: 'an OFF that the supply ignores is reported as unconfirmed',
    needs: 'bench',
    run: (harness) => unconfirmedUnder(harness, 'ignoresOff'),
  },
  {
    id: 'off-in-words-only',
    name: 'an OFF is not believed while current flows',
    needs: 'bench',
    run: (harness) => unconfirmedUnder(harness, 'saysOff'),
  },
  {
    id: 'off-mute',
    name: 'an OFF to a mute supply is sent and reported as unconfirmed',
    needs: 'bench',
    run: async (harness) => {
      const bench = benchOf(harness);
      const rectifier = await runningRectifier(harness);
      bench.fault('mute', true);
      const report = await timed(harness, () => rectifier.off());
      assert.equal(report.confirmed, false);
      assert.equal(bench.truth().outputOn, false, 'OFF did not reach the supply');
      bench.fault('mute', false);
      assert.ok((await rectifier.off()).confirmed);
      await rectifier.close();
    },
  },
  {
    id: 'off-unplugged',
    name: 'an OFF to an unplugged supply is unconfirmed until it is plugged in again',
    needs: 'bench',
    run: async (harness) => {
      const bench = benchOf(harness);
      const rectifier = await runningRectifier(harness);
      bench.fault('unplugged', true);
      const report = await timed(harness, () => rectifier.off());
      assert.equal(report.confirmed, false);
      assert.equal(bench.truth().outputOn, true);
      bench.fault('unplugged', false);
      const again = await timed(harness, () => rectifier.off());
      assert.ok(again.confirmed, again.reason);
      assert.equal(bench.truth().outputOn, false);
      await rectifier.close();
    },
  },
  {
    id: 'on-ignored',
    name: 'an ON that the supply ignores is told',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await readyRectifier(harness);
      benchOf(harness).fault('ignoresOn', true);
      await failsWith(harness, ['readbackMismatch', 'refused'], () => rectifier.on());
      await rectifier.close();
    },
  },
  {
    id: 'on-mute',
    name: 'an ON that a mute supply does not confirm is a time-out, not a success',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await readyRectifier(harness);
      benchOf(harness).fault('mute', true);
      await failsWith(harness, ['timeout'], () => rectifier.on());
      benchOf(harness).fault('mute', false);
      const report = await timed(harness, () => rectifier.off());
      assert.ok(report.confirmed, report.reason);
      await rectifier.close();
    },
  },
  {
    id: 'set-ignored',
    name: 'a set-point that the supply ignores is told',
    needs: 'bench',
    run: async (harness) => {
      const { volts, amps } = harness.gentle;
      const rectifier = await readyRectifier(harness);
      benchOf(harness).fault('ignoresSet', true);
      await failsWith(harness, ['readbackMismatch', 'refused'], () =>
        rectifier.program({ volts, amps: amps / 2 }),
      );
      await rectifier.close();
    },
  },
];
