/** I7 and I9: limits that only tighten, and a plan in force that is the one the person asked for. */

import { areaDm2Now } from '../../../daemon/run/forecast.ts';
import type { Plan, RunLimits } from '../../../daemon/run/model.ts';
import type { ActiveRun } from '../../../daemon/control/snapshot.ts';
import type { Command } from '../../../daemon/wire/command.ts';
import type { Glance } from '../../../drivers/simulated/model.ts';
import type { Evidence } from './evidence.ts';

type ChangeCommand = Extract<Command, { kind: 'change' }>;

const msPerHour = 3_600_000;
/** From a change, or a stage that begins, until the current is that of its density, ms. */
const settlesMs = 20_000;

/** Holds a run against what was armed, and against every change that was taken since. */
export class Changed {
  readonly #evidence: Evidence;
  #runId: string | null = null;
  #tightest: RunLimits | null = null;
  /** Changes of this run that a person has pressed and that are not answered yet: its time and charge may become others. */
  #pressed = 0;
  #densityAmpsPerDm2 = 0;
  /** A target that was asked for as a charge, A·h; null where the plan says what it comes to. */
  #askedAmpHours: number | null = null;

  constructor(evidence: Evidence) {
    this.#evidence = evidence;
  }

  runCame({ record }: ActiveRun): void {
    this.#runId = record.id;
    this.#tightest = record.plan.limits;
    this.#pressed = 0;
    this.#densityAmpsPerDm2 = record.plan.request.densityAmpsPerDm2;
    this.#askedAmpHours = null;
  }

  pressed({ runId }: ChangeCommand): void {
    if (runId === this.#runId) this.#pressed += 1;
  }

  /** The charge at which a run has to end by what was asked for, A·h; null where its plan says so alone. */
  askedAmpHours(runId: string): number | null {
    return runId === this.#runId ? this.#askedAmpHours : null;
  }

  /** Control has answered: what was taken is in force at once, and nothing more is to widen once all are. */
  answered({ change, runId }: ChangeCommand, isTaken: boolean, run: ActiveRun | null): void {
    if (runId !== this.#runId) return;
    const plan = run?.record.id === runId ? run.state.plan : null;
    if (plan !== null) this.#judgeLimits(plan);
    this.#pressed = Math.max(0, this.#pressed - 1);
    if (isTaken && plan !== null) this.#judgeInForce(change, plan);
  }

  #judgeInForce(change: ChangeCommand['change'], plan: Plan): void {
    const { record } = this.#evidence;
    if (change.kind === 'density') {
      this.#densityAmpsPerDm2 = change.ampsPerDm2;
      if (plan.request.densityAmpsPerDm2 === change.ampsPerDm2) return;
      record.violated('I9', `${change.ampsPerDm2} A/dm2 was taken and is not in force.`);
      return;
    }
    const { target } = change;
    this.#askedAmpHours = target.kind === 'charge' ? target.ampHours : null;
    const grows = plan.thicknessMicrometres.value;
    const holds =
      target.kind === 'charge'
        ? Math.abs(plan.targetChargeAmpHours - target.ampHours) < 1e-6
        : target.kind !== 'thickness' || Math.abs(grows / target.micrometres - 1) < 1e-3;
    if (!holds) record.violated('I9', `The target that was taken is not in force: ${target.kind}.`);
  }

  /** While the run is on or lifted. */
  judge({ state }: ActiveRun, truth: Glance): void {
    this.#judgeLimits(state.plan);
    if (state.probe === null) this.#judgeDensity(state, truth);
  }

  /** Current, voltage and silence never widen; time and charge only by a person's change. */
  #judgeLimits({ limits: now, tank }: Plan): void {
    const { record } = this.#evidence;
    const bound = this.#tightest ?? now;
    this.#tightest = now;
    const held = ['maxAmps', 'maxVolts', 'setVolts', 'maxSilenceMs'] as const;
    const ends = ['maxDurationMs', 'maxChargeAmpHours'] as const;
    const widened = [...held, ...(this.#pressed > 0 ? [] : ends)].find(
      (name) => now[name] > bound[name],
    );
    if (widened !== undefined) {
      const told = `${widened} from ${bound[widened]} to ${now[widened]}`;
      record.violated('I7', `A limit was widened while the run was under way: ${told}.`);
    }
    const changed = ends.some((name) => now[name] !== bound[name]);
    if (changed && now.maxDurationMs > tank.maxHours * msPerHour) {
      record.violated('I7', 'A change lets the run take longer than its tank allows.');
    }
  }

  #judgeDensity({ plan, lifecycle, output, charge }: ActiveRun['state'], truth: Glance): void {
    const { faults, parts, scale } = this.#evidence;
    const wanted = this.#densityAmpsPerDm2 * areaDm2Now(plan, charge.ampHours);
    const far = Math.abs(truth.setAmps - wanted) > 0.04 * wanted + 3 * parts.stepAmps;
    const honest = !faults.affected('meter') && !faults.affected('line');
    this.#evidence.stands(
      'I9',
      'the current is not that of the density in force',
      lifecycle === 'holding' && output === 'on' && truth.outputOn && honest && far,
      settlesMs + 5_000 * scale,
    );
  }
}
