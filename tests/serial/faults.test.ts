/** What can go wrong on a real line, one thing at a time: the right end, OFF received, an alarm on record. */

import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { TestBench, shortPlan, until } from './test-bench.ts';

let bench: TestBench | null = null;
afterEach(async () => {
  await bench?.clear();
  bench = null;
});

/** A run that goes on for long, in its strike, with current flowing. */
async function running(): Promise<TestBench> {
  bench = await TestBench.start({ line: 'pty' });
  await bench.run(shortPlan({ target: { kind: 'charge', ampHours: 2 } }));
  await until('the hold', () => bench?.snapshot?.run?.lifecycle === 'holding', 30_000);
  // The last stride of the ramp is set and read back by then: what happens now is the fault's doing.
  await wait(1_500);
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

describe('a fault on the line', () => {
  it.each(cases)(
    '$fault ends the run with OFF and an alarm',
    async ({ fault, parameters, codes }) => {
      const on = await running();
      const offsBefore = (await on.supply.truth()).offsReceived;
      await on.supply.fault(fault, parameters);
      const shown = await on.ended(20_000, !blind.has(fault));
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

  it('a killed supply ends the run, and the missing OFF sends a person to the bench', async () => {
    const on = await running();
    const killedMs = performance.now();
    on.supply.kill();
    const shown = await on.ended(20_000, false);
    expect(shown.run).toMatchObject({ lifecycle: 'tripped', outcome: { faultCode: 'silence' } });
    const trippedMs = performance.now();
    await until('the second alarm', () => on.alarms.includes('offUnconfirmed'), 15_000);
    console.log(
      `killed: trip after ${Math.round(trippedMs - killedMs)} ms, ` +
        `person called ${Math.round(performance.now() - trippedMs)} ms later`,
    );
    expect(on.snapshot?.output).not.toBe('confirmedOff');
  });

  it('a frozen supply ends the run, and OFF is confirmed once it thaws', async () => {
    const on = await running();
    on.supply.freeze();
    const shown = await on.ended(20_000, false);
    expect(shown.run).toMatchObject({ lifecycle: 'tripped', outcome: { faultCode: 'silence' } });
    expect(on.snapshot?.output).not.toBe('confirmedOff');
    await until('the second alarm', () => on.alarms.includes('offUnconfirmed'), 15_000);
    on.supply.thaw();
    await until('the confirmed OFF', () => on.snapshot?.output === 'confirmedOff', 20_000);
    expect((await on.supply.truth()).outputOn).toBe(false);
  });

  it('a supply that restarts under the same path ends the run and is found off', async () => {
    const on = await running();
    on.supply.kill();
    await on.supply.start();
    const shown = await on.ended(30_000);
    expect(shown.run?.lifecycle).toBe('tripped');
    expect(['silence', 'supplyRestarted', 'outputFoundOff']).toContain(
      shown.run?.outcome?.faultCode,
    );
    const truth = await on.supply.truth();
    expect(truth).toMatchObject({ outputOn: false, onsReceived: 0 });
  });
});
