/** Starts probes on a tank that is free, under the rules of any run, and keeps what they came to. */

import type { Bath } from '../chemistry/model.ts';
import { planProbe, steadyBounds } from '../run/probe-plan.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import type { ProbeResult } from '../wire/probe.ts';
import { busyReason, newRecord } from './arming-desk.ts';
import { supplyOf, type ProbeBook } from './probe-book.ts';
import { refusal, type Refusal } from './refusal.ts';
import type { ActiveRun } from './snapshot.ts';
import type { Tank } from './tank.ts';
import { maxSilenceMsFor } from './timing.ts';

type ProbeAsked = Pick<Extract<Command, { kind: 'probe' }>, 'probe' | 'amps'>;

interface ProbeParts {
  readonly tanks: ReadonlyMap<string, Tank>;
  readonly book: ProbeBook;
}

export class ProbeDesk {
  readonly #book: ProbeBook;

  constructor({ tanks, book }: ProbeParts) {
    this.#book = book;
    for (const tank of tanks.values()) tank.onSettled = (run) => this.#settled(tank, run);
  }

  /** Arms a probe; it starts by itself once it is on disk, guarded, and its limits are read back. */
  start(tank: Tank, { probe: kind, amps }: ProbeAsked): CommandAnswer {
    const busy = busyReason(tank);
    if (busy !== null) return busy;
    const wrong = kind === 'meter' ? steadyProblem(tank, amps) : strayProblem(kind, amps);
    if (wrong !== null) return wrong;
    const bath: Bath = tank.bath;
    const line = {
      cycleMs: tank.cycleMs,
      offAmps: tank.capabilities.offAmps,
      maxSilenceMs: maxSilenceMsFor(tank.cycleMs),
    };
    const plan = planProbe(kind, tank.facts, bath, line, amps);
    const record = newRecord(tank, plan, { checklist: [], carried: null });
    const refused = tank.adopt(record, () => {
      tank.feed({ kind: 'start', atMs: tank.clock.nowMs() });
    });
    if (refused !== null) return refusal('refused', refused);
    return { ok: true, runId: record.id, version: tank.run?.state.version ?? 0 };
  }

  #settled(tank: Tank, run: ActiveRun): void {
    const result = resultOf(tank, run);
    if (result === null) return;
    this.#book.take(result);
    // A supply that has obeyed a drill has shown what its old errors were worth.
    if (result.verdict === 'passed') tank.link.standingErrors = [];
    // The end of the run has said most of it; a drill adds how long OFF took.
    if (result.sentence !== run.state.outcome?.reason) {
      const atMs = tank.clock.nowMs();
      tank.journal.event(run, { atMs, code: `probe-${result.verdict}`, message: result.sentence });
    }
    tank.publish();
  }
}

/** Why a steady current of so much is not let flow; null where it may. */
function steadyProblem(tank: Tank, amps: number | undefined): Refusal | null {
  const { leastAmps, mostAmps } = steadyBounds(tank.facts, tank.capabilities.offAmps);
  // What is shown of a bound has three digits, and is taken.
  const slack = 1e-3;
  if (amps !== undefined && amps >= leastAmps * (1 - slack) && amps <= mostAmps) return null;
  // Rounded inwards, so that the bounds that are named are taken.
  const [least, most] = [
    Math.ceil(leastAmps * 1000 - 1e-6) / 1000,
    Math.floor(mostAmps * 1000 + 1e-6) / 1000,
  ];
  return ampsProblem(
    amps,
    `a number from ${least} to ${most} A`,
    whyOut(amps, leastAmps, mostAmps),
  );
}

function whyOut(amps: number | undefined, leastAmps: number, mostAmps: number): string {
  if (amps === undefined) return '';
  if (amps > mostAmps) return ': more leaves no room below the limits of the tank';
  return amps < leastAmps ? ': too little tells no error of a meter' : '';
}

/** A current that the other probes would not take is refused, and not dropped in silence. */
function strayProblem(kind: ProbeAsked['probe'], amps: number | undefined): Refusal | null {
  return amps === undefined
    ? null
    : ampsProblem(amps, `left out of a probe of kind ${kind}, which has its own`, '');
}

function ampsProblem(amps: number | undefined, bound: string, why: string): Refusal {
  const field = 'amps';
  const value = amps === undefined ? 'missing' : String(amps);
  const message = `${field} is ${value}; it must be ${bound}${why}.`;
  return { ...refusal('invalid', message), problems: [{ field, value, bound, message }] };
}

/** What a probe came to once its output is read back as off; null where it came to nothing. */
function resultOf(tank: Tank, { record, state }: ActiveRun): ProbeResult | null {
  const { probe } = state.plan;
  // A steady current is read by a person: it is in the events of its run, and says nothing of a circuit.
  if (probe == null || probe.kind === 'meter') return null;
  const base = {
    runId: record.id,
    kind: probe.kind,
    tankId: tank.id,
    supply: supplyOf(tank),
    wallMs: tank.clock.wallMs(),
  };
  const finding = state.probe?.finding ?? null;
  if (finding !== null) return { ...base, ...finding };
  // A drill that ended in another trip has not shown what it should; a circuit says nothing then.
  if (probe.kind !== 'drill' || state.outcome?.end !== 'tripped') return null;
  const { reason } = state.outcome;
  return { ...base, verdict: 'failed', volts: 0, amps: 0, offMs: null, sentence: reason };
}
