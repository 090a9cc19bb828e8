/** Conformance of connecting, programming and switching, on any device. */

import assert from 'node:assert/strict';
import type { RectifierRange } from '../contract.ts';
import { benchOf, failsWith, readyRectifier, runningRectifier, timed } from './expectations.ts';
import type { ConformanceCase, ConformanceHarness } from './kit.ts';

function bytesSeen({ bench }: ConformanceHarness): number {
  return bench === null ? 0 : bench.bytesReceived();
}

function assertNear(found: number | null, wanted: number, step: number, what: string): void {
  if (found === null) return;
  assert.ok(Math.abs(found - wanted) <= step / 2 + 1e-9, `${what} is ${found}, not ${wanted}`);
}

/** What was given as a level is what the supply switches off at. */
function assertHolds(
  { tripVolts, tripAmps }: { readonly tripVolts: number | null; readonly tripAmps: number | null },
  level: { readonly overVoltageVolts?: number; readonly overCurrentAmps?: number },
  { stepVolts, stepAmps }: RectifierRange,
): void {
  const { overVoltageVolts, overCurrentAmps } = level;
  if (overVoltageVolts !== undefined) {
    assert.ok(tripVolts !== null, 'the supply does not mind its over-voltage level');
    assertNear(tripVolts, overVoltageVolts, stepVolts, 'the voltage that it switches off at');
  }
  if (overCurrentAmps !== undefined) {
    assert.ok(tripAmps !== null, 'the supply does not mind its over-current level');
    assertNear(tripAmps, overCurrentAmps, stepAmps, 'the current that it switches off at');
  }
}

async function refusesSetPoints(
  harness: ConformanceHarness,
  attempts: (range: RectifierRange) => { volts: number; amps: number }[],
): Promise<void> {
  const rectifier = await harness.makeRectifier();
  await rectifier.connect();
  const before = bytesSeen(harness);
  for (const setPoints of attempts(rectifier.range)) {
    await failsWith(harness, ['outOfRange'], () => rectifier.program(setPoints));
  }
  assert.equal(bytesSeen(harness), before, 'bytes reached the supply');
  await rectifier.close();
}

export const commandCases: readonly ConformanceCase[] = [
  {
    id: 'connect-changes-nothing',
    name: 'connecting reports the supply as found and changes nothing',
    needs: 'device',
    run: async (harness) => {
      const { gentle } = harness;
      const first = await readyRectifier(harness);
      if (harness.bench !== null) await first.on();
      await first.close();
      const before = harness.bench?.truth();
      const second = await harness.makeRectifier();
      const report = await timed(harness, () => second.connect());
      assert.ok(report.identity.text.length > 0);
      assertNear(report.setVolts, gentle.volts, report.range.stepVolts, 'the voltage found');
      assertNear(report.setAmps, gentle.amps, report.range.stepAmps, 'the current found');
      if (report.outputOn !== null) assert.equal(report.outputOn, harness.bench !== null);
      assert.deepEqual(harness.bench?.truth(), before);
      assert.ok(second.isConnected);
      await second.off();
      await second.close();
    },
  },
  {
    id: 'out-of-range',
    name: 'a set-point outside the range is refused and sends no byte',
    needs: 'device',
    run: (harness) =>
      refusesSetPoints(harness, ({ maxVolts, maxAmps }) => [
        { volts: maxVolts + 1, amps: harness.gentle.amps },
        { volts: harness.gentle.volts, amps: maxAmps + 1 },
        { volts: -1, amps: harness.gentle.amps },
        { volts: harness.gentle.volts, amps: -0.5 },
        { volts: Number.NaN, amps: harness.gentle.amps },
        { volts: harness.gentle.volts, amps: Number.POSITIVE_INFINITY },
      ]),
  },
  {
    id: 'hard-limits',
    name: 'a set-point above a hard limit is refused and sends no byte',
    needs: 'device',
    run: (harness) =>
      refusesSetPoints(harness, ({ stepVolts, stepAmps }) => [
        { volts: 2 * harness.gentle.volts + stepVolts, amps: harness.gentle.amps },
        { volts: harness.gentle.volts, amps: 2 * harness.gentle.amps + stepAmps },
      ]),
  },
  {
    id: 'set-reads-back',
    name: 'set-points are rounded to the step, sent and read back',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await harness.makeRectifier();
      const { range } = await rectifier.connect();
      const volts = harness.gentle.volts + 0.3 * range.stepVolts;
      const amps = harness.gentle.amps - 0.3 * range.stepAmps;
      const programmed = await timed(harness, () => rectifier.program({ volts, amps }));
      assertNear(programmed.volts, volts, range.stepVolts, 'the voltage');
      assertNear(programmed.amps, amps, range.stepAmps, 'the current');
      const reading = await rectifier.read();
      assertNear(reading.setVolts, volts, range.stepVolts, 'the voltage in a reading');
      assertNear(reading.setAmps, amps, range.stepAmps, 'the current in a reading');
      if (harness.bench !== null) {
        assertNear(harness.bench.truth().setVolts, volts, range.stepVolts, 'the true voltage');
        assertNear(harness.bench.truth().setAmps, amps, range.stepAmps, 'the true current');
      }
      await rectifier.close();
    },
  },
  {
    id: 'protections',
    name: 'a protection level is read back and acts, or is refused as unsupported without a byte',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await readyRectifier(harness);
      const { capabilities, range } = rectifier;
      const { volts, amps } = harness.gentle;
      const levels = [
        [capabilities.overVoltageLevel, { overVoltageVolts: volts * 1.5 }],
        [capabilities.overCurrentLevel, { overCurrentAmps: amps * 1.5 }],
      ] as const;
      for (const [supported, level] of levels) {
        const before = bytesSeen(harness);
        if (supported) {
          const programmed = await rectifier.program({ volts, amps, ...level });
          const { overVoltageVolts, overCurrentAmps } = programmed;
          assertNear(overVoltageVolts, volts * 1.5, range.stepVolts, 'the over-voltage level');
          assertNear(overCurrentAmps, amps * 1.5, range.stepAmps, 'the over-current level');
          if (harness.bench !== null) assertHolds(harness.bench.truth(), level, range);
        } else {
          await failsWith(harness, ['unsupported'], () =>
            rectifier.program({ volts, amps, ...level }),
          );
          assert.equal(bytesSeen(harness), before, 'bytes reached the supply');
        }
      }
      await rectifier.close();
    },
  },
  {
    id: 'on-and-off',
    name: 'the output goes on and off, and OFF may be repeated',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      const on = await timed(harness, () => rectifier.read());
      assert.notEqual(on.outputOn, false);
      for (let count = 0; count < 3; count += 1) {
        const report = await timed(harness, () => rectifier.off());
        assert.ok(report.confirmed, report.reason);
        assert.equal(report.reason, '');
      }
      const off = await timed(harness, () => rectifier.read());
      assert.notEqual(off.outputOn, true);
      if (harness.bench !== null) assert.equal(harness.bench.truth().outputOn, false);
      await rectifier.close();
    },
  },
  {
    id: 'one-at-a-time',
    name: 'calls made at once are answered one after the other',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await readyRectifier(harness);
      const readings = await Promise.all([rectifier.read(), rectifier.read(), rectifier.read()]);
      assert.equal(readings.length, 3);
      assert.equal(rectifier.health.garbled, 0);
      await rectifier.close();
    },
  },
  {
    id: 'closed-is-not-open',
    name: 'a closed rectifier refuses, and can be connected again',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await harness.makeRectifier();
      await failsWith(harness, ['notOpen'], () => rectifier.read());
      await rectifier.connect();
      await rectifier.close();
      assert.ok(!rectifier.isConnected);
      await failsWith(harness, ['notOpen'], () => rectifier.program(harness.gentle));
      await rectifier.connect();
      await timed(harness, () => rectifier.read());
      await rectifier.close();
    },
  },
  {
    id: 'wrong-identity',
    name: 'a supply that is not the expected one is refused',
    needs: 'device',
    run: async (harness) => {
      const rectifier = await harness.makeRectifier('no supply is called like this');
      await failsWith(harness, ['wrongDevice'], () => rectifier.connect());
      assert.ok(!rectifier.isConnected);
      await failsWith(harness, ['notOpen'], () => rectifier.on());
      await rectifier.close();
    },
  },
  {
    id: 'other-supply',
    name: 'another supply in the place of the first is refused, and OFF is not believed from it',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).fault('otherSupply', true);
      await failsWith(harness, ['wrongDevice'], () => rectifier.connect());
      const report = await timed(harness, () => rectifier.off());
      assert.equal(report.confirmed, false);
      benchOf(harness).fault('otherSupply', false);
      assert.ok((await rectifier.off()).confirmed);
      await rectifier.close();
    },
  },
  {
    id: 'restart-is-told',
    name: 'a supply that was switched off and on again is noticed',
    needs: 'bench',
    run: async (harness) => {
      const rectifier = await runningRectifier(harness);
      benchOf(harness).restart();
      await harness.clock.sleep(2000);
      let restarted = false;
      for (let count = 0; count < 8 && !restarted; count += 1) {
        if (!rectifier.isConnected) restarted = (await rectifier.connect()).restarted;
        const reading = await timed(harness, () => rectifier.read()).catch(() => null);
        assert.notEqual(reading?.outputOn, true);
        restarted ||= reading?.restarted ?? false;
        await harness.clock.sleep(250);
      }
      assert.equal(restarted, rectifier.capabilities.powerOnFlag);
      await rectifier.close();
    },
  },
];
