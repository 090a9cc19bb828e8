/** After a restart: runs that were cut short are closed as interrupted, their tanks switched off and read back. */

import { faultOf } from '../run/faults.ts';
import type { StoreWriter } from '../store/door.ts';
import type { RunRecord } from '../wire/run.ts';
import type { SentinelNote } from '../sentinel/door.ts';
import type { Tank } from './tank.ts';

const reason =
  'Nightbath was restarted in mid-run. The output was switched off; nothing goes on by itself.';

/**
 * Closes what the last process left open, and puts on record what the sentinel found and did in
 * between. Nothing is ever switched on here.
 */
export async function recover(
  tanks: ReadonlyMap<string, Tank>,
  store: StoreWriter,
  notes: readonly SentinelNote[],
  wallMs: number,
): Promise<void> {
  for (const record of await store.unfinishedRuns()) {
    const started = record.startedWallMs !== null;
    const last = await store.lastReading(record.id);
    const ampHours = Math.max(record.ampHours, last?.ampHours ?? 0);
    await store.patchRun(record.id, {
      lifecycle: started ? 'interrupted' : 'stopped',
      endedWallMs: last?.wallMs ?? wallMs,
      outcome: started
        ? { end: 'interrupted', reason, faultCode: 'controlLost' }
        : { end: 'stopped', reason: 'Let go by a restart before it was started.', faultCode: null },
      ampHours,
      thicknessMicrometres: Math.max(record.thicknessMicrometres, last?.thicknessMicrometres ?? 0),
      highAmpHours: highestCharge(record, ampHours, last?.wallMs ?? wallMs, wallMs),
    });
    const tank = tanks.get(record.tankId);
    if (tank === undefined || !started) continue;
    const told = notes.map((note) => noteFor(note, record.tankId)).filter((text) => text !== null);
    const found = [reason, ...told].join(' ');
    tank.journal.alarm(null, faultOf('controlLost', tank.clock.nowMs(), found), 'stopped');
    tank.owesOff();
  }
  for (const note of notes) {
    for (const { tankId } of note.tanks) tanks.get(tankId)?.journal.note(note.found);
  }
  const standing = await store.standingAlarms();
  for (const tank of tanks.values()) {
    tank.alarms.restore(standing.filter((alarm) => alarm.tankId === tank.id));
  }
}

function noteFor(note: SentinelNote, tankId: string): string | null {
  const own = note.tanks.find((one) => one.tankId === tankId);
  return own === undefined ? null : `${note.found} ${own.message}`;
}

/**
 * Between the last reading and now the output may have stayed on at the run's largest current. A
 * simulated supply in this process died with it.
 */
function highestCharge(
  record: RunRecord,
  ampHours: number,
  lastSeenWallMs: number,
  wallMs: number,
): number {
  const counted = Math.max(record.highAmpHours, ampHours);
  if (record.simulated || record.startedWallMs === null) return counted;
  const unseenHours = Math.max(0, wallMs - lastSeenWallMs) / 3_600_000;
  return counted + record.plan.limits.maxAmps * unseenHours;
}
