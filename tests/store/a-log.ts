/** A log of invented nights in a real file: plans made by the planner, curves that follow them. */

import { openDatabase } from '../../daemon/store/database.ts';
import { BatchPacker } from '../../daemon/store/readings-batch.ts';
import { ReadingsWriter } from '../../daemon/store/readings-writer.ts';
import { LedgerWriter } from '../../daemon/store/ledger-writer.ts';
import { PicturesWriter } from '../../daemon/store/pictures-writer.ts';
import { RecordsWriter } from '../../daemon/store/records-writer.ts';
import { RunBookWriter } from '../../daemon/store/run-book-writer.ts';
import type { WeighIn } from '../../daemon/run/weigh-in/model.ts';
import type { PartDescription } from '../../daemon/piece/model.ts';
import type { Lifecycle, Plan } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { areaMm2AtThickness, depositOn, thicknessMmOfCharge } from '../../daemon/run/deposit.ts';
import { densityAmpsPerDm2At, wantedAmps } from '../../daemon/run/stages.ts';
import { planSchema } from '../../daemon/wire/plan.ts';
import type { ReadingRow, RunRecord } from '../../daemon/wire/run.ts';
import { spoiltPng } from '../piece/picture/pictures.ts';
import { baths, planRequest, tankSnapshot } from '../web/fixture.ts';

type End = NonNullable<RunRecord['outcome']>['end'];

/** One night of the log; what is left out is a short ball that reached its target. */
export interface Night {
  readonly id: string;
  readonly piece?: string;
  readonly parts?: readonly PartDescription[];
  readonly bathId?: string;
  readonly densityAmpsPerDm2?: number;
  readonly targetMicrometres?: number;
  readonly armedWallMs: number;
  /** Null for a run that is on now. */
  readonly end?: End | null;
  /** It ended after so many hours; left out, at its target. */
  readonly hours?: number;
  /** Hours at which it was lifted, for ten minutes each. */
  readonly lifts?: readonly number[];
  readonly continues?: string;
  readonly kind?: 'run' | 'probe';
  readonly everyMs?: number;
  /** Events beside the usual ones, by their hour. */
  readonly events?: readonly { readonly hour: number; readonly message: string }[];
  readonly notes?: readonly string[];
  /** Photos, one an hour after the notes; null is one whose bytes are no picture any more. */
  readonly photos?: readonly (Uint8Array | null)[];
  readonly weighIn?: WeighIn;
}

const hourMs = 3_600_000;
const liftMs = 600_000;
const lifecycleOf = { strike: 'striking', ramp: 'ramping', hold: 'holding', trickle: 'trickling' };

export function planOf(night: Night): Plan {
  const { bathId = 'acid-copper-still' } = night;
  const bath = baths.find(({ id }) => id === bathId);
  if (bath === undefined) throw new Error(`There is no bath ${bathId}.`);
  const asked = planRequest();
  const request = {
    ...asked,
    bathId,
    piece: {
      ...asked.piece,
      name: night.piece ?? asked.piece.name,
      parts: [...(night.parts ?? asked.piece.parts)],
    },
    densityAmpsPerDm2: night.densityAmpsPerDm2 ?? 1.5,
    target: { kind: 'thickness', micrometres: night.targetMicrometres ?? 120 },
  } as const;
  const { facts } = tankSnapshot();
  if (facts === null) throw new Error('The tank of the fixture has no facts.');
  const result = planRun(request, bath, facts);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  // Through JSON, as the store keeps it.
  return planSchema.parse(JSON.parse(JSON.stringify(result.plan)));
}

/** Every reading of a night: stage by stage, the current following the grown area. */
export function* readingsOf(plan: Plan, night: Night): Generator<ReadingRow> {
  const { everyMs = 15_000, lifts = [], hours = Infinity } = night;
  const { growth, metal, bath, stages, targetChargeAmpHours } = plan;
  const deposit = depositOn(growth, null, metal, bath.efficiency.value);
  const rampIndex = stages.findIndex(({ kind }) => kind === 'ramp');
  let ampHours = 0;
  let stageIndex = 0;
  let stageMs = 0;
  let wasLifted = false;
  for (let atMs = 0; atMs <= hours * hourMs; atMs += everyMs) {
    const lifted = lifts.some((hour) => atMs >= hour * hourMs && atMs < hour * hourMs + liftMs);
    const grownMm = thicknessMmOfCharge(deposit, ampHours);
    if (wasLifted && !lifted && stages[stageIndex]?.kind !== 'strike' && rampIndex >= 0) {
      // Put back, the current rises through the ramp again.
      stageIndex = rampIndex;
      stageMs = 0;
    }
    wasLifted = lifted;
    while (stageIndex < stages.length - 1 && stageMs >= (stages[stageIndex]?.durationMs ?? 0)) {
      stageMs = 0;
      stageIndex += 1;
    }
    const stage = stages[stageIndex];
    if (stage === undefined) return;
    const wanted = wantedAmps(
      densityAmpsPerDm2At(stage, stageMs),
      areaMm2AtThickness(deposit, grownMm),
    );
    const amps = lifted ? 0 : wanted * (1 + 0.003 * Math.sin(atMs / 41_000));
    ampHours += (amps * everyMs) / hourMs;
    if (!lifted) stageMs += everyMs;
    yield {
      atMs,
      wallMs: night.armedWallMs + 60_000 + atMs,
      volts: lifted ? 0 : 0.22 + 1.6 * amps + 0.01 * Math.sin(atMs / 97_000),
      amps,
      setAmps: lifted ? 0 : wanted,
      ampHours,
      thicknessMicrometres: grownMm * 1000,
      lifecycle: (lifted ? 'lifted' : lifecycleOf[stage.kind]) as Lifecycle,
    };
    if (ampHours >= targetChargeAmpHours) return;
  }
}

const lifecycles: Readonly<Record<End, Lifecycle>> = {
  reached: 'finished',
  stopped: 'stopped',
  tripped: 'tripped',
  interrupted: 'interrupted',
};

/** Who pressed, on every night of this log. */
const presser = 'this computer';

const reasons: Readonly<Record<Exclude<End, 'reached'>, string>> = {
  stopped: `Stopped by ${presser}.`,
  tripped: 'Tripped: open circuit. 0.002 A of 0.230 A flow.',
  interrupted: 'Nightbath was restarted in mid-run.',
};

/** The record as it was before the first reading. */
function armed(night: Night, plan: Plan): RunRecord {
  return {
    id: night.id,
    kind: night.kind ?? 'run',
    tankId: 'beaker',
    continues: night.continues ?? null,
    carriedAmpHours: 0,
    simulated: false,
    plan: planSchema.parse(plan),
    checklist: ['polarity', 'contact', 'sealed', 'tray', 'air'],
    armedWallMs: night.armedWallMs,
    startedWallMs: null,
    clocks: null,
    chargeSeen: null,
    endedWallMs: null,
    lifecycle: 'armed',
    offConfirmed: false,
    outcome: null,
    ampHours: 0,
    lowAmpHours: 0,
    highAmpHours: 0,
    thicknessMicrometres: 0,
  };
}

const alarmOf = (night: Night, wallMs: number) => ({
  runId: night.id,
  tankId: 'beaker',
  wallMs,
  priority: 'stopped' as const,
  code: 'openCircuit',
  found: '0.002 A of 0.230 A flow.',
  cause: 'The circuit is open: a lead, a clip or the wire to the piece.',
  remedy: 'Look at the leads and at the contact before you arm again.',
});

/** Writes the nights into a file of their own; it is closed when this returns. */
export function writeLog(file: string, nights: readonly Night[]): void {
  const opened = openDatabase(file, { onNotice: () => undefined });
  const { db } = opened;
  const records = new RecordsWriter(db, () => undefined);
  const writer = new ReadingsWriter(db);
  const book = new RunBookWriter(db);
  const ledger = new LedgerWriter(db);
  const pictures = new PicturesWriter(db);
  for (const night of nights) {
    writeNight(night, records, writer);
    const { id: runId, armedWallMs, notes = [], photos = [], weighIn } = night;
    const by = presser;
    for (const [index, text] of notes.entries()) {
      const wallMs = armedWallMs + (index + 1) * hourMs;
      book.addNote({ runId, by, text, picture: null, atMs: (index + 1) * hourMs, wallMs });
    }
    for (const [index, bytes] of photos.entries()) {
      const hours = notes.length + index + 1;
      const wallMs = armedWallMs + hours * hourMs;
      // It states its size and is taken in, and has no pixels that a browser could show.
      const picture = keepPicture(pictures, bytes ?? spoiltPng(), wallMs);
      book.addNote({ runId, by, text: '', picture, atMs: hours * hourMs, wallMs });
    }
    if (weighIn === undefined) continue;
    const savedWallMs = armedWallMs + 30 * hourMs;
    const answer = ledger.saveWeighIn({ runId, version: 0, weighIn, by, savedWallMs });
    if (answer.kind !== 'saved') throw new Error(`The weigh-in was not saved: ${answer.kind}.`);
  }
  opened.close();
}

/** The id under which it is kept. */
function keepPicture(pictures: PicturesWriter, bytes: Uint8Array, wallMs: number): string {
  const base64 = Buffer.from(bytes).toString('base64');
  const answer = pictures.addPart({ upload: `u${wallMs}`, index: 0, count: 1, base64 }, wallMs);
  if (answer.kind !== 'stored') throw new Error(`The photo was not kept: ${answer.kind}.`);
  return answer.picture.id;
}

/** An event in a night, ms from its start. */
interface Said {
  readonly atMs: number;
  readonly code: string;
  readonly message: string;
}

/** From what the run does to who asked for it being written, ms. */
const askedMs = 5;
/** From OFF to its being read back, ms. */
const offMs = 400;
const offSaid = 'Output off, read back from the supply.';

/** What the run machine says where its lifecycle changes, in its own words. */
function turnSaid(was: Lifecycle | null, { lifecycle, atMs }: ReadingRow): readonly Said[] {
  if (lifecycle === was) return [];
  if (was === null)
    return [{ atMs, code: 'started', message: 'Started. Output on at a low current.' }];
  if (lifecycle === 'lifted') {
    const message = 'Lifted out. Output off; the charge is kept.';
    return [
      { atMs, code: 'lifted', message },
      { atMs: atMs + askedMs, code: 'askedBy', message: `Lifted by ${presser}.` },
      { atMs: atMs + offMs, code: 'offConfirmed', message: offSaid },
    ];
  }
  if (was === 'lifted') {
    const message = 'Put back. The current rises again from low.';
    return [
      { atMs, code: 'putBack', message },
      { atMs: atMs + askedMs, code: 'askedBy', message: `Put back by ${presser}.` },
    ];
  }
  const ramps = lifecycle === 'ramping';
  const message = ramps
    ? 'Ramping up to the full current.'
    : 'Holding. The current follows the growing area.';
  return [{ atMs, code: lifecycle, message }];
}

function writeNight(night: Night, records: RecordsWriter, writer: ReadingsWriter): void {
  const plan = planOf(night);
  const { id, end = 'reached' } = night;
  const startedWallMs = night.armedWallMs + 60_000;
  records.createRun(armed(night, plan));
  let last: ReadingRow | null = null;
  const said: Said[] = [];
  let packer = new BatchPacker(4096);
  if (night.kind !== 'probe') {
    for (const row of readingsOf(plan, night)) {
      packer.add(id, row);
      said.push(...turnSaid(last?.lifecycle ?? null, row));
      last = row;
      if (packer.count < 4096) continue;
      writer.append([packer.take()]);
      packer = new BatchPacker(4096);
    }
  }
  if (packer.count > 0) writer.append([packer.take()]);
  const endMs = last?.atMs ?? 4000;
  const event = ({ atMs, code, message }: Said) => ({
    runId: id,
    tankId: 'beaker',
    atMs,
    wallMs: startedWallMs + atMs,
    code,
    message,
  });
  for (const { hour, message } of night.events ?? []) {
    said.push({ atMs: hour * hourMs, code: 'askedBy', message });
  }
  // As they come to be in a log: one after the other.
  for (const one of said.toSorted((a, b) => a.atMs - b.atMs)) records.appendEvent(event(one));
  const reason =
    end === 'reached' || end === null
      ? `Target reached at ${(last?.ampHours ?? 0).toFixed(3)} A·h.`
      : reasons[end];
  if (end === 'tripped') {
    const message = 'Open circuit. 0.002 A of 0.230 A flow.';
    const trip = event({ atMs: endMs, code: 'openCircuit', message });
    records.raiseAlarm(trip, alarmOf(night, trip.wallMs));
  } else if (end !== null) {
    records.appendEvent(event({ atMs: endMs, code: lifecycles[end], message: reason }));
  }
  records.patchRun(id, {
    startedWallMs,
    ampHours: last?.ampHours ?? 0,
    lowAmpHours: last?.ampHours ?? 0,
    highAmpHours: last?.ampHours ?? 0,
    thicknessMicrometres: last?.thicknessMicrometres ?? 0,
    ...(end === null
      ? { lifecycle: 'holding' as const }
      : {
          endedWallMs: startedWallMs + endMs,
          lifecycle: lifecycles[end],
          offConfirmed: true,
          outcome: {
            end,
            reason: night.kind === 'probe' ? 'The circuit is closed: 0.050 A at 0.31 V.' : reason,
            faultCode: end === 'tripped' ? ('openCircuit' as const) : null,
          },
        }),
  });
}
