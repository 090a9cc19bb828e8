/** Writes a run's documents: readings, events, alarms and its end. The loop never waits for it. */

import { alarmMessage, newMessageId, runEndMessage } from '../alerts/door.ts';
import { faultWords } from '../run/faults.ts';
import type { AlarmPriority, Fault, RunEvent, RunInput, RunReading } from '../run/model.ts';
import { isFinal } from '../run/state.ts';
import { type NewAlarm, type NewEvent, type NewPlanChange, type RunPatch } from '../store/door.ts';
import type { Posting } from '../store/door.ts';
import type { SensorRow } from '../wire/sensors.ts';
import type { Alarm } from '../wire/run.ts';
import type { AlarmBoard } from './alarm-board.ts';
import { isWatched } from './alarm-clearing.ts';
import type { JournalParts } from './journal-parts.ts';
import type { OwedRun } from './off-debt.ts';
import { isInvalid, PendingWrites } from './pending-writes.ts';
import { rowOf } from './run-row.ts';
import { awaitsTurn, faultTitle, sceneOf, thicknessOf, turnReminder } from './scene.ts';
import type { ActiveRun } from './snapshot.ts';

/** Alarms are shown before the disk has them, under ids below zero that no two tanks share. */
let lastShownId = 0;

/** A running run's own row is brought up to date this often, for a restart to find. */
const patchEveryMs = 5_000;

export class Journal {
  readonly #parts: JournalParts;
  readonly #alarms: AlarmBoard;
  readonly #writes = new PendingWrites();
  #patchedMs = -Infinity;
  #eventsMade = 0;

  constructor(parts: JournalParts, alarms: AlarmBoard) {
    this.#parts = parts;
    this.#alarms = alarms;
  }

  /** A reading of a run, from its start until its output is confirmed off at the end. */
  record(run: ActiveRun, reading: RunReading): void {
    const { state, record, startedAtMs } = run;
    const over = isFinal(state.lifecycle) && state.output === 'confirmedOff';
    if (startedAtMs === null || over) return;
    this.#parts.store.appendReading(record.id, {
      atMs: reading.atMs - startedAtMs,
      wallMs: this.#parts.clock.wallMs(),
      volts: reading.volts,
      amps: reading.amps,
      setAmps: state.confirmedAmps,
      ampHours: state.charge.ampHours,
      thicknessMicrometres: thicknessOf(state),
      lifecycle: state.lifecycle,
    });
    if (performance.now() - this.#patchedMs >= patchEveryMs) this.#patch(run);
  }

  /** What a sensor of the bath says. */
  recordSensor(run: ActiveRun, row: SensorRow): void {
    if (run.recorded) this.#writes.follow(this.#parts.store.sensors.append(run.record.id, row));
  }

  event(run: ActiveRun | null, event: RunEvent): void {
    this.#append(this.#row(run, event));
  }

  #append(row: NewEvent): void {
    this.#eventsMade += 1;
    this.#storeEvent(`event ${this.#eventsMade}`, row);
  }

  #storeEvent(key: string, row: NewEvent): void {
    const write = this.#parts.store.appendEvent(row).then(
      (stored) => this.#parts.publish({ type: 'event', event: stored }),
      (error: unknown) => this.#writes.keep(error, key, () => this.#storeEvent(key, row)),
    );
    this.#writes.follow(write);
  }

  /** An event that must be on disk before anything goes on; rejects where it cannot be written. */
  async committed(run: ActiveRun | null, code: string, message: string): Promise<void> {
    const event = { atMs: this.#parts.clock.nowMs(), code, message };
    const stored = await this.#parts.store.appendEvent(this.#row(run, event));
    this.#parts.publish({ type: 'event', event: stored });
  }

  /**
   * What the run says of itself. Where it says that it is over, people outside are told: `byPerson`
   * where somebody asked for the end and so knows of it. A trip has its alarm instead, and a run that
   * never began and was let go by somebody needs no word. A turn that is due is said too, as what is
   * good to know.
   */
  tell(run: ActiveRun | null, event: RunEvent, asked: RunInput['kind']): void {
    if (!awaitsTurn(run)) this.#parts.alerts.noTurnDue(this.#parts.settings.id);
    const reminder = turnReminder(run, event.code, this.#parts);
    if (reminder !== null) {
      this.#storeSaid(this.#row(run, event), this.#parts.alerts.post(reminder, null));
      return;
    }
    const outcome = run?.state.outcome ?? null;
    const over = run !== null && outcome !== null && event.code === run.state.lifecycle;
    const byPerson = asked === 'stop' || asked === 'disarm';
    const began = run?.state.startedAtMs != null;
    // Whoever asked for a probe stands before it and sees what it came to.
    const seen = run?.record.kind === 'probe' && (outcome?.end === 'reached' || byPerson);
    if (!over || seen || (!began && (byPerson || asked === 'interrupt'))) {
      this.event(run, event);
      return;
    }
    const message = runEndMessage(
      newMessageId('run-end'),
      sceneOf(run, this.#parts),
      outcome,
      byPerson,
    );
    this.#storeSaid(this.#row(run, event), this.#parts.alerts.post(message, null));
  }

  #storeSaid(event: NewEvent, posting: Posting): void {
    const { id } = posting.message;
    const write = this.#parts.store.appendEvent(event, posting).then(
      (stored) => {
        this.#parts.alerts.stored(id, null);
        this.#parts.publish({ type: 'event', event: stored });
      },
      (error: unknown) => this.#writes.keep(error, id, () => this.#storeSaid(event, posting)),
    );
    this.#writes.follow(write);
  }

  /** The plan of a run from here on; the one before is kept with who changed it. */
  replanned(run: ActiveRun, by: string): void {
    const row = this.#row(run, { atMs: this.#parts.clock.nowMs(), code: 'changed', message: '' });
    const change = { atMs: row.atMs, wallMs: row.wallMs, by, plan: run.record.plan };
    this.#storeChange(run.record.id, change);
  }

  #storeChange(runId: string, change: NewPlanChange): void {
    const key = `change ${runId} ${change.wallMs}`;
    const write = this.#parts.store.runBook
      .changePlan(runId, change)
      .catch((error: unknown) =>
        this.#writes.keep(error, key, () => this.#storeChange(runId, change)),
      );
    this.#writes.follow(write);
  }

  /** Where a note on a run belongs in time: within it while it is on its tank, else by the clock alone. */
  timeOf(run: ActiveRun): { readonly atMs: number | null; readonly wallMs: number } {
    const note = { atMs: this.#parts.clock.nowMs(), code: 'note', message: '' };
    const { atMs, wallMs } = this.#row(run, note);
    return { atMs, wallMs };
  }

  /** The run is about to be started: on disk before it is, so that a restart knows; rejects where it cannot be. */
  async startComing(run: ActiveRun): Promise<void> {
    const { clock, store } = this.#parts;
    run.clocks = clock.bootClocks();
    await store.patchRun(run.record.id, { startedWallMs: clock.wallMs(), clocks: run.clocks });
  }

  /** A sentence from outside of any run. */
  note(message: string): void {
    this.event(null, { atMs: this.#parts.clock.nowMs(), code: 'sentinelNote', message });
  }

  /**
   * Somebody takes an alarm on: from now on nothing more is said of it, whatever the disk does. Who it
   * was stands beside the run that it is about; that one may be off the tank by now.
   */
  acknowledge(run: ActiveRun | null, alarm: Alarm, by: string): void {
    const acknowledgedWallMs = this.#parts.clock.wallMs();
    // Where nothing here can see whether it goes on, whoever acknowledges it has looked.
    const seen = isWatched(alarm.code) && alarm.tankId === this.#parts.settings.id;
    const closes = alarm.clearedWallMs === null && !seen;
    const clearedWallMs = closes ? acknowledgedWallMs : alarm.clearedWallMs;
    this.#show({ ...alarm, acknowledgedWallMs, clearedWallMs });
    // An alarm that the disk did not take has a negative id; the disk is told when it takes it.
    if (alarm.id < 0) return;
    this.#storeAcknowledged(alarm.id, acknowledgedWallMs);
    if (closes) this.#storeCleared(alarm.id, acknowledgedWallMs);
    const atMs = this.#parts.clock.nowMs();
    const message = `Alarm acknowledged by ${by}: ${faultTitle(alarm.code)}.`;
    const row = this.#row(run, { atMs, code: 'acknowledged', message });
    const { runId, tankId } = alarm;
    this.#append(runId === row.runId ? { ...row, tankId } : { ...row, tankId, runId, atMs: null });
  }

  /** What an alarm is about has ended. Where nobody has acknowledged it, it goes on asking. */
  clear(alarm: Alarm): void {
    this.#setCleared(alarm, this.#parts.clock.wallMs());
  }

  #setCleared(alarm: Alarm, clearedWallMs: number | null): void {
    const now = { ...alarm, clearedWallMs };
    this.#alarms.take(now);
    this.#parts.publish({ type: 'alarm', alarm: now });
    if (alarm.id >= 0) this.#storeCleared(alarm.id, clearedWallMs);
  }

  /**
   * The alarm reaches the pages at once, whatever the disk does. One that stands already is not raised
   * again; `subject` is how `found` begins where one code may be of several things.
   */
  alarm(run: ActiveRun | null, fault: Fault, priority: AlarmPriority, subject = ''): void {
    const { code, found, cause, remedy } = fault;
    const event = this.#row(run, {
      atMs: fault.atMs,
      code,
      message: `${faultWords[code].title}. ${found}`,
    });
    // It is being said already, here and outside: once more in the log is enough.
    const same = this.#alarms.repeated({ ...event, priority }, subject);
    if (same !== null) {
      this.#append(event);
      if (same.clearedWallMs !== null) this.#setCleared(same, null);
      return;
    }
    const alarm = {
      runId: event.runId,
      tankId: event.tankId,
      wallMs: event.wallMs,
      priority,
      code,
      found,
      cause,
      remedy,
    };
    lastShownId = Math.min(lastShownId, -Math.ceil(event.wallMs)) - 1;
    const shown: Alarm = {
      ...alarm,
      id: lastShownId,
      acknowledgedWallMs: null,
      clearedWallMs: null,
    };
    this.#alarms.take(shown);
    const stopped = run?.state.outcome?.faultCode === code;
    const id = newMessageId('alarm');
    const message = alarmMessage(id, sceneOf(run, this.#parts), { ...alarm, code }, stopped);
    this.#storeAlarm(shown, event, alarm, this.#parts.alerts.post(message, shown.id));
  }

  /** At every turn of the loop: what the disk refused before is tried again now and then. */
  retry(): void {
    this.#writes.retry(this.#parts.clock.nowMs());
  }

  #storeAlarm(shown: Alarm, event: NewEvent, alarm: NewAlarm, posting: Posting): void {
    const write = this.#parts.store.raiseAlarm(event, alarm, posting).then(
      (stored) => {
        this.#parts.alerts.stored(posting.message.id, stored.alarm.id);
        this.#parts.publish({ type: 'event', event: stored.event });
        this.#onStored(shown.id, stored.alarm);
      },
      (error: unknown) => {
        // A run that never got into the log must not keep its alarm out of it.
        if (isInvalid(error) && event.runId !== null) {
          this.#storeAlarm(shown, { ...event, runId: null }, { ...alarm, runId: null }, posting);
          return;
        }
        this.#parts.publish({ type: 'alarm', alarm: shown });
        const again = () => this.#storeAlarm(shown, event, alarm, posting);
        this.#writes.keep(error, `alarm ${shown.id}`, again);
      },
    );
    this.#writes.follow(write);
  }

  #onStored(shownId: number, alarm: Alarm): void {
    const now = this.#alarms.stored(shownId, alarm);
    const { acknowledgedWallMs, clearedWallMs } = now;
    this.#parts.publish({ type: 'alarm', alarm: now });
    if (acknowledgedWallMs !== null) this.#storeAcknowledged(alarm.id, acknowledgedWallMs);
    if (clearedWallMs !== null) this.#storeCleared(alarm.id, clearedWallMs);
  }

  #storeAcknowledged(id: number, wallMs: number): void {
    const again = (): void => this.#storeAcknowledged(id, wallMs);
    this.#tellStored(this.#parts.store.acknowledgeAlarm(id, wallMs), `acknowledged ${id}`, again);
  }

  #storeCleared(id: number, wallMs: number | null): void {
    this.#writes.forget(`cleared ${id}`);
    const again = (): void => this.#storeCleared(id, wallMs);
    this.#tellStored(this.#parts.store.clearAlarm(id, wallMs), `cleared ${id}`, again);
  }

  /** Said once more when the disk has it: a page may have read the log a moment before. */
  #tellStored(write: Promise<Alarm | null>, what: string, again: () => void): void {
    const told = write.then(
      (alarm) => {
        if (alarm !== null) this.#parts.publish({ type: 'alarm', alarm });
      },
      (error: unknown) => this.#writes.keep(error, what, again),
    );
    this.#writes.follow(told);
  }

  /** An alarm as it now is, new or acknowledged, for the pages. */
  #show(alarm: Alarm): void {
    this.#alarms.take(alarm);
    if (alarm.acknowledgedWallMs !== null) this.#parts.alerts.acknowledged(alarm.id);
    this.#parts.publish({ type: 'alarm', alarm });
  }

  /** Brings the run's own row up to date: at each change of its state, and when its charge is final. */
  update(run: ActiveRun): void {
    this.#patch(run);
  }

  /**
   * What a run of a former process came to. Refused, it is tried again without its upper charge, which
   * is written once the output is read back.
   */
  async closeFormer(runId: string, patch: RunPatch): Promise<void> {
    const { highAmpHours: _, ...later } = patch;
    const again = (): void => this.#writes.follow(this.closeFormer(runId, later));
    await this.#parts.store
      .patchRun(runId, patch)
      .catch((error: unknown) => this.#writes.keep(error, `close ${runId}`, again));
  }

  /** Up to `amps`, A, was found to flow while these runs of a former process are not settled: kept for the next start. */
  found(runs: readonly OwedRun[], amps: number): void {
    for (const { runId, chargeSeen } of runs) {
      if (chargeSeen === null || amps <= chargeSeen.mostAmps) continue;
      const patch = { chargeSeen: { ...chargeSeen, mostAmps: amps } };
      this.#writes.follow(this.#parts.store.patchRun(runId, patch).catch(() => undefined));
    }
  }

  /** The output of these runs of a former process has now been read back as off; up to then `foundAmps`, A, was found. */
  settle(runs: readonly OwedRun[], foundAmps: number): void {
    const wallMs = this.#parts.clock.wallMs();
    for (const { runId, highAmpHoursAt } of runs) {
      this.#settleRun(runId, highAmpHoursAt(wallMs, foundAmps));
    }
  }

  #settleRun(runId: string, highAmpHours: number): void {
    const write = this.#parts.store.patchRun(runId, { offConfirmed: true, highAmpHours }).then(
      () => this.#parts.onSettled(),
      (error: unknown) =>
        this.#writes.keep(error, `settle ${runId}`, () => this.#settleRun(runId, highAmpHours)),
    );
    this.#writes.follow(write);
  }

  /** Resolves once everything written so far has been answered by the store, or after a bounded wait. */
  settled(): Promise<void> {
    return this.#writes.settled();
  }

  #patch(run: ActiveRun): void {
    this.#patchedMs = performance.now();
    if (!run.recorded) return;
    const { id } = run.record;
    this.#writes.forget(`run ${id}`);
    const write = this.#parts.store
      .patchRun(id, rowOf(run, this.#parts.clock))
      .catch((error: unknown) => this.#writes.keep(error, `run ${id}`, () => this.#patch(run)));
    this.#writes.follow(write);
  }

  #row(run: ActiveRun | null, event: RunEvent): NewEvent {
    const startedAtMs = run?.startedAtMs ?? null;
    return {
      runId: run?.record.id ?? null,
      tankId: this.#parts.settings.id,
      atMs: startedAtMs === null ? null : event.atMs - startedAtMs,
      wallMs: this.#parts.clock.wallMs(),
      code: event.code,
      message: event.message,
    };
  }
}
