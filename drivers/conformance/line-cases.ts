/** Conformance on a bad line: every reply is judged, every failure is typed, nothing hangs. */

import assert from 'node:assert/strict';
import { RectifierError, type RectifierErrorKind } from '../contract.ts';
import { assertSound, benchOf, failsWith } from './expectations.ts';
import { readsUnderFault, recovers, runningRectifier, timed } from './expectations.ts';
import type { BenchFault, ConformanceCase } from './kit.ts';

/** What a bad line may be called; never a made-up value. */
const LINE_KINDS: readonly RectifierErrorKind[] = [
  'timeout',
  'garbled',
  'overflow',
  'refused',
  'notOpen',
];

function survives(fault: BenchFault, what: string): ConformanceCase {
  return {
    id: `line-${fault}`,
    name: `${what}: each reading is right or a typed error, and the line recovers`,
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).fault(fault, true);
      await readsUnderFault(harness, rectifier, LINE_KINDS);
      benchOf(harness).fault(fault, false);
      await recovers(harness, rectifier);
      const report = await timed(harness, () => rectifier.off());
      assert.ok(report.confirmed, report.reason);
      await rectifier.close();
    },
  };
}

export const lineCases: readonly ConformanceCase[] = [
  survives('late', 'replies that are late by one'),
  survives('doubled', 'replies that come twice'),
  survives('garbled', 'garbage'),
  survives('endless', 'a reply without end'),
  survives('pushedError', 'error lines that nobody asked for'),
  {
    id: 'line-split',
    name: 'a reply that arrives in parts is one reply',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).fault('split', true);
      for (let count = 0; count < 4; count += 1) {
        assertSound(harness, await timed(harness, () => rectifier.read()));
      }
      await rectifier.close();
    },
  },
  {
    id: 'line-echo',
    name: 'an echo of the command is no reply',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).fault('echo', true);
      for (let count = 0; count < 4; count += 1) {
        assertSound(harness, await timed(harness, () => rectifier.read()));
      }
      await rectifier.close();
    },
  },
  {
    id: 'no-reading',
    name: '9.9E37 is no reading',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).fault('noReading', true);
      await failsWith(harness, ['garbled'], () => rectifier.read());
      benchOf(harness).fault('noReading', false);
      await recovers(harness, rectifier);
      await rectifier.close();
    },
  },
  {
    id: 'silence-or-unplugged',
    name: 'silence is a time-out, and an unplugged supply is a closed line',
    needs: 'bench',
    run: async (harness) => {
      const bench = benchOf(harness);
      const rectifier = await runningRectifier(harness);
      bench.fault('mute', true);
      await failsWith(harness, ['timeout'], () => rectifier.read());
      bench.fault('mute', false);
      await recovers(harness, rectifier);
      bench.fault('unplugged', true);
      await failsWith(harness, ['closed'], () => rectifier.read());
      assert.ok(!rectifier.isConnected);
      await failsWith(harness, ['cannotOpen'], () => rectifier.connect());
      bench.fault('unplugged', false);
      const report = await timed(harness, () => rectifier.connect());
      assert.notEqual(report.outputOn, false);
      assertSound(harness, await rectifier.read());
      await rectifier.close();
    },
  },
  {
    id: 'long-silence',
    name: 'a supply that stays mute is given up in bounded time',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).fault('mute', true);
      const startMs = harness.clock.nowMs();
      while (rectifier.isConnected) {
        const error = await rectifier.read().catch((failure: unknown) => failure);
        assert.ok(error instanceof RectifierError);
        assert.ok(harness.clock.nowMs() - startMs < 10_000, 'the line was never given up');
      }
      benchOf(harness).fault('mute', false);
      await recovers(harness, rectifier);
      await rectifier.close();
    },
  },
];
