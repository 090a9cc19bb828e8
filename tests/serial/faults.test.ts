/** What can go wrong on a real line, one thing at a time: the right end, OFF received, an alarm on record. */

import { describe, expect } from 'vitest';
import { benchTest, shortPlan, until, type BenchOptions, type TestBench } from './test-bench.ts';

/** What `shortPlan` asks for in its hold. */
const holdAmps = 0.45;

/** A run that goes on for long, in its hold, with all of its current. */
async function running(
  startBench: (options: BenchOptions) => Promise<TestBench>,
): Promise<TestBench> {
  const bench = await startBench({ line: 'pty' });
  const start = { strikeShare: 0.5, strikeMinutes: 0.02, rampMinutes: 0.02 };
  await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 }, start }));
  // The last stride of the ramp is set and read back by then: what happens now is the fault's doing.
  await until('all of its current', async () => {
    const { setAmps } = await bench.supply.truth();
    return bench.snapshot?.run?.lifecycle === 'holding' && Math.abs(setAmps - holdAmps) < 1e-4;
  });
  const looks = new Set<number>();
  await until('three looks at it', () => {
    const { wallMs = 0, amps = 0 } = bench.snapshot?.reading ?? {};
    if (Math.abs(amps / holdAmps - 1) < 0.02) looks.add(wallMs);
    return looks.size >= 3;
  });
  return bench;
}

const cases = [
  { fault: 'overCurrent', parameters: { factor: 1.18 }, codes: ['overCurrent'] },
  { fault: 'overCurrent', parameters: { factor: 2 }, codes: ['overCurrent', 'supplyTripped'] },
  { fault: 'shortCircuit', parameters: {}, codes: ['shortCircuit'] },
  { fault: 'openCircuit', parameters: {}, codes: ['openCircuit'] },
  { fault: 'knob', parameters: { amps: 0.3 }, codes: ['setPointChanged'] },
  { fault: 'outputKey', parameters: { on: false }, codes: ['outputFoundOff'] },
  { fault: 'restart', parameters: {}, codes: ['supplyRestarted', 'outputFoundOff'] },
  { fault: 'badReading', parameters: {}, codes: ['silence'] },
  { fault: 'lateReplies', parameters: {}, codes: ['silence'] },
] as const;

/** With these the supply cannot be heard, so its OFF cannot be confirmed while they last. */
const blind: ReadonlySet<string> = new Set(['lateReplies', 'badReading']);

// Real time passes in these: they wait side by side, each on a bench of its own.
describe.concurrent('a fault on the line', () => {
  // It takes as long as three others, which wait beside it.
  benchTest(
    'a killed supply ends the run, and the missing OFF sends a person to the bench',
    async ({ startBench }) => {
      const on = await running(startBench);
      const killedMs = performance.now();
      on.supply.kill();
      const shown = await on.ended(60_000, false);
      expect(shown.run).toMatchObject({ lifecycle: 'tripped', outcome: { faultCode: 'silence' } });
      const trippedMs = performance.now();
      await until('the second alarm', () => on.alarms.includes('offUnconfirmed'));
      console.log(
        `killed: trip after ${Math.round(trippedMs - killedMs)} ms, ` +
          `person called ${Math.round(performance.now() - trippedMs)} ms later`,
      );
      expect(on.snapshot?.output).not.toBe('confirmedOff');
    },
  );

  benchTest.for(cases)(
    '$fault ends the run with OFF and an alarm',
    async ({ fault, parameters, codes }, { startBench }) => {
      const on = await running(startBench);
      const offsBefore = (await on.supply.truth()).offsReceived;
      await on.supply.fault(fault, parameters);
      const shown = await on.ended(60_000, !blind.has(fault));
      expect(shown.run?.lifecycle).toBe('tripped');
      expect(codes).toContain(shown.run?.outcome?.faultCode);
      const truth = await until('OFF at the supply', async () => {
        const now = await on.supply.truth();
        return now.offsReceived > offsBefore ? now : null;
      });
      expect(truth.outputOn).toBe(false);
      await until('the alarm', () => on.alarms.some((code) => codes.includes(code as never)));
      const stored = on.reader.alarms(10);
      expect(stored.some((alarm) => codes.includes(alarm.code as never))).toBe(true);
    },
  );

  benchTest(
    'a frozen supply ends the run, and OFF is confirmed once it thaws',
    async ({ startBench }) => {
      const on = await running(startBench);
      on.supply.freeze();
      const shown = await on.ended(60_000, false);
      expect(shown.run).toMatchObject({ lifecycle: 'tripped', outcome: { faultCode: 'silence' } });
      expect(on.snapshot?.output).not.toBe('confirmedOff');
      await until('the second alarm', () => on.alarms.includes('offUnconfirmed'));
      on.supply.thaw();
      await until('the confirmed OFF', () => on.snapshot?.output === 'confirmedOff');
      expect((await on.supply.truth()).outputOn).toBe(false);
    },
  );

  benchTest(
    'a supply that restarts under the same path ends the run and is found off',
    async ({ startBench }) => {
      const on = await running(startBench);
      on.supply.kill();
      await on.supply.start();
      const shown = await on.ended(60_000);
      expect(shown.run?.lifecycle).toBe('tripped');
      expect(['silence', 'supplyRestarted', 'outputFoundOff']).toContain(
        shown.run?.outcome?.faultCode,
      );
      const truth = await on.supply.truth();
      expect(truth).toMatchObject({ outputOn: false, onsReceived: 0 });
    },
  );
});
