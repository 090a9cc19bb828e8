/** A disk that hangs or fails: what must be shown is shown, what must go off goes off, and the log tells the truth later. */

import { afterEach, describe, expect, it } from 'vitest';
import { StoreError, type StoreWriter } from '../../daemon/store/door.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

/** The real store behind a gate: while it is shut, nothing that writes is handed on; broken, it refuses. */
class Gate {
  #open: Promise<void> = Promise.resolve();
  broken = false;
  /** Refuses to take down that a run was started, and nothing else. */
  refusesStart = false;
  #release: () => void = () => undefined;
  /** So many acknowledgements more are refused. */
  refusesAcknowledging = 0;
  readonly failures: ((reason: string) => void)[] = [];

  shut(): void {
    this.#open = new Promise((resolve) => (this.#release = resolve));
  }

  release(): void {
    this.#release();
  }

  #pass(): Promise<void> {
    if (this.broken) return Promise.reject(new StoreError('io', 'The disk has an error.'));
    return this.#open;
  }

  readonly before = (store: StoreWriter): StoreWriter => ({
    library: store.library,
    ledger: store.ledger,
    outbox: store.outbox,
    probes: store.probes,
    sensors: store.sensors,
    runBook: store.runBook,
    unsettledRuns: () => store.unsettledRuns(),
    continuedBy: (id) => store.continuedBy(id),
    interrupted: store.interrupted,
    run: (id) => store.run(id),
    lastReading: (id) => store.lastReading(id),
    standingAlarms: () => store.standingAlarms(),
    appendReading: (id, row) => store.appendReading(id, row),
    createRun: (run) => this.#pass().then(() => store.createRun(run)),
    patchRun: (id, patch) =>
      this.refusesStart && patch.startedWallMs != null
        ? Promise.reject(new StoreError('io', 'The disk has an error.'))
        : this.#pass().then(() => store.patchRun(id, patch)),
    appendEvent: (...given) => this.#pass().then(() => store.appendEvent(...given)),
    raiseAlarm: (...given) => this.#pass().then(() => store.raiseAlarm(...given)),
    acknowledgeAlarm: (id, wallMs) =>
      this.#pass().then(() => {
        if (this.refusesAcknowledging === 0) return store.acknowledgeAlarm(id, wallMs);
        this.refusesAcknowledging -= 1;
        throw new StoreError('io', 'The disk has an error.');
      }),
    clearAlarm: (id, wallMs) => this.#pass().then(() => store.clearAlarm(id, wallMs)),
    get failing() {
      return store.failing;
    },
    onFailure: (listener) => {
      this.failures.push(listener);
      store.onFailure(listener);
    },
    close: () => store.close(),
  });
}

async function opened(gate: Gate): Promise<TankBench> {
  bench = await (await TankBench.open({ timeScale: 20, between: gate.before })).started();
  return bench;
}

/** Waits until no alarm stands in the log. */
async function diskKnows(on: TankBench): Promise<void> {
  let left = await on.store.standingAlarms();
  const look = async () => void (left = await on.store.standingAlarms());
  await on.until('the disk', () => {
    void look();
    return left.length === 0;
  });
}

describe('an alarm', () => {
  it('is shown at once while the disk hangs, and takes the id of the disk when it comes', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.run(aRequest());
    gate.shut();
    on.instrument.faults.set('openCircuit', {}, on.clock.nowMs());
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
    const [shown] = on.tank.snapshot().alarms;
    expect(shown).toMatchObject({ code: 'openCircuit', acknowledgedWallMs: null });
    expect(shown?.id).toBeLessThan(0);
    gate.release();
    await on.until('the disk', () => (on.tank.snapshot().alarms[0]?.id ?? 0) > 0);
    expect(on.tank.snapshot().alarms).toHaveLength(1);
    // A page that still knows it by the first id may acknowledge it by that.
    const acknowledge = { kind: 'acknowledge', alarmId: shown?.id ?? 0, by: 'x' } as const;
    expect(await on.tell(acknowledge)).toEqual({ ok: true });
    expect(on.tank.snapshot().alarms).toEqual([]);
    expect(await on.tell(acknowledge), 'by the first id once more').toEqual({ ok: true });
    expect(await on.store.standingAlarms()).toMatchObject([
      { acknowledgedWallMs: expect.any(Number) },
    ]);
  });

  it('that is acknowledged before the disk has it does not come back', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.run(aRequest());
    gate.shut();
    on.instrument.faults.set('openCircuit', {}, on.clock.nowMs());
    await on.until('the alarm', () => on.tank.snapshot().alarms.length === 1);
    const alarmId = on.tank.snapshot().alarms[0]?.id ?? 0;
    expect(await on.tell({ kind: 'acknowledge', alarmId, by: 'x' })).toEqual({ ok: true });
    gate.release();
    await on.over();
    await on.tank.journal.settled();
    expect(on.tank.snapshot().alarms).toEqual([]);
    const stored = await on.store.standingAlarms();
    expect(stored.every((one) => one.acknowledgedWallMs !== null)).toBe(true);
    expect(on.reader().alarms(5)).toHaveLength(1);
  });

  it('is acknowledged while the disk refuses, and the disk hears of it when it is well', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.run(aRequest());
    on.instrument.faults.set('openCircuit', {}, on.clock.nowMs());
    await on.until('the alarm', () => (on.tank.snapshot().alarms[0]?.id ?? 0) > 0);
    await on.over();
    gate.broken = true;
    const alarmId = on.tank.snapshot().alarms[0]?.id ?? 0;
    expect(await on.tell({ kind: 'acknowledge', alarmId, by: 'x' })).toEqual({ ok: true });
    expect(on.tank.snapshot().alarms).toEqual([]);
    expect(await on.store.standingAlarms()).toHaveLength(1);
    gate.broken = false;
    await diskKnows(on);
  });

  it('acknowledged before the disk had it is, at the second try, where the first is refused', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.run(aRequest());
    gate.shut();
    on.instrument.faults.set('openCircuit', {}, on.clock.nowMs());
    await on.until('the alarm', () => on.tank.snapshot().alarms.length === 1);
    const alarmId = on.tank.snapshot().alarms[0]?.id ?? 0;
    await on.tell({ kind: 'acknowledge', alarmId, by: 'x' });
    gate.refusesAcknowledging = 1;
    gate.release();
    await on.over();
    await on.until('the refusal', () => gate.refusesAcknowledging === 0);
    await diskKnows(on);
  });

  it('is raised when the log fails after the end of a run, when nothing is left to trip', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.run(aRequest());
    await on.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await on.over();
    for (const listener of gate.failures) listener('The disk is full.');
    expect(on.tank.snapshot().alarms).toMatchObject([
      { code: 'databaseLost', found: 'The disk is full.', priority: 'act-soon' },
    ]);
    expect(on.tank.run?.state.outcome).toMatchObject({ end: 'stopped' });
  });
});

describe('a disk that has an error for a while', () => {
  it('gets the alarm of a run that never came into the log, without the run', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.until('the line', () => on.tank.output === 'confirmedOff');
    gate.broken = true;
    await on.arm(aRequest());
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
    gate.broken = false;
    await on.until('the alarm on the disk', () => (on.tank.snapshot().alarms[0]?.id ?? 0) > 0);
    const stored = await on.store.standingAlarms();
    expect(stored).toMatchObject([{ code: 'databaseLost', runId: null }]);
  });

  it('gets the end of the run and its alarm once it is well, without a restart', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    const runId = await on.run(aRequest());
    gate.broken = true;
    for (const listener of gate.failures) listener('The disk has an error.');
    await on.until('the trip', () => on.tank.run?.state.lifecycle === 'tripped');
    await on.over();
    expect(await on.store.run(runId)).toMatchObject({ lifecycle: 'striking', outcome: null });
    expect(await on.store.standingAlarms()).toEqual([]);
    gate.broken = false;
    await on.until('the alarm on the disk', () => (on.tank.snapshot().alarms[0]?.id ?? 0) > 0);
    await on.tank.journal.settled();
    expect(await on.store.run(runId)).toMatchObject({
      lifecycle: 'tripped',
      outcome: { faultCode: 'databaseLost' },
      offConfirmed: true,
    });
    expect(await on.store.standingAlarms()).toHaveLength(1);
    expect(await on.store.unsettledRuns()).toEqual([]);
    // What happened meanwhile is in the log as well.
    const reader = on.reader();
    const told = reader.events(runId).map(({ code }) => code);
    reader.close();
    expect(told).toContain('databaseLost');
    expect(told).toContain('offConfirmed');
  });
});

describe('the end of the process', () => {
  it('confirms OFF and does not wait for ever for a disk that hangs', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.run(aRequest());
    gate.shut();
    const from = performance.now();
    expect(await on.tank.close('The test ends it.')).toBe(true);
    expect(performance.now() - from).toBeLessThan(4_000);
    expect(on.truth().outputOn).toBe(false);
    gate.release();
  });
});

describe('a run that is stopped before its row is on disk', () => {
  it('stands in the log as stopped once the disk comes, and is settled', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    gate.shut();
    expect(await on.arm(aRequest())).toMatchObject({ ok: true });
    const runId = on.tank.run?.record.id ?? '';
    await on.tell({ kind: 'stop', tankId: 'one', by: 'x' });
    await on.over();
    expect(await on.store.run(runId)).toBeNull();
    gate.release();
    await on.tank.journal.settled();
    await on.until('the row', () => on.tank.run?.recorded);
    await on.tank.journal.settled();
    expect(await on.store.run(runId)).toMatchObject({
      lifecycle: 'stopped',
      outcome: { end: 'stopped' },
      offConfirmed: true,
    });
    expect(await on.store.unsettledRuns()).toEqual([]);
  });

  it('is not switched on before the disk has it that it was started', async () => {
    const gate = new Gate();
    const on = await opened(gate);
    await on.arm(aRequest());
    const run = on.tank.run?.record.id ?? '';
    await on.until('the run to be ready', () => on.tank.snapshot().run?.ready);
    gate.refusesStart = true;
    expect(await on.onRun('start')).toMatchObject({
      ok: false,
      reason: expect.stringContaining('nothing is started'),
    });
    expect(on.truth().onsReceived).toBe(0);
    gate.refusesStart = false;
    expect(await on.onRun('start')).toMatchObject({ ok: true });
    await on.until('the output to be on', () => on.tank.output === 'on');
    expect((await on.store.run(run))?.startedWallMs).not.toBeNull();
  });

  it('is let go where the sentinel cannot guard it, and its row says so', async () => {
    bench = await (await TankBench.open({ refuseGuard: 'It is gone.' })).started();
    await bench.arm(aRequest());
    const runId = bench.tank.run?.record.id ?? '';
    await bench.over();
    expect(await bench.store.run(runId)).toMatchObject({
      lifecycle: 'stopped',
      outcome: { end: 'stopped' },
      offConfirmed: true,
    });
    expect(bench.truth().onsReceived).toBe(0);
  });
});
