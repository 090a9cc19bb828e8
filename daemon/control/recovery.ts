/** After a restart: what the last process left open is closed, and every tank it may have left on is switched off and read back. */

import { faultOf } from '../run/faults.ts';
import { isFinal } from '../run/state.ts';
import type { RunPatch, StoreWriter } from '../store/door.ts';
import type { Alarm, BootClocks, ReadingRow, RunRecord } from '../wire/run.ts';
import type { SentinelNote } from '../sentinel/door.ts';
import type { LogTrouble } from './log-opening.ts';
import type { OwedRun } from './off-debt.ts';
import type { Tank } from './tank.ts';
import { highestCharge, lastSeen, untold, type Moment } from './unseen.ts';

type Tanks = ReadonlyMap<string, Tank>;

const cutShort = 'Nightbath was restarted in mid-run.';
const startedAnew = 'This computer was started anew in mid-run, as after a power cut.';
const beingSwitchedOff = 'The output is being switched off; nothing goes on by itself.';
const neverReadBack =
  'The last run is over, but Nightbath ended before its output was read back as off.';
const notStarted = 'Let go by a restart before it was started.';

/** A note bears the time at which control was found dead; its OFF was confirmed within this, ms. */
const offConfirmedWithinMs = 60_000;

export interface RecoveryOptions {
  /** In the log of another bench: only its own tanks are looked after. */
  readonly guest?: boolean;
  /** When this computer was started, wall ms since the epoch; null where that is not known. */
  readonly bootedWallMs?: number | null;
  /** The clocks of this computer that nobody sets, whenever they are asked for. */
  readonly bootClocks?: () => BootClocks | null;
}

/**
 * Closes what the last process left open, and puts on record what the sentinel found and did in
 * between. Nothing is ever switched on here. A run stays unsettled in the log until its tank has
 * been read back as off, so that a restart in between owes the OFF again.
 */
export async function recover(
  tanks: ReadonlyMap<string, Tank>,
  store: StoreWriter,
  notes: readonly SentinelNote[],
  wallMs: number,
  { guest = false, bootedWallMs = null, bootClocks = () => null }: RecoveryOptions = {},
): Promise<void> {
  const unsettled = await oweOffs(tanks, store, notes);
  const open = guest ? unsettled.filter(({ tankId }) => tanks.has(tankId)) : unsettled;
  // Before anything is told, so that what stands already is not raised once more at every restart.
  const standing = await store.standingAlarms().catch(() => []);
  for (const tank of tanks.values()) {
    tank.alarms.restore(standing.filter((alarm) => alarm.tankId === tank.id));
  }
  if (!guest) showOfGoneTanks(standing, tanks);
  const alarmed = new Set<string>();
  for (const record of open) {
    const tank = tanks.get(record.tankId);
    const write: CloseRow = (patch) =>
      tank === undefined
        ? store.patchRun(record.id, patch).catch(() => undefined)
        : tank.journal.closeFormer(record.id, patch);
    const now = { wallMs, clocks: bootClocks() };
    const known = { offSince: offByNote(notes, record, wallMs), now, bootedWallMs, bootClocks };
    const { found, owed } = await closeRun(record, { store, write }, known);
    if (tank === undefined) continue;
    tank.owesOff([owed]);
    if (found !== null) {
      alarmed.add(tank.id);
      const cut = found.startsWith(startedAnew) ? mainsSentence(tank) : '';
      callPerson(tank, [found, cut, ...toldOf(notes, tank.id)].filter(Boolean).join(' '));
    }
  }
  await tellOfGoneTanks(open, tanks, store);
  for (const note of notes) {
    tellOfBench(note, tanks);
    for (const { tankId, offConfirmed } of note.tanks) {
      const tank = tanks.get(tankId);
      if (tank === undefined || offConfirmed) continue;
      if (!alarmed.has(tankId)) callPerson(tank, toldOf([note], tankId).join(' '));
      alarmed.add(tankId);
    }
  }
  // The notes are cleared after this: what they say has to be on disk first.
  await Promise.all([...tanks.values()].map((tank) => tank.journal.settled()));
}

/**
 * Every OFF is owed before anything is written or told: a disk that refuses, or hangs, changes nothing
 * about it. What the sentinel could not confirm needs no disk at all; a log that cannot be read tells
 * nothing of what was left on, and then every tank owes its OFF. Answers the runs that are not settled.
 */
async function oweOffs(
  tanks: Tanks,
  store: StoreWriter,
  notes: readonly SentinelNote[],
): Promise<readonly RunRecord[]> {
  for (const { tankId, offConfirmed } of notes.flatMap((note) => note.tanks)) {
    if (!offConfirmed) tanks.get(tankId)?.owesOff([]);
  }
  try {
    const open = await store.unsettledRuns();
    for (const { tankId } of open) tanks.get(tankId)?.owesOff([]);
    return open;
  } catch {
    // The store says by itself that it cannot be read, and a person is told.
    for (const tank of tanks.values()) tank.owesOff([]);
    return [];
  }
}

/** What was found goes on record with each tank it names, or with the first one where it names none. */
function tellOfBench({ cause, found, tanks: named }: SentinelNote, tanks: Tanks): void {
  const known = named.flatMap(({ tankId }) => tanks.get(tankId) ?? []);
  const [anyTank] = tanks.values();
  const told = known.length === 0 && anyTank !== undefined ? [anyTank] : known;
  for (const tank of told) tank.journal.note(found);
  if (cause !== 'unreadable' || anyTank === undefined) return;
  const look = 'Look at every supply of this bench: nobody knows whether one was left on.';
  callPerson(anyTank, `${found} ${look}`);
}

/**
 * The log does not tell what the last process left on: every tank owes its OFF before anything else. A
 * log that cannot be written is told of by each tank itself; one that was replaced is told of here.
 */
export function recoverBlind(
  tanks: ReadonlyMap<string, Tank>,
  { kind, found }: LogTrouble,
  guest = false,
): void {
  for (const tank of tanks.values()) tank.owesOff([]);
  // A guest leaves the telling to the bench whose log it is.
  if (kind !== 'damaged' || guest) return;
  // Each tank's own: until somebody has looked at it, it takes no new run.
  for (const { clock, journal } of tanks.values()) {
    journal.alarm(null, faultOf('databaseDamaged', clock.nowMs(), found), 'act-soon', found);
  }
}

/** True once the log has the alarm about its damage for each tank. */
export async function isDamageOnRecord(tanks: Tanks, store: StoreWriter): Promise<boolean> {
  await Promise.all([...tanks.values()].map((tank) => tank.journal.settled()));
  const standing = await store.standingAlarms().catch(() => []);
  const told = standing.filter(({ code }) => code === 'databaseDamaged');
  return [...tanks.keys()].every((id) => told.some(({ tankId }) => tankId === id));
}

/**
 * A tank that is not in the settings any more cannot be switched off from here: somebody has to look at
 * its supply, at each start until the tank is back or its run was ended by hand.
 */
async function tellOfGoneTanks(
  open: readonly RunRecord[],
  tanks: ReadonlyMap<string, Tank>,
  store: StoreWriter,
): Promise<void> {
  const gone = open.filter((run) => !tanks.has(run.tankId) && run.startedWallMs !== null);
  const [anyTank] = tanks.values();
  if (gone.length === 0 || anyTank === undefined) return;
  // Where nobody can say what was decided, a person looks once more.
  const waiting = await store.interrupted.waiting().catch(() => null);
  const undecided = gone.filter(({ id, lifecycle }) => {
    const wasCutShort = !isFinal(lifecycle) || lifecycle === 'interrupted';
    return !wasCutShort || waiting === null || waiting.some(({ run }) => run.id === id);
  });
  for (const tankId of new Set(undecided.map((run) => run.tankId))) {
    callPerson(
      anyTank,
      `The last run on tank “${tankId}” was never read back as off, and the settings have no such tank any more: Nightbath cannot switch its supply off. Look at that supply now.`,
    );
  }
}

/**
 * What a tank that is not in the settings any more still asks for is shown with the first one, so that
 * somebody can take it on: outside it is said until then. One taken on already waits for its tank.
 */
function showOfGoneTanks(standing: readonly Alarm[], tanks: Tanks): void {
  const gone = standing.filter(
    ({ tankId, acknowledgedWallMs }) => !tanks.has(tankId) && acknowledgedWallMs === null,
  );
  const [first] = tanks.values();
  first?.alarms.restore(gone.map(withTank));
}

/** Shown beside a tank that it is not about, an alarm says which one it is about. */
function withTank(alarm: Alarm): Alarm {
  const { tankId, found } = alarm;
  return { ...alarm, found: `Tank “${tankId}”, no longer in the settings: ${found}` };
}

function callPerson(tank: Tank, found: string): void {
  tank.journal.alarm(null, faultOf('controlLost', tank.clock.nowMs(), found), 'stopped', found);
}

/** What a supply does when the mains returns decides whether current flowed before this start. */
function mainsSentence({ simulated, settings }: Tank): string {
  if (simulated) return '';
  switch (settings.rectifier.afterMains ?? 'unknown') {
    case 'off':
      return 'The output of this supply stays off when the mains returns, as you saw it.';
    case 'on':
      return 'The output of this supply comes back on with the mains: current may have flowed until now.';
    case 'unknown':
      return (
        'Whether the output of this supply comes back on with the mains was never tried: current ' +
        'may have flowed until now.'
      );
  }
}

/** Writes what a run of a former process came to; never rejects, and tries again by itself. */
type CloseRow = (patch: RunPatch) => Promise<void>;

interface Closed {
  /** What a person must be told, or null where nothing was begun. */
  readonly found: string | null;
  readonly owed: OwedRun;
}

/** Times of a recovery. */
interface Known {
  /** When the sentinel had read the output back as off; null where it did not. */
  readonly offSince: Moment | null;
  readonly now: Moment;
  readonly bootedWallMs: number | null;
  readonly bootClocks: () => BootClocks | null;
}

/** Brings the row to its end. */
async function closeRun(
  record: RunRecord,
  { store, write }: { readonly store: StoreWriter; readonly write: CloseRow },
  { offSince, now, bootedWallMs, bootClocks }: Known,
): Promise<Closed> {
  // What cannot be read may have been there: it counts as started.
  const read = await store.lastReading(record.id).catch(() => undefined);
  const last = read ?? null;
  const ampHours = Math.max(record.ampHours, last?.ampHours ?? 0);
  const started = read === undefined || mayHaveStarted(record, last);
  const until = offSince ?? now;
  const readWallMs = last?.wallMs ?? record.endedWallMs ?? record.startedWallMs ?? until.wallMs;
  const { atMs, wallMs } = lastSeen(record, last) ?? { atMs: 0, wallMs: readWallMs };
  const seen = { started, ampHours, wallMs, atMs };
  // The next restart, should there be one before OFF, bounds it from the same moment.
  const kept = record.chargeSeen ?? (isFinal(record.lifecycle) ? null : untold(record));
  const chargeSeen = kept === null ? null : { ...kept, atMs, wallMs };
  const highAmpHours = highestCharge(record, seen, until);
  const owed: OwedRun = {
    runId: record.id,
    chargeSeen,
    // What the sentinel confirmed stays the bound; else it grows until this process reads OFF back.
    highAmpHoursAt: (laterMs, foundAmps) => {
      if (offSince !== null) return highAmpHours;
      const later = { wallMs: laterMs, clocks: bootClocks() };
      return Math.max(highAmpHours, highestCharge(record, seen, later, foundAmps));
    },
  };
  if (isFinal(record.lifecycle)) {
    await write({ highAmpHours, chargeSeen });
    return { found: started ? neverReadBack : null, owed };
  }
  const cut = bootedWallMs !== null && bootedWallMs > readWallMs ? startedAnew : cutShort;
  await write({
    lifecycle: started ? 'interrupted' : 'stopped',
    startedWallMs: started ? (record.startedWallMs ?? last?.wallMs ?? record.armedWallMs) : null,
    endedWallMs: last?.wallMs ?? until.wallMs,
    outcome: started
      ? { end: 'interrupted', reason: cut, faultCode: 'controlLost' }
      : { end: 'stopped', reason: notStarted, faultCode: null },
    ampHours,
    thicknessMicrometres: Math.max(record.thicknessMicrometres, last?.thicknessMicrometres ?? 0),
    highAmpHours,
    chargeSeen,
  });
  return { found: started ? `${cut} ${beingSwitchedOff}` : null, owed };
}

/**
 * The row may lag behind a slow disk: a reading proves that a run was started, and a probe starts by
 * itself. A person who looks in vain is better than nobody who looks.
 */
function mayHaveStarted(record: RunRecord, last: ReadingRow | null): boolean {
  const { startedWallMs, kind, lifecycle } = record;
  return startedWallMs !== null || last !== null || (kind === 'probe' && !isFinal(lifecycle));
}

function toldOf(notes: readonly SentinelNote[], tankId: string): readonly string[] {
  return notes.flatMap((note) =>
    note.tanks.filter((one) => one.tankId === tankId).map((one) => `${note.found} ${one.message}`),
  );
}

/** When the output of a run was off for certain, by what the sentinel read back; null where that is just now. */
function offByNote(
  notes: readonly SentinelNote[],
  record: RunRecord,
  wallMs: number,
): Moment | null {
  const [first] = notes
    .filter((note) => note.wallMs >= record.armedWallMs)
    .filter((note) => note.tanks.some((one) => one.tankId === record.tankId && one.offConfirmed))
    .map(momentOf)
    .filter((moment) => moment.wallMs < wallMs)
    .toSorted((one, other) => one.wallMs - other.wallMs);
  return first ?? null;
}

function momentOf({ wallMs, clocks = null }: SentinelNote): Moment {
  const later = (ms: number): number => ms + offConfirmedWithinMs;
  if (clocks === null) return { wallMs: later(wallMs), clocks };
  const { bootId, awakeMs, sinceBootMs } = clocks;
  const then = { bootId, awakeMs: later(awakeMs), sinceBootMs: later(sinceBootMs) };
  return { wallMs: later(wallMs), clocks: then };
}
